"""Session load, monotony, weighted means and exponential kernels against published figures; sources beside each row."""

import csv
import os
from pathlib import Path

import numpy as np
import pytest

from service.core.recovery.kernels import days_until_net_gain, days_until_peak, decayed_sums
from service.core.sources import SOURCES
from service.core.tolerance.joint_tests import JOINT_TESTS, read_retest
from service.core.tolerance.session_load import (
    LONGER_DAYS,
    RECENT_DAYS,
    describe_week,
    session_load,
    weight_of_a_day,
    weighted_mean,
)

pytestmark = pytest.mark.quick
HERE = Path(__file__).parent


def rows(name: str) -> list[dict[str, str]]:
    return list(csv.DictReader((HERE / name).read_text("utf-8").splitlines()))


def ours(quantity: str, inputs: list[float]) -> float:
    if quantity == "session_load":
        return session_load(*inputs)
    if quantity == "weight_of_a_day":
        return weight_of_a_day(inputs[0])
    if quantity == "weighted_mean_7":
        return weighted_mean(inputs, RECENT_DAYS)
    name, _, convention = quantity.partition("_")
    week = describe_week(inputs, sd_convention="sample" if convention == "sample" else "population")
    found = week.monotony if name == "monotony" else week.strain
    assert found is not None
    return found


@pytest.mark.parametrize("row", rows("training_load.csv"), ids=lambda row: row["quantity"])
def test_a_figure_of_training_load_is_reproduced(row: dict[str, str]) -> None:
    assert row["source"] in SOURCES
    found = ours(row["quantity"], [float(one) for one in row["inputs"].split()])
    assert found == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]) or 1e-12)


@pytest.mark.parametrize("row", rows("fitness_fatigue.csv"), ids=lambda row: row["quantity"])
def test_a_days_effect_turns_and_peaks_where_the_published_model_says(row: dict[str, str]) -> None:
    at = days_until_peak if row["quantity"] == "days_until_peak" else days_until_net_gain
    found = at(*(float(row[name]) for name in ("gain", "gain_days", "loss", "loss_days")))
    assert found == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))
    # The same by looking: the net effect, day by day.
    days = np.linspace(0, 120, 1_200_001)
    net = float(row["gain"]) * np.exp(-days / float(row["gain_days"]))
    net -= float(row["loss"]) * np.exp(-days / float(row["loss_days"]))
    seen = days[np.argmax(net)] if row["quantity"] == "days_until_peak" else days[np.argmax(net > 0)]
    assert found == pytest.approx(seen, abs=1e-3)


@pytest.mark.parametrize("row", rows("joint_tests.csv"), ids=lambda row: row["test"])
def test_a_joint_test_changes_beyond_its_published_error_and_not_within(row: dict[str, str]) -> None:
    assert row["source"] in SOURCES
    expected, tolerance = float(row["expected"]), float(row["tolerance"])
    known = JOINT_TESTS[row["test"]]
    assert known.source == row["source"]
    assert known.minimal_detectable_change == pytest.approx(expected, abs=tolerance)
    within, beyond = expected - tolerance, expected + tolerance
    assert read_retest(row["test"], 30.0 + within, 30.0).verdict == "within_error"
    assert read_retest(row["test"], 30.0 + beyond, 30.0).verdict == "more_range"
    assert read_retest(row["test"], 30.0 - beyond, 30.0).verdict == "less_range"


def test_a_weighted_mean_tells_apart_what_a_plain_ratio_does_not() -> None:
    """[Williams2017]_: on day 28 the rolling ratio is 1.43 for three athletes, the weighted 1.25, 1.41 and 1.55.

    Their daily loads could not be read. Checked is what the letter shows with them: loads with one rolling ratio of 1.43
    give weighted ratios around those, the later the loads within the span the higher. The service answers no ratio.
    """
    plain = 1.43
    flat = np.concatenate([np.full(21, (4.0 - plain) / 3.0), np.full(7, plain)])
    early, late = flat.copy(), flat.copy()
    early[21:] = plain * np.linspace(2.0, 0.0, 7)
    late[21:] = plain * np.linspace(0.0, 2.0, 7)
    found = []
    for loads in (early, flat, late):
        assert loads[21:].mean() / loads.mean() == pytest.approx(plain)
        found.append(weighted_mean(list(loads), RECENT_DAYS) / weighted_mean(list(loads), LONGER_DAYS))
    assert found == sorted(found)
    assert found[0] < 1.25 < 1.41 < 1.55 < found[2]


@pytest.mark.skipif(
    "STEELYARD_FITNESS_FATIGUE_CSV" not in os.environ,
    reason="the trial's data are a real person's and not ours to carry: name a file of day, load, power",
)
def test_the_published_fit_replayed_on_the_trials_own_data() -> None:
    """[Clarke2013]_: 262 W, 0.18 and 0.23, 36 and 21 days on 165 days of load: SSE 21.26, R2 0.978; day 48: 274.91 W."""
    table = csv.reader(Path(os.environ["STEELYARD_FITNESS_FATIGUE_CSV"]).read_text("utf-8").splitlines()[1:])
    told = [(float(day), float(load or 0.0), power) for day, load, power in table]
    loads = np.array([load for _, load, _ in told])
    assert loads.sum() == pytest.approx(4548.59, abs=0.01)
    tests = [(place, float(power)) for place, (_, _, power) in enumerate(told) if power]
    ages = np.array([place for place, _ in tests])[:, None] - np.arange(len(loads))
    amounts, since = np.where(ages >= 0, loads, 0.0), np.maximum(ages, 0)
    gain, loss = (decayed_sums(amounts, since, np.array(tau)) for tau in (36.0, 21.0))
    foretold = 262.0 + 0.18 * gain - 0.23 * loss
    seen = np.array([power for _, power in tests])
    sse = float(((seen - foretold) ** 2).sum())
    assert sse == pytest.approx(21.26, abs=0.01)
    assert 1.0 - sse / float(((seen - seen.mean()) ** 2).sum()) == pytest.approx(0.9782, abs=0.0002)
    by_day = {told[place][0]: watts for (place, _), watts in zip(tests, foretold, strict=True)}
    for day, watts in ((48, 274.91), (70, 289.86), (77, 292.13), (105, 299.14), (132, 304.94)):
        assert by_day[day] == pytest.approx(watts, abs=0.01)
