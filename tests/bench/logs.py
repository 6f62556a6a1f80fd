"""Invented logs to measure with: so many sets, ended yesterday."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

from service.catalogue import load_catalogue
from service.core.capability import AthleteModel, SeriesPrior, SessionEvidence, SetEvidence
from service.core.curve import CURVE_PRIORS

LIFTS = (
    "bench-press", "back-squat", "barbell-row", "overhead-press", "romanian-deadlift", "lat-pulldown", "leg-press", "hip-thrust",
)  # fmt: skip
SETS_PER_SESSION = 16
CATALOGUE = load_catalogue()
TODAY = datetime.now(UTC).replace(hour=0, minute=0, second=0, microsecond=0)


def sets_of(count: int, days_between: float = 1.0) -> Iterator[tuple[int, datetime, str, float, int, int]]:
    """Yield session number, instant, lift, load [kg], repetitions and reserve of each set, the newest session yesterday."""
    sessions = -(-count // SETS_PER_SESSION)
    for number in range(count):
        session, within = divmod(number, SETS_PER_SESSION)
        at = (
            TODAY
            - timedelta(days=(sessions - session) * days_between)
            + timedelta(hours=17, minutes=4 * within)
        )
        lift = LIFTS[(within // 2 + session) % len(LIFTS)]
        yield (
            session,
            at,
            lift,
            60.0 + 2.5 * ((session + within) % 5),
            5 + (session * 7 + within) % 6,
            within % 4,
        )


def sessions_of(count: int) -> list[SessionEvidence]:
    """Return a log as evidence."""
    grouped: dict[int, list[SetEvidence]] = {}
    days: dict[int, float] = {}
    for session, at, lift, load, reps, reserve in sets_of(count):
        days.setdefault(session, at.timestamp() / 86_400.0)
        grouped.setdefault(session, []).append(SetEvidence(lift, load, reps, reps_in_reserve=float(reserve)))
    return [SessionEvidence(days[number], tuple(sets)) for number, sets in grouped.items()]


def model() -> AthleteModel:
    """Return the model of these lifts, each of which tires the others a little."""
    curve = {lift: CURVE_PRIORS[CATALOGUE.exercises[lift].curve_class] for lift in LIFTS}
    return AthleteModel(lambda series: SeriesPrior(curve[series]), lambda _, __: 0.1)


def rows_of(tenant_id: UUID, athlete_id: UUID, count: int) -> Iterator[dict[str, Any]]:
    """Yield a log as rows of the table of sets."""
    for number, (_, at, lift, load, reps, reserve) in enumerate(sets_of(count)):
        yield {
            "tenant_id": tenant_id, "athlete_id": athlete_id, "performed_at": at, "id": uuid4(), "received_at": at,
            "updated_at": at, "version": 1, "ordinal": number % SETS_PER_SESSION, "utc_offset_min": 0, "stage": 0,
            "reps": reps, "reps_in_reserve": float(reserve), "exercise_id": lift, "side": "both", "load_value": load,
            "load_unit": "kg", "load_kg": load, "purpose": "unknown", "fingerprint": b"invented",
        }  # fmt: skip
