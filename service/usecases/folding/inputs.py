"""Everything beside the log that a fold depends on, and its print: states folded under another one are not used."""

import hashlib
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property, lru_cache, partial
from uuid import UUID

import msgspec

from service.catalogue.records import Exercise
from service.core.capability import AthleteModel, SeriesPrior, Training
from service.core.curve import CURVE_PRIORS, TIMED_PRIOR
from service.core.units import LogRatio, Share
from service.usecases.exercises import ExerciseBook
from service.usecases.fold_rows import LogRow, ToldMeasurement
from service.usecases.folding.evidence import MassesTold, Reader, exercise_of, masses_told
from service.usecases.kinds import IMPLEMENTS
from service.usecases.ports import UnitOfWork
from service.usecases.records.people import Athlete, Screening
from service.usecases.records.places import Implement

#: Below half a year of regular training someone is a novice (judgement).
NOVICE_BELOW_YEARS = 0.5
#: Spread of half the right-left difference before any set, and after an operation (judgement).
HALF_GAP_SD: LogRatio = 0.03
HALF_GAP_SD_OPERATED: LogRatio = 0.1
#: A class's curve for a lift that is nowhere described (judgement).
_UNKNOWN_CURVE = CURVE_PRIORS["single_joint"]
_PRINT_BYTES = 16


def training_of(athlete: Athlete) -> Training:
    """Return how trained an athlete is."""
    years = athlete.training_years
    if years is None:
        return "unknown"
    return "novice" if years < NOVICE_BELOW_YEARS else "trained"


@dataclass(frozen=True)
class FoldInputs:
    """One athlete's training, whether they were operated on, and the exercises as they are described now."""

    athlete: Athlete
    operated: bool
    book: ExerciseBook

    @property
    def training(self) -> Training:
        """How trained the athlete is."""
        return training_of(self.athlete)

    @cached_property
    def model(self) -> AthleteModel:
        """What does not change from session to session."""
        return AthleteModel(
            series_prior=partial(_prior_of, self.book, self.operated),
            kinship=_Kinship(self.book).share,
            training=self.training,
        )

    def print_of(self, series: Iterable[str]) -> bytes:
        """Return 16 bytes that differ where anything differs that a fold of these series depends on."""
        whole = hashlib.blake2b(digest_size=_PRINT_BYTES)
        whole.update(f"{self.training} {self.operated} {self.athlete.time_zone}".encode())
        for exercise_id in sorted({exercise_of(one) for one in series}):
            exercise = self.book.find(exercise_id)
            whole.update(exercise_id.encode())
            whole.update(_described(exercise) if exercise is not None else b"?")
        return whole.digest()


def _prior_of(book: ExerciseBook, operated: bool, series: str) -> SeriesPrior:
    exercise = book.find(exercise_of(series))
    if exercise is None:
        return SeriesPrior(_UNKNOWN_CURVE)
    return SeriesPrior(
        CURVE_PRIORS[exercise.curve_class] if exercise.work == "repetitions" else TIMED_PRIOR,
        one_sided=exercise.laterality == "one_sided",
        half_gap_sd=HALF_GAP_SD_OPERATED if operated else HALF_GAP_SD,
    )


class _Kinship:
    """How much a hard set of one exercise tires another: the share of the other's muscles that it worked. [0 to 1]"""

    def __init__(self, book: ExerciseBook) -> None:
        self._book = book
        self._shares: dict[str, Mapping[str, Share]] = {}

    def share(self, one: str, other: str) -> Share:
        """Return the overlap of involvement, as a share of what the other exercise involves."""
        worked, wanted = self._of(one), self._of(other)
        whole = sum(wanted.values())
        if not whole:
            return 0.0
        return sum(min(worked.get(muscle, 0.0), share) for muscle, share in wanted.items()) / whole

    def _of(self, series: str) -> Mapping[str, Share]:
        if series not in self._shares:
            exercise = self._book.find(exercise_of(series))
            parts = exercise.involvement if exercise is not None else ()
            self._shares[series] = {part.muscle_id: part.share for part in parts}
        return self._shares[series]


@lru_cache(maxsize=4096)
def _described(exercise: Exercise) -> bytes:
    """Return what of an exercise's description enters evidence or model."""
    said = (
        exercise.laterality, exercise.load_basis, exercise.station, exercise.body_share, exercise.curve_class, exercise.work,
        [(part.muscle_id, part.share) for part in exercise.involvement],
    )  # fmt: skip
    return msgspec.json.encode(said)


def read_inputs(
    work: UnitOfWork, book: ExerciseBook, athlete_id: UUID, on: date | None = None
) -> FoldInputs | None:
    """Return an athlete's inputs in two statements, None where there is no such living athlete.

    With a date, operations count that had been told of by then: what is asked of an earlier day knows no later ones.
    """
    stored = work.people.athlete(athlete_id)
    if stored is None or stored.record is None:
        return None
    operated = was_operated((one for _, one in work.people.screenings(athlete_id)), on)
    return FoldInputs(stored.record, operated, book)


def was_operated(screenings: Iterable[Screening], on: date | None) -> bool:
    """Return whether an operation had been told of by a date, by any where none is given."""
    return any(one.procedures for one in screenings if on is None or one.performed_on <= on)


def reader_of(
    work: UnitOfWork, inputs: FoldInputs, rows: Collection[LogRow], told: Iterable[ToldMeasurement]
) -> Reader:
    """Return what turns these rows into evidence, having read the exercises and inventories that they name."""
    inputs.book.gather(row.record.exercise_id for row in rows)
    home = inputs.athlete.home_site_id
    named = {row.session_site_id or home for row in rows if row.record.plates_per_side is not None}
    stocks = _stocks(work, [site_id for site_id in named if site_id is not None])

    def stock_of(site_id: UUID | None) -> Sequence[Implement]:
        return stocks.get(site_id or home, ())

    masses: MassesTold = masses_told(told)
    return Reader(inputs.book, masses, stock_of, home)


def _stocks(work: UnitOfWork, site_ids: list[UUID]) -> dict[UUID | None, tuple[Implement, ...]]:
    found = work.resources.get_many(IMPLEMENTS, site_ids) if site_ids else {}
    return {
        site_id: tuple(stored.record.items) for site_id, stored in found.items() if stored.record is not None
    }
