"""Bodies of the examples, and the answers that they get: computed, so that they cannot fall behind."""

from collections.abc import Callable
from typing import Any

import msgspec

from service.catalogue.texts import load_texts
from service.usecases.answers import compute
from service.usecases.answers.compute_dose_response import compute_dose_response
from service.usecases.answers.compute_drops import compute_drop_set
from service.usecases.answers.compute_indices import compute_imbalance_indices
from service.usecases.answers.compute_progression import compute_load_progression
from service.usecases.answers.compute_ratio import compute_muscle_ratio
from service.usecases.answers.compute_volume import compute_volume
from service.usecases.answers.telling import Teller
from service.usecases.documents import Document
from service.usecases.records.computations import (
    DoseResponseQuestion,
    DropSetQuestion,
    IndicesQuestion,
    LoadableQuestion,
    LoadProgressionQuestion,
    OneRepMaxQuestion,
    RatioQuestion,
    VolumeQuestion,
)

Pair = tuple[Document, Document]
_ONE_REP_MAX: Document = {
    "load": {"value": 80, "unit": "kg"}, "reps": 12, "formulas": ["epley", "mayhew", "wathen"], "screening": "clear",
}  # fmt: skip
_LOADABLE: Document = {
    "items": [
        {"kind": "bar", "name": "Bar", "mass": {"value": 45, "unit": "lb"}},
        {"kind": "plate_pairs", "name": "Large", "mass": {"value": 45, "unit": "lb"}, "pairs": 2},
        {"kind": "plate_pairs", "name": "Small", "mass": {"value": 2.5, "unit": "kg"}, "pairs": 1},
    ],
    "target": {"value": 140, "unit": "lb"}, "count": 3, "screening": "clear",
}  # fmt: skip
_INDICES: Document = {
    "left": {"trials": [37.5, 38.0, 38.5], "unit": "kg", "exercise": "knee-extension", "mode": "isometric"},
    "right": {"trials": [42.0, 41.0, 43.0], "unit": "kg", "exercise": "knee-extension", "mode": "isometric"},
    "both": {"trials": [76.0, 75.0], "unit": "kg", "exercise": "knee-extension", "mode": "isometric"},
    "visit_sd": 0.04, "prior": {"sd": 0.05}, "dominant_side": "right", "screening": "clear",
}  # fmt: skip
_RATIO: Document = {
    "over": {
        "trials": [96.0, 99.0, 97.5], "unit": "N", "device": "fixed-dynamometer", "mode": "isometric-60-degrees",
        "side": "left",
    },
    "under": {
        "trials": [171.0, 166.0, 170.0], "unit": "N", "device": "fixed-dynamometer", "mode": "isometric-60-degrees",
        "side": "left",
    },
    "screening": "clear",
}  # fmt: skip
_LOAD_PROGRESSION: Document = {
    "exercise_id": "dumbbell-bench-press",
    "sets": [
        {"days_ago": days, "load": {"value": 20, "unit": "lb"}, "reps": 12, "reps_in_reserve": 2}
        for days in (9, 6, 3)
    ],
    "items": [{"kind": "dumbbells", "name": "Rack", "unit": "lb", "first": 5, "last": 50, "step": 5}],
    "reps_low": 8, "reps_high": 12, "training": "trained", "screening": "clear",
}  # fmt: skip
_VOLUME: Document = {
    "training": "trained", "screening": "clear",
    "sets": [
        {"exercise_id": "cable-pressdown", "reps": 12, "to_failure": True, "drops": 2, "session": "monday"},
        {"exercise_id": "cable-pressdown", "reps": 14, "session": "thursday"},
    ],
}  # fmt: skip
_DOSE_RESPONSE: Document = {
    "training": "trained", "age_years": 34, "recent_weekly_hard_sets": 11, "screening": "clear",
    "series": [
        {
            "kind": "strength", "changes_percent": [2.1, 0.4, 2.6, 1.9, 0.2], "error_percent": 1.2,
            "weeks": [4, 4, 4, 4, 4], "weekly_hard_sets": [10, 5, 12, 14, 4],
        },
        {
            "kind": "girth", "changes_percent": [0.5, 0.4], "error_percent": 0.6,
            "weeks": [10, 10], "weekly_hard_sets": [9, 10],
        },
    ],
}  # fmt: skip
_DROP_SET: Document = {
    "exercise_id": "cable-pressdown", "load": {"value": 50, "unit": "kg"}, "reps": 12,
    "items": [
        {"kind": "stack", "name": "Cable", "station": "cable", "unit": "kg", "masses": [15, 20, 25, 30, 35, 40, 45, 50]},
    ],
    "training": "trained", "days_since_last": 3, "screening": "clear",
}  # fmt: skip


def _answered(sent: Document, question: Any, deed: Callable[[Any, Teller], Document]) -> Pair:
    return sent, deed(msgspec.convert(sent, question, strict=False), Teller(load_texts()))


def one_rep_max_example() -> Pair:
    """Return a set to failure and its maxima."""
    return _answered(_ONE_REP_MAX, OneRepMaxQuestion, compute.compute_one_rep_max)


def loadable_example() -> Pair:
    """Return implements in both units with a target, and the loads near it."""
    return _answered(_LOADABLE, LoadableQuestion, compute.compute_loadable)


def indices_example() -> Pair:
    """Return the trials of each side and of both together, and every index of their difference."""
    return _answered(_INDICES, IndicesQuestion, compute_imbalance_indices)


def ratio_example() -> Pair:
    """Return trials of knee flexors and extensors on one device, and their ratio."""
    return _answered(_RATIO, RatioQuestion, compute_muscle_ratio)


def load_progression_example() -> Pair:
    """Return three sessions with dumbbells in steps of 5 lb, and why the next step waits."""
    return _answered(_LOAD_PROGRESSION, LoadProgressionQuestion, compute_load_progression)


def volume_example() -> Pair:
    """Return a drop set and a set of untold effort, and what they come to."""
    return _answered(_VOLUME, VolumeQuestion, compute_volume)


def dose_response_example() -> Pair:
    """Return a lift and a girth over some months, and what they say of the sets done."""
    return _answered(_DOSE_RESPONSE, DoseResponseQuestion, compute_dose_response)


def drop_set_example() -> Pair:
    """Return a set to failure at a cable, and the drops after it."""
    return _answered(_DROP_SET, DropSetQuestion, compute_drop_set)
