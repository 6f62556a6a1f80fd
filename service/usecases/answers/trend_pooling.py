"""What the lifts of one muscle tell together of its strength, over the days on which all of them were followed."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Final

from service.core.estimates import Basis, Reason
from service.core.trend import (
    BETWEEN_LIFTS_SD,
    Change,
    Measured,
    Span,
    common_change,
    common_span,
    settling_variance,
    strangers,
)
from service.core.units import Days, Share
from service.usecases.answers.trend_of_lift import LiftTrend

#: Weeks looked back over unless asked otherwise (judgement: progress of trained people shows in no fewer).
USUAL_WEEKS: Final = 8
_BREAKS: Final = frozenset({"trend.break", "trend.lift_paused"})
_DAYS_A_WEEK = 7.0


@dataclass(frozen=True)
class Pooled:
    """The lifts that are counted together, over which days, and the change of what they have in common."""

    lifts: Sequence[LiftTrend]
    span: Span
    change: Change
    left_out: int

    @property
    def weeks(self) -> float:
        """How far the two days lie apart between which the change is told. [wk]"""
        return _weeks(self.span)

    @property
    def days(self) -> list[Days]:
        """The lifts' sessions between these days, which are the first and the last of them. [d]"""
        found = {day for one in self.lifts for day in one.stretch.days}
        return sorted(day for day in found if self.span.start <= day <= self.span.end)

    @property
    def measured(self) -> Measured:
        """What the change is one of: a load unless all lifts are on levels, or all held or carried."""
        found = {one.measured for one in self.lifts}
        return found.pop() if len(found) == 1 else "load"

    @property
    def basis(self) -> Basis:
        """The sets of these days, and the share of the model in what is known."""
        share = prior_share(self.change, self.lifts[0], self.weeks, self.span.start)
        return basis_of(self.lifts, share, self.span)

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """How many lifts are counted together, over how long, and what each must be said of."""
        told = {"lifts": len(self.lifts), "weeks": self.weeks, "left_out": self.left_out}
        notes = (reason for one in self.lifts for reason in one.notes)
        code = "lifts_pooled" if len(self.lifts) > 1 else "one_lift_tells"
        return Reason(f"trend.{code}", told), *self._breaks(), *notes

    def _breaks(self) -> list[Reason]:
        """Return the breaks after which these lifts are compared, each once."""
        found = {
            (reason.code, reason.params["days"]): reason
            for one in self.lifts for reason in one.stretch.reasons if reason.code in _BREAKS
        }  # fmt: skip
        return list(found.values())


def pooled(lifts: Sequence[LiftTrend]) -> Pooled | None:
    """Return what some lifts tell together of the muscle that they train, None where none of them has a change."""
    told = [one for one in _alike(lifts) if one.change is not None]
    if not told:
        return None
    span = common_span([(one.stretch.days[0], one.stretch.days[-1]) for one in told])
    kept = [told[place] for place in span.lifts]
    found = [change for one in kept if (change := one.change_over(span.start, span.end)) is not None]
    changes = strangers(found) if all(one.measured == "level" for one in kept) else found
    between = BETWEEN_LIFTS_SD * sqrt(max(_weeks(span), 1.0) / USUAL_WEEKS)
    return Pooled(kept, span, common_change(changes, between), len(lifts) - len(kept))


def _weeks(span: Span) -> float:
    return (span.end - span.start) / _DAYS_A_WEEK


def _alike(lifts: Sequence[LiftTrend]) -> Sequence[LiftTrend]:
    """Return the lifts whose changes can be counted together: levels, which have no mass, stand for a muscle only alone."""
    weighed = [one for one in lifts if one.measured != "level"]
    return weighed if any(one.change is not None for one in weighed) else lifts


def basis_of(lifts: Sequence[LiftTrend], share: Share, span: Span | None = None) -> Basis:
    """Return what a trend rests on: the sets of some lifts, those between two days where these are given."""
    days = [
        one.day for lift in lifts for one in lift.sets if span is None or span.start <= one.day <= span.end
    ]
    return Basis(len(days), max(days, default=None), share)


def prior_share(change: Change, lift: LiftTrend, weeks: float, start: Days | None = None) -> Share:
    """Return the share of the precision of a change that the model brings before any set."""
    if lift.line is None:
        return 1.0
    age = lift.log_age if start is None else lift.age_on(start)
    before = lift.line.prior_change_variance(weeks) + settling_variance(age)
    return min(change.sd**2 / before, 1.0)
