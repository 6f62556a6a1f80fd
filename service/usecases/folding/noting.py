"""What each write says to the fold: which part of an athlete's log it touched."""

from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from service.usecases.fold_rows import Touched
from service.usecases.folding.engine import ENGINE
from service.usecases.folding.inputs import training_of
from service.usecases.folding.visits import REACH
from service.usecases.kinds import ATHLETE, EXERCISE, IMPLEMENTS, MEASUREMENT, SESSION, SET, Kind
from service.usecases.ports import UnitOfWork
from service.usecases.records.base import Mass
from service.usecases.records.log import BodyMass, LoggedSet, Session, TestedMaximum
from service.usecases.records.people import Athlete, Screening
from service.usecases.records.places import BarImplement, Inventory


def note_write(
    work: UnitOfWork, kind: Kind, id: UUID, athlete_id: UUID | None, before: Any, after: Any
) -> None:
    """Note that a record took the place of another; None stands for none, before a first write and after a delete."""
    if kind is EXERCISE and before is not None:
        # Answers see at once that the exercise is described otherwise; a job folds everybody anew.
        work.states.defer_refold(None)
    elif kind is IMPLEMENTS:
        _note_bars(work, id, before, after)
    elif kind is ATHLETE:
        _note_athlete(_of(work, id), before, after)
    elif kind is SET and athlete_id is not None:
        _note_set(_of(work, athlete_id), before, after)
    elif kind is SESSION and athlete_id is not None:
        _note_session(_of(work, athlete_id), id, before, after)
    elif kind is MEASUREMENT and athlete_id is not None:
        _note_measurement(_of(work, athlete_id), id, before, after)


def _note_bars(work: UnitOfWork, site_id: UUID, before: Inventory | None, after: Inventory | None) -> None:
    """Note that bars of a site weigh otherwise: all that was ever logged as plates on them does too.

    Answers fold from before the first such set at once; a job folds each of these athletes anew.
    """
    was, now = _bars(before), _bars(after)
    changed = {name for name in was.keys() | now.keys() if was.get(name) != now.get(name)}
    if not changed:
        return
    for athlete_id, first in work.log.first_with_bars(site_id, changed).items():
        work.people.lock(athlete_id)
        work.states.mark_stale(athlete_id, _from(first), ENGINE.packing)
        work.states.defer_refold(athlete_id)


def _bars(inventory: Inventory | None) -> dict[str, Mass]:
    """Return the mass of each bar by its name; of two bars of one name the first counts, as where loads are read."""
    items = inventory.items if inventory is not None else []
    return {item.name: item.mass for item in reversed(items) if isinstance(item, BarImplement)}


def note_screening(work: UnitOfWork, athlete_id: UUID, screening: Screening) -> None:
    """Note that an operation was told: sides may differ far more after one, in everything logged so far."""
    if screening.procedures:
        _of(work, athlete_id).whole = True


def _of(work: UnitOfWork, athlete_id: UUID) -> Touched:
    return work.touched.setdefault(athlete_id, Touched())


def _note_athlete(touched: Touched, before: Athlete | None, after: Athlete | None) -> None:
    touched.gone = after is None
    if before is None or after is None:
        touched.whole = before is not None or touched.whole
    elif _enters_fold(before) != _enters_fold(after):
        touched.whole = True


def _enters_fold(athlete: Athlete) -> tuple[object, ...]:
    """Return what of an athlete a fold hangs on: at home lie the bars and the stations of sets that name no place, and the
    zone cuts into days what was entered in UTC."""
    return training_of(athlete), athlete.home_site_id, athlete.time_zone


def _note_set(touched: Touched, before: LoggedSet | None, after: LoggedSet | None) -> None:
    if before is not None:
        touched.sets.append((before, True))
    if after is not None:
        touched.sets.append((after, False))


def _note_session(touched: Touched, id: UUID, before: Session | None, after: Session | None) -> None:
    was, now = (session.started_at if session is not None else None for session in (before, after))
    moved = before is not None and after is not None and before.site_id != after.site_id
    if was != now or moved:
        starts = touched.starts.setdefault(id, [])
        starts += [start for start in (was, now) if start is not None]


def _note_measurement(touched: Touched, id: UUID, before: Any, after: Any) -> None:
    for record, gone in ((before, True), (after, False)):
        if isinstance(record, TestedMaximum):
            touched.tests.append(((record.at.astimezone(UTC), f"test {id}"), gone))
        elif isinstance(record, BodyMass):
            touched.masses.append(_from(record.at))


def _from(told_at: datetime) -> datetime:
    """A session may have begun within a day before the sets that were done after a body mass was told."""
    return told_at.astimezone(UTC) - REACH
