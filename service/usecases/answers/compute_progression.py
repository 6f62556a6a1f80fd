"""The next load from a body alone: the same answer as a stored log gets, with nothing stored and no clock."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from uuid import UUID

from service.catalogue.loading import load_catalogue
from service.core.progression import MODEL_VERSION
from service.core.units import MassUnit
from service.usecases.answers.compute import computed_answer, require_fit_to_train
from service.usecases.answers.compute_drops import HERE, exercise_for, stock_of
from service.usecases.answers.history import read_histories
from service.usecases.answers.load_progression import require_possible
from service.usecases.answers.progression_adviser import adviser
from service.usecases.answers.progression_case import Wish
from service.usecases.answers.progression_telling import ask_of, item_document
from service.usecases.answers.situation import Situation
from service.usecases.answers.telling import Teller
from service.usecases.documents import Document, to_document
from service.usecases.errors import NothingToComputeOn
from service.usecases.exercises import ExerciseBook
from service.usecases.ports import Stored
from service.usecases.records.base import Record
from service.usecases.records.computations import LoadProgressionQuestion, SetSaid, TrainingSaid
from service.usecases.records.log import BodyMass, LoggedSet, Pain
from service.usecases.records.people import Athlete, Clearance, Screening
from service.usecases.records.places import GearImplement

#: Days are counted back from here, so that the same body gets the same answer whenever it is sent.
NOW = datetime(2000, 1, 3, 12, 0, tzinfo=UTC)
_YEARS: dict[TrainingSaid, float | None] = {"novice": 0.1, "trained": 3.0, "unknown": None}


def compute_load_progression(asked: LoadProgressionQuestion, teller: Teller) -> Document:
    """Return the next load and repetitions of a lift, by side, on loads that the sent implements make.

    Raises ``ClearanceRequired``; ``UnknownReference`` for an exercise that is not on the reference list;
    ``OutsideValidRange`` where it is not counted in repetitions; ``NotPossible`` for an empty range;
    ``NothingToComputeOn`` where the sets tell nothing of strength.
    """
    heed = require_fit_to_train(asked, teller)
    wish = Wish(asked.reps_low, asked.reps_high, asked.reserve_low, asked.reserve_high)
    require_possible(wish)
    exercise = exercise_for(asked.exercise_id)
    told = Teller(teller.texts, asked.unit or _unit(asked))
    situation = _situation(asked, told)
    history = read_histories(situation, _book()).of(exercise.exercise_id)
    stock = stock_of(
        [*asked.items, *(GearImplement(name=gear, gear=gear) for gear in exercise.gear)],
        safety_bars=asked.safety_bars,
        supervised=asked.supervised,
    )
    advices = adviser(history, situation, stock, wish).advices() if history is not None else []
    if not advices:
        raise NothingToComputeOn("These sets tell nothing of strength, so no load can be named honestly.")
    items = [_undated(item_document(advice, situation, told, asked.mass)) for advice in advices]
    ask = ask_of(advices, situation)
    sources = {source for item in items for source in item["sources"]}
    answer: Document = {"items": items, **computed_answer(MODEL_VERSION, told, (), heed, sorted(sources))}
    if ask is not None:
        answer["ask"] = to_document(told.reason(ask))
    return answer


def _undated(item: Document) -> Document:
    """Return an item without the instant of its newest set: there is no calendar here."""
    return {**item, "basis": {name: value for name, value in item["basis"].items() if name != "newest_at"}}


def _unit(asked: LoadProgressionQuestion) -> MassUnit:
    return next((one.load.unit for one in asked.sets if one.load is not None), "kg")


def _book() -> ExerciseBook:
    return ExerciseBook(load_catalogue(), lambda _: None)


def _situation(asked: LoadProgressionQuestion, teller: Teller) -> Situation:
    """Return an athlete of whom nothing is known but what was sent."""
    athlete = Athlete(
        time_zone="UTC", unit=teller.unit, training_years=_YEARS[asked.training], home_site_id=HERE
    )
    masses = [BodyMass(at=NOW - timedelta(days=1), mass=asked.body_mass)] if asked.body_mass else []
    return Situation(
        athlete_id=HERE,
        athlete=athlete,
        as_of=NOW,
        unit=teller.unit,
        position=0,
        sets=list(_sets(asked)),
        sessions={},
        checkins=(),
        measurements=[_stored(number, one) for number, one in enumerate(masses)],
        limits=(),
        aims=(),
        frame=None,
        screening=_screening(asked.screening),
    )


def _sets(asked: LoadProgressionQuestion) -> Iterator[Stored]:
    """Yield the sets in canonical order: by day, and on a day as they were sent."""
    ordered = sorted(enumerate(asked.sets), key=lambda pair: (-pair[1].days_ago, pair[0]))
    for ordinal, one in ordered:
        yield _stored(ordinal, _logged(asked.exercise_id, ordinal, one))


def _logged(exercise_id: str, ordinal: int, said: SetSaid) -> LoggedSet:
    return LoggedSet(
        exercise_id=exercise_id,
        performed_at=NOW - timedelta(days=said.days_ago),
        ordinal=ordinal,
        side=said.side,
        load=said.load,
        level=said.level,
        load_basis="level" if said.level is not None else None,
        reps=said.reps,
        reps_in_reserve=said.reps_in_reserve,
        to_failure=said.to_failure,
        purpose=said.purpose,
        pain=[Pain(region="unknown", during=said.pain)] if said.pain is not None else [],
    )


def _stored(number: int, record: Record) -> Stored:
    return Stored(UUID(int=number + 1), HERE, 1, None, record, NOW, NOW)


def _screening(outcome: str) -> Screening | None:
    if outcome not in {"clear", "cleared"}:
        return None
    # The caller's word that a licensed clinician has opened training; its limits are the careful ones.
    given = Clearance(by="as sent", role="other_licensed_clinician", given_on=NOW.date())
    cleared = outcome == "cleared"
    return Screening(
        instrument="as sent",
        instrument_version="1",
        performed_on=NOW.date(),
        outcome="cleared" if cleared else "clear",
        clearance=given if cleared else None,
    )
