"""The model of reported reserve against published differences between actual and called reserve.

Rows: reserve_against_report.csv beside this file. The model follows the meta-analysis. The squat study's sets were long
(16 repetitions), where people are further off: by how much the model misses it is asserted, not hidden.
"""

import csv
from pathlib import Path

import pytest

from service.core.capability.athlete import CONSTANTS
from service.core.capability.likelihood import report, reserve_behind
from service.core.capability.parameters import TRAINED

pytestmark = pytest.mark.quick


def rows(source: str) -> list[dict[str, str]]:
    with (Path(__file__).parent / "reserve_against_report.csv").open() as table:
        return [row for row in csv.DictReader(table) if row["source"] == source]


SQUATS = rows("Zourdos2021")


def seen(row: dict[str, str]) -> float:
    """Return how many more repetitions there were than called."""
    return float(row["mean_actual_minus_called"])


def told_too_low(called: float) -> float:
    """Return how many more repetitions there are than called, by the model."""
    return reserve_behind(called, TRAINED.bias, TRAINED.report_share) - called


def test_people_have_about_one_repetition_more_in_reserve_than_they_say() -> None:
    (overall,) = rows("Halperin2022")
    assert abs(-TRAINED.bias - seen(overall)) < TRAINED.bias_sd
    assert told_too_low(3.0) == pytest.approx(seen(overall), abs=0.3)


def test_both_say_too_low_and_more_so_the_more_is_left() -> None:
    model, study = (
        [of(row) for row in SQUATS] for of in (lambda row: told_too_low(float(row["called_reserve"])), seen)
    )
    assert model == sorted(model)
    assert study == sorted(study)
    assert model[0] > 0.0


@pytest.mark.parametrize(("row", "missed"), list(zip(SQUATS, (1.45, 2.54, 3.74), strict=True)))
def test_the_model_misses_long_squat_sets_by_one_to_four_repetitions(
    row: dict[str, str], missed: float
) -> None:
    # Called 1, 3, 5 the squatters had 2.05, 3.65, 5.15 more than they said; the model's usual athlete 0.6 to 1.4.
    assert seen(row) - told_too_low(float(row["called_reserve"])) == pytest.approx(missed, abs=0.3)


@pytest.mark.xfail(
    reason="one bias for sets of any length; an athlete's own is learnt within a spread of 0.5", strict=True
)
def test_the_model_reads_long_squat_sets_within_a_repetition() -> None:
    assert all(abs(seen(row) - told_too_low(float(row["called_reserve"]))) < 1.0 for row in SQUATS)


def test_the_spread_of_reports_grows_with_the_reserve_as_in_long_squat_sets() -> None:
    spreads = [
        report(float(row["called_reserve"]) + seen(row), TRAINED.bias, CONSTANTS[0])[1] for row in SQUATS
    ]
    assert spreads == sorted(spreads)
    for spread, row in zip(spreads, SQUATS, strict=True):
        assert 0.6 < spread / float(row["sd"]) < 1.2


def test_at_failure_nothing_is_over_or_understated() -> None:
    mean, sd = report(0.0, TRAINED.bias, CONSTANTS[0])
    assert mean == 0.0
    assert sd == TRAINED.report_sd_at_failure
