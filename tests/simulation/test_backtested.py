"""The engine, through `steelyard backtest`, on athletes it never met: other curves and constants than its own.

The bounds are what it reaches with room for what a dozen athletes leave to chance; where it falls short of an aim the
aim stands as a strict expected failure. results.md has the table over more athletes, every curve and every set of
constants.
"""

from pathlib import Path

import pytest

from tests.simulation.report import Results
from tests.simulation.table import backtested
from tests.simulation.worlds import simulate

SEEDS = {"log_linear": 31, "asymptote": 32}


@pytest.fixture(scope="module", params=SEEDS)
def results(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Results:
    world = simulate(12, SEEDS[request.param], "base", weeks=26, family=request.param)
    place: Path = tmp_path_factory.mktemp(request.param)
    return backtested(world, place, baseline=True)


def test_after_twelve_sessions_predictions_beat_the_plain_rule_by_a_tenth(results: Results) -> None:
    late = results["predictions"]["after 12+"]
    assert late["rows"] > 800
    assert late["ratio"] <= 1.35
    assert late["ratio"] < 0.9 * results["baseline"]["after 12+"]["ratio"]


def test_after_twelve_sessions_predictions_are_near_the_oracle(
    results: Results, request: pytest.FixtureRequest
) -> None:
    if "log_linear" in request.node.name:
        # 1.079 before slow falls were told, 1.084 before shifts were.
        reason = (
            "1.089: what keeps falls and shifts out of the curve keeps out some of what there is to learn"
        )
        request.applymarker(pytest.mark.xfail(reason=reason, strict=True))
    assert results["predictions"]["after 12+"]["ratio"] <= 1.08


def test_predictions_lean_neither_way_by_half_a_repetition(results: Results) -> None:
    assert abs(results["predictions"]["held out"]["bias"]) <= 0.5


def test_intervals_hold_what_they_say(results: Results) -> None:
    held = results["predictions"]["held out"]
    assert 0.74 <= held["cover80"] <= 0.88
    assert 0.91 <= held["cover95"] <= 0.99


def test_no_prediction_runs_away(results: Results) -> None:
    assert results["predictions"]["held out"]["rmse"] <= 4.0
    assert results["capability"]["one_rm"]["rms"] <= 0.14
