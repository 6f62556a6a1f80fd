"""What each session asked of each muscle and side, of the trunk and of the whole body; and what is learned from the next."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from itertools import product
from uuid import UUID

from service.catalogue.records import Exercise
from service.core.capability import AthleteModel, Side
from service.core.planning import LimbSide
from service.core.recovery import (
    SYSTEMIC,
    TRUNK,
    TRUNK_WEIGHT,
    WHOLE,
    Asked,
    ChannelSide,
    FatigueBelief,
    MuscleSession,
    decay_factor,
    learn,
    mean_loss,
    next_sessions,
    trunk_share,
)
from service.core.units import Days, HardSets, Share
from service.core.volume.counting import DoneSet, count_set
from service.core.volume.hard_sets import HardSet, drop_set
from service.core.volume.weekly_dose import SIDE_WEIGHTS
from service.usecases.answers.counting import Counting, clusters_of
from service.usecases.answers.history import Histories, SeenSet, sessions_of, tells_strength
from service.usecases.answers.situation import Situation, day_of
from service.usecases.exercises import ExerciseBook

#: Soreness older than this says nothing of today (judgement).
SORENESS_FRESH = timedelta(hours=36)
#: The newest sets that recovery is learned from, which bounds the cost of a plan (judgement).
MOST_SETS = 1000
#: The sides of a muscle; the trunk and the whole body have one, "both".
SIDES: tuple[LimbSide, ...] = ("left", "right")
TRUNK_KEY: tuple[str, ChannelSide] = (TRUNK, "both")
ChannelKey = tuple[str, ChannelSide]
_H_PER_DAY = 24.0


@dataclass(slots=True)
class Demand:
    """What one session asked of one channel, added up; ``day`` is that of its last set, ``began`` of its start. [d]"""

    began: Days
    day: Days = 0.0
    dose: HardSets = 0.0
    to_failure: HardSets = 0.0
    single_joint: HardSets = 0.0
    reserve: float = 0.0
    reserve_known: HardSets = 0.0

    def session(self, now: Days) -> MuscleSession:
        """Return it as recovery is told of it, seen from a day on."""
        known = self.reserve / self.reserve_known if self.reserve_known else None
        return MuscleSession(
            max((now - self.day) * _H_PER_DAY, 0.0),
            self.dose,
            min(self.to_failure / self.dose, 1.0),
            min(self.single_joint / self.dose, 1.0),
            known,
        )


Demands = Mapping[ChannelKey, Mapping[str, Demand]]


def all_sets(histories: Histories) -> Iterable[SeenSet]:
    """Return every set of the window, lift by lift."""
    return (seen for history in histories.by_exercise.values() for seen in history.sets)


def hard_sets_of(sets: Iterable[SeenSet], counting: Counting) -> dict[UUID, HardSet]:
    """Return how much each logged set counts, as volume counts it; a drop for its part of what the drops add."""
    known: dict[DoneSet, HardSet] = {}
    found: dict[UUID, HardSet] = {}
    for cluster in clusters_of(sets):
        first = None
        if cluster.first is not None:
            done = counting.told(cluster.first)
            first = known[done] if done in known else count_set(done, counting.situation.training)
            known[done] = found[cluster.first.id] = first
        added = drop_set(first, len(cluster.drops)).value - (first.value if first is not None else 0.0)
        for drop in cluster.drops:
            found[drop.id] = HardSet(added / len(cluster.drops), 0.0, assumed_effort=False)
    return found


@dataclass(slots=True)
class _LiftWork:
    """The sets of one lift and side in one session, added up before they fall on its channels."""

    exercise: Exercise
    side: Side
    began: Days
    day: Days = 0.0
    dose: HardSets = 0.0
    to_failure: HardSets = 0.0
    ended_by_trunk: HardSets = 0.0
    reserve: float = 0.0
    reserve_known: HardSets = 0.0

    def add(self, seen: SeenSet, counted: HardSets) -> None:
        """Add a set; one that the trunk ended went to the trunk's limit, not to the target muscle's."""
        record = seen.record
        self.day = max(self.day, day_of(record.performed_at))
        self.dose += counted
        if record.limited_by == "trunk":
            self.ended_by_trunk += counted
        elif record.to_failure:
            self.to_failure += counted
        if record.reps_in_reserve is not None:
            self.reserve += counted * record.reps_in_reserve
            self.reserve_known += counted

    def fall_on(self, demand: Demand, share: Share, *, trunk: bool) -> None:
        """Add this work's share to what its session asked of a channel."""
        demand.day = max(demand.day, self.day)
        demand.dose += share * self.dose
        demand.to_failure += share * (self.to_failure + (self.ended_by_trunk if trunk else 0.0))
        demand.single_joint += 0.0 if self.exercise.compound else share * self.dose
        demand.reserve += share * self.reserve
        demand.reserve_known += share * self.reserve_known


def demands_of(sets: Iterable[SeenSet], counting: Counting) -> dict[ChannelKey, dict[str, Demand]]:
    """Return what each session asked, by channel and side: muscles, the trunk, the whole body."""
    works: dict[tuple[str, str, Side], _LiftWork] = {}
    every = list(sets)
    counts = hard_sets_of(every, counting)
    for seen in every:
        counted = counts[seen.id].value
        if counted > 0.0:
            key = (seen.session_key, seen.exercise.exercise_id, seen.side)
            if key not in works:
                works[key] = _LiftWork(seen.exercise, seen.side, seen.day)
            works[key].add(seen, counted)
    found: dict[ChannelKey, dict[str, Demand]] = defaultdict(dict)
    for (session_key, _, side_done), work in works.items():
        for channel, share in shares_of(work.exercise):
            for side, weight in _falls_on(channel, side_done):
                demand = found[channel, side].setdefault(session_key, Demand(work.began))
                work.fall_on(demand, weight * share, trunk=channel == TRUNK)
    return found


def _falls_on(channel: str, done: Side) -> Sequence[tuple[ChannelSide, Share]]:
    """Return on which sides of a channel a set falls: on the one trunk and the one body in full, whatever the limb."""
    if channel in WHOLE:
        return (("both", 1.0),)
    weights = ((side, SIDE_WEIGHTS[side].get(done, 0.0)) for side in SIDES)
    return [(side, weight) for side, weight in weights if weight > 0.0]


def shares_of(exercise: Exercise) -> tuple[tuple[str, Share], ...]:
    """Return the share of a hard set that each channel receives: muscles, the trunk, and the whole body all of it."""
    muscles = [(part.muscle_id, part.share) for part in exercise.involvement if part.share > 0.0]
    trunk = trunk_share(exercise.axial_load, exercise.trunk_moment)
    return (*muscles, *([(TRUNK, trunk)] if trunk > 0.0 else []), (SYSTEMIC, 1.0))


@dataclass(frozen=True)
class RecoveryEvidence:
    """What sessions asked of each channel, soreness now, and what is believed of how the athlete recovers."""

    demands: Demands
    beliefs: Mapping[str, FatigueBelief]
    soreness: Mapping[ChannelKey, float] = field(default_factory=dict)

    def sessions(self, key: ChannelKey, now: Days, within: Days) -> list[MuscleSession]:
        """Return what the last days asked of a channel, seen from a day on."""
        return [
            demand.session(now)
            for demand in self.demands.get(key, {}).values()
            if demand.dose > 0.0 and now - demand.day <= within
        ]


def read_recovery(situation: Situation, histories: Histories) -> RecoveryEvidence:
    """Return what the log of the window tells of recovery; its cost is bounded by the newest sets."""
    newest = sorted(all_sets(histories), key=lambda seen: (seen.day, seen.session))[-MOST_SETS:]
    newest = [seen for seen in newest if seen.record.performed_at <= situation.as_of]
    demands = demands_of(newest, Counting(situation, histories))
    return RecoveryEvidence(
        demands,
        beliefs_from(newest, demands, histories.strength.model),
        soreness_now(situation, histories.book),
    )


def beliefs_from(sets: Sequence[SeenSet], demands: Demands, model: AthleteModel) -> dict[str, FatigueBelief]:
    """Return what these sets teach of how each muscle, the trunk and the body recover."""
    asked = [
        Asked(channel, side, demand.began, mean_loss(session), decay_factor(session))
        for (channel, side), sessions in demands.items()
        for demand in sessions.values()
        for session in (demand.session(demand.day),)
    ]
    weights = {seen.series: limits_of_lift(seen.exercise) for seen in sets}
    # A file of thousands of sets is in order of lifts; the replay wants them as they were done.
    in_order = sorted(sets, key=lambda seen: (seen.record.performed_at, seen.record.ordinal))
    # A miss bounds strength from above and tells no repetitions that tiredness could have cost.
    seen_next = next_sessions(sessions_of(filter(tells_strength, in_order)), model, weights)
    return learn(asked, seen_next, list(dict.fromkeys(channel for channel, _ in demands)))


def limits_of_lift(exercise: Exercise) -> dict[str, Share]:
    """Return by which channels a lift is limited, as shares of one: its muscles, and the trunk where it is loaded."""
    parts = {part.muscle_id: part.share for part in exercise.involvement if part.share > 0.0}
    trunk = TRUNK_WEIGHT * trunk_share(exercise.axial_load, exercise.trunk_moment)
    whole = sum(parts.values()) + trunk
    if whole <= 0.0:
        return {}
    return {channel: share / whole for channel, share in (*parts.items(), (TRUNK, trunk)) if share > 0.0}


def soreness_now(situation: Situation, book: ExerciseBook) -> dict[ChannelKey, float]:
    """Return the soreness that was told within the last day and a half, by muscle and side. [0-10]

    A muscle in parts stands for its parts; what is said of a part itself holds.
    """
    told: dict[ChannelKey, float] = {}
    for checkin in situation.checkins:
        if situation.as_of - checkin.at > SORENESS_FRESH:
            continue
        meant = [(_parts(soreness.muscle_id, book), soreness) for soreness in checkin.soreness]
        for parts, soreness in sorted(meant, key=lambda one: -len(one[0])):
            for part, side in product(parts, SIDES):
                if soreness.side in (None, "both", side):
                    told[part, side] = soreness.score
    return told


def _parts(muscle_id: str, book: ExerciseBook) -> Sequence[str]:
    return book.catalogue.parts(muscle_id) if book.knows_muscle(muscle_id) else (muscle_id,)
