"""The tables of a replay: predictions by row, capability by lift and side, and the gap between the sides."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from math import isfinite
from statistics import NormalDist
from typing import Final

from service.catalogue.catalogue import Catalogue
from service.core.capability import CapabilityForecast, Side
from service.core.capability.forecasting import forecast, side_gap
from service.core.errors import TooFewObservations
from service.core.symmetry.mixture import Mixture
from service.core.symmetry.posterior import (
    SidePrior,
    SideReading,
    pool_readings,
    reading_from_posterior,
)
from service.core.units import Kilograms, LogRatio, MassUnit, Repetitions, mass_from_kg
from service.core.volume.weekly_dose import DIRECT_SHARE
from service.usecases.backtest.lifts import Lift
from service.usecases.backtest.replaying import Replay, ReplayedAthlete
from service.usecases.backtest.uncomputed import CANNOT_BE_COMPUTED, NOT_FINITE, Uncomputed

Row = tuple[str, ...]
#: Hears of what could not be computed.
Failed = Callable[[Uncomputed], None]

#: Repetitions for which loads are answered, beside the one-repetition maximum.
REPETITIONS: Final = (5, 8, 10, 12, 15, 20)
PREDICTION_COLUMNS: Final = ("row", "mean", "sd", "q025", "q10", "q50", "q90", "q975")
CAPABILITY_COLUMNS: Final = (
    "athlete", "exercise", "side", "unit",
    *(f"{what}_{q}" for what in ("1rm", *(f"load_{n}" for n in REPETITIONS)) for q in ("q10", "q50", "q90")),
)  # fmt: skip
SIDE_COLUMNS: Final = (
    "athlete", "exercise", "muscle", "t", "sd", "q025", "q10", "q90", "q975", "p_right_ahead", "p_beyond_5pct",
)  # fmt: skip
_MASS = 0.8
#: What `p_beyond_5pct` counts as 5 %, as |t|; a column's name binds it, whatever is worthwhile elsewhere.
_FIVE_PERCENT: LogRatio = 0.05


def _ignored(_: Uncomputed) -> None:
    """Tell nobody."""


def prediction_rows(replayed: Replay, row_count: int) -> Iterator[Row]:
    """Return one line per data row of the log, in its order; blank where nothing was known before the set."""
    blank = ("",) * (len(PREDICTION_COLUMNS) - 1)
    for index in range(row_count):
        told = replayed.predictions.get(index)
        if told is None:
            yield (str(index), *blank)
        else:
            values = (told.mean, told.sd, told.q025, told.q10, told.q50, told.q90, told.q975)
            yield (str(index), *(f"{value:.4f}" for value in values))


def capability_rows(replayed: Replay, unit: MassUnit = "kg", failed: Failed = _ignored) -> Iterator[Row]:
    """Return, for each lift and side at the end of the log, the external loads with their 80 % intervals.

    Where they cannot be computed the cells are blank, and ``failed`` hears of it.
    """
    for known in replayed.athletes:
        loaded = ((name, lift) for name, lift in known.spellings.items() if lift.series not in known.unloaded)
        for name, lift in loaded:
            sides: tuple[Side, ...] = ("left", "right") if lift.series in known.sided else ("both",)
            for side in sides:
                cells = _capability_cells(name, lift, side, known, unit, failed)
                if cells is not None:
                    yield known.athlete, name, side, unit, *cells


def _capability_cells(
    name: str, lift: Lift, side: Side, known: ReplayedAthlete, unit: MassUnit, failed: Failed
) -> Row | None:
    """Return the loads as text, blank where they cannot be computed, None where nothing is known."""
    try:
        found = forecast(known.state, lift.series, known.day, side, known.model)
        if found is None:
            return None
        return _texts((mass_from_kg(load, unit) for load in _loads(found, lift, known)), 3)
    except CANNOT_BE_COMPUTED as broken:
        failed(
            Uncomputed(known.athlete, f"the loads of {name!r} ({side}) could not be computed", str(broken))
        )
        return ("",) * (len(CAPABILITY_COLUMNS) - 4)


def _texts(values: Iterable[float], digits: int) -> Row:
    """Return numbers as text. Raises `ArithmeticError` where one is not finite."""
    told = tuple(values)
    if not all(map(isfinite, told)):
        raise ArithmeticError(NOT_FINITE)
    return tuple(f"{value:.{digits}f}" for value in told)


def _loads(found: CapabilityForecast, lift: Lift, known: ReplayedAthlete) -> Iterator[Kilograms]:
    body = known.body.on(known.day)
    asked: tuple[Repetitions, ...] = (1.0, *map(float, REPETITIONS))
    for repetitions in asked:
        estimate = found.load_for(repetitions, _MASS)
        ends = (estimate.interval.lower, estimate.interval.upper)
        # Who is stronger needs less help: the ends of the load turn round.
        lower, upper = sorted(lift.external(effective, body) for effective in ends)
        yield from (lower, lift.external(estimate.value, body), upper)


def side_rows(replayed: Replay, catalogue: Catalogue, failed: Failed = _ignored) -> Iterator[Row]:
    """Return t = ln(right/left) of each lift that was trained on both sides, then of each muscle that several train.

    A lift stands under its first spelling in the log; one whose sides were never trained on one day has its row and is
    not pooled. Where a gap cannot be computed the cells are blank, and ``failed`` hears of it.
    """
    for known in replayed.athletes:
        readings: dict[str, SideReading] = {}
        left = set(known.state.series()) & known.both_trained.keys()
        for name, lift in known.spellings.items():
            if lift.series in left:
                left.remove(lift.series)
                yield known.athlete, name, "", *_gap_cells(name, lift, known, readings, failed)
        for muscle, pooled in _by_muscle(readings, known, catalogue):
            yield known.athlete, "", muscle, *_side_cells(pooled)


def _gap_cells(
    name: str, lift: Lift, known: ReplayedAthlete, readings: dict[str, SideReading], failed: Failed
) -> Row:
    """Return the gap of a lift as text, blank where it cannot be computed, and keep what can be pooled."""
    try:
        mean, sd = side_gap(known.state, lift.series, known.day)
        cells = _side_cells(Mixture((1.0,), (mean,), (sd,)))
        with suppress(TooFewObservations):
            readings[lift.series] = _reading(lift, known, mean, sd)
    except CANNOT_BE_COMPUTED as broken:
        failed(Uncomputed(known.athlete, f"the sides of {name!r} could not be computed", str(broken)))
        return ("",) * (len(SIDE_COLUMNS) - 3)
    return cells


def _reading(lift: Lift, known: ReplayedAthlete, mean: float, sd: float) -> SideReading:
    """Return what the sets say without the prior, so that pooling does not count it twice."""
    prior = SidePrior(sd=2.0 * known.model.series_prior(lift.series).half_gap_sd)
    visits = known.both_trained[lift.series]
    return reading_from_posterior(lift.series, mean, sd * sd, visits, prior=prior)


def _by_muscle(
    readings: Mapping[str, SideReading], known: ReplayedAthlete, catalogue: Catalogue
) -> Iterator[tuple[str, Mixture]]:
    """Pool the lifts that train a muscle, or a part of it, directly; one lift alone speaks for itself only."""
    trained: dict[str, list[str]] = defaultdict(list)
    by_series = {lift.series: lift for lift in known.spellings.values()}
    for series in readings:
        for muscle in _directly_trained(by_series[series], catalogue):
            trained[muscle].append(series)
    pooled: dict[tuple[str, ...], Mixture] = {}
    for muscle in catalogue.muscles:
        lifts = tuple(trained.get(muscle, ()))
        if len(lifts) > 1:
            if lifts not in pooled:
                pooled[lifts] = pool_readings([readings[series] for series in lifts])
            yield muscle, pooled[lifts]


def _directly_trained(lift: Lift, catalogue: Catalogue) -> dict[str, None]:
    """Return the muscles that a lift trains directly, and what they are part of."""
    found: dict[str, None] = {}
    for part in lift.exercise.involvement if lift.exercise is not None else ():
        muscle: str | None = part.muscle_id if part.share >= DIRECT_SHARE else None
        while muscle is not None:
            found[muscle] = None
            muscle = catalogue.muscle(muscle).part_of
    return found


def _side_cells(posterior: Mixture) -> Row:
    mean, sd = posterior.mean(), posterior.sd()
    beyond = posterior.beyond(_FIVE_PERCENT)
    quantiles = (_quantile(posterior, p) for p in (0.025, 0.1, 0.9, 0.975))
    return _texts((mean, sd, *quantiles, posterior.above(0.0), beyond), 5)


def _quantile(posterior: Mixture, probability: float) -> float:
    if len(posterior.weights) == 1:
        return NormalDist(posterior.means[0], posterior.sds[0]).inv_cdf(probability)
    return posterior.quantile(probability)
