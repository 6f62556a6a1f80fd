"""What is known of an athlete's strength: the state before the newest session, and that session's sets."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import floor
from typing import Final

from service.core.capability import (
    AthleteModel,
    AthleteState,
    CapabilityForecast,
    SeriesPrior,
    SessionEvidence,
    Side,
    begin,
    fold,
    forecast,
)
from service.core.units import Days

#: Strength is told for the hour begun: an answer asked for again within it is the same to the last digit.
HOURS_PER_DAY: Final = 24


@dataclass(frozen=True)
class Strength:
    """The newest session is folded when it is asked for: what its sets mean may change with the next one."""

    before: AthleteState
    session: SessionEvidence | None
    model: AthleteModel

    @cached_property
    def after(self) -> AthleteState:
        """The state after all sets."""
        if self.session is None or not self.session.sets:
            return self.before
        return fold(self.before, (self.session,), self.model)

    @cached_property
    def known(self) -> frozenset[str]:
        """The series that something is known of."""
        return frozenset(self.after.series())

    @property
    def newest_day(self) -> Days | None:
        """When the newest session that is known of began, None without one. [d]"""
        return self.after.newest_day

    def forecast(
        self,
        series: str,
        day: Days,
        side: Side,
        prior: SeriesPrior,
        *,
        same_session: bool = False,
        setup: str = "",
    ) -> CapabilityForecast | None:
        """Return the forecast of a series, None where nothing is known of it; never for a day before the newest session."""
        model = AthleteModel(lambda _: prior, self.model.kinship, self.model.training)
        newest = self.newest_day
        hour = floor(day * HOURS_PER_DAY) / HOURS_PER_DAY
        at = hour if newest is None else max(hour, newest)
        return forecast(self.after, series, at, side, model, same_session=same_session, setup=setup)


def folded(sessions: Sequence[SessionEvidence], model: AthleteModel) -> Strength:
    """Return the strength that a few sessions tell by themselves."""
    told = [session for session in sessions if session.sets]
    before = fold(begin(model.training), told[:-1], model) if len(told) > 1 else begin(model.training)
    return Strength(before, told[-1] if told else None, model)


def lone_model(prior: SeriesPrior, model: AthleteModel) -> AthleteModel:
    """Return a model in which every series begins as one is believed to."""
    return AthleteModel(lambda _: prior, lambda _, __: 0.0, model.training)
