"""How far off a trend must be for one who is told how athletes of a world are, and learns the rest from the log.

Told are the world's constants and of each athlete the kind, the family of the curve, what sets are stopped by and how
gains and losses go. Learnt must be strength, endurance, the size and the pace of gains, drift, what breaks cost, tiring,
and how reserves are stated. A set shows only what was said of it, failure or a reserve, and where its like are usually
stopped. All is taken as linear and Gaussian near the truth, so that the posterior variance is known beforehand.

Only working sets without slips are read; reserves that were copied pass for the athlete's own, and reserves beyond the most
that is ever stated for stated ones. A load written from memory in round numbers is off by what this athlete's are off by,
by the same wherever the same is written, though another may have been lifted. So this errs low: about the least that any reader can
reach, and never below what `knowing.py` finds.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tests.simulation.athletes import Athlete
from tests.simulation.constants import Constants
from tests.simulation.families import log_ratios
from tests.simulation.rows import SetRow
from tests.simulation.wandering import Wandering, root_of, told_by

Array = NDArray[np.float64]
#: Lifts gain more or less than their athlete, as athletes are drawn. [ln]
_LIFT_GAIN_SD = 0.3
#: Losses come back faster or slower: 1.5 to 4 weeks. Judgement. [ln]
_REGAIN_SD = 0.3
#: Of a number rounded to a whole one. [repetitions]
_ROUNDED_SD = math.sqrt(1.0 / 12.0)
#: A reserve is felt from the middle of the repetition that fails. [repetitions]
_BEGUN = 0.4
#: The least that a repetition left adds to what is said.
_LEAST_SLOPE = 0.1
_LEAST_BREAK_LOSS = 0.002
_JITTER = 1e-9


class Phase(NamedTuple):
    """Where an athlete is on a day: weeks of training so far, and what breaks took that is not back yet [ln]."""

    trained_weeks: float
    loss: float


class _Stop(NamedTuple):
    """How much the repetitions left differ between sets that are stopped alike: sd of a set's, a visit's, an athlete's."""

    set: float
    visit: float
    athlete: float


#: By what sets are stopped by. Judgement; visits differ more in logs of these worlds, so that this errs low.
_STOPS = {
    "failure": _Stop(0.35, 0.0, 0.2),
    "reserve": _Stop(1.2, 0.8, 0.6),
    "planned": _Stop(2.5, 1.5, 1.5),
}


class _Unknown(NamedTuple):
    """A quantity to be learnt: how it moves each set [ln strength a unit], its sd, and what each lift and visit adds."""

    moves: Array
    sd: float
    own_sd: float = 0.0
    visit_sd: float = 0.0


class _Reading(NamedTuple):
    """One thing that says how many repetitions a set left: ``failure``, the ``reserve`` stated, or the ``habit``."""

    row: SetRow
    of: str


Readings = Sequence[_Reading]


class Informed:
    """What one athlete's working sets say of strength to one who knows the world but not the athlete.

    ``truth`` has ln strength [kg] when rested and the endurance by day [d], lift and side, ``phases`` the rest by day.
    """

    def __init__(
        self, athlete: Athlete, rows: Iterable[SetRow], truth: Mapping[tuple[float, str, str], tuple[float, float]],
        phases: Mapping[float, Phase], c: Constants,
    ) -> None:  # fmt: skip
        sets = _readings(rows)
        self._athlete, self._truth, self._phases, self._c = athlete, truth, phases, c
        self._gains = {one.lift.name: one.gain for one in athlete.lifts}
        self._wandering = Wandering([(row.day, row.exercise, row.side) for row, _ in sets], c)
        self._bent = self._bend([row.n for row, _ in sets], [row.endurance for row, _ in sets])
        self._course = self._courses(sets)
        self._root = root_of(self._covariance(sets)) if sets else np.zeros((0, 0))

    def least_sd(self, lift: str, side: str, first: float, last: float, repetitions: float) -> float:
        """Return the sd of the change of ln load for so many repetitions between two days [d], all sets up to the last read."""
        c, wandering, since, until = self._c, self._wandering, first / 7.0, last / 7.0
        own, weeks = wandering.lifts == lift, until - since
        bend = float(self._bend([repetitions], [self._truth[last, lift, side][1]])[0])
        tied = wandering.tied(lift, side, since, until)
        tied = tied + bend * self._bent * own * c.endurance_walk**2 * wandering.within(since, until)
        variance = weeks * (wandering.walked(side) + (bend * c.endurance_walk) ** 2)
        moved = np.subtract(self._progress(lift, last), self._progress(lift, first))
        for by, one in zip(moved, self._course, strict=True):
            tied = tied + by * one.moves * (one.sd**2 + own * one.own_sd**2)
            variance += by**2 * (one.sd**2 + one.own_sd**2)
        told = told_by(self._root, tied, wandering.seen_until(until))
        return math.sqrt(max(variance - told, 0.0))

    def _covariance(self, sets: Readings) -> Array:
        """Return how what the sets show hangs together. [ln strength, squared]"""
        c, wandering = self._c, self._wandering
        lift_endurance = c.endurance_exercise**2 + c.endurance_walk**2 * wandering.together
        lift_endurance = lift_endurance + wandering.sides * c.endurance_side**2
        endurance = c.endurance_person**2 + wandering.one_lift * lift_endurance
        found = wandering.covariance() + np.outer(self._bent, self._bent) * endurance
        unknown = (*self._course, self._tiring(sets), *self._says(sets), *self._stops(sets))
        moves = np.array([one.moves for one in unknown])
        sd, own_sd, visit_sd = (np.array([one[by] for one in unknown])[:, None] for by in (1, 2, 3))
        found += (moves * sd).T @ (moves * sd) + wandering.one_lift * ((moves * own_sd).T @ (moves * own_sd))
        found += wandering.one_day * wandering.one_lift * ((moves * visit_sd).T @ (moves * visit_sd))
        found += wandering.one_lift * _remembered(sets)
        place = np.array([row.ordinal for row, _ in sets])
        found += c.set_noise**2 * (wandering.one_day & (place[:, None] == place[None, :]))
        return np.asarray(found + np.diag((self._blur(sets) * self._steepness(sets)) ** 2 + _JITTER))

    def _bend(self, n: Sequence[float], endurance: Sequence[float]) -> Array:
        """Return how far ln strength for given loads falls by a unit of ln endurance, its sign turned."""
        most, step = np.maximum(n, 1.0), math.exp(0.02)
        lower, upper = (self._ratios(most, np.multiply(endurance, by)) for by in (1.0 / step, step))
        return np.asarray((lower - upper) / 0.04)

    def _steepness(self, sets: Readings) -> Array:
        """Return how far ln strength rises by a repetition more at the same load."""
        n, endurance = (np.array([getattr(row, name) for row, _ in sets]) for name in ("n", "endurance"))
        low, high = np.maximum(n - 0.05, 1.0), np.maximum(n, 1.0) + 0.05
        return np.asarray((self._ratios(high, endurance) - self._ratios(low, endurance)) / (high - low))

    def _ratios(self, n: Array, endurance: Array) -> Array:
        return log_ratios(np.full(n.shape, self._athlete.family), n, endurance)

    def _courses(self, sets: Readings) -> tuple[_Unknown, ...]:
        """Return what moves strength in the long run, in the order of `_progress`."""
        athlete, c = self._athlete, self._c
        novice = athlete.kind == "novice"
        gain_sd = (c.novice_gain if novice else c.returner_deficit)[1]
        low, high = c.novice_half_life if novice else c.returner_half_life
        loss_sd = math.hypot(c.break_loss[1] / max(athlete.break_loss, _LEAST_BREAK_LOSS), _REGAIN_SD)
        moves = np.array([self._progress(row.exercise, row.day) for row, _ in sets]).reshape(-1, 4).T
        return (
            _Unknown(moves[0], gain_sd, _LIFT_GAIN_SD),
            _Unknown(moves[1], (high - low) * _ROUNDED_SD),
            _Unknown(moves[2], loss_sd),
            _Unknown(moves[3], c.trained_drift[1]),
        )

    def _progress(self, lift: str, day: float) -> tuple[float, float, float, float]:
        """Return how strength moves with ln gain, the half-life [wk], ln loss and the drift [a week]; trained gain nothing."""
        gain, half_life = self._gains[lift], self._athlete.half_life
        trained, loss = self._phases[day]
        left = 2.0 ** (-trained / half_life)
        slower = -gain * left * trained * math.log(2.0) / half_life**2
        return gain * (1.0 - left), slower, -loss, day / 7.0

    def _tiring(self, sets: Readings) -> _Unknown:
        """Return what tires the athlete more or less than others: the strength lost by each set's start."""
        rested = [self._truth[row.day, row.exercise, row.side][0] + self._shift(row) for row, _ in sets]
        lost = np.maximum(np.subtract(rested, [row.u_mean for row, _ in sets]), 0.0)
        return _Unknown(lost, self._c.fatigue.person_ln_sd)

    def _shift(self, row: SetRow) -> float:
        """Return what pain or another range moves strength by, which tires nobody. [ln]"""
        week = row.day / 7.0
        own = (one for one in self._athlete.episodes if one.lift == row.exercise)
        return next((one.shift for one in own if one.start <= week < one.end), 0.0)

    def _says(self, sets: Readings) -> tuple[_Unknown, _Unknown]:
        """Return the offset [repetitions] and the share by which stated reserves differ from those left."""
        report, left = self._c.report, _left(sets)
        a_repetition = _are(sets, "reserve") * self._steepness(sets) / self._slope(left)
        offset = 1.0 - np.exp(-0.5 * left) if report.saturating else np.ones_like(left)
        return (
            _Unknown(a_repetition * offset, report.offset[1]),
            _Unknown(a_repetition * (left - _BEGUN), report.share[1]),
        )

    def _stops(self, sets: Readings) -> tuple[_Unknown]:
        """Return the repetitions that the athlete leaves, which differ from visit to visit."""
        stop = _STOPS[self._athlete.habit.stop]
        return (_Unknown(_are(sets, "habit") * self._steepness(sets), stop.athlete, visit_sd=stop.visit),)

    def _slope(self, left: Array) -> Array:
        """Return what a repetition more in reserve adds to what is said of it. [repetitions]"""
        habit, saturating = self._athlete.habit, self._c.report.saturating
        nearer = 0.5 * habit.report_offset * np.exp(-0.5 * left) if saturating else 0.0
        return np.asarray(np.maximum(1.0 - habit.report_share - nearer, _LEAST_SLOPE))

    def _blur(self, sets: Readings) -> Array:
        """Return the sd of the repetitions to failure that each reading shows, for one who knew how the athlete reports."""
        report, left = self._c.report, _left(sets)
        told = np.hypot(report.noise + report.noise_per_repetition * left, _ROUNDED_SD) / self._slope(left)
        usual = np.where(_are(sets, "habit"), _STOPS[self._athlete.habit.stop].set, told)
        return np.where(_are(sets, "failure"), _ROUNDED_SD, usual)


def _readings(rows: Iterable[SetRow]) -> Readings:
    """Return what is said of clean working sets, in their order."""
    clean = (row for row in rows if row.role == "work" and not (row.duplicate or row.entry_error))
    found: list[_Reading] = []
    for row in sorted(clean, key=lambda row: (row.day, row.ordinal)):
        if row.to_failure:
            found.append(_Reading(row, "failure"))
            continue
        found += [_Reading(row, "reserve")] if row.reserve is not None else []
        found.append(_Reading(row, "habit"))
    return found


def _remembered(sets: Readings) -> Array:
    """Return how errors of loads written from memory hang together: those of the same number are one. [ln, squared]"""
    lifted = np.array([row.load_kg for row, _ in sets])
    written = np.array([row.load if row.remembered else math.nan for row, _ in sets])
    error = math.sqrt(float(np.nanmean((written - lifted) ** 2))) if np.isfinite(written).any() else 0.0
    off = np.where(np.isfinite(written), error / lifted, 0.0)
    return np.asarray(np.outer(off, off) * (written[:, None] == written[None, :]))


def _are(sets: Readings, of: str) -> NDArray[np.bool_]:
    return np.array([one.of == of for one in sets])


def _left(sets: Readings) -> Array:
    """Return the repetitions that each set left, a part of one included."""
    return np.array([max(0.0, row.n - row.reps) for row, _ in sets])
