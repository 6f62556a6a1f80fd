"""The next load and repetitions, by exercise and side, on loads that the site can make."""

from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from service.catalogue.texts import Texts
from service.core.estimates import DEFAULT_MASS
from service.core.progression import (
    MODEL_VERSION,
)
from service.core.units import MassUnit, Share
from service.usecases.answers.capability import asked_histories, envelope
from service.usecases.answers.history import ExerciseHistory, read_histories
from service.usecases.answers.progression_adviser import adviser
from service.usecases.answers.progression_case import (
    Wish,
)
from service.usecases.answers.progression_telling import ask_of, item_document
from service.usecases.answers.site_loads import (
    read_stock,
)
from service.usecases.answers.situation import read_situation
from service.usecases.answers.telling import Teller
from service.usecases.answers.timed_progression import TimedAdviser
from service.usecases.documents import Document, to_document
from service.usecases.errors import FieldFault, NothingToComputeOn, NotPossible
from service.usecases.exercises import ExerciseBook
from service.usecases.folding.evidence import is_missed
from service.usecases.ports import UnitOfWork

#: Why no load can be named for an exercise.
WHY_NOTHING = "Nothing is logged for this exercise or one like it, so no load can be named honestly."
#: The same where it was tried: what did not go up bounds strength from above, and nothing that fits does from below.
WHY_NOTHING_WENT_UP = (
    "A missed lift is logged for this exercise and no working set that went up, and no lift like it tells what fits with "
    "that, so no load can be named honestly: the load to try is lighter than the missed one. Log it with how many "
    "repetitions were left."
)


@dataclass(frozen=True, slots=True)
class ProgressionQuestion:
    """Whose next load, in which lift, where, for what repetitions and reserve, as of when (None = now)."""

    athlete_id: UUID
    exercise_id: str | None = None
    site_id: UUID | None = None
    wish: Wish = field(default_factory=Wish)
    as_of: datetime | None = None
    mass: Share = DEFAULT_MASS
    unit: MassUnit | None = None
    min_position: int | None = None


def answer_load_progression(
    work: UnitOfWork, book: ExerciseBook, texts: Texts, question: ProgressionQuestion
) -> Document:
    """Return the next load and repetitions of the asked exercise, or of all in the log.

    Raises what ``read_situation`` raises; ``ClearanceRequired`` while training is closed; ``SiteRequired``;
    ``UnknownReference``; ``NotPossible`` for an empty range; ``NothingToComputeOn`` where the asked lift has neither a
    set nor a known lift to start from.
    """
    require_possible(question.wish)
    situation = read_situation(
        work,
        question.athlete_id,
        book=book,
        lift=question.exercise_id,
        as_of=question.as_of,
        unit=question.unit,
        min_position=question.min_position,
    )
    teller = Teller(texts, situation.unit)
    situation.require_open(teller)
    stock = read_stock(work, situation, question.site_id)
    histories = read_histories(situation, book)
    advisers = [
        adviser(history, situation, stock, question.wish)
        for history in asked_histories(histories, question.exercise_id)
    ]
    advices = [advice for one in advisers for advice in one.advices()]
    items = [item_document(advice, situation, teller, question.mass) for advice in advices]
    for one in advisers:
        if one.history.exercise.work != "repetitions":
            items += TimedAdviser(one).documents(teller, question.mass)
    if question.exercise_id is not None and not items:
        (history,) = (one.history for one in advisers)
        raise NothingToComputeOn(why_nothing(history), exercise_id=question.exercise_id)
    answer = envelope(items, situation, MODEL_VERSION)
    ask = ask_of(advices, situation)
    if ask is not None:
        answer["ask"] = to_document(teller.reason(ask))
    return {**answer, "site_id": str(stock.site_id), "inventory_etag": stock.etag}


def why_nothing(history: ExerciseHistory) -> str:
    """Return why no load can be named for an exercise: nothing is logged, or nothing of it went up."""
    missed = any(is_missed(seen.record, seen.exercise) for seen in history.sets)
    return WHY_NOTHING_WENT_UP if missed else WHY_NOTHING


def require_possible(wish: Wish) -> None:
    """Raise ``NotPossible`` where a wish asks for an empty range."""
    pairs = (("reps", wish.reps_low, wish.reps_high), ("reserve", wish.reserve_low, wish.reserve_high))
    for name, low, high in pairs:
        if low is not None and high is not None and low > high:
            fault = FieldFault(
                f"?{name}_high", "below_low", f"{name}_high is below {name}_low", f"at least {low:g}"
            )
            raise NotPossible(faults=[fault])
