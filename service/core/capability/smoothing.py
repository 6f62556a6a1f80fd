"""Looking back: what a lift's strength was on each day, told by the sets before and after it."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import sqrt
from typing import Final

import numpy as np

from service.core.capability.athlete import AthleteState
from service.core.capability.engine import fold
from service.core.capability.forecasting import CapabilityForecast, forecast
from service.core.capability.outlook import OUTLOOK, ln_load_moments
from service.core.capability.sets import AthleteModel, SessionEvidence, Side
from service.core.units import Days, LogRatio, Repetitions

DOUBT: Final = OUTLOOK.index("doubt")


@dataclass(frozen=True, slots=True)
class SmoothedPoint:
    """ln of the load that the asked repetitions were possible with on a day [ln kg], with its sd [1]."""

    day: Days
    ln_load: float
    sd: LogRatio


@dataclass(frozen=True, slots=True)
class _Step:
    day: Days
    expected: tuple[float, float] | None
    known: tuple[float, float]


def smooth(
    state: AthleteState,
    sessions: Iterable[SessionEvidence],
    model: AthleteModel,
    series: str,
    side: Side = "both",
    repetitions: Repetitions | None = None,
) -> tuple[SmoothedPoint, ...]:
    """Return one point per session of a series after ``state``, oldest first, days' ups and downs averaged out.

    A fixed-interval smoother after Rauch, Tung and Striebel on the log load for ``repetitions`` (those trained at the
    end where none are asked): what the filter knew each day is moved by what later days showed, as far as the walk
    between them allows. The last point is the filter's own.

    Raises:
        OutsideValidity: a session begins before one that is folded already.
    """
    told = tuple(sessions)
    asked = repetitions or _trained_at_end(state, told, model, series)
    steps: list[_Step] = []
    for session in told:
        before = forecast(state, series, session.day, side)
        state = fold(state, (session,), model)
        after = forecast(state, series, session.day, side, same_session=True)
        if after is not None and any(item.series == series for item in session.sets):
            expected = _level(before, asked) if before is not None and steps else None
            steps.append(_Step(session.day, expected, _level(after, asked)))
    return _backwards(steps)


def _trained_at_end(
    state: AthleteState, sessions: tuple[SessionEvidence, ...], model: AthleteModel, series: str
) -> Repetitions:
    end = forecast(fold(state, sessions, model), series, sessions[-1].day) if sessions else None
    return end.trained_repetitions if end is not None else 1.0


def _level(found: CapabilityForecast, repetitions: Repetitions) -> tuple[float, float]:
    """Return mean and variance within the model: doubt about the curve's family is the same on every day."""
    outlooks = found.outlooks("capability").copy()
    outlooks[:, DOUBT] = 0.0
    moments = np.array([ln_load_moments(repetitions, outlook) for outlook in outlooks])
    mean = float(found.weights @ moments[:, 0])
    return mean, float(found.weights @ (moments[:, 1] + (moments[:, 0] - mean) ** 2))


def _backwards(steps: list[_Step]) -> tuple[SmoothedPoint, ...]:
    points: list[SmoothedPoint] = []
    later: _Step | None = None
    mean = variance = 0.0
    for step in reversed(steps):
        known, spread = step.known
        if later is None or later.expected is None:
            mean, variance = known, spread
        else:
            expected, wide = later.expected
            share = min(spread / wide, 1.0)
            mean = known + share * (mean - expected)
            variance = max(spread + share * share * (variance - wide), 1e-12)
        points.append(SmoothedPoint(step.day, mean, sqrt(variance)))
        later = step
    return tuple(reversed(points))
