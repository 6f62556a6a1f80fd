"""The gap on earlier days: the sessions of some weeks folded anew from a state before them, and looked back on."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from math import sqrt

from service.core.capability import AthleteModel, AthleteState, SessionEvidence, begin, fold, forecast
from service.core.estimates import Estimate
from service.core.symmetry.decisions import central
from service.core.symmetry.following import FilterStep, GapThen, look_back, smooth_steps
from service.core.symmetry.mixture import Mixture, gaussian
from service.core.symmetry.posterior import SidePrior, pool_readings
from service.core.symmetry.qualities import QualityGap, endurance_gap, reading_of, strength_gap
from service.core.units import Days, Share
from service.usecases.answers.imbalance_lifts import LiftGaps
from service.usecases.answers.imbalance_measured import MeasuredGap
from service.usecases.answers.situation import Situation
from service.usecases.exercises import ExerciseBook
from service.usecases.folding.advancing import Folder
from service.usecases.folding.engine import ENGINE
from service.usecases.folding.inputs import read_inputs
from service.usecases.ports import UnitOfWork

#: Weeks that can be looked back on: the window that answers read.
MOST_WEEKS = 26
DAYS_A_WEEK: Days = 7.0


@dataclass(frozen=True, slots=True)
class Then:
    """What is known today of t on an earlier day. [d]"""

    day: Days
    t: Estimate


@dataclass(frozen=True)
class Lookback:
    """The gaps of lifts on the days looked back on, by quality and exercise."""

    days: tuple[Days, ...]
    mass: Share
    lifts: Mapping[tuple[str, str], Sequence[GapThen]] = field(default_factory=dict)

    def of_lifts(self, pooled: Sequence[LiftGaps], kind: str, prior: SidePrior) -> list[Then]:
        """Return the gap of one lift, or of several pooled, on each day on which all are known."""
        found = []
        for day in self.days:
            parts = list(self._on(day, pooled, kind))
            if len(parts) == len(pooled):
                readings = [
                    reading_of(lift.exercise.exercise_id, gap, lift.visit_count, day, effort_known=True)
                    for lift, gap in parts
                ]
                found.append(self._then(day, pool_readings(readings, prior=prior)))
        return found

    def _on(self, day: Days, pooled: Iterable[LiftGaps], kind: str) -> Iterator[tuple[LiftGaps, QualityGap]]:
        for lift in pooled:
            now = lift.strength if kind == "strength" else lift.endurance
            for then in self.lifts.get((kind, lift.exercise.exercise_id), ()):
                if then.day == day:
                    yield lift, QualityGap(now.kind, then.mean, then.variance, now.prior, now.repetitions)

    def of_measured(self, measured: MeasuredGap, prior: SidePrior, unit: str = "1") -> list[Then]:
        """Return the gap of a place or test on each day from its first visit on."""
        points = look_back(measured.visits, self.days, prior, measured.walk)
        return [self._then(point.day, gaussian(point.mean, sqrt(point.variance)), unit) for point in points]

    def _then(self, day: Days, found: Mixture, unit: str = "1") -> Then:
        return Then(day, Estimate(found.mean(), unit, found.sd(), central(found, self.mass), "mean"))


def look_back_on(
    work: UnitOfWork,
    book: ExerciseBook,
    situation: Situation,
    lifts: Sequence[LiftGaps],
    weeks: int,
    mass: Share,
) -> Lookback:
    """Return the gaps a week apart, the last a week ago; the cost grows with the weeks and not with the log."""
    days = tuple(situation.now_day - DAYS_A_WEEK * back for back in range(weeks, 0, -1))
    if not weeks or not lifts:
        return Lookback(days, mass)
    state, sessions, model = _read(work, book, situation, weeks)
    steps: dict[tuple[str, str], list[FilterStep]] = {}
    ends = (*days, situation.now_day)
    waiting = list(sessions)
    for end in ends:
        before = state
        due = [one for one in waiting if one.day <= end]
        waiting = waiting[len(due) :]
        state = fold(state, due, model) if due else state
        for lift in lifts:
            _add_steps(steps, lift, before, state, end, model)
    told = {key: smooth_steps(found) for key, found in steps.items()}
    return Lookback(days, mass, told)


def _read(
    work: UnitOfWork, book: ExerciseBook, situation: Situation, weeks: int
) -> tuple[AthleteState, list[SessionEvidence], AthleteModel]:
    """Return a state from before the weeks, the sessions after it, and the model."""
    inputs = read_inputs(work, book, situation.athlete_id, situation.local_date)
    if inputs is None:
        raise AssertionError("the athlete was read before")
    folder = Folder(work, ENGINE, inputs, situation.athlete_id)
    since = situation.as_of - timedelta(weeks=weeks)
    base = folder.newest(before=since, through=since)
    ahead = folder.ahead(base, until=situation.as_of)
    state: AthleteState = base.state if base.session_count else begin(inputs.training)
    said = [] if ahead is None else [ahead.reader.session(visit) for visit in ahead.visits]
    return state, [one for one in said if one is not None], inputs.model


def _add_steps(
    steps: dict[tuple[str, str], list[FilterStep]],
    lift: LiftGaps,
    before: AthleteState,
    after: AthleteState,
    day: Days,
    model: AthleteModel,
) -> None:
    """Add what was expected of a lift's gaps for a day, and what its sets up to then made of it."""
    known = _gaps(lift, after, day, model)
    expected = _gaps(lift, before, day, model) or known
    for kind, gap in known.items():
        was = expected.get(kind, gap)
        steps.setdefault((kind, lift.exercise.exercise_id), []).append(
            FilterStep(day, (was.mean, was.variance), (gap.mean, gap.variance))
        )


def _gaps(lift: LiftGaps, state: AthleteState, day: Days, model: AthleteModel) -> dict[str, QualityGap]:
    """Return a lift's gaps in a state, at the repetitions trained now; none where nothing is known of it yet."""
    if lift.history.series not in state.series():
        return {}
    at = max(day, state.newest_day or day)
    found = forecast(state, lift.history.series, at, "both", model)
    if found is None:
        return {}
    told = (strength_gap(found, lift.history.prior, lift.strength.repetitions), endurance_gap(found))
    return {gap.kind: gap for gap in told if gap is not None}
