"""Trends on simulated athletes whose true strength is known on every day: how far off, how sure, how well told apart."""

import csv
import io
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from random import Random

import numpy as np

from service.catalogue.loading import load_catalogue
from service.core.capability import Retrospect, SessionEvidence, Side
from service.core.estimates import Basis
from service.core.trend import Visited, change_between, comparable_stretch, decide_trend, settled
from service.usecases.backtest.lifts import LiftBook
from service.usecases.backtest.log_reading import read_log
from service.usecases.backtest.replaying import athlete_model
from service.usecases.backtest.sessions import by_athlete, one_sided_series, sessions_of
from tests.simulation.athletes import Athlete, draw_athlete
from tests.simulation.constants import PRESETS, Constants
from tests.simulation.degrading import START, degrade
from tests.simulation.families import log_ratio
from tests.simulation.files import LOG_COLUMNS, log_line
from tests.simulation.training import endurance, strength, train

WEEKS = 8.0
DRAW_MASS = 0.8
#: A window ends at every session that is so far from the last end. [d]
APART = 28.0
_DAY_ZERO = START.timestamp() / 86_400.0
Truth = dict[tuple[float, str, str], tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Told:
    """One trend as it was told, and what was so; changes of ln load for the repetitions trained."""

    athlete: str
    kind: str
    condition: str
    lift: str
    side: str
    true: float
    mean: float
    sd: float
    low: float
    high: float
    p_progress: float
    p_regression: float
    p_stall: float
    state: str
    weeks_logged: float


def watched(athlete: Athlete, c: Constants, rng: Random) -> tuple[list[object], Truth]:
    """Let an athlete train; return the log's rows and true strength (ln kg) and endurance before each session."""
    truth: Truth = {}

    def watch(day: float) -> None:
        for lift in athlete.lifts:
            for side in ("left", "right") if lift.lift.sided else ("both",):
                known = strength(athlete, lift, side), endurance(lift, side)
                truth[day, lift.lift.name, side] = known

    rows = degrade(train(athlete, c, rng, watch), athlete.habit, c, rng)
    return list(rows), truth


def read_back(rows: Sequence[object], book: LiftBook) -> tuple[list[SessionEvidence], frozenset[str]]:
    """Return rows as the backtest reads them from a file."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(LOG_COLUMNS)
    writer.writerows(map(log_line, rows))  # type: ignore[arg-type]
    read = read_log(io.StringIO(text.getvalue())).rows
    own = next(iter(by_athlete(read).values()))
    return [one.evidence for one in sessions_of(own, book)], one_sided_series(own, book)


def follow(
    athlete: Athlete, c: Constants, rng: Random, book: LiftBook, weeks: float = WEEKS
) -> Iterator[Told]:
    """Yield the trends of every lift and side, at the ends of windows four weeks apart, with the truth."""
    rows, truth = watched(athlete, c, rng)
    if not rows:
        return
    sessions, sided = read_back(rows, book)
    model = athlete_model(sided, book)
    days = [session.day for session in sessions]
    end = days[0] + 7.0 * weeks
    while end <= days[-1]:
        until = max(day for day in days if day <= end)
        yield from _at(athlete, sessions, model, until, weeks, book, truth)
        end += APART


def _at(athlete, sessions, model, until, weeks, book, truth):  # type: ignore[no-untyped-def]
    since = until - 7.0 * weeks
    before = [one for one in sessions if until - 182.0 <= one.day < since]
    window = [one for one in sessions if since <= one.day <= until]
    back = Retrospect(before, window, model)
    athlete_days = [one.day for one in window]
    first: dict[str, float] = {}
    for one in (*before, *window):
        for item in one.sets:
            first.setdefault(item.series, one.day)
    for lift in athlete.lifts:
        series = book.find(lift.lift.name).series
        visits = [
            Visited(one.day, frozenset(_range(item.setup) for item in own), frozenset({""}))
            for one in window
            if (own := [item for item in one.sets if item.series == series and item.stage == 0])
        ]
        stretch = comparable_stretch(visits, athlete_days, since, until)
        if not stretch.enough:
            continue
        for side in ("left", "right") if lift.lift.sided else ("both",):
            yield from _told(
                athlete, lift, series, side, stretch.days, back, truth, (until - sessions[0].day) / 7.0, first
            )


def _range(setup: str) -> str:
    return setup.split(", ", maxsplit=1)[0]


def _told(athlete, lift, series: str, side: Side, days, back: Retrospect, truth: Truth, logged, first):  # type: ignore[no-untyped-def]
    line = back.line(series, side)
    if line is None or days[0] not in line.days or days[-1] not in line.days:
        return
    change = change_between(line, line.days.index(days[0]), line.days.index(days[-1]))
    change = settled(change, days[0] - first[series])
    weeks = (days[-1] - days[0]) / 7.0
    trend = decide_trend(change, weeks, Basis(len(days), days[-1], 0.0), novice=line.novice)
    ends = [_true(athlete, lift.lift.name, side, day, line.repetitions, truth) for day in (days[0], days[-1])]
    yield Told(
        athlete.name, athlete.kind, athlete.habit.reserve, lift.lift.name, side, ends[1] - ends[0],
        change.mean, change.sd, change.quantile(0.1), change.quantile(0.9),
        trend.p_progress, trend.p_regression, trend.p_stall, trend.state, logged,
    )  # fmt: skip


def _true(athlete: Athlete, lift: str, side: str, day: float, repetitions: float, truth: Truth) -> float:
    at = min((one for one, name, _ in truth if name == lift), key=lambda one: abs(one + _DAY_ZERO - day))
    u, kappa = truth[at, lift, side]
    return u - log_ratio(athlete.family, repetitions, kappa)


def tell_world(
    athletes: int, seed: int, constants: str = "base", weeks: int = 26, window: float = WEEKS
) -> list[Told]:
    """Return all trends of a world of athletes; the same arguments give the same trends."""
    c, book = PRESETS[constants], LiftBook(load_catalogue())
    told: list[Told] = []
    for number in range(athletes):
        rng = Random(f"trend/{seed}/{constants}/{number}")
        told += follow(draw_athlete(rng, c, f"a{number + 1:03d}", weeks), c, rng, book, window)
    return told


def auc(scores: np.ndarray, positive: np.ndarray) -> float:
    """Return the chance that a true one scores above a false one, ties counting half."""
    order = np.argsort(scores, kind="stable")
    ranks = np.empty(len(scores))
    ranks[order] = np.arange(1, len(scores) + 1)
    for value in np.unique(scores):
        same = scores == value
        ranks[same] = ranks[same].mean()
    n = int(positive.sum())
    if n in {0, len(scores)}:
        return math.nan
    return float((ranks[positive].sum() - n * (n + 1) / 2) / (n * (len(scores) - n)))


def scores(told: Sequence[Told], worthwhile: float = 0.02) -> dict[str, float]:
    """Return how good the trends were."""
    true = np.array([one.true for one in told])
    mean = np.array([one.mean for one in told])
    state = np.array([one.state for one in told])
    fell, flat = true < -worthwhile, np.abs(true) <= worthwhile

    def right(name: str, so: np.ndarray) -> float:
        return float(so[state == name].mean()) if (state == name).any() else math.nan

    return {
        "trends": float(len(told)),
        "rmse": float(np.sqrt(np.mean((mean - true) ** 2))),
        "bias": float(np.mean(mean - true)),
        "cover80": float(np.mean([one.low <= one.true <= one.high for one in told])),
        "auc_regression": auc(np.array([one.p_regression for one in told]), fell),
        "auc_progress": auc(np.array([one.p_progress for one in told]), true > worthwhile),
        "regressions": float(fell.mean()),
        "called_regression": float((state == "regression").mean()),
        "regression_right": right("regression", fell),
        "progress_right": right("progress", true > worthwhile),
        "stall_right": right("stall", flat),
        "called_progress": float((state == "progress").mean()),
        "called_stall": float((state == "stall").mean()),
    }
