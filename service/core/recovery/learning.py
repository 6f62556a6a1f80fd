"""Learning how an athlete recovers: from the gap between foretold and seen strength at the next sessions.

A lift's gap is less by what its muscles, the trunk and the whole body have not yet recovered from. What the forecast
has taken in already, its slow following of the lift and the day's effect read off earlier lifts, comes off again. Days'
effects and serially correlated errors are noise. Loss and decay time of every channel are Gaussian together in logs,
tied to each other by what the athlete's muscles share; the posterior is a Gaussian whose slopes are averaged over it.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import exp, sqrt
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from service.core.recovery.fatigue import (
    LOSS_PERSON_LOG_SD,
    LOSS_SESSION_LOG_SD,
    MUSCLE_LOG_SD,
    PRIOR_BELIEF,
    SYSTEMIC_SHARE,
    TAU_LOG_SD,
    FatigueBelief,
)
from service.core.units import Days, Hours, Repetitions, Share

Array = NDArray[np.float64]
ChannelSide = Literal["left", "right", "both"]

#: The channels that are no muscle: the trunk under axial load, and the whole body.
TRUNK: Final = "trunk"
SYSTEMIC: Final = "systemic"
#: They have no sides: whatever limb a set was done with, it asks of the one trunk and the one body.
WHOLE: Final = frozenset((TRUNK, SYSTEMIC))
#: How fast the forecast of a lift follows what is seen, at least (judgement: the filter's gain after many sessions).
FOLLOWING = 0.13
#: Share of a lift's noise that is the day's and is read off the lifts before it (judgement, from the filter's spreads).
DAY_SHARE = 0.43
#: What the errors of one session's lifts, and of one lift within weeks, have in common: the forecast is not trusted to
#: have left none. Strength on seven occasions has serially correlated errors (0.79, Littell et al. 1996). (judgement)
SAME_SESSION, SAME_LIFT, SAME_LIFT_DAYS = 0.15, 0.20, 14.0
#: Lasting bias of a lift's reports against its forecast, and of all lifts'. [repetitions] (judgement)
LIFT_BIAS_SD, ATHLETE_BIAS_SD = 0.8, 0.5
#: Gaps beyond so many sd are slips of the pen. (judgement)
SLIP_SD = 3.0
#: How many observations the foretold noise is worth against the noise seen. (judgement)
NOISE_PRIOR = 10.0
#: How much of what the gaps say is believed: the filter's own slow learning is followed only roughly. [1] (judgement)
TRUST: Share = 0.6
#: The newest next sessions that are looked at, which bounds the cost. (judgement)
MOST_SEEN = 400
#: The horizon at which what was learned is measured. [h] (judgement: the usual time between two sessions of a muscle)
HORIZON_H: Hours = 48.0
#: Sessions longer ago leave too little to learn from. [h] (judgement)
FOLLOWED_HOURS: Hours = 240.0
_STEPS, _LONGEST_STEP, _ENOUGH = 25, 0.5, 3e-3
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(5)
NODES: Final[Array] = _NODES
NODE_WEIGHTS: Final[Array] = _WEIGHTS / _WEIGHTS.sum()
_H_PER_DAY = 24.0


@dataclass(frozen=True, slots=True)
class Asked:
    """What one session asked of one channel on one side: the mean loss it brings, and what lengthens its decay.

    The trunk and the whole body have one side, "both".
    """

    channel: str
    side: ChannelSide
    day: Days
    loss: Repetitions
    decay: float = 1.0


@dataclass(frozen=True, slots=True)
class NextSeen:
    """What a lift's first telling set of a session showed, against what was foretold of it.

    ``gap`` is seen minus foretold [repetitions], ``sd`` that of the gap; ``weights`` are the shares by which channels
    limit the lift [1].
    """

    day: Days
    series: str
    gap: Repetitions
    sd: Repetitions
    weights: Mapping[str, Share]
    side: Literal["left", "right", "both"] = "both"


@dataclass(frozen=True, slots=True)
class _Pairs:
    """Every earlier session that still weighs on a lift: which row, which channel, how much and how long ago."""

    rows: NDArray[np.int_]
    channels: NDArray[np.int_]
    amounts: Array
    hours: Array


def learn(
    asked: Sequence[Asked], seen: Sequence[NextSeen], channels: Sequence[str]
) -> dict[str, FatigueBelief]:
    """Return what is believed of each channel's recovery after these next sessions.

    A channel without sessions of its own is told by the others, as far as muscles of one athlete are alike.

    References
    ----------
    Judgement, with the priors of ``fatigue``; iterated posterior linearisation (from memory: Garcia-Fernandez et al. 2015).
    """
    names = list(dict.fromkeys([*channels, TRUNK, SYSTEMIC]))
    rows = sorted(seen, key=lambda one: one.day)[-MOST_SEEN:]
    pairs = _pairs(asked, rows, {name: place for place, name in enumerate(names)})
    mean, covariance = _prior(len(names))
    counts = np.zeros(len(names), dtype=int)
    if pairs.rows.size:
        posterior = _Problem(rows, pairs, mean, covariance)
        mean, covariance = posterior.solve()
        weighing = np.zeros((len(names), len(rows)), dtype=bool)
        weighing[pairs.channels, pairs.rows] = True
        counts = weighing.sum(axis=1)
    return {
        name: _belief(name, place, len(names), mean, covariance, int(counts[place]))
        for place, name in enumerate(names)
    }


def _pairs(asked: Sequence[Asked], rows: Sequence[NextSeen], places: Mapping[str, int]) -> _Pairs:
    by_channel: dict[tuple[str, str], list[Asked]] = defaultdict(list)
    for one in asked:
        by_channel[one.channel, one.side].append(one)
    even = {channel for channel in places if _as_much(by_channel, channel)}
    limited: dict[tuple[str, str], list[tuple[int, float]]] = defaultdict(list)
    for row, seen in enumerate(rows):
        for channel, weight in (*seen.weights.items(), (SYSTEMIC, SYSTEMIC_SHARE)):
            # Where both sides were asked the same, one of them tells all.
            both: tuple[ChannelSide, ...] = ("left",) if channel in even else ("left", "right")
            sides = both if seen.side == "both" else (seen.side,)
            for side in (("both",) if channel in WHOLE else sides) if channel in places else ():
                limited[channel, side].append((row, weight / len(sides)))
    days = np.array([seen.day for seen in rows])
    parts = [
        _pairs_of(places[key[0]], by_channel[key], np.array(limits), days)
        for key, limits in limited.items()
        if key in by_channel
    ]
    table = np.concatenate(parts) if parts else np.zeros((0, 4))
    return _Pairs(table[:, 0].astype(int), table[:, 1].astype(int), table[:, 2], table[:, 3])


def _as_much(asked: Mapping[tuple[str, str], Sequence[Asked]], channel: str) -> bool:
    left, right = asked.get((channel, "left"), ()), asked.get((channel, "right"), ())
    return [(one.day, one.loss, one.decay) for one in left] == [
        (one.day, one.loss, one.decay) for one in right
    ]


def _pairs_of(place: int, asked: Sequence[Asked], limits: Array, days: Array) -> Array:
    """Return row, channel, amount and hours (over what lengthens the decay) of every session that still weighs."""
    told = np.array([(one.day, one.loss, one.decay) for one in asked])
    hours = (days[limits[:, 0].astype(int), None] - told[:, 0]) * _H_PER_DAY
    row, session = np.nonzero((hours > 0.0) & (hours <= FOLLOWED_HOURS))
    return np.column_stack(
        (
            limits[row, 0],
            np.full(row.size, place),
            limits[row, 1] * told[session, 1],
            hours[row, session] / told[session, 2],
        )
    )


def _prior(count: int) -> tuple[Array, Array]:
    """Return mean and covariance of all ln losses, then all ln taus: what muscles share, and what each has alone."""
    mean = np.repeat([PRIOR_BELIEF.ln_loss, PRIOR_BELIEF.ln_tau], count)
    covariance = np.zeros((2 * count, 2 * count))
    for start, sd in ((0, LOSS_PERSON_LOG_SD), (count, TAU_LOG_SD)):
        block = np.full((count, count), sd**2 - MUSCLE_LOG_SD**2) + MUSCLE_LOG_SD**2 * np.eye(count)
        covariance[start : start + count, start : start + count] = block
    return mean, covariance


def _belief(name: str, place: int, count: int, mean: Array, covariance: Array, seen: int) -> FatigueBelief:
    both = np.array([place, count + place])
    spread = covariance[np.ix_(both, both)]
    loss_sd, tau_sd = sqrt(spread[0, 0]), sqrt(spread[1, 1])
    by_tau = HORIZON_H / exp(PRIOR_BELIEF.ln_tau)
    along = np.array([1.0, by_tau])
    before = LOSS_PERSON_LOG_SD**2 + (by_tau * TAU_LOG_SD) ** 2
    return FatigueBelief(
        ln_loss=float(mean[place]),
        ln_tau=float(mean[count + place]),
        loss_sd=loss_sd,
        tau_sd=tau_sd,
        correlation=float(spread[0, 1] / (loss_sd * tau_sd)),
        observation_count=seen,
        prior_share=min(float(along @ spread @ along) / before, 1.0),
        channel_share=SYSTEMIC_SHARE if name == SYSTEMIC else 1.0,
    )


class _Problem:
    """The gaps as a nonlinear regression on logs of losses and decay times."""

    def __init__(self, rows: Sequence[NextSeen], pairs: _Pairs, mean: Array, covariance: Array) -> None:
        self._pairs, self._mean, self._precision = pairs, mean, np.linalg.inv(covariance)
        self._count = mean.size // 2
        self._size = len(rows)
        taken = taken_in(rows)
        spread = np.array([one.sd for one in rows]) ** 2
        spread += (LOSS_SESSION_LOG_SD * self._lost(mean, covariance)[0]) ** 2
        limit = SLIP_SD * np.sqrt(spread)
        white = np.linalg.cholesky(_noise(rows, spread))
        self._gaps = np.linalg.solve(white, np.clip([one.gap for one in rows], -limit, limit))
        self._whitened = np.linalg.solve(white, taken)

    def solve(self) -> tuple[Array, Array]:
        """Return mean and covariance of the posterior: slopes are averaged over it, for at its mean alone they mislead."""
        at, covariance = self._mean.copy(), np.linalg.inv(self._precision)
        for _ in range(_STEPS):
            gaps, slopes = self._forecast(at, covariance)
            off = self._gaps - gaps
            noise = (NOISE_PRIOR + float(off @ off)) / (NOISE_PRIOR + self._size) / TRUST
            information = self._precision + slopes.T @ slopes / noise
            gradient = slopes.T @ off / noise - self._precision @ (at - self._mean)
            covariance = np.linalg.inv(information)
            step = covariance @ gradient
            step *= min(1.0, _LONGEST_STEP / max(float(np.abs(step).max()), 1e-12))
            at = at + step
            if float(np.abs(step).max()) < _ENOUGH:
                break
        return at, covariance

    def _lost(self, at: Array, covariance: Array) -> tuple[Array, Array, Array]:
        """Return the repetitions that each row has lost, and per pair what it adds to that and its slope by ln tau.

        All three are means over what is believed: exact over the loss, by quadrature over tau.
        """
        pairs, n = self._pairs, self._count
        loss, tau = np.arange(n), np.arange(n) + n
        tau_sd = np.sqrt(covariance[tau, tau])
        by_tau = covariance[loss, tau] / tau_sd
        left = covariance[loss, loss] - by_tau**2 + LOSS_SESSION_LOG_SD**2
        ln_loss = at[:n, None] + by_tau[:, None] * NODES + 0.5 * left[:, None]
        taus = np.exp(at[n:, None] + tau_sd[:, None] * NODES)
        faded = pairs.hours[:, None] / taus[pairs.channels]
        nodes = (np.exp(ln_loss) * NODE_WEIGHTS)[pairs.channels] * np.exp(-faded)
        each = pairs.amounts * nodes.sum(axis=1)
        return (
            np.bincount(pairs.rows, each, self._size).astype(np.float64),
            each,
            pairs.amounts * (nodes * faded).sum(axis=1),
        )

    def _forecast(self, at: Array, covariance: Array) -> tuple[Array, Array]:
        lost, each, by_tau = self._lost(at, covariance)
        slopes = np.zeros((self._size, 2 * self._count))
        np.add.at(slopes, (self._pairs.rows, self._pairs.channels), each)
        np.add.at(slopes, (self._pairs.rows, self._count + self._pairs.channels), by_tau)
        return -self._whitened @ lost, -self._whitened @ slopes


def taken_in(rows: Sequence[NextSeen]) -> Array:
    """Return what turns losses, row by row, into what the forecast had not taken in of them yet.

    The forecast follows each lift's usual loss, and reads the day off the lifts before it in the session.
    """
    size = len(rows)
    level: dict[str, tuple[int, Array]] = {}
    own = np.eye(size)
    for place, row in enumerate(rows):
        known, usual = level.get(row.series, (0, np.zeros(size)))
        own[place] -= usual
        gain = max(1.0 / (known + 1.0), FOLLOWING)
        lost = np.zeros(size)
        lost[place] = 1.0
        level[row.series] = known + 1, usual + gain * (lost - usual)
    result = own.copy()
    for place, row in enumerate(rows):
        earlier = [other for other in range(place) if rows[other].day == row.day]
        if earlier:
            share = len(earlier) * DAY_SHARE / (len(earlier) * DAY_SHARE + 1.0 - DAY_SHARE)
            result[place] -= share * own[earlier].mean(axis=0)
    return result


def _noise(rows: Sequence[NextSeen], spread: Array) -> Array:
    """Return the covariance of the gaps' errors: each one's own, one session's, one lift's, and lasting biases."""
    days = np.array([row.day for row in rows])
    lifts = np.unique([row.series for row in rows], return_inverse=True)[1]
    same_day = days[:, None] == days
    same_lift = lifts[:, None] == lifts
    near = np.exp(-np.abs(days[:, None] - days) / SAME_LIFT_DAYS)
    shared = SAME_SESSION * same_day + SAME_LIFT * same_lift * near
    np.fill_diagonal(shared, 1.0)
    sd = np.sqrt(spread)
    return np.asarray(shared * sd[:, None] * sd + LIFT_BIAS_SD**2 * same_lift + ATHLETE_BIAS_SD**2)


def alike(beliefs: Mapping[str, FatigueBelief], channel: str) -> FatigueBelief:
    """Return what is believed of a channel, people in general where nothing is."""
    found = beliefs.get(channel)
    if found is not None:
        return found
    return replace(PRIOR_BELIEF, channel_share=SYSTEMIC_SHARE if channel == SYSTEMIC else 1.0)
