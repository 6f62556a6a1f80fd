"""The joint Gaussian of one series and its athlete on a day, moved there from wherever the state stands."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.core.capability.athlete import CONSTANTS, AthleteState
from service.core.capability.engine import prior_row
from service.core.capability.hub import forget_day, join, new_day
from service.core.capability.layout import (
    FIRST_DAY,
    GLOBAL_COUNT,
    IDLE_SEEN,
    IDLE_WEEKS,
    KNOWN,
    LAST_DAY,
    LOCAL_COUNT,
    LOCALS_BOTH,
    LOCALS_SIDED,
    NOTE_COUNT,
    OPEN,
    PIVOT,
    PRIOR_VARIANCE,
    SESSION_DAY,
    SETUP_SLOTS,
    USED,
    USUAL_GAP,
)
from service.core.capability.pivoting import to_maximum
from service.core.capability.running import day_variance, own_day_variance
from service.core.capability.sets import SeriesPrior
from service.core.capability.stepping import DAYS_PER_WEEK, advance, begin_series, idle_weeks
from service.core.errors import OutsideValidity
from service.core.units import Days

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Joint:
    """Means (h, m) and covariances (h, m, m) of ``used`` locals and the globals, per hypothesis of positive weight."""

    used: int
    weights: Array
    means: Array
    covariances: Array
    notes: Array


def joint_of(state: AthleteState, number: int, day: Days, *, same_session: bool) -> Joint:
    """Return a known series on a day: in the open session, or at the start of a new one.

    Raises:
        OutsideValidity: the day lies before the newest session.
    """
    if day < state.athlete[SESSION_DAY] and not same_session:
        raise OutsideValidity(day=day, newest=float(state.athlete[SESSION_DAY]))
    alive = np.flatnonzero(state.weights > 0.0)
    notes = state.notes[number].copy()
    parts = [_moved(state, int(h), number, day, notes.copy(), same_session) for h in alive]
    return _joined(int(notes[USED]), state.weights[alive], parts, notes)


_Parts = tuple[Array, Array, Array, Array, Array]


def _moved(state: AthleteState, h: int, number: int, day: Days, notes: Array, same_session: bool) -> _Parts:
    a, b, c = state.offset[h, number].copy(), state.slope[h, number].copy(), state.spread[h, number].copy()
    g, p = state.globals_mean[h].copy(), state.globals_covariance[h].copy()
    opened = notes[OPEN] > 0.0
    if same_session and opened:
        return a, b, c, g, p
    if opened:
        forget_day(a, b, c, g, p)
    if not same_session:
        new_day(g, p, day_variance(CONSTANTS[h], state.athlete))
    to = None if same_session else day
    advance(*lapse(state, h, notes, to), CONSTANTS[h], a, b, c, notes)
    return a, b, c, g, p


def lapse(
    state: AthleteState, h: int, notes: Array, day: Days | None, table: NDArray[np.void] = CONSTANTS
) -> tuple[float, float, float, float]:
    """Return what `stepping.advance` is told of the time since a series' last session.

    That is weeks, the log's age then, weeks in which nothing was trained, and the variance of the lift's own day; up to
    a new session on ``day``, or to the open one.
    """
    athlete, constants = state.athlete, table[h]
    to, idle = float(athlete[SESSION_DAY]), float(athlete[IDLE_WEEKS])
    if day is not None:
        idle += idle_weeks((day - to) / DAYS_PER_WEEK, float(athlete[USUAL_GAP]), constants)
        to = day
    weeks = (to - notes[LAST_DAY]) / DAYS_PER_WEEK
    age = (notes[LAST_DAY] - athlete[FIRST_DAY]) / DAYS_PER_WEEK
    return weeks, age, idle - notes[IDLE_SEEN], own_day_variance(constants, athlete)


def joint_before(state: AthleteState, prior: SeriesPrior) -> Joint | None:
    """Return a series that has no set yet, ``None`` where no other lift tells a 1RM."""
    if prior.ln_one_rep_max is None:
        return None
    alive, parts = np.flatnonzero(state.weights > 0.0), []
    mean, sd = prior.ln_one_rep_max
    for h in alive:
        a, b, c = (
            np.zeros(LOCAL_COUNT),
            np.zeros((LOCAL_COUNT, GLOBAL_COUNT)),
            np.zeros((LOCAL_COUNT, LOCAL_COUNT)),
        )
        constants = CONSTANTS[h]
        own = own_day_variance(constants, state.athlete)
        row = np.array(prior_row(prior))
        begin_series(mean, sd, row, np.zeros((SETUP_SLOTS, 2)), constants, own, a, b, c)
        g, p = state.globals_mean[h].copy(), state.globals_covariance[h].copy()
        new_day(g, p, day_variance(constants, state.athlete))
        parts.append((a, b, c, g, p))
    notes = np.zeros(NOTE_COUNT)
    notes[KNOWN], notes[PRIOR_VARIANCE] = 1.0, sd * sd
    used = LOCALS_SIDED if prior.one_sided else LOCALS_BOTH
    return _joined(used, state.weights[alive], parts, notes)


def _joined(used: int, weights: Array, parts: list[_Parts], notes: Array) -> Joint:
    size = used + GLOBAL_COUNT
    means, covariances = np.zeros((len(parts), size)), np.zeros((len(parts), size, size))
    for h, (a, b, c, g, p) in enumerate(parts):
        join(used, a, b, c, g, p, means[h], covariances[h])
        to_maximum(used, float(notes[PIVOT]), means[h], covariances[h])
    return Joint(used, weights / weights.sum(), means, covariances, notes)
