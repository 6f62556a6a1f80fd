"""What a log is looked back on with: lifts that have a mass together, each lift on levels by itself."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import inf

from service.core.capability import AthleteModel, Retrospect, SessionEvidence
from service.core.units import Days
from service.usecases.folding.evidence import exercise_of


@dataclass(frozen=True)
class LookedBack:
    """The states after sessions, looked back on from ``since`` [d]; ``anew`` is when work in some series began anew. [d]"""

    sessions: Sequence[SessionEvidence]
    since: Days
    anew: Mapping[str, Days]
    model: AthleteModel

    @cached_property
    def weighed(self) -> Retrospect:
        """The states of all lifts whose loads have a mass: a person's gain is one that they share."""
        return self._of(lambda series: not is_on_levels(series))

    def of(self, series: str) -> Retrospect:
        """Return the states to look back on a series with.

        What a level's number grows by is no gain that other lifts may share, on levels no more than with a mass: pins rise
        by another share of the mass on every machine, and a pin that goes down beside one that goes up has gone down.
        """
        if not is_on_levels(series):
            return self.weighed
        if series not in self._on_levels:
            self._on_levels[series] = self._of(series.__eq__)
        return self._on_levels[series]

    @cached_property
    def _on_levels(self) -> dict[str, Retrospect]:
        return {}

    def _of(self, wanted: Callable[[str], bool]) -> Retrospect:
        told = [
            replace(session, sets=sets)
            for session in self.sessions
            if (
                sets := tuple(
                    one
                    for one in session.sets
                    if wanted(one.series) and session.day >= self.anew.get(one.series, -inf)
                )
            )
        ]
        earlier = [session for session in told if session.day < self.since]
        return Retrospect(earlier, told[len(earlier) :], self.model)


def is_on_levels(series: str) -> bool:
    """Whether a series is of levels: only theirs is named by more than the exercise."""
    return exercise_of(series) != series
