"""A plain baseline to beat: a smoothed maximum by one class curve, with the usual reserve bias taken off."""

import math

from tests.simulation.athletes import POUND
from tests.simulation.rows import SetRow

SLOPES = {"leg press": 52.0, "back squat": 42.0, "hip thrust": 42.0, "romanian deadlift": 42.0}
USUAL_SLOPE = 35.0
RESERVE_BIAS = 0.95
UNSTATED_RESERVE = 2.5
SMOOTHING = 0.35
LN_SD = 0.065
SLIP = 0.5
PATIENCE = 4
NORMAL_SCORES = (-1.95996, -1.28155, 0.0, 1.28155, 1.95996)
Prediction = tuple[float, ...]


def predict(rows: list[SetRow]) -> list[Prediction | None]:
    """Mean, sd and five quantiles of N for each row, from the sessions before it; None before the first."""
    known: dict[tuple[str, ...], float] = {}
    best: dict[tuple[str, ...], tuple[str, float]] = {}
    refused: dict[tuple[str, ...], int] = {}
    found: dict[int, Prediction | None] = {}
    order = sorted(
        range(len(rows)), key=lambda i: (rows[i].athlete, rows[i].performed_at[:10], rows[i].ordinal)
    )
    for i in order:
        row = rows[i]
        key = (row.athlete, row.exercise, row.side)
        slope = SLOPES.get(row.exercise.replace("one-leg ", ""), USUAL_SLOPE)
        ln_load = math.log(row.load * (POUND if row.unit == "lb" else 1.0))
        session, top = best.get(key, ("", -9.0))
        if session != row.session:
            _learn(known, key, top)
            session, top = row.session, -9.0
        found[i] = _told(known[key], ln_load, slope) if key in known and not row.stage else None
        seen = ln_load + (_seen(row) - 1.0) / slope
        if row.purpose != "warm_up" and not row.stage:
            if abs(seen - known.get(key, seen)) < SLIP:
                top, refused[key] = max(top, seen), 0
            else:
                refused[key] = refused.get(key, 0) + 1
                if refused[key] >= PATIENCE:
                    known.pop(key, None)
        best[key] = (session, top)
    return [found[i] for i in range(len(rows))]


def _learn(known: dict[tuple[str, ...], float], key: tuple[str, ...], best: float) -> None:
    if best > -9.0:
        known[key] = known.get(key, best) + SMOOTHING * (best - known.get(key, best))


def _seen(row: SetRow) -> float:
    if row.to_failure:
        return row.logged_reps + 0.5
    left = UNSTATED_RESERVE if row.reserve is None else row.reserve + RESERVE_BIAS
    return row.logged_reps + left


def _told(ln_max: float, ln_load: float, slope: float) -> Prediction:
    mean = max(1.0, 1.0 + slope * (ln_max - ln_load))
    sd = slope * LN_SD
    return (mean, sd, *(max(0.0, mean + sd * score) for score in NORMAL_SCORES))
