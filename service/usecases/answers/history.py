"""The log as evidence: what each set says of strength, exercise by exercise, and what follows from all of them."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cached_property
from math import log
from uuid import UUID

from service.catalogue.records import Exercise
from service.core.capability import (
    AthleteModel,
    CapabilityForecast,
    SeriesPrior,
    SessionEvidence,
    SetEvidence,
    Side,
)
from service.core.capability.reading import infer_warm_ups, shows_work
from service.core.units import Days, Share
from service.usecases.answers.loads import EffectiveLoad, load_of
from service.usecases.answers.places_of_sets import session_of, site_of_set
from service.usecases.answers.situation import Situation, day_of
from service.usecases.answers.strength import Strength, folded, lone_model
from service.usecases.answers.weeks import calendar_of
from service.usecases.exercises import ExerciseBook
from service.usecases.folding.evidence import (
    LEAST_LOAD_KG,
    MOST_REPETITIONS,
    counted,
    is_missed,
    ln_load_sd,
    purpose_of,
    series_of,
    setup_of,
    worst_pain,
)
from service.usecases.folding.evidence import side_of as side_of
from service.usecases.folding.inputs import FoldInputs
from service.usecases.records.log import LoggedSet, TestedMaximum

#: A side's strength is followed through exercises of at most so many anchors in a row.
_LONGEST_CHAIN = 3
#: What a set for another purpose says: at least so much was possible, no more.
_BOUND_ONLY = frozenset({"reduced", "technique", "rehab"})


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
    series: str

    @property
    def worst_pain(self) -> float | None:
        """The worst pain told with the set, during or after. [0-10]"""
        return worst_pain(self.record)

    @property
    def is_work(self) -> bool:
        """Whether it was a working set of its own: no warm-up, no drop, not for practice."""
        return self.warm_up < 0.5 and self.record.stage == 0 and self.record.purpose not in _BOUND_ONLY


@dataclass(frozen=True)
class ExerciseHistory:
    """All sets of one exercise in the window, in canonical order, and what is known of its strength from the whole log.

    Without ``strength`` the sets speak for themselves, as those of one station do. ``tested_day`` is the newest
    tested maximum's [d]. ``only_missed`` says that no working set of it went up yet: another lift tells what may be
    possible, and what was missed that it is no more.
    """

    exercise: Exercise
    sets: Sequence[SeenSet]
    prior: SeriesPrior
    strength: Strength | None = None
    tested_day: Days | None = None
    only_missed: bool = False

    @cached_property
    def series(self) -> str:
        """The series that is followed: on levels that of the newest station."""
        for seen in reversed(self.sets):
            if seen.load is not None and (seen.load.basis == "level") == (
                self.exercise.load_basis == "level"
            ):
                return seen.series
        return self.exercise.exercise_id

    @cached_property
    def _strength(self) -> Strength:
        if self.strength is not None:
            return self.strength
        model = lone_model(self.prior, AthleteModel(lambda _: self.prior, lambda _, __: 0.0))
        return folded(sessions_of(seen for seen in self.sets if seen.series == self.series), model)

    @property
    def is_known(self) -> bool:
        """Whether anything is known of this lift's strength, from its own sets or from another lift's."""
        return self.series in self._strength.known or self.prior.ln_one_rep_max is not None

    def forecast(self, day: Days, side: Side, *, running: bool = False) -> CapabilityForecast | None:
        """Return the forecast for a day and side, None where nothing is known.

        ``running`` asks for the next set of the newest session: its day is known from what was done in it, in this
        lift and in others.
        """
        return self._strength.forecast(self.series, day, side, self.prior, same_session=running)

    @property
    def known_until(self) -> Days:
        """The day of the newest session that strength is known from, 0 without one. [d]"""
        return self._strength.newest_day or 0.0

    def last_told(self, *, before_newest_session: bool = False) -> Days | None:
        """Return the day of the newest set that strength is known from, however long ago, None without one. [d]"""
        known = self._strength
        if before_newest_session:
            known = Strength(known.before, None, known.model)
        told = known.forecast(self.series, known.newest_day or 0.0, "both", self.prior)
        return told.basis.newest_day if told is not None else None

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
        """Return the working sets, of one side if named; a two-sided lift done by sides is still that lift."""
        every = side is None or (side == "both" and self.exercise.laterality != "one_sided")
        return [seen for seen in self.sets if seen.is_work and (every or seen.side in {side, "unspecified"})]


@dataclass
class Histories:
    """Every exercise of the window, and first guesses for the others."""

    situation: Situation
    book: ExerciseBook
    strength: Strength
    by_exercise: dict[str, ExerciseHistory] = field(default_factory=dict)

    def of(self, exercise_id: str) -> ExerciseHistory | None:
        """Return the history of an exercise; one without sets has only what its anchor lift tells."""
        known = self.by_exercise.get(exercise_id)
        if known is not None:
            return known
        exercise = self.book.find(exercise_id)
        if exercise is None:
            return None
        return ExerciseHistory(exercise, (), self.prior(exercise), self.strength)

    def prior(self, exercise: Exercise, chain: int = 0) -> SeriesPrior:
        """Return what is believed before the first set: the class's curve, and a 1RM where an anchor lift tells one."""
        told = self.strength.model.series_prior(exercise.exercise_id)
        return replace(told, ln_one_rep_max=self._from_anchor(exercise, chain))

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
        if exercise.exercise_id not in self.strength.known:
            return self._from_anchor(exercise, chain)
        prior = self.strength.model.series_prior(exercise.exercise_id)
        forecast = self.strength.forecast(exercise.exercise_id, self.situation.now_day, "both", prior)
        return forecast.ln_load_for(1.0) if forecast is not None else None


def read_histories(situation: Situation, book: ExerciseBook) -> Histories:
    """Return the log of a situation by exercise, with what is known of strength.

    That comes from the athlete's state where the situation has it, and else from the situation's own sets.
    """
    seen_sets = see_sets(situation, book)
    tested = tested_days(situation, book)
    strength = situation.strength or strength_of_sets(seen_sets, situation, book)
    histories = Histories(situation, book, strength)
    grouped: dict[str, list[SeenSet]] = defaultdict(list)
    for seen in seen_sets:
        grouped[seen.exercise.exercise_id].append(seen)
    for exercise_id in dict.fromkeys((*grouped, *tested)):
        sets = grouped.get(exercise_id, [])
        exercise = sets[0].exercise if sets else _found(book, exercise_id)
        prior = strength.model.series_prior(exercise_id)
        histories.by_exercise[exercise_id] = ExerciseHistory(
            exercise, sets, prior, strength, tested.get(exercise_id)
        )
    return histories


def strength_of_sets(seen_sets: Sequence[SeenSet], situation: Situation, book: ExerciseBook) -> Strength:
    """Return the strength that a few sets tell, for an athlete of whom no state is kept."""
    operated = situation.screening is not None and bool(situation.screening.procedures)
    return folded(sessions_of(seen_sets), FoldInputs(situation.athlete, operated, book).model)


def sessions_of(seen_sets: Iterable[SeenSet]) -> list[SessionEvidence]:
    """Return what some sets say of strength, session by session."""
    by_session: dict[int, list[SeenSet]] = defaultdict(list)
    for seen in seen_sets:
        if tells_strength(seen) or tells_miss(seen):
            by_session[seen.session].append(seen)
    return [
        SessionEvidence(sets[0].day, tuple(map(seen_evidence, sets)))
        for _, sets in sorted(by_session.items(), key=lambda item: (item[1][0].day, item[0]))
    ]


def _found(book: ExerciseBook, exercise_id: str) -> Exercise:
    exercise = book.find(exercise_id)
    if exercise is None:
        raise LookupError(exercise_id)
    return exercise


def tested_days(situation: Situation, book: ExerciseBook) -> dict[str, Days]:
    """Return the day of the newest tested maximum by exercise. [d]"""
    days: dict[str, Days] = {}
    for stored in situation.measurements:
        test = stored.record
        if isinstance(test, TestedMaximum) and book.find(test.exercise_id) is not None:
            days[test.exercise_id] = max(day_of(test.at), days.get(test.exercise_id, 0.0))
    return days


def see_sets(situation: Situation, book: ExerciseBook) -> list[SeenSet]:
    """Return every set of the window with its session, side, load and whether it was a warm-up."""
    calendar = calendar_of(situation.athlete)
    numbers: dict[str, int] = {}
    rough: list[tuple[SeenSet, str]] = []
    for stored in situation.sets:
        record: LoggedSet = stored.record
        exercise = book.find(record.exercise_id)
        if exercise is None:
            continue
        key, on, started = session_of(record, situation, calendar)
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
            series_of(record, exercise, site_of_set(record, situation)),
        )
        rough.append((seen, f"{key}|{record.exercise_id}|{seen.side}"))
    return _in_context(rough)


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
    records = [seen.record for seen in sets]
    known = [
        one.stage > 0 or shows_work(one.purpose, bool(one.to_failure), one.reps_in_reserve) for one in records
    ]
    inferred = infer_warm_ups(loads, [seen.record.reps or 0 for seen in sets], known)
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
        warm_up, before, matched, seen.series,
    )  # fmt: skip


def tells_strength(seen: SeenSet) -> bool:
    """Whether a set says anything of strength: few enough repetitions of a known load."""
    reps, load = counted(seen.record, seen.exercise), seen.load
    return load is not None and 0 < reps <= MOST_REPETITIONS and load.kilograms >= LEAST_LOAD_KG


def tells_miss(seen: SeenSet) -> bool:
    """Whether a set says that a known load did not go up once: an upper bound of strength, and nothing else."""
    load = seen.load
    missed = is_missed(seen.record, seen.exercise)
    return missed and load is not None and load.kilograms >= LEAST_LOAD_KG


def seen_evidence(seen: SeenSet) -> SetEvidence:
    """Return a set as the filter is told of it."""
    reps = counted(seen.record, seen.exercise)
    if seen.load is None or not (reps or tells_miss(seen)):
        raise ValueError("this set tells nothing of strength")
    record = seen.record
    return SetEvidence(
        series=seen.series,
        load_kg=seen.load.kilograms,
        reps=reps,
        reps_in_reserve=record.reps_in_reserve,
        to_failure=bool(record.to_failure),
        side=seen.side,
        purpose=purpose_of(record),
        setup=setup_of(record),
        stage=record.stage,
        rest_s=record.rest_same_exercise_s,
        ln_load_sd=ln_load_sd(seen.load.ln_sd, seen.exercise),
        pain=seen.worst_pain,
        timed=seen.exercise.work != "repetitions",
    )


def days_since(sets: Sequence[SeenSet], situation: Situation) -> Days | None:
    """Return the days since the newest of some sets, None where there is none. [d]"""
    if not sets:
        return None
    newest = max(seen.record.performed_at for seen in sets)
    return max((situation.as_of - newest) / timedelta(days=1), 0.0)
