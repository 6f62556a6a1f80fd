"""The log as evidence: what each set says of strength, exercise by exercise, and what follows from all of them."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import cached_property
from math import log
from uuid import UUID

from service.catalogue.records import Exercise
from service.core.capability.former import (
    CapabilityForecast,
    CapabilityPrior,
    CapabilityState,
    SetEvidence,
    Side,
    fold,
    infer_warm_up,
    predict,
)
from service.core.curve import CURVE_PRIORS
from service.core.units import Days, Kilograms, LogRatio, Share, mass_to_kg
from service.usecases.answers.loads import EffectiveLoad, effective_of_external, load_of
from service.usecases.answers.situation import Situation, day_of
from service.usecases.exercises import ExerciseBook
from service.usecases.records.log import LoggedSet, TestedMaximum

#: Spread that pain above 2 adds to what a set says of strength (judgement).
PAIN_LN_SD: LogRatio = 0.05
PAIN_FROM = 2.0
#: Spread of half the right-left difference before any set: judgement, as in the capability prior.
HALF_GAP_SD: LogRatio = 0.03
HALF_GAP_SD_OPERATED: LogRatio = 0.1
#: A side's strength is followed through exercises of at most so many anchors in a row.
_LONGEST_CHAIN = 3
#: More repetitions than this, or a lighter load, say nothing of how much can be lifted: no published curve reaches
#: so far, and slips of the keyboard land here. (judgement)
MOST_REPETITIONS = 60
LEAST_LOAD_KG: Kilograms = 0.2
#: What a set for another purpose says: at least so much was possible, no more.
_BOUND_ONLY = frozenset({"reduced", "technique", "rehab"})
_PARTIAL = frozenset({"bottom_half", "top_half"})


@dataclass(frozen=True, slots=True)
class SeenSet:
    """One logged set with what was made of it.

    ``session`` numbers the sessions of the window as they began, ``day`` is when it was done [d], ``warm_up`` the
    probability that it was a warm-up, ``hard_sets_before`` the earlier working sets of this exercise and side.
    """

    id: UUID
    record: LoggedSet
    exercise: Exercise
    side: Side
    session: int
    session_key: str
    day: Days
    date: date
    load: EffectiveLoad | None
    warm_up: Share
    hard_sets_before: float
    matched: bool

    @property
    def worst_pain(self) -> float | None:
        """The worst pain told with the set, during or after. [0-10]"""
        told = [
            value for pain in self.record.pain for value in (pain.during, pain.after) if value is not None
        ]
        return max(told, default=None)

    @property
    def is_work(self) -> bool:
        """Whether it was a working set of its own: no warm-up, no drop, not for practice."""
        return self.warm_up < 0.5 and self.record.stage == 0 and self.record.purpose not in _BOUND_ONLY


@dataclass(frozen=True)
class ExerciseHistory:
    """All sets of one exercise in the window, in canonical order, and what they say together with tested maxima."""

    exercise: Exercise
    sets: Sequence[SeenSet]
    prior: CapabilityPrior
    tests: Sequence[SetEvidence] = ()

    @cached_property
    def state(self) -> CapabilityState | None:
        """The capability after all sets, None where nothing is known."""
        logged = [seen_evidence(seen) for seen in self.sets if tells_strength(seen)]
        return fold(sorted((*logged, *self.tests), key=lambda item: item.day), self.prior)

    def forecast(self, day: Days, side: Side, session: int | None = None) -> CapabilityForecast | None:
        """Return the forecast for a day and side, None where nothing is known."""
        return (
            predict(self.state, max(day, self.state.day), side, session) if self.state is not None else None
        )

    def sides(self) -> tuple[Side, ...]:
        """Return the sides that answers are given for."""
        if self.exercise.laterality == "one_sided":
            return ("left", "right")
        return ("both",)

    @property
    def tells_both_sides(self) -> bool:
        """Whether each side has told effort of its own; without it equal repetitions may hide a gap, or feign one."""
        told = {
            seen.side
            for seen in self.work_sets()
            if not seen.matched and (seen.record.to_failure or seen.record.reps_in_reserve is not None)
        }
        return {"left", "right"} <= told

    def work_sets(self, side: Side | None = None) -> list[SeenSet]:
        """Return the working sets, of one side if named."""
        return [
            seen
            for seen in self.sets
            if seen.is_work and (side is None or seen.side in {side, "unspecified"})
        ]


@dataclass
class Histories:
    """Every exercise of the window, and first guesses for the others."""

    situation: Situation
    book: ExerciseBook
    by_exercise: dict[str, ExerciseHistory] = field(default_factory=dict)

    def of(self, exercise_id: str) -> ExerciseHistory | None:
        """Return the history of an exercise; one without sets has only what its anchor lift tells."""
        known = self.by_exercise.get(exercise_id)
        if known is not None:
            return known
        exercise = self.book.find(exercise_id)
        if exercise is None:
            return None
        return ExerciseHistory(exercise, (), self.prior(exercise))

    def prior(self, exercise: Exercise, chain: int = 0) -> CapabilityPrior:
        """Return what is believed before the first set: the class's curve, and a 1RM where an anchor lift tells one."""
        return CapabilityPrior(
            curve=CURVE_PRIORS[exercise.curve_class],
            training=self.situation.training,
            ln_one_rep_max=self._from_anchor(exercise, chain),
        )

    def _from_anchor(self, exercise: Exercise, chain: int) -> tuple[float, float] | None:
        anchor = exercise.anchor
        if anchor is None or exercise.load_basis == "level" or chain >= _LONGEST_CHAIN:
            return None
        other = self.book.find(anchor.exercise_id)
        if other is None:
            return None
        told = self._ln_one_rep_max(other, chain + 1)
        if told is None:
            return None
        mean, sd = told
        return mean + log(anchor.ratio), (sd**2 + anchor.ln_sd**2) ** 0.5

    def _ln_one_rep_max(self, exercise: Exercise, chain: int) -> tuple[float, float] | None:
        known = self.by_exercise.get(exercise.exercise_id)
        state = known.state if known is not None else None
        if state is None:
            return self._from_anchor(exercise, chain)
        forecast = predict(state, max(self.situation.now_day, state.day), "both")
        return forecast.ln_load_for(1.0)


def read_histories(situation: Situation, book: ExerciseBook) -> Histories:
    """Return the log of a situation as evidence, exercise by exercise."""
    histories = Histories(situation, book)
    grouped: dict[str, list[SeenSet]] = defaultdict(list)
    for seen in see_sets(situation, book):
        grouped[seen.exercise.exercise_id].append(seen)
    tests = tested_maxima(situation, book)
    for exercise_id in dict.fromkeys((*grouped, *tests)):
        sets = grouped.get(exercise_id, [])
        exercise = sets[0].exercise if sets else _found(book, exercise_id)
        prior = CapabilityPrior(
            CURVE_PRIORS[exercise.curve_class], situation.training, half_gap_sd=_half_gap_sd(situation)
        )
        histories.by_exercise[exercise_id] = ExerciseHistory(
            exercise, sets, prior, tests.get(exercise_id, ())
        )
    return histories


def _found(book: ExerciseBook, exercise_id: str) -> Exercise:
    exercise = book.find(exercise_id)
    if exercise is None:
        raise LookupError(exercise_id)
    return exercise


def tested_maxima(situation: Situation, book: ExerciseBook) -> dict[str, list[SetEvidence]]:
    """Return tested maxima as evidence by exercise: a set to failure on a day of its own."""
    told: dict[str, list[SetEvidence]] = defaultdict(list)
    for number, stored in enumerate(situation.measurements):
        test = stored.record
        exercise = book.find(test.exercise_id) if isinstance(test, TestedMaximum) else None
        if exercise is None:
            continue
        day = day_of(test.at)
        external = mass_to_kg(test.load.value, test.load.unit)
        load = effective_of_external(external, exercise.load_basis, exercise, situation.body_mass.on(day))
        if load <= 0.0:
            continue
        side: Side = test.side if exercise.laterality == "one_sided" else "both"
        # Sessions are numbered from 0 up; a test is a visit of its own, numbered from -1 down.
        told[exercise.exercise_id].append(
            SetEvidence(day, -1 - number, load, test.reps, to_failure=True, side=side, kind="test")
        )
    return told


def _half_gap_sd(situation: Situation) -> LogRatio:
    """Sides may differ far more after an operation."""
    operated = situation.screening is not None and bool(situation.screening.procedures)
    return HALF_GAP_SD_OPERATED if operated else HALF_GAP_SD


def see_sets(situation: Situation, book: ExerciseBook) -> list[SeenSet]:
    """Return every set of the window with its session, side, load and whether it was a warm-up."""
    numbers: dict[str, int] = {}
    rough: list[tuple[SeenSet, str]] = []
    for stored in situation.sets:
        record: LoggedSet = stored.record
        exercise = book.find(record.exercise_id)
        if exercise is None:
            continue
        key, on, started = session_of(record, situation)
        number = numbers.setdefault(key, len(numbers))
        body = situation.body_mass.on(day_of(record.performed_at))
        load = load_of(record, exercise, body, situation.stock_of(record.session_id))
        seen = SeenSet(
            stored.id,
            record,
            exercise,
            side_of(record, exercise),
            number,
            key,
            day_of(started),
            on,
            load,
            0.0,
            0.0,
            False,
        )
        rough.append((seen, f"{key}|{record.exercise_id}|{seen.side}"))
    return _in_context(rough)


def session_of(record: LoggedSet, situation: Situation) -> tuple[str, date, datetime]:
    """Return what ties the sets of one visit together, its local date, and when it began.

    A set whose session has not arrived, or that names none, belongs to its own day.
    """
    session = situation.sessions.get(record.session_id) if record.session_id is not None else None
    if session is not None:
        return f"session {record.session_id}", session.started_at.date(), session.started_at
    on = record.performed_at.date()
    midnight = datetime.combine(on, datetime.min.time(), record.performed_at.tzinfo)
    if record.session_id is not None:
        return f"session {record.session_id}", on, midnight
    return f"day {on.isoformat()}", on, midnight


def side_of(record: LoggedSet, exercise: Exercise) -> Side:
    """Return the side as the filter means it: a lift that moves one load with both limbs is `both`."""
    if exercise.laterality == "one_sided":
        return record.side
    return "both" if record.side == "unspecified" else record.side


def _in_context(rough: Sequence[tuple[SeenSet, str]]) -> list[SeenSet]:
    """Infer warm-ups, count the sets before, and mark second sides that only copied the first one's repetitions."""
    by_series: dict[str, list[int]] = defaultdict(list)
    for index, (_, series) in enumerate(rough):
        by_series[series].append(index)
    warm_ups: dict[int, float] = {}
    before: dict[int, float] = {}
    for indices in by_series.values():
        sets = [rough[index][0] for index in indices]
        _infer_series(indices, sets, warm_ups, before)
    return [
        _replaced(seen, warm_ups[index], before[index], _is_matched(index, rough))
        for index, (seen, _) in enumerate(rough)
    ]


def _infer_series(
    indices: Sequence[int], sets: Sequence[SeenSet], warm_ups: dict[int, float], before: dict[int, float]
) -> None:
    loads = [seen.load.kilograms if seen.load is not None else 0.0 for seen in sets]
    known = [seen.record.purpose != "unknown" or seen.record.stage > 0 for seen in sets]
    inferred = infer_warm_up(loads, known)
    done = 0.0
    for index, seen, probability in zip(indices, sets, inferred, strict=True):
        stated = seen.record.purpose == "warm_up"
        warm_ups[index] = 1.0 if stated else probability
        before[index] = done
        done += 1.0 - warm_ups[index]


def _is_matched(index: int, rough: Sequence[tuple[SeenSet, str]]) -> bool:
    """A second side stopped at the first side's repetitions, with no reserve told, says only that it could do as many."""
    seen = rough[index][0]
    record = seen.record
    if seen.side not in {"left", "right"} or record.reps_in_reserve is not None or record.to_failure:
        return False
    for other, _ in rough[max(index - 4, 0) : index][::-1]:
        same_lift = other.exercise.exercise_id == seen.exercise.exercise_id and other.session == seen.session
        if same_lift and other.side in {"left", "right"} and other.side != seen.side:
            return other.record.reps == record.reps and other.record.load == record.load
    return False


def _replaced(seen: SeenSet, warm_up: float, before: float, matched: bool) -> SeenSet:
    return SeenSet(
        seen.id, seen.record, seen.exercise, seen.side, seen.session, seen.session_key, seen.day, seen.date, seen.load,
        warm_up, before, matched,
    )  # fmt: skip


def tells_strength(seen: SeenSet) -> bool:
    """Whether a set says anything of strength: few enough repetitions of a known load and range, not a drop."""
    record = seen.record
    whole = record.range not in _PARTIAL and record.range_deg is None
    if seen.load is None or record.stage != 0 or not whole:
        return False
    # A station's level is no mass: it must not stand in one line with kilograms.
    if (seen.load.basis == "level") != (seen.exercise.load_basis == "level"):
        return False
    return 0 < (record.reps or 0) <= MOST_REPETITIONS and seen.load.kilograms >= LEAST_LOAD_KG


def seen_evidence(seen: SeenSet) -> SetEvidence:
    """Return a set as the filter is told of it."""
    if seen.load is None or seen.record.reps is None:
        raise ValueError("this set tells nothing of strength")
    record = seen.record
    pain = seen.worst_pain
    spread = (
        seen.load.ln_sd if pain is None or pain <= PAIN_FROM else (seen.load.ln_sd**2 + PAIN_LN_SD**2) ** 0.5
    )
    practice = record.purpose in _BOUND_ONLY
    return SetEvidence(
        day=seen.day,
        session=seen.session,
        load_kg=seen.load.kilograms,
        reps=record.reps or 0,
        reps_in_reserve=record.reps_in_reserve,
        to_failure=bool(record.to_failure),
        side=seen.side,
        hard_sets_before=seen.hard_sets_before,
        ln_load_sd=spread,
        kind="warm_up" if practice else ("test" if record.purpose == "test" else "work"),
        warm_up=seen.warm_up,
        rest_s=record.rest_same_exercise_s,
        matched=seen.matched,
    )


def days_since(sets: Sequence[SeenSet], situation: Situation) -> Days | None:
    """Return the days since the newest of some sets, None where there is none. [d]"""
    if not sets:
        return None
    newest = max(seen.record.performed_at for seen in sets)
    return max((situation.as_of - newest) / timedelta(days=1), 0.0)
