"""What one-sided lifts say of the gap between the sides: strength at the trained repetitions, and endurance."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from service.catalogue.records import Exercise
from service.core.capability import Side
from service.core.symmetry.posterior import SideReading
from service.core.symmetry.qualities import QualityGap, endurance_gap, reading_of, strength_gap
from service.core.units import Days
from service.core.volume.weekly_dose import DIRECT_SHARE
from service.usecases.answers.asking_effort import least_left
from service.usecases.answers.history import ExerciseHistory, SeenSet
from service.usecases.answers.situation import Situation

#: Both sides must have told their reserve on one visit within so long of the newest, or a copied number of repetitions
#: could hide a gap for good: every third week (judgement). [d]
COMPARED_WITHIN: Days = 21.0
#: From here on an effort check is due. (judgement) [d]
CHECK_DUE: Days = 14.0


@dataclass(frozen=True)
class LiftGaps:
    """One lift's gaps as the filter believes them, and how its sides were compared.

    ``compared_day`` is the newest visit on which both sides told their effort, ``silent_side`` the side that told none on
    the newest visit; ``both_until`` the newest visit that trained both. ``least_left`` is what a set that compares them
    must leave, None where none may be asked for. [repetitions]
    """

    history: ExerciseHistory
    strength: QualityGap
    endurance: QualityGap
    visit_count: int
    both_until: Days
    compared_day: Days | None
    silent_side: Side | None
    least_left: float | None

    @property
    def exercise(self) -> Exercise:
        """The lift."""
        return self.history.exercise

    @property
    def effort_known(self) -> bool:
        """Whether both sides told their effort lately enough."""
        return self.compared_day is not None and self.compared_day >= self.both_until - COMPARED_WITHIN

    @property
    def check_due(self) -> Days | None:
        """Days since both sides told their effort where a check is due, and may be asked for, though the gap still counts as
        known. [d]"""
        if self.compared_day is None or not self.effort_known or self.least_left is None:
            return None
        since = self.both_until - self.compared_day
        return since if since >= CHECK_DUE else None

    def reading(self, gap: QualityGap) -> SideReading:
        """Return what the sets say of one of the gaps, without the filter's prior."""
        return reading_of(
            self.exercise.exercise_id, gap, self.visit_count, self.both_until, effort_known=self.effort_known
        )


def gaps_of(history: ExerciseHistory, situation: Situation) -> LiftGaps | None:
    """Return a lift's gaps, None where its sides were never both trained on one visit."""
    visits = _visits(history)
    both = [sets for sets in visits.values() if {"left", "right"} <= {seen.side for seen in sets}]
    forecast = history.forecast(situation.now_day, "both")
    if not both or forecast is None:
        return None
    strength, endurance = strength_gap(forecast, history.prior), endurance_gap(forecast)
    if strength is None or endurance is None:
        return None
    newest = max(both, key=lambda sets: sets[0].day)
    compared = max((sets[0].day for sets in both if len(_told(sets)) == len(_SIDES)), default=None)
    silent = [side for side in _SIDES if side not in _told(newest)]
    return LiftGaps(
        history,
        strength,
        endurance,
        len(both),
        newest[0].day,
        compared,
        silent[0] if len(silent) == 1 else None,
        least_left(history, situation),
    )


_SIDES: tuple[Side, Side] = ("left", "right")


def _visits(history: ExerciseHistory) -> dict[str, list[SeenSet]]:
    visits: dict[str, list[SeenSet]] = defaultdict(list)
    for seen in history.sets:
        if seen.is_work and seen.load is not None and seen.record.reps:
            visits[seen.session_key].append(seen)
    return visits


def _told(sets: Iterable[SeenSet]) -> set[Side]:
    """Return the sides that told, on this visit, how near failure they came."""
    told = {seen.side for seen in sets if seen.record.reps_in_reserve is not None or seen.record.to_failure}
    return told & set(_SIDES)


def directly_trained(exercise: Exercise) -> frozenset[str]:
    """Return the muscles that a lift trains directly."""
    return frozenset(part.muscle_id for part in exercise.involvement if part.share >= DIRECT_SHARE)


def by_muscle(lifts: Sequence[LiftGaps]) -> dict[str, list[LiftGaps]]:
    """Return the lifts that train each muscle directly, by muscle."""
    found: dict[str, list[LiftGaps]] = defaultdict(list)
    for lift in lifts:
        for muscle in sorted(directly_trained(lift.exercise)):
            found[muscle].append(lift)
    return dict(sorted(found.items()))
