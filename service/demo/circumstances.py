"""What is particular about each invented person: screenings, limits, aims, check-ins. Dates count back from today."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from service.demo.people import Person

Document = dict[str, Any]
_INSTRUMENT = {"instrument": "Quay Street entry form (invented)", "instrument_version": "2"}


def _screened(today: date, days_ago: int, outcome: str, **more: Any) -> Document:
    performed_on = (today - timedelta(days=days_ago)).isoformat()
    return {**_INSTRUMENT, "performed_on": performed_on, "outcome": outcome, **more}


def _after_knee_operation(today: date) -> Document:
    return _screened(
        today, 24, "cleared",
        procedures=[{"region": "knee", "performed_on": (today - timedelta(days=69)).isoformat(), "side": "right"}],
        clearance={
            "by": "an invented physiotherapist", "role": "physiotherapist",
            "given_on": (today - timedelta(days=24)).isoformat(), "review_on": (today + timedelta(days=365)).isoformat(),
            "joint_limits": [{"motion": "knee_flexion", "from_deg": 0, "to_deg": 90, "side": "both"}],
            "min_reps_in_reserve": 4,
        },
    )  # fmt: skip


_SCREENINGS: dict[str, Callable[[date], Document]] = {
    "marta": _after_knee_operation,
    "odo": lambda today: _screened(today, 6, "referred", conditions=["hypertension"]),
    "priya": lambda today: _screened(
        today, 20, "cleared", conditions=["pregnancy"],
        clearance={
            "by": "an invented midwife", "role": "other_licensed_clinician",
            "given_on": (today - timedelta(days=20)).isoformat(), "min_reps_in_reserve": 3,
        },
    ),
    "jonte": lambda today: _screened(today, 40, "clear"),
}  # fmt: skip


def screening(person: Person, today: date) -> Document:
    """Return the newest screening of a person."""
    made = _SCREENINGS.get(person.key)
    return made(today) if made else _screened(today, 90, "clear")


_LIMITS: dict[str, tuple[Document, ...]] = {
    "sanna": (
        {
            "kind": "range_of_motion", "mode": "replace", "region": "wrist", "side": "both",
            "joint_limit": {"motion": "wrist_extension", "from_deg": 0, "to_deg": 40, "side": "both"},
        },
    ),
    "tarek": (
        {
            "kind": "pain", "mode": "improve", "region": "shoulder", "side": "right", "score": 4,
            "joint_limit": {"motion": "shoulder_elevation", "from_deg": 0, "to_deg": 60, "side": "right"},
            "exercise_ids": ["one-arm-lateral-raise"],
        },
    ),
}  # fmt: skip
_GROW = {"kind": "grow_muscle", "priority": 2}
_AIMS: dict[str, tuple[Document, ...]] = {
    "ilva": (
        {"kind": "raise_lift", "exercise_id": "bench-press", "target": {"value": 65, "unit": "kg"}, "priority": 1},
        {"kind": "close_gap", "exercise_id": "one-arm-overhead-press", "priority": 2},
        {**_GROW, "muscle_id": "gluteus-maximus", "priority": 3},
    ),
    "runa": ({"kind": "raise_lift", "exercise_id": "pull-up", "priority": 1},),
    "wim": ({"kind": "hold", "priority": 2},),
}  # fmt: skip


def limits(person: Person) -> tuple[Document, ...]:
    """Return what constrains a person."""
    return _LIMITS.get(person.key, ())


def aims(person: Person) -> tuple[Document, ...]:
    """Return what a person wants."""
    return _AIMS.get(person.key, ({**_GROW, "muscle_id": "latissimus-dorsi"},))


def frame(person: Person) -> Document:
    """Return the week that a person's life allows."""
    return {"days": list(person.days), "minutes": person.minutes, "site_id": person.site_id}
