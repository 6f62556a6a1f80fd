"""Weekly dose and landmarks against published figures; the source of each stands in the tables beside this file."""

import csv
from itertools import pairwise
from math import sqrt
from pathlib import Path

import pytest

from service.core.sources import SOURCES
from service.core.volume.growth import HORIZON_WEEKS
from service.core.volume.hard_sets import drop_set, hard_set, load_weight
from service.core.volume.response import SLOPE_CV, SLOPE_MEAN
from service.core.volume.thresholds import (
    Wanted,
    sets_where_next_gain_is,
    thresholds_prior,
    volume_gain,
)
from service.core.volume.weekly_dose import Involvement, SetContribution, add_up

pytestmark = pytest.mark.quick

HERE = Path(__file__).parent


def table(name: str) -> list[dict[str, str]]:
    return list(csv.DictReader((HERE / name).read_text("utf-8").splitlines()))


def inputs_of(row: dict[str, str]) -> dict[str, str]:
    return dict(pair.split("=") for pair in row["inputs"].split(";"))


def threshold(criterion: str, training: str = "unknown", **given: float) -> float:
    found = {
        t.criterion: t.weekly_hard_sets.value
        for t in thresholds_prior(training, Wanted(**given))  # type: ignore[arg-type]
    }
    return found[criterion]  # type: ignore[index]


def next_gain_per_set(b: float, x: float) -> float:
    step = 1e-6
    return (volume_gain(b, x + step) - volume_gain(b, x)) / step


def ours(row: dict[str, str]) -> float:
    given = inputs_of(row)
    numbers = {name: float(value) for name, value in given.items() if name != "training"}
    match row["quantity"]:
        case "volume_gain":
            return volume_gain(numbers["b"], numbers["x"])
        case "next_gain_per_set":
            return next_gain_per_set(numbers["b"], numbers["x"])
        case "next_gain_in_spreads":
            return next_gain_per_set(numbers["b"], numbers["x"]) / numbers["spread"]
        case "sets_where_next_gain_is":
            return sets_where_next_gain_is(numbers["m"], numbers["b"])
        case "detectable_gain":
            return threshold("detectable_gain", training=given["training"])
        case "keeps_size":
            return threshold("keeps_size", building_dose=numbers["building"], age_years=numbers["age"])
        case _:
            return numbers["row"] / numbers["curl"]


ROWS = table("dose_response.csv")
NAMES = [f"{row['quantity']}-{row['inputs']}" for row in ROWS]
MARKED = [
    pytest.param(row, id=name, marks=pytest.mark.from_memory if row["provenance"] == "memory" else ())
    for row, name in zip(ROWS, NAMES, strict=True)
]


@pytest.mark.parametrize("row", MARKED)
def test_the_figure_is_reproduced(row: dict[str, str]) -> None:
    assert row["source"] in SOURCES
    assert ours(row) == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


def test_an_indirect_set_of_rowing_is_worth_what_the_trial_saw_within_the_involvements_sd() -> None:
    ratio = float(next(r for r in ROWS if r["quantity"] == "indirect_share")["expected"])
    flexors = Involvement("elbow-flexors", 0.5)
    row = SetContribution("a", "s", 0.0, "invented-row", "both", hard_set(8, to_failure=True), (flexors,))
    dose = add_up([row])["elbow-flexors", "both"].value
    assert dose.interval.lower <= ratio <= dose.interval.upper


@pytest.mark.parametrize("row", table("advanced_sets.csv"), ids=lambda row: row["quantity"])
def test_a_drop_cluster_grows_no_more_than_the_straight_sets_it_stands_for(row: dict[str, str]) -> None:
    """The trials found one cluster of two or three drops equal to the two or three straight sets it replaced."""
    assert float(row["lower"]) < 0.0 < float(row["upper"])
    first = hard_set(12, to_failure=True)
    credit = drop_set(first, 3, "size" if row["quantity"] == "size" else "strength")
    low, high = (2.0, 3.0) if row["quantity"] == "size" else (1.0, 1.0)
    assert low <= credit.value <= high


def test_a_fifth_of_the_maximum_counts_for_clearly_less_than_two_fifths() -> None:
    """[Lasevicius2018]_: 20 % of 1RM clearly inferior to 40-80 % (from memory, direction only)."""
    assert load_weight(0.2) < 0.7 * load_weight(0.4)
    assert load_weight(0.4) == load_weight(0.8)


def test_the_slopes_prior_covers_the_published_slope_and_the_spread_seen_between_people() -> None:
    published = 1.68 / 100.0 / HORIZON_WEEKS
    assert SLOPE_MEAN["novice"] == pytest.approx(published, abs=5e-5)
    assert SLOPE_MEAN["trained"] < SLOPE_MEAN["unknown"] < SLOPE_MEAN["novice"]
    # [Hubal2005]_: coefficient of variation 0.48 and 0.51, measurement error included.
    assert SLOPE_CV > 0.51


@pytest.mark.from_memory
@pytest.mark.parametrize(("published", "spread"), [(0.37, 1.0), (0.023, 16.1)])
def test_the_linear_slope_is_that_of_the_curve_over_the_volumes_of_its_trials(
    published: float, spread: float
) -> None:
    """[Schoenfeld2017]_, abstract: 0.37 points and 0.023 effect size a weekly set, by one straight line over all trials.

    The trials are split at 5 and at 10 weekly sets (recalled), for which 3 and 12 stand here (judgement): the straight line
    between those is the curve's within a fifth, and has its slope at a volume between them. A novice's slope lower by a
    twelfth or higher by two fifths would not do. An effect size is in spreads of size between people, 16.1 % of it by the
    abstract's own two figures, so that the second says no more than the first.
    """
    slope, few, many = 100.0 * HORIZON_WEEKS * SLOPE_MEAN["novice"], 3.0, 12.0
    line = (volume_gain(slope, many) - volume_gain(slope, few)) / (many - few)
    assert line / spread == pytest.approx(published, rel=0.2)
    assert few < sets_where_next_gain_is(published * spread, slope) < many


@pytest.mark.from_memory
def test_the_recalled_tier_edges_are_evenly_spaced_on_the_root_scale() -> None:
    """Edges 4, 10, 18, 29, 42 as recalled from [Pelland2025]_: a square root with one smallest step."""
    edges = [4.0, 10.0, 18.0, 29.0, 42.0]
    steps = [sqrt(b) - sqrt(a) for a, b in pairwise(edges)]
    assert steps == pytest.approx([1.162, 1.080, 1.143, 1.096], abs=0.001)
