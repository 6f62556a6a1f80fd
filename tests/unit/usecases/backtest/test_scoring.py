"""Scores of predictions against what a log tells, checked against closed forms."""

from math import exp, pi, sqrt
from statistics import NormalDist

import numpy as np
import pytest

from service.catalogue import load_catalogue
from service.usecases.backtest.account import in_plain_words
from service.usecases.backtest.lifts import LiftBook
from service.usecases.backtest.log_reading import read_log
from service.usecases.backtest.log_rows import LogRow
from service.usecases.backtest.predictions import Prediction
from service.usecases.backtest.scoring import Outcome, crps, outcome_of, outcomes_of, score_all

pytestmark = pytest.mark.quick
NORMAL = NormalDist()
BOOK = LiftBook(load_catalogue())
LEVELS = (0.025, 0.1, 0.5, 0.9, 0.975)


def _gaussian(mean: float, sd: float) -> Prediction:
    return Prediction(mean, sd, *(NormalDist(mean, sd).inv_cdf(p) for p in LEVELS))


def _rows(*cells: str) -> list[LogRow]:
    header = "performed_at,exercise,reps,reps_in_reserve,to_failure,purpose\n"
    return list(
        read_log(
            (header + "\n".join(f"2026-03-02,bench press,{c}" for c in cells)).splitlines(keepends=True)
        ).rows
    )


def _closed_form(mean: float, sd: float, seen: float) -> float:
    """CRPS of a Gaussian forecast, the closed form that packages print for it after [Gneiting2007]_."""
    z = (seen - mean) / sd
    return sd * (z * (2.0 * NORMAL.cdf(z) - 1.0) + 2.0 * NORMAL.pdf(z) - 1.0 / sqrt(pi))


@pytest.mark.parametrize("seen", [4.0, 8.0, 10.0, 11.5, 16.0])
def test_the_crps_of_a_gaussian_is_its_closed_form(seen: float) -> None:
    quantiles = np.array([[NormalDist(10.0, 2.0).inv_cdf(p) for p in LEVELS]])
    found = float(crps(quantiles, np.array([seen]))[0])
    # Forty levels stand for the whole range; the tail beyond 0.0125 costs up to half a hundredth of an sd.
    assert found == pytest.approx(_closed_form(10.0, 2.0, seen), abs=0.02)


def test_a_set_to_failure_tells_a_whole_repetition_and_a_reserve_its_nearest() -> None:
    failed, told, at_zero, silent, warm_up = _rows("8,,true,", "8,2,,", "8,0,,", "8,,,", "8,2,,warm-up")
    expected = _gaussian(9.0, 1.0)
    outcomes = [outcome_of(row, expected) for row in (failed, told, at_zero)]
    assert [(o.low, o.high) for o in outcomes if o is not None] == [(8.0, 9.0), (9.5, 10.5), (8.0, 8.5)]
    assert outcome_of(silent, expected) is None
    assert outcome_of(warm_up, expected) is None
    assert outcome_of(failed, None) is None


def test_calibrated_predictions_are_found_calibrated() -> None:
    """Draws from the predictions themselves: 80 and 95 % inside, a tenth in each tenth, no bias, the least CRPS."""
    rng = np.random.default_rng(7)
    count = 4000
    means, sd = rng.uniform(4.0, 20.0, count), 2.0
    seen = np.floor(np.maximum(rng.normal(means, sd), 0.0)).astype(int)
    rows = _rows(*(f"{reps},,true," for reps in seen))
    expected = {row.index: _gaussian(mean, sd) for row, mean in zip(rows, means, strict=True)}
    overall = score_all(outcomes_of(rows, expected), LiftBook(load_catalogue())).overall
    assert overall is not None
    assert overall.count == count
    # Three standard errors of a share of 4000.
    assert overall.covered_80 == pytest.approx(0.80, abs=3 * sqrt(0.16 / count))
    assert overall.covered_95 == pytest.approx(0.95, abs=3 * sqrt(0.0475 / count))
    assert overall.pit == pytest.approx([0.1] * 10, abs=3 * sqrt(0.09 / count))
    assert overall.bias == pytest.approx(0.0, abs=3 * sd / sqrt(count))
    assert overall.crps == pytest.approx(sd / sqrt(pi), abs=0.06)


def test_intervals_that_are_half_as_wide_are_found_too_narrow() -> None:
    rng = np.random.default_rng(11)
    seen = np.floor(rng.normal(12.0, 2.0, 2000)).astype(int)
    rows = _rows(*(f"{reps},,true," for reps in seen))
    narrow = {row.index: _gaussian(12.0, 1.0) for row in rows}
    overall = score_all(outcomes_of(rows, narrow), LiftBook(load_catalogue())).overall
    assert overall is not None
    # P(|Z| < 1.2816 / 2) = 0.478
    assert overall.covered_80 == pytest.approx(2.0 * NORMAL.cdf(0.6408) - 1.0, abs=0.04)


def test_groups_are_by_what_was_expected_and_by_what_was_told() -> None:
    rows = _rows("4,,true,", "9,1,,", "30,,true,")
    expected = {0: _gaussian(4.5, 1.0), 1: _gaussian(10.0, 1.0), 2: _gaussian(28.0, 3.0)}
    scores = score_all(outcomes_of(rows, expected), LiftBook(load_catalogue()))
    assert list(scores.by_band) == ["under 5", "8 to 12", "25 and more"]
    assert {name: score.count for name, score in scores.by_told.items()} == {
        "to failure": 2,
        "reported reserve": 1,
    }
    assert list(scores.by_exercise) == ["Bench press"]
    assert list(scores.by_athlete) == ["(not named)"]


def test_without_outcomes_there_is_no_score() -> None:
    assert score_all([], LiftBook(load_catalogue())).overall is None


def test_the_normal_density_used_above_is_the_textbook_one() -> None:
    assert NORMAL.pdf(1.0) == pytest.approx(exp(-0.5) / sqrt(2.0 * pi))


def test_groups_rest_on_sets_to_failure_where_there_are_enough() -> None:
    told = ["9,1,,"] * 50
    few, many = (score_all(_expected_ten(*["10,,true,"] * count, *told), BOOK) for count in (199, 200))
    assert (few.groups_of, few.by_band["8 to 12"].count) == ("all scored sets", 249)
    assert (many.groups_of, many.by_band["8 to 12"].count) == ("sets to failure", 200)


def test_how_reserves_are_told_is_read_against_sets_to_failure() -> None:
    """Sets to failure at 10.5 as expected, told ones at 9: about one and a half are told too few."""
    said = " ".join(in_plain_words(score_all(_expected_ten(*["10,,true,"] * 40, *["7,2,,"] * 40), BOOK)))
    assert "told as about 1.5 repetitions fewer than were left" in said
    reports_alone = " ".join(in_plain_words(score_all(_expected_ten(*["7,2,,"] * 40), BOOK)))
    assert "rests on told reserves" in reports_alone


def _expected_ten(*cells: str) -> list[Outcome]:
    rows = _rows(*cells)
    return outcomes_of(rows, {row.index: _gaussian(10.5, 1.5) for row in rows})
