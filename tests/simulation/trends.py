"""Trends on simulated athletes whose true strength is known on every day: how far off, how sure, how well told apart."""

import csv
import io
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from random import Random

import numpy as np
from numpy.typing import NDArray

from service.catalogue.loading import load_catalogue
from service.core.capability import Retrospect, SessionEvidence, Side, Training
from service.core.curve import CurvePrior
from service.core.estimates import Basis
from service.core.trend import (
    WORTHWHILE,
    Step,
    Stretch,
    Visited,
    age_of_log,
    change_between,
    comparable_stretch,
    decide_trend,
    moved_between,
    settled,
)
from service.usecases.answers.trend_sessions import Done, telling
from service.usecases.answers.trend_steps import steps_of
from service.usecases.backtest.lifts import LiftBook
from service.usecases.backtest.log_reading import read_log
from service.usecases.backtest.replaying import athlete_model
from service.usecases.backtest.sessions import by_athlete, one_sided_series, sessions_of
from tests.simulation.athletes import Athlete, Habit, LiftTruth, draw_athlete
from tests.simulation.constants import Constants, constants_named
from tests.simulation.degrading import START, degrade
from tests.simulation.families import log_ratio
from tests.simulation.files import LOG_COLUMNS, log_line
from tests.simulation.informed import Informed, Phase
from tests.simulation.knowing import Knowing
from tests.simulation.rows import SetRow
from tests.simulation.training import endurance, strength, train

Array = NDArray[np.float64]
WEEKS = 8.0
#: A window ends every four weeks. [d]
APART = 28.0
#: From this week of the log on a window counts as late: what came before has settled. [wk]
LATE = 14.0
#: In the world with planted regressions a third of athletes lose so much a week from this week of their log on.
FALL, FALLS_FROM, FALLING_SHARE = -0.0075, 16.0, 1.0 / 3.0
_DAY_ZERO = START.timestamp() / 86_400.0
_WINDOW_DAYS = 182.0
#: Repetitions that differ by more than this factor between a window's first and last sessions are other ones.
_OTHER_REPETITIONS = 1.25
#: Changes of one kind of athlete spread by no less than this, and an informed reader's area is the mean of so many. [1]
_LEAST_SPREAD, _DRAWINGS = 1e-6, 40
#: How often athletes are drawn again for the chance in an AUC.
_RESAMPLED = 200
Truth = dict[tuple[float, str, str], tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Told:
    """One trend as it was told, and what was so; changes of ln load for the repetitions trained.

    ``least_sd`` is what even one would be off by who knew all but chance, ``informed_sd`` one who knew the world and how
    the athlete is made, but had to learn the rest from the log; ``alike`` says that about the same repetitions were trained
    at both ends of the window, ``complete`` that the athlete's log leaves nothing out (`_complete`).
    """

    kind: str
    weeks_logged: float
    true: float
    mean: float
    low: float
    high: float
    p_progress: float
    p_regression: float
    state: str
    least_sd: float
    informed_sd: float
    athlete: str
    alike: bool
    complete: bool


@dataclass(frozen=True, slots=True)
class _Followed:
    """One athlete's log as it was read back, and the truth behind it."""

    athlete: Athlete
    sessions: Sequence[SessionEvidence]
    sided: frozenset[str]
    truth: Truth
    training: Training
    knowing: Knowing
    informed: Informed


def _train(
    athlete: Athlete, c: Constants, rng: Random, book: LiftBook, *, falls: bool, told: bool
) -> _Followed | None:
    truth: Truth = {}
    phases: dict[float, Phase] = {}

    def watch(day: float) -> None:
        if falls and day >= 7.0 * FALLS_FROM:
            athlete.drift = FALL
        phases[day] = Phase(athlete.trained_weeks, athlete.loss)
        for lift in athlete.lifts:
            for side in sides_of(lift):
                truth[day, lift.lift.name, side] = strength(athlete, lift, side), endurance(lift, side)

    rows = degrade(train(athlete, c, rng, watch), athlete.habit, c, rng)
    training: Training = "unknown" if not told else "novice" if athlete.kind == "novice" else "trained"
    if not rows:
        return None
    informed = Informed(athlete, rows, truth, phases, c)
    return _Followed(athlete, *_read_back(rows, book), truth, training, Knowing(rows, c), informed)


def sides_of(lift: LiftTruth) -> tuple[Side, ...]:
    """Return the sides that a lift is followed on."""
    return ("left", "right") if lift.lift.sided else ("both",)


def _read_back(rows: Sequence[SetRow], book: LiftBook) -> tuple[list[SessionEvidence], frozenset[str]]:
    """Return rows as the backtest reads them from a file."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(LOG_COLUMNS)
    writer.writerows(map(log_line, rows))
    own = next(iter(by_athlete(read_log(io.StringIO(text.getvalue())).rows).values()))
    return [one.evidence for one in sessions_of(own, book)], one_sided_series(own, book)


def _trends(log: _Followed, book: LiftBook) -> Iterator[Told]:
    """Yield the trends of every lift and side at the ends of windows four weeks apart."""
    days = [session.day for session in log.sessions]
    end = days[0] + 7.0 * WEEKS
    while end <= days[-1]:
        yield from _at(log, max(day for day in days if day <= end), book)
        end += APART


def _at(log: _Followed, until: float, book: LiftBook) -> Iterator[Told]:
    since = until - 7.0 * WEEKS
    before = [one for one in log.sessions if until - _WINDOW_DAYS <= one.day < since]
    window = [one for one in log.sessions if since <= one.day <= until]
    model = replace(athlete_model(log.sided, book), training=log.training)
    steps = _steps([*before, *window], lambda series: model.series_prior(series).curve)
    seen = [_after_steps(one, until, steps) for one in (*before, *window)]
    back = Retrospect(seen[: len(before)], seen[len(before) :], model)
    for lift in log.athlete.lifts:
        series = book.find(lift.lift.name).series
        visits = [
            Visited(one.day, frozenset(item.setup.split(", ", 1)[0] for item in own), frozenset({""}))
            for one in window
            if (own := [item for item in one.sets if item.series == series and item.stage == 0])
        ]
        days = [one.day for one in window]
        stretch = comparable_stretch(visits, days, since, until, steps=steps.get(series, ()))
        logged = (*before, *window)
        followed = [one.day for one in logged if _has(one, series)]
        age = age_of_log(followed, [one.day for one in logged], stretch.days[0]) if stretch.days else 0.0
        for side in sides_of(lift) if stretch.enough else ():
            told = _told(log, lift, side, stretch, back, series, age, alike=_alike(window, series))
            if told is not None:
                yield told


def _steps(
    sessions: Sequence[SessionEvidence], curve_of: Callable[[str], CurvePrior]
) -> Mapping[str, tuple[Step, ...]]:
    """Return the steps of lifts in their full range as the service finds them."""
    done = [
        Done(item.series, f"{number}", (place, 0.0), one.day, item, item.setup.split(", ", 1)[0], None)
        for number, one in enumerate(sessions)
        for place, item in enumerate(one.sets)
    ]
    return steps_of([one for one in telling(done) if one.range == ""], curve_of)


def _after_steps(
    session: SessionEvidence, until: float, steps: Mapping[str, Sequence[Step]]
) -> SessionEvidence:
    """Return a session without the sets of lifts that a step parts from what they show in the end."""
    kept = (
        item for item in session.sets if not moved_between(session.day, until, steps.get(item.series, ()))
    )
    return replace(session, sets=tuple(kept))


def _has(session: SessionEvidence, series: str) -> bool:
    return any(item.series == series for item in session.sets)


def _alike(window: Sequence[SessionEvidence], series: str) -> bool:
    """Return whether a window's first and last two sessions of a lift had about the same repetitions."""
    means = [
        float(np.mean(done))
        for one in window
        if (done := [item.reps for item in one.sets if item.series == series and item.purpose != "warm_up"])
    ]
    before, after = sum(means[:2]) / 2.0, sum(means[-2:]) / 2.0
    return max(before, after) <= _OTHER_REPETITIONS * min(before, after)


def _told(
    log: _Followed, lift: LiftTruth, side: Side, stretch: Stretch, back: Retrospect, series: str, age: float,
    *, alike: bool,
) -> Told | None:  # fmt: skip
    line, ends = back.line(series, side), (stretch.days[0], stretch.days[-1])
    if line is None or not set(ends) <= set(line.days):
        return None
    change = change_between(line, *(line.days.index(day) for day in ends))
    change = settled(change, age)
    weeks = (ends[1] - ends[0]) / 7.0
    trend = decide_trend(change, weeks, Basis(len(stretch.days), ends[1], 0.0))
    true = [_true(log, lift.lift.name, side, day, line.repetitions) for day in ends]
    first_day, last_day = (_simulated(log, lift.lift.name, day) for day in ends)
    which = lift.lift.name, side, first_day, last_day
    return Told(
        log.athlete.kind, (ends[1] - log.sessions[0].day) / 7.0, true[1] - true[0], change.mean,
        change.quantile(0.1), change.quantile(0.9), trend.p_progress, trend.p_regression, trend.state,
        log.knowing.least_sd(*which), log.informed.least_sd(*which, line.repetitions), log.athlete.name, alike,
        _complete(log.athlete.habit),
    )  # fmt: skip


def _complete(habit: Habit) -> bool:
    """Return whether every set was stopped at failure or told its reserve, and no load was copied or written from memory."""
    known = habit.stop == "failure" or habit.reserve == "every"
    return known and habit.copies == 0.0 and habit.remembered_step_kg == 0.0


def _true(log: _Followed, lift: str, side: str, day: float, repetitions: float) -> float:
    at = _simulated(log, lift, day)
    u, kappa = log.truth[at, lift, side]
    return u - log_ratio(log.athlete.family, repetitions, kappa)


def _simulated(log: _Followed, lift: str, day: float) -> float:
    """Return the simulator's day [d] of one of the log."""
    return min(
        (one for one, name, _ in log.truth if name == lift), key=lambda one: abs(one + _DAY_ZERO - day)
    )


def tell_world(
    athletes: int,
    seed: int,
    constants: str = "base",
    *,
    weeks: int = 26,
    planted: bool = False,
    told_training: bool = False,
) -> list[Told]:
    """Return all trends of a world of athletes; the same arguments give the same trends.

    With ``planted`` regressions a third of the athletes lose strength in the last ten weeks, as no drift here does.
    """
    c, book = constants_named(constants), LiftBook(load_catalogue())
    told: list[Told] = []
    for number in range(athletes):
        rng = Random(f"trend/{seed}/{constants}/{number}")
        athlete = draw_athlete(rng, c, f"a{number + 1:03d}", weeks)
        falls = planted and number < FALLING_SHARE * athletes
        log = _train(athlete, c, rng, book, falls=falls, told=told_training)
        told += _trends(log, book) if log is not None else ()
    return told


def area_under_curve(scores: Array, positive: NDArray[np.bool_]) -> float:
    """Return the chance that a true one scores above a false one, ties counting half."""
    count = int(positive.sum())
    if count in {0, len(scores)}:
        return math.nan
    values, places = np.unique(scores, return_inverse=True)
    counts = np.bincount(places, minlength=len(values))
    ranks = (np.cumsum(counts) - 0.5 * (counts - 1))[places]
    above = float(ranks[positive].sum()) - count * (count + 1) / 2
    return above / (count * (len(scores) - count))


def informed_auc(told: Sequence[Told]) -> float:
    """Return how well falls can be told from the rest with the estimates of one who is `informed`.

    Who errs by ``informed_sd`` and is right about how changes of an athlete's kind are spread tells, of a change t, one that
    is drawn about the share r of it, with a variance of r times the error's: r = 1 - error / spread. Changes of one kind
    are taken as Gaussian, and the mean is over so many drawings.
    """
    rng, areas = np.random.default_rng(0), []
    true, error = (np.array([getattr(one, name) for one in told]) for name in ("true", "informed_sd"))
    kinds = np.array([one.kind for one in told])
    centre, spread = np.zeros(len(told)), np.zeros(len(told))
    for kind in set(kinds):
        own = kinds == kind
        centre[own], spread[own] = true[own].mean(), max(float(true[own].var()), _LEAST_SPREAD)
    share = np.clip(1.0 - error**2 / spread, 0.0, 1.0)
    for _ in range(_DRAWINGS):
        mean = centre + share * (true - centre) + np.sqrt(share) * error * rng.normal(size=len(told))
        sd = np.sqrt((1.0 - share) * spread)
        areas.append(area_under_curve((-WORTHWHILE - mean) / np.maximum(sd, 1e-9), true < -WORTHWHILE))
    return float(np.mean(areas))


def _sd_of_auc(told: Sequence[Told], fell: NDArray[np.bool_]) -> float:
    """Return the sd of the AUC of regressions from one set of athletes to another: athletes drawn again, with replacement."""
    scores, who = (np.array([getattr(one, name) for one in told]) for name in ("p_regression", "athlete"))
    own = [np.flatnonzero(who == one) for one in np.unique(who)]
    rng, areas = np.random.default_rng(0), []
    for _ in range(_RESAMPLED):
        drawn = np.concatenate([own[at] for at in rng.integers(0, len(own), len(own))])
        areas.append(area_under_curve(scores[drawn], fell[drawn]))
    known = [area for area in areas if not math.isnan(area)]
    return float(np.std(known)) if known else math.nan


def score(told: Sequence[Told]) -> dict[str, float]:
    """Return how good trends were; shares of calls are NaN where nothing was called."""
    true, mean = (np.array([getattr(one, name) for one in told]) for name in ("true", "mean"))
    state = np.array([one.state for one in told])
    so = {
        "progress": true > WORTHWHILE,
        "regression": true < -WORTHWHILE,
        "stall": np.abs(true) <= WORTHWHILE,
    }
    found = {
        "trends": float(len(told)),
        "rmse": float(np.sqrt(np.mean((mean - true) ** 2))),
        "no_change_rmse": float(np.sqrt(np.mean(true**2))),
        "bias": float(np.mean(mean - true)),
        "cover80": float(np.mean([one.low <= one.true <= one.high for one in told])),
        "auc_regression": area_under_curve(np.array([one.p_regression for one in told]), so["regression"]),
        "auc_informed": informed_auc(told),
        "auc_progress": area_under_curve(np.array([one.p_progress for one in told]), so["progress"]),
        "regressions": float(so["regression"].mean()),
        "least_rmse": float(np.sqrt(np.mean(np.array([one.least_sd for one in told]) ** 2))),
        "informed_rmse": float(np.sqrt(np.mean(np.array([one.informed_sd for one in told]) ** 2))),
    }
    alike = np.array([one.alike for one in told])
    for name, part in (("alike", alike), ("other", ~alike)):
        found[f"rmse_{name}"] = float(np.sqrt(np.mean((mean - true)[part] ** 2))) if part.any() else math.nan
    complete = np.array([one.complete for one in told])
    found["rmse_complete"] = (
        float(np.sqrt(np.mean((mean - true)[complete] ** 2))) if complete.any() else math.nan
    )
    found["auc_regression_sd"] = _sd_of_auc(told, so["regression"])
    for name, is_so in so.items():
        called = state == name
        found[f"{name}_called"] = float(called.mean())
        found[f"{name}_right"] = float(is_so[called].mean()) if called.any() else math.nan
    return found
