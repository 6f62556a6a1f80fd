"""How long a share of the maximum is held: the curve of holds against published laws of endurance time.

Rows: endurance_time.csv beside this file. ``power``: T = first x share^second. ``compartments``: rates of fatigue and
recovery, read in an abstract that pairs the two joints crosswise; which pair is whose follows from both times being positive
and from the ankle's being the longer. The power law's coefficients are from memory, its form and the order of the joints
were read.
"""

import csv
from math import log
from pathlib import Path

import pytest

from service.core.curve import (
    PIECE_S,
    TIMED_PRIOR,
    log_ratio_at,
    pieces_of_hold,
    repetitions_at,
    time_held,
)

pytestmark = pytest.mark.quick

with (Path(__file__).parent / "endurance_time.csv").open() as table:
    ROWS = list(csv.DictReader(table))
POWER = [row for row in ROWS if row["form"] == "power"]
COMPARTMENTS = [row for row in ROWS if row["form"] == "compartments"]
#: Shares of the maximum between which holds are trained.
LOW, HIGH = 0.3, 0.7


def power(row: dict[str, str], share: float) -> float:
    return float(row["first"]) * share ** float(row["second"])


def compartments(row: dict[str, str], share: float) -> float:
    """Return when nobody is left to take over: tired = share F / R (1 - e^(-R t)) reaches 1 - share. [s]"""
    fatigue, recovery = float(row["first"]), float(row["second"])
    return -log(1.0 - (1.0 - share) * recovery / (fatigue * share)) / recovery


def steepness(low: float, high: float) -> float:
    """Return the exponent between two times at the two shares."""
    return log(low / high) / log(HIGH / LOW)


def of_the_curve(share_of_longest: float) -> float:
    """Return the time at a share of the load that is held for one piece. [s]"""
    return PIECE_S * repetitions_at(-log(share_of_longest), TIMED_PRIOR.mean_ln_k, TIMED_PRIOR.b)


@pytest.mark.parametrize("row", COMPARTMENTS, ids=lambda row: row["joint"])
def test_time_falls_with_the_load_as_the_compartments_say(row: dict[str, str]) -> None:
    published = steepness(compartments(row, LOW), compartments(row, HIGH))
    assert abs(published - TIMED_PRIOR.b) < TIMED_PRIOR.sd_b
    assert abs(published - steepness(of_the_curve(LOW), of_the_curve(HIGH))) < TIMED_PRIOR.sd_b


def test_the_ankle_outlasts_the_shoulder() -> None:
    ankle, shoulder = COMPARTMENTS
    assert all(compartments(ankle, share) > compartments(shoulder, share) > 0 for share in (0.3, 0.5, 0.7))


@pytest.mark.from_memory
def test_the_joints_powers_lie_around_the_curves() -> None:
    exponents = [-float(row["second"]) for row in POWER]
    assert min(exponents) < TIMED_PRIOR.b < max(exponents)
    assert sum(exponents) / len(exponents) == pytest.approx(TIMED_PRIOR.b, abs=0.1)
    assert all(abs(one - TIMED_PRIOR.b) < 1.5 * TIMED_PRIOR.sd_b for one in exponents)


@pytest.mark.from_memory
def test_the_joints_come_in_the_order_that_was_read() -> None:
    # At half of the maximum: ankle, trunk, grip, elbow, knee, shoulder.
    times = [power(row, 0.5) for row in POWER]
    assert times == sorted(times, reverse=True)


def test_one_power_law_joins_all_times() -> None:
    k_and_bend = (log(TIMED_PRIOR.b), TIMED_PRIOR.b)
    for seconds in (8.0, 20.0, 45.0, 90.0):
        ratio = log_ratio_at(seconds / PIECE_S, *k_and_bend)
        assert ratio == pytest.approx(log(seconds / PIECE_S) / TIMED_PRIOR.b)


def test_a_hold_is_measured_and_a_carry_is_a_hold_on_the_way() -> None:
    assert pieces_of_hold(40.0) == pytest.approx(9.5)
    assert pieces_of_hold(time_held("distance", None, 48.0)) == pieces_of_hold(40.0)
    assert pieces_of_hold(1.0) == 0.0
