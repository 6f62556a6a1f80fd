"""What a closing plan needs to know: the sets of late, lift by lift and muscle by muscle, what holds a lift, and which side is
ahead where."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from service.catalogue.records import Exercise
from service.core.estimates import Reason
from service.core.symmetry.closing import (
    WORTH_A_PLAN,
    ClosingLift,
    ClosingPlan,
    GapToClose,
    LimbSide,
    RegionDose,
    close_gap,
)
from service.core.symmetry.decisions import SidePosterior
from service.core.symmetry.posterior import SideKind
from service.core.units import Days, HardSets, Share
from service.core.volume.thresholds import Wanted, thresholds_prior
from service.usecases.answers.asking_effort import least_left
from service.usecases.answers.history import ExerciseHistory, Histories, SeenSet
from service.usecases.answers.holds import held_by
from service.usecases.answers.imbalance_lifts import directly_trained
from service.usecases.answers.imbalance_sides import Sides, groups_under_tape
from service.usecases.answers.situation import Situation
from service.usecases.exercises import ExerciseBook

#: Weeks whose sets tell what is done of late. (judgement)
LATE_WEEKS = 4.0
LATE: Days = 7.0 * LATE_WEEKS
_BOTH: tuple[LimbSide, LimbSide] = ("left", "right")


@dataclass(frozen=True)
class Closing:
    """Plans the closing of gaps within one athlete's training."""

    situation: Situation
    book: ExerciseBook
    histories: Histories
    ahead: frozenset[tuple[str, LimbSide]]
    mass: Share

    def of_lift(
        self, exercise: Exercise, kind: SideKind, found: SidePosterior, sides: Sides
    ) -> ClosingPlan | Reason:
        """Return the plan of one lift's gap: that lift itself, else another one-sided one of the same muscles."""
        muscles = directly_trained(exercise)
        lifts = sorted(self._training(muscles), key=lambda lift: lift.exercise_id != exercise.exercise_id)
        return self._plan(kind, found, sides, lifts, muscles)

    def of_muscle(
        self, muscle: str, kind: SideKind, found: SidePosterior, sides: Sides
    ) -> ClosingPlan | Reason:
        """Return the plan of a muscle's gap."""
        return self._plan(kind, found, sides, self._training({muscle}), {muscle})

    def of_site(self, site: str, found: SidePosterior, sides: Sides) -> ClosingPlan | Reason:
        """Return the plan of a limb's size where the tape lay."""
        muscles = muscles_under_tape(self.book, site)
        return self._plan("size", found, sides, self._training(muscles), muscles)

    def _plan(
        self,
        kind: SideKind,
        found: SidePosterior,
        sides: Sides,
        lifts: Sequence[ClosingLift],
        muscles: Iterable[str],
    ) -> ClosingPlan | Reason:
        closed = self.situation.flags.stops_all_training or not self.situation.gate.open
        gap = GapToClose(
            kind, found, lifts, self._dose(muscles), self.ahead, sides.surgery, closed_by_gate=closed
        )
        return close_gap(gap, self.mass)

    def _training(self, muscles: Iterable[str]) -> list[ClosingLift]:
        """Return the one-sided lifts of late that train a muscle directly, the most direct and most done first."""
        wanted = set(muscles)
        found = []
        for exercise_id, history in sorted(self.histories.by_exercise.items()):
            exercise = history.exercise
            if exercise.laterality == "one_sided" and directly_trained(exercise) & wanted:
                shares = {part.muscle_id: part.share for part in exercise.involvement}
                done = self._late.get(exercise_id, {})
                held, least = self._standing[exercise_id]
                lift = ClosingLift(
                    exercise_id, done.get("left", 0.0), done.get("right", 0.0), shares, held, least
                )
                found.append((-max(shares.get(m, 0.0) for m in wanted), -sum(done.values()), lift))
        return [lift for _, _, lift in sorted(found, key=lambda one: (one[0], one[1], one[2].exercise_id))]

    @cached_property
    def _standing(self) -> dict[str, tuple[Reason | None, float | None]]:
        """Why each one-sided lift gets no further sets, and what a set that compares its sides must leave."""
        return {
            exercise_id: (_held(history, self.situation), least_left(history, self.situation))
            for exercise_id, history in self.histories.by_exercise.items()
            if history.exercise.laterality == "one_sided"
        }

    @cached_property
    def _late(self) -> dict[str, dict[LimbSide, float]]:
        """Weekly working sets of late by lift and side; a set of both sides counts for each."""
        done: dict[str, dict[LimbSide, float]] = defaultdict(lambda: defaultdict(float))
        for exercise_id, history in self.histories.by_exercise.items():
            for seen in history.work_sets():
                if seen.day > self.situation.now_day - LATE:
                    for side in _BOTH:
                        done[exercise_id][side] += _worth(seen, side) / LATE_WEEKS
        return done

    def _dose(self, muscles: Iterable[str]) -> RegionDose:
        """Return the least of the muscles' weekly doses of late, and what keeps size."""
        doses = [self._muscle_dose(muscle) for muscle in sorted(set(muscles))] or [(0.0, 0.0)]
        left, right = (min(dose[side] for dose in doses) for side in (0, 1))
        return RegionDose(left, right, self._keeps_size)

    def _muscle_dose(self, muscle: str) -> tuple[HardSets, HardSets]:
        sums = {"left": 0.0, "right": 0.0}
        for exercise_id, done in self._late.items():
            shares = {
                part.muscle_id: part.share
                for part in self.histories.by_exercise[exercise_id].exercise.involvement
            }
            for side, sets in done.items():
                sums[side] += sets * shares.get(muscle, 0.0)
        return sums["left"], sums["right"]

    @cached_property
    def _keeps_size(self) -> HardSets:
        (keeps, *_) = thresholds_prior(self.situation.training, Wanted(age_years=self.situation.age_years))
        return keeps.weekly_hard_sets.value


def _held(history: ExerciseHistory, situation: Situation) -> Reason | None:
    held = held_by(history, situation)
    return None if held is None else Reason(f"closing.held_by_{held}", {"exercise": history.exercise.name})


def _worth(seen: SeenSet, side: LimbSide) -> float:
    if seen.side == "unspecified":
        return 0.5
    return 1.0 if seen.side in {side, "both"} else 0.0


def muscles_under_tape(book: ExerciseBook, site: str) -> frozenset[str]:
    """Return the muscles that a tape at this place goes round; none where the place is not known."""
    groups = groups_under_tape(site)
    return frozenset(m.muscle_id for m in book.catalogue.muscles.values() if m.group in groups)


def sides_ahead(
    book: ExerciseBook, muscles: Mapping[str, Sequence[SidePosterior]], sites: Mapping[str, SidePosterior]
) -> frozenset[tuple[str, LimbSide]]:
    """Return each muscle with a side that is decided to be ahead in it: in strength, or in size where that is worth it.

    ``muscles`` holds a muscle's pooled posterior first and those of its lifts after it. Where the pooled one decides it
    decides alone; where it does not, a lift's own gap counts: lifts may differ in opposite directions.
    """
    found: set[tuple[str, LimbSide]] = set()
    for muscle, (pooled, *lifts) in muscles.items():
        told = {side_ahead(pooled)} - {None} or {side_ahead(one) for one in lifts} - {None}
        parts = (muscle, *book.catalogue.parts(muscle))
        found |= {(part, side) for part in parts for side in told if side is not None}
    for site, posterior in sites.items():
        side = side_ahead(posterior)
        if side is not None and posterior.p_beyond >= WORTH_A_PLAN:
            found |= {(muscle, side) for muscle in muscles_under_tape(book, site)}
    return frozenset(found)


def side_ahead(posterior: SidePosterior) -> LimbSide | None:
    """Return the side that is decided to be ahead, None where none is."""
    if posterior.state == "right_ahead":
        return "right"
    return "left" if posterior.state == "left_ahead" else None
