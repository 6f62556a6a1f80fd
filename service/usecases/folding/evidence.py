"""Logged sets as the filter is told of them, session by session."""

from bisect import bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from math import hypot
from uuid import UUID

from service.catalogue.records import Exercise
from service.core.capability import Purpose, SessionEvidence, SetEvidence, Side
from service.core.curve import pieces_of_hold, time_held
from service.core.tolerance.pain import WATCH_UP_TO
from service.core.units import Kilograms, LogRatio, Repetitions, mass_to_kg
from service.usecases.exercises import ExerciseBook
from service.usecases.fold_rows import LogRow, ToldMeasurement
from service.usecases.folding.visits import Visit, day_of
from service.usecases.loads import (
    BodyMass as BodyMassNow,
)
from service.usecases.loads import (
    BodyMassHistory,
    basis_of,
    effective_of_external,
    load_of,
)
from service.usecases.records.log import BodyMass, LoggedSet, SetUp, TestedMaximum
from service.usecases.records.places import Implement

#: More repetitions than this, or a lighter load, say nothing of how much can be lifted: no published curve reaches
#: so far, and slips of the keyboard land here. (judgement)
MOST_REPETITIONS = 60
LEAST_LOAD_KG: Kilograms = 0.2
#: What a set for another purpose says: at least so much was possible, no more.
_BOUND_ONLY = frozenset({"reduced", "technique", "rehab"})
_PARTIAL = frozenset({"bottom_half", "top_half"})
#: Spread of what a hold or a carry says beyond a set of repetitions: how still, how far down, how fast. (judgement)
TIMED_LN_SD: LogRatio = 0.04


@dataclass(frozen=True, slots=True)
class MassesTold:
    """Body masses as they became known, oldest first."""

    at: Sequence[datetime]
    kilograms: Sequence[Kilograms]

    def on(self, instant: datetime) -> BodyMassNow:
        """Return the newest body mass told up to an instant; a later one says nothing of it."""
        known = bisect_right(self.at, instant)
        told = [(day_of(self.at[known - 1]), self.kilograms[known - 1])] if known else []
        return BodyMassHistory(told).on(day_of(instant))


def masses_told(told: Iterable[ToldMeasurement]) -> MassesTold:
    """Return the body masses among measurements that come oldest first."""
    masses = [one.record for one in told if isinstance(one.record, BodyMass)]
    return MassesTold(
        [one.at for one in masses], [mass_to_kg(one.mass.value, one.mass.unit) for one in masses]
    )


@dataclass(frozen=True, slots=True)
class Reader:
    """What turns sets into evidence: the exercises, the body masses, and the implements at each site."""

    book: ExerciseBook
    masses: MassesTold
    stock_of: Callable[[UUID | None], Sequence[Implement]]
    home: UUID | None = None

    def session(self, visit: Visit) -> SessionEvidence | None:
        """Return a session's evidence, None where none of its sets says anything of strength."""
        sets = tuple(said for _, said in self.sets(visit))
        return SessionEvidence(day_of(visit.key[0]), sets) if sets else None

    def sets(self, visit: Visit) -> list[tuple[UUID, SetEvidence]]:
        """Return what each set of a session says, those left out that say nothing of strength."""
        if visit.test is not None and isinstance(visit.test.record, TestedMaximum):
            tested = self._test(visit.test.record)
            return [(visit.test.id, tested)] if tested is not None else []
        said = [(row.id, self._set(row)) for row in visit.rows]
        return [(set_id, evidence) for set_id, evidence in said if evidence is not None]

    def _test(self, test: TestedMaximum) -> SetEvidence | None:
        exercise = self.book.find(test.exercise_id)
        if exercise is None:
            return None
        external = mass_to_kg(test.load.value, test.load.unit)
        body = self.masses.on(test.at)
        load = effective_of_external(external, exercise.load_basis, exercise, body)
        if load < LEAST_LOAD_KG:
            return None
        side: Side = test.side if exercise.laterality == "one_sided" else "both"
        return SetEvidence(exercise.exercise_id, load, test.reps, to_failure=True, side=side, purpose="test")

    def _set(self, row: LogRow) -> SetEvidence | None:
        record = row.record
        exercise = self.book.find(record.exercise_id)
        if exercise is None or not tells_repetitions(record, exercise):
            return None
        load = load_of(
            record, exercise, self.masses.on(record.performed_at), self.stock_of(row.session_site_id)
        )
        if load is None or load.kilograms < LEAST_LOAD_KG:
            return None
        return SetEvidence(
            series=series_of(record, exercise, row.session_site_id or self.home),
            load_kg=load.kilograms,
            reps=counted(record, exercise),
            reps_in_reserve=record.reps_in_reserve,
            to_failure=bool(record.to_failure),
            side=side_of(record, exercise),
            purpose=purpose_of(record),
            setup=setup_of(record),
            stage=record.stage,
            rest_s=record.rest_same_exercise_s,
            ln_load_sd=ln_load_sd(load.ln_sd, exercise),
            pain=worst_pain(record),
            timed=exercise.work != "repetitions",
        )


def tells_repetitions(record: LoggedSet, exercise: Exercise) -> bool:
    """Whether what was done says anything of strength: some repetitions and not too many, or a lift that was missed."""
    return is_missed(record, exercise) or 0 < counted(record, exercise) <= MOST_REPETITIONS


def is_missed(record: LoggedSet, exercise: Exercise) -> bool:
    """Whether a load did not go up once: no repetition, to failure. What is held or carried has none to miss."""
    held = exercise.work != "repetitions" or record.hold_s or record.distance_m
    return record.reps == 0 and bool(record.to_failure) and not held


def counted(record: LoggedSet, exercise: Exercise) -> Repetitions:
    """Return the repetitions that were done, of a hold or a carry the pieces it counts for; 0 where nothing is told."""
    if exercise.work == "repetitions":
        return float(record.reps or 0)
    return pieces_of_hold(time_held(exercise.work, record.hold_s, record.distance_m))


def ln_load_sd(told: LogRatio, exercise: Exercise) -> LogRatio:
    """Return the doubt about a set's load, with what a hold or a carry leaves open besides. [1]"""
    return told if exercise.work == "repetitions" else hypot(told, TIMED_LN_SD)


def series_of(record: LoggedSet, exercise: Exercise, site_id: UUID | None) -> str:
    """Return what shares one strength: an exercise, and on levels an exercise at one station of one site."""
    if basis_of(record, exercise) != "level":
        return exercise.exercise_id
    station = record.set_up.station if record.set_up is not None else None
    return f"{exercise.exercise_id}@{station or exercise.station or ''}@{site_id or ''}"


def exercise_of(series: str) -> str:
    """Return the id of a series' exercise."""
    return series.partition("@")[0]


def side_of(record: LoggedSet, exercise: Exercise) -> Side:
    """Return the side as the filter means it: a lift that moves one load with both limbs is `both`."""
    if exercise.laterality == "one_sided":
        return record.side
    return "both" if record.side == "unspecified" else record.side


def purpose_of(record: LoggedSet) -> Purpose:
    """Return the purpose as the filter means it."""
    if record.purpose in _BOUND_ONLY:
        return "bound"
    return record.purpose  # type: ignore[return-value]


def setup_of(record: LoggedSet) -> str:
    """Name how a lift was set up where that was not the usual full one; set-ups share one strength up to an offset."""
    part = part_of_range(record)
    return ", ".join((*([part] if part else []), *_set_up(record.set_up)))


def part_of_range(record: LoggedSet) -> str:
    """Name the part of the range that a set went through, empty where that was the usual full one."""
    if record.range in _PARTIAL:
        return str(record.range)
    if record.range_deg is not None:
        return f"{record.range_deg.from_deg:g}-{record.range_deg.to_deg:g} deg"
    return ""


def _set_up(told: SetUp | None) -> list[str]:
    if told is None:
        return []
    named = [f"{name} {value}" for name, value in (("grip", told.grip), ("stance", told.stance)) if value]
    return [*named, *([f"bench {told.bench_angle_deg:g} deg"] if told.bench_angle_deg is not None else [])]


def worst_pain(record: LoggedSet) -> float | None:
    """Return the worst pain told with the set, during or after; None where none was. [0-10]

    Pain that was named without a number, or that ended the set, counts as the end of the middle zone (judgement): what
    such a set shows is less sure, and no pain of 0.
    """
    told = [value for pain in record.pain for value in (pain.during, pain.after) if value is not None]
    if not told and (record.limited_by == "pain" or any(pain.worst is None for pain in record.pain)):
        return WATCH_UP_TO
    return max(told, default=None)
