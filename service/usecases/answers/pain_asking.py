"""What is still to be told of pain: the morning after it, and its number where it was only named."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from service.core.tolerance.pain import lacks_number, needs_morning
from service.usecases.answers.history import SeenSet
from service.usecases.answers.pain_places import PlacePain, pains_of, sessions_by_lift
from service.usecases.answers.pain_reports import (
    MORNING_FROM,
    MORNING_TO,
    NO_REGION,
    PainPlace,
    training_day,
)
from service.usecases.answers.situation import Situation
from service.usecases.answers.weeks import calendar_of


@dataclass(frozen=True, slots=True)
class OpenMorning:
    """A morning of which nobody told yet: where it hurt and how much [0-10], None where no number was told, the local date, and
    from when to when."""

    place: PainPlace
    pain: float | None
    on: date
    due_from: datetime
    due_until: datetime


def open_mornings(sets: Iterable[SeenSet], situation: Situation) -> Iterator[OpenMorning]:
    """Return the mornings still to be told: after the newest occasion on which pain of a place was told, of 0 too where
    there was pain before, because without the morning nothing rises after it either.
    """
    pains = pains_of(sessions_by_lift(sets, situation), situation)
    for one in _once([one for one in pains if _is_open(one, situation)]):
        place, occasion = one.place, one.occasions[-1]
        worst = [pain for pain in (one.reports[-1].during, one.reports[-1].after) if pain is not None]
        day = training_day(occasion.done, calendar_of(situation.athlete))
        yield OpenMorning(
            place,
            None if lacks_number(one.reports[-1]) else max(worst, default=None),
            day + timedelta(days=1),
            occasion.done + MORNING_FROM,
            occasion.done + MORNING_TO,
        )


def _is_open(pain: PlacePain, situation: Situation) -> bool:
    newest = pain.occasions[-1]
    told = bool(newest.told) and not newest.has_morning(pain.place) and needs_morning(pain.reports)
    return told and situation.as_of - newest.done <= MORNING_TO


def _once(pains: Sequence[PlacePain]) -> Iterator[PlacePain]:
    """Yield what to ask of, without what a check-in tells of a region and side of which a lift is asked already."""
    asked = {(one.place.region, one.place.side) for one in pains if one.place.exercise_id is not None}
    for one in pains:
        if one.place.exercise_id is not None or (one.place.region, one.place.side) not in asked:
            yield one


@dataclass(frozen=True, slots=True)
class MissingNumber:
    """Pain that was named without its number: where, when it was told, and of which local day of training."""

    place: PainPlace
    told_at: datetime
    on: date


def missing_numbers(sets: Iterable[SeenSet], situation: Situation) -> Iterator[MissingNumber]:
    """Return the pain whose number is still to be told: the newest of its place, for so long as pain decides."""
    pains = pains_of(sessions_by_lift(sets, situation), situation)
    for one in _once([one for one in pains if lacks_number(one.reports[-1])]):
        done = one.occasions[-1].done
        yield MissingNumber(one.place, done, training_day(done, calendar_of(situation.athlete)))


def spoken_region(region: str) -> str:
    """Return a region as a question names it."""
    return "part that hurt" if region == NO_REGION else region.replace("_", " ")
