"""Looking back over a lift's sessions at once: where strength was on each day, and how the errors of days hang together.

A fixed-interval smoother after Rauch, Tung and Striebel on all that a series and its athlete are described by. What the
curve is off by is wrong on every day alike, and strength wanders: a change between two days needs their covariance.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from service.core.capability.asked_load import direction_of, ln_load_of, turn_to
from service.core.capability.athlete import AthleteState
from service.core.capability.engine import fold
from service.core.capability.forecasting import SIDE_SIGN, UNKNOWN_TRAINED
from service.core.capability.hub import join
from service.core.capability.joint import lapse
from service.core.capability.layout import (
    DAY,
    GLOBAL_COUNT,
    KNOWN,
    LAST_DAY,
    LOCAL_COUNT,
    LOCALS_BOTH,
    OPEN,
    OWN_DAY,
    PIVOT,
    SESSION_DAY,
    SIDE_DAY,
    STRENGTH,
    TRAINED,
    USED,
)
from service.core.capability.looking_back import (
    LOOKING_BACK,
    OF_BOTH_LIMBS,
    OF_SIDES,
    RISING,
    begin_looking_back,
    split,
    walked,
)
from service.core.capability.parameters import table_of
from service.core.capability.sets import AthleteModel, SeriesPrior, SessionEvidence, Side
from service.core.capability.stepping import advance
from service.core.units import Days, Repetitions

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Passage:
    """From one session of a series to its next: what was held before, and what that let expect.

    ``carry`` moves the held mean to the expected one, up to a constant; the walk between them is in
    ``expected_covariance``.
    """

    mean: Array
    covariance: Array
    carry: Array
    expected_mean: Array
    expected_covariance: Array


@dataclass(frozen=True, slots=True)
class Smoothed:
    """Means (n, m) and covariances (n, m, m) of n days, and ``gains`` (n - 1, m, m) that tie each day to the next."""

    means: Array
    covariances: Array
    gains: Array

    def across(self, direction: Array) -> Array:
        """Return the covariance (n, n) of one weighted sum of the numbers between all days."""
        count = len(self.means)
        between = np.zeros((count, count))
        for later in range(count):
            moved = self.covariances[later] @ direction
            between[later, later] = direction @ moved
            for earlier in range(later - 1, -1, -1):
                moved = self.gains[earlier] @ moved
                between[earlier, later] = between[later, earlier] = direction @ moved
        return between

    def with_end(self, direction: Array) -> Array:
        """Return the covariance (n, m) of one weighted sum on each day with all numbers of the last day."""
        tied, rows = self.covariances[-1], []
        for gain in (None, *self.gains[::-1]):
            tied = tied if gain is None else gain @ tied
            rows.append(direction @ tied)
        return np.array(rows[::-1])


def smooth_jointly(passages: Sequence[Passage], end_mean: Array, end_covariance: Array) -> Smoothed:
    """Return what all days together tell of each, from the passages in order and what is held in the end."""
    means, covariances, gains = [end_mean], [end_covariance], []
    for one in reversed(passages):
        across = one.covariance @ one.carry.T
        # Numbers that never move make the expected covariance singular to rounding where they are known exactly.
        gain = across @ np.linalg.pinv(one.expected_covariance, rcond=1e-12, hermitian=True)
        means.append(one.mean + gain @ (means[-1] - one.expected_mean))
        held = one.covariance + gain @ (covariances[-1] - one.expected_covariance) @ gain.T
        covariances.append(0.5 * (held + held.T))
        gains.append(gain)
    size = len(end_mean)
    return Smoothed(
        np.array(means[::-1]), np.array(covariances[::-1]), np.array(gains[::-1]).reshape(-1, size, size)
    )


def _told_by_side(model: AthleteModel, sessions: Iterable[SessionEvidence]) -> AthleteModel:
    """Return a model in which a lift of both limbs whose sets name either has sides: these may part as any others."""
    sides: dict[str, set[Side]] = {}
    for session in sessions:
        for item in session.sets:
            sides.setdefault(item.series, set()).add(item.side)

    def prior(series: str) -> SeriesPrior:
        held = model.series_prior(series)
        return replace(held, one_sided=held.one_sided or sides.get(series, set()) >= {"left", "right"})

    return replace(model, series_prior=prior)


def without_sets(passages: Sequence[Passage], direction: Array) -> tuple[Array, Array]:
    """Return mean (n) and covariance (n, n) of one weighted sum on n days, were nothing seen after the first of them."""
    mean, covariance = passages[0].mean, passages[0].covariance
    means, covariances = [mean], [covariance]
    for one in passages:
        mean = one.expected_mean + one.carry @ (mean - one.mean)
        walked = one.expected_covariance - one.carry @ one.covariance @ one.carry.T
        covariance = one.carry @ covariance @ one.carry.T + walked
        means.append(mean)
        covariances.append(covariance)
    between = np.zeros((len(means), len(means)))
    later = direction[:, None]
    for day in range(len(passages), -1, -1):
        if day < len(passages):
            later = np.column_stack([direction, passages[day].carry.T @ later])
        between[day, day:] = between[day:, day] = direction @ covariances[day] @ later
    return np.array(means) @ direction, between


def _all_without_sets(hypotheses: Sequence[tuple[Sequence[Passage], Array]]) -> tuple[Array, Array]:
    """Return the means (h, n) and covariances (h, n, n) that each hypothesis would expect."""
    told = [
        without_sets(passages, direction) if passages else (np.zeros(1), np.zeros((1, 1)))
        for passages, direction in hypotheses
    ]
    return np.array([mean for mean, _ in told]), np.array([covariance for _, covariance in told])


@dataclass(frozen=True, slots=True)
class Line:
    """ln of the load for some repetitions on each session of a series [ln kg], per hypothesis about the athlete.

    ``means`` (h, n) and ``covariances`` (h, n, n) of the n sessions; ``shared`` (h, n, g) is their covariance with what
    all lifts share, whose own is ``shared_covariance`` (h, g, g): given that, two lifts know nothing of each other.
    ``expected`` (h, n) and ``expected_covariances`` (h, n, n) are what each hypothesis, knowing the first session alone,
    would say of all, up to a constant. ``kinds`` (3) weighs the hypotheses of `looking_back`: steady, rising, returning. [1]
    """

    series: str
    side: Side
    repetitions: Repetitions
    days: tuple[Days, ...]
    weights: Array
    means: Array
    covariances: Array
    shared: Array
    shared_covariance: Array
    without_sets: Callable[[], tuple[Array, Array]]
    kinds: Array

    @property
    def novice(self) -> float:
        """The weight of the hypothesis that the lift is still being learnt. [1]"""
        return float(self.kinds[RISING])

    @property
    def expected(self) -> Array:
        """What each hypothesis would say of all sessions, worked out when it is first asked for."""
        return self.without_sets()[0]

    @property
    def expected_covariances(self) -> Array:
        """Its covariances, likewise."""
        return self.without_sets()[1]

    def prior_change_variance(self, weeks: float) -> float:
        """Return the variance of a change over so many weeks before any set is seen, the log being young. [1]"""
        return float(self.kinds @ walked(weeks))


class Retrospect:
    """An athlete's states after each of some sessions, to look back from the last."""

    def __init__(
        self, earlier: Sequence[SessionEvidence], sessions: Sequence[SessionEvidence], model: AthleteModel
    ) -> None:
        """Fold the ``earlier`` sessions at once and the others one by one.

        Raises:
            OutsideValidity: a session begins before the one before it.
        """
        model = _told_by_side(model, (*earlier, *sessions))
        before = fold(begin_looking_back(model.training), earlier, model, LOOKING_BACK)
        sided = any(model.series_prior(item.series).one_sided for one in sessions for item in one.sets)
        within = OF_SIDES if sided else OF_BOTH_LIMBS
        self._constants = table_of([one.constants for one in within])
        self._before = np.array([one.before for one in within])
        self._states = [split(before, within)]
        for session in sessions:
            self._states.append(fold(self._states[-1], (session,), model, self._constants))
        self._alive = np.flatnonzero(self.end.weights > 0.0)
        self._kept: dict[str, tuple[tuple[Days, ...], list[tuple[Smoothed, list[Passage]]]]] = {}

    @property
    def end(self) -> AthleteState:
        """The state after all sessions."""
        return self._states[-1]

    def line(self, series: str, side: Side = "both", repetitions: Repetitions | None = None) -> Line | None:
        """Return a series' strength on each of its sessions, for the repetitions trained in the end unless asked.

        ``None`` where nothing is known of the series.
        """
        if series not in self.end.names:
            return None
        number = self.end.names.index(series)
        if self.end.notes[number, KNOWN] == 0.0:
            return None
        asked = repetitions or float(self.end.notes[number, TRAINED]) or UNKNOWN_TRAINED
        if series not in self._kept:
            self._kept[series] = self._smoothed(number)
        days, smoothed = self._kept[series]
        if not days:
            return None
        used, usual = int(self.end.notes[number, USED]), float(self.end.notes[number, PIVOT])
        sign = SIDE_SIGN[side] if used > LOCALS_BOTH else 0.0
        means, covariances, shared, expected = [], [], [], []
        for one, passages in smoothed:
            direction = direction_of(used, sign, asked, usual, one.means[-1])
            means.append([ln_load_of(used, sign, asked, usual, mean) for mean in one.means])
            covariances.append(one.across(direction))
            shared.append(one.with_end(direction)[:, used + DAY + 1 :])
            expected.append((passages, direction))
        weights = self.end.weights[self._alive]
        return Line(
            series, side, asked, days, weights / weights.sum(), np.array(means), np.array(covariances),
            np.array(shared), np.array([one.covariances[-1][used + DAY + 1 :, used + DAY + 1 :] for one, _ in smoothed]),
            cache(lambda: _all_without_sets(expected)),
            self._kinds(),
        )  # fmt: skip

    def _kinds(self) -> Array:
        weights = self.end.weights / self.end.weights.sum()
        return np.bincount(self._before, weights, minlength=len(LOOKING_BACK)).astype(np.float64)

    def _smoothed(self, number: int) -> tuple[tuple[Days, ...], list[tuple[Smoothed, list[Passage]]]]:
        touched = [at for at, state in enumerate(self._states) if at and _has_trained(state, number)]
        days = tuple(float(self._states[at].athlete[SESSION_DAY]) for at in touched)
        used, usual = int(self.end.notes[number, USED]), float(self.end.notes[number, PIVOT])
        found = []
        for h in map(int, self._alive):
            passages = [
                _passage(self._states[at - 1], h, number, day, used, usual, self._constants)
                for at, day in zip(touched[1:], days[1:], strict=True)
            ]
            found.append((smooth_jointly(passages, *_held(self.end, h, number, used, usual)), passages))
        return days, found


def _has_trained(state: AthleteState, number: int) -> bool:
    if number >= len(state.names):
        return False
    notes = state.notes[number]
    return bool(notes[KNOWN] > 0.0 and notes[OPEN] > 0.0 and notes[LAST_DAY] == state.athlete[SESSION_DAY])


def _held(state: AthleteState, h: int, number: int, used: int, usual: Repetitions) -> tuple[Array, Array]:
    """Return mean and covariance of a series' locals and the globals as they stand, days' effects left out.

    Strength is told as ln of the load for the repetitions ``usual`` in the end: were it the maximum, what a curve is off by
    would be taken from each day by the curve believed in the end, and moved days by what was believed of the curve on them.
    """
    mean, covariance = _without_days(
        used, state.offset[h, number], state.slope[h, number], state.spread[h, number],
        state.globals_mean[h], state.globals_covariance[h],
    )  # fmt: skip
    turn, more = turn_to(used, float(state.notes[number, PIVOT]), usual, mean)
    mean[STRENGTH] += more
    return mean, turn @ covariance @ turn.T


def _without_days(used: int, a: Array, b: Array, c: Array, g: Array, p: Array) -> tuple[Array, Array]:
    size = used + GLOBAL_COUNT
    mean, covariance = np.zeros(size), np.zeros((size, size))
    join(used, a, b, c, g, p, mean, covariance)
    for place in _days_of(used):
        mean[place] = 0.0
        covariance[place, :] = covariance[:, place] = 0.0
    return mean, covariance


def _days_of(used: int) -> tuple[int, ...]:
    return (OWN_DAY, *((SIDE_DAY,) if used > LOCALS_BOTH else ()), used + DAY)


def _passage(
    state: AthleteState,
    h: int,
    number: int,
    day: Days,
    used: int,
    usual: Repetitions,
    constants: NDArray[np.void],
) -> Passage:
    g, p = state.globals_mean[h], state.globals_covariance[h]
    a, b, c = (one[h, number].copy() for one in (state.offset, state.slope, state.spread))
    told = lapse(state, h, state.notes[number], day, constants)
    advance(*told, constants[h], a, b, c, state.notes[number].copy())
    expected_mean, expected = _without_days(used, a, b, c, g, p)
    # Time moves no curve and takes nothing of strength away, so that both ends turn alike and carry as they did.
    turn, more = turn_to(used, float(state.notes[number, PIVOT]), usual, expected_mean)
    expected_mean[STRENGTH] += more
    return Passage(
        *_held(state, h, number, used, usual),
        _carry(state, number, told, used, constants[h]),
        expected_mean,
        turn @ expected @ turn.T,
    )


def _carry(
    state: AthleteState, number: int, told: tuple[float, float, float, float], used: int, constants: Any
) -> Array:
    """Return how `stepping.advance` moves locals and globals, read off unit slopes so that it is written once."""
    carry = np.eye(used + GLOBAL_COUNT)
    by_globals = _moved_slopes(state, number, told, constants, np.zeros((LOCAL_COUNT, GLOBAL_COUNT)))
    for first in range(0, used, GLOBAL_COUNT):
        width = min(GLOBAL_COUNT, used - first)
        units = np.zeros((LOCAL_COUNT, GLOBAL_COUNT))
        units[range(first, first + width), range(width)] = 1.0
        moved = _moved_slopes(state, number, told, constants, units) - by_globals
        carry[:used, first : first + width] = moved[:used, :width]
    carry[:used, used:] = by_globals[:used]
    for place in _days_of(used):
        carry[place, :] = carry[:, place] = 0.0
    return carry


def _moved_slopes(
    state: AthleteState, number: int, told: tuple[float, float, float, float], constants: Any, slope: Array
) -> Array:
    a, c = state.offset[0, number].copy(), state.spread[0, number].copy()
    advance(*told, constants, a, slope, c, state.notes[number].copy())
    return slope
