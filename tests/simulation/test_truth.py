"""The simulator keeps its own rules: curves, oracles and logs agree with each other."""

import csv
import math
from pathlib import Path
from random import Random

import numpy as np
import pytest

from tests.simulation.constants import BASE, PRESETS, constants_named
from tests.simulation.day import SIGN, Day
from tests.simulation.degrading import held_out, scored
from tests.simulation.families import FAMILIES, log_ratio, log_ratios, repetitions, repetitions_of
from tests.simulation.files import LOG_COLUMNS, write_world
from tests.simulation.oracle import distributions, true_repetitions
from tests.simulation.scores import crps
from tests.simulation.training import endurance, strength
from tests.simulation.worlds import World, sides, simulate

pytestmark = pytest.mark.quick


@pytest.fixture(scope="module")
def small_world() -> World:
    return simulate(athletes=16, seed=5, weeks=20)


@pytest.mark.parametrize("family", FAMILIES)
def test_a_lighter_load_allows_more_repetitions_and_the_inverse_returns_the_load(family: str) -> None:
    z = np.linspace(-0.01, 0.5, 40)
    n = np.array([repetitions(family, x, 1.2) for x in z])
    assert np.all(np.diff(n) > 0)
    assert [log_ratio(family, x, 1.2) for x in n] == pytest.approx(list(z), abs=1e-9)
    assert repetitions_of(family, z, np.full(40, 1.2)) == pytest.approx(n)
    assert log_ratios([family] * 40, n, np.full(40, 1.2)) == pytest.approx(z, abs=1e-9)


@pytest.mark.parametrize("family", FAMILIES)
def test_one_repetition_is_possible_with_the_maximum(family: str) -> None:
    assert repetitions(family, 0.0, 1.7) == 1.0


def test_the_ideal_observer_agrees_with_conditioning_the_whole_covariance_at_once() -> None:
    """NumPy's conditional Gaussian over all sets of a session is the oracle of the step-by-step posterior."""
    order = [(0, "right"), (0, "left"), (0, "right"), (1, "both"), (1, "both"), (2, "left"), (2, "right")]
    day, seen, told = Day(BASE, Random(3)), [], []
    exercise = -1
    for number, side in order:
        if number != exercise:
            day.next_exercise()
            exercise = number
        told.append(day.expected(side))
        seen.append(day.draw(side, seen=True))
    shared = np.full((7, 7), BASE.day_shared**2)
    for i, (one, side) in enumerate(order):
        for j, (other, other_side) in enumerate(order):
            if one == other:
                shared[i, j] += BASE.day_own**2 + SIGN[side] * SIGN[other_side] * BASE.day_side**2
        shared[i, i] += BASE.set_noise**2
    for i in range(7):
        gain = np.linalg.solve(shared[:i, :i], shared[:i, i]) if i else np.zeros(0)
        assert told[i][0] == pytest.approx(float(gain @ seen[:i]), abs=1e-12)
        assert told[i][1] ** 2 == pytest.approx(float(shared[i, i] - gain @ shared[:i, i]), rel=1e-9)


@pytest.mark.parametrize("which", ["before", "within"])
def test_the_oracles_intervals_hold_what_they_say(small_world: World, which: str) -> None:
    rows = small_world.rows
    n, table = true_repetitions(rows), distributions(rows, which)
    first = np.array(held_out(rows))
    chosen = np.array([scored(row) and row.role == "work" for row in rows])
    chosen &= first if which == "before" else ~first
    inside80 = np.mean((n >= table[:, 3]) & (n <= table[:, 5]), where=chosen)
    inside95 = np.mean((n >= table[:, 2]) & (n <= table[:, 6]), where=chosen)
    assert chosen.sum() > 2000
    assert 0.77 <= inside80 <= 0.83
    assert 0.93 <= inside95 <= 0.97


def test_the_oracles_mean_has_no_bias(small_world: World) -> None:
    rows = small_world.rows
    table = distributions(rows, "within")
    chosen = np.array([row.role == "work" and not row.duplicate for row in rows])
    assert abs(float(np.mean((true_repetitions(rows) - table[:, 0])[chosen]))) < 0.1


def test_nobody_does_more_repetitions_than_were_possible(small_world: World) -> None:
    assert all(row.reps <= max(row.n, 1.0) for row in small_world.rows if row.role == "work")


def test_the_side_difference_reported_is_the_one_that_acts(small_world: World) -> None:
    told = {(one["athlete"], one["exercise"]): one["t"] for one in sides(small_world)}
    assert told
    for athlete in small_world.athletes:
        for truth in athlete.lifts:
            if truth.lift.sided:
                gap = strength(athlete, truth, "right") - strength(athlete, truth, "left")
                assert told[athlete.name, truth.lift.name] == pytest.approx(gap, abs=1e-12)
                ratio = math.log(endurance(truth, "right") / endurance(truth, "left"))
                assert ratio == pytest.approx(2 * truth.half_endurance_gap, abs=1e-12)


def test_the_same_seed_gives_the_same_world_and_another_seed_another() -> None:
    one, same, other = (simulate(3, seed, weeks=12) for seed in (1, 1, 2))
    assert one.rows == same.rows
    assert one.rows != other.rows


@pytest.mark.parametrize("name", PRESETS)
def test_at_least_a_fifth_are_novices_and_a_fifth_returners(name: str) -> None:
    assert PRESETS[name].novices >= 0.2
    assert PRESETS[name].returners >= 0.2


def test_the_log_has_the_backtests_columns_and_hides_the_truth(small_world: World, tmp_path: Path) -> None:
    write_world(small_world, tmp_path)
    with (tmp_path / "log.csv").open(newline="") as stream:
        reader = csv.DictReader(stream)
        lines = list(reader)
    assert tuple(reader.fieldnames or ()) == LOG_COLUMNS
    assert len(lines) == len(small_world.rows)
    stated = [line for line in lines if line["reps_in_reserve"]]
    assert 0.25 < len(stated) / len(lines) < 0.75
    assert {line["unit"] for line in lines} == {"kg", "lb"}
    assert any(line["stage"] == "1" for line in lines)
    assert any(line["range"] in {"bottom_half", "top_half"} for line in lines)


def test_crps_of_a_normal_forecast_is_its_integral() -> None:
    """The definition, integral of (F(x) - 1{x >= y})^2, done by brute force over a fine grid."""
    x = np.linspace(-10, 30, 400_001)
    density = np.exp(-0.5 * ((x - 10) / 2) ** 2)
    cumulative = np.cumsum(density) / density.sum()
    quantiles = 10 + 2 * np.array([[-1.959964, -1.281552, 0.0, 1.281552, 1.959964]])
    for y in (7.0, 10.0, 13.5):
        expected = np.sum((cumulative - (x >= y)) ** 2) * (x[1] - x[0])
        assert float(crps(quantiles, np.array([y]))[0]) == pytest.approx(float(expected), rel=0.01)


def test_crps_falls_when_a_forecast_is_sharper_and_right() -> None:
    wide = 10 + 3 * np.array([[-1.96, -1.28, 0.0, 1.28, 1.96]])
    sharp = 10 + 1 * np.array([[-1.96, -1.28, 0.0, 1.28, 1.96]])
    truth = np.array([10.2])
    assert crps(sharp, truth)[0] < crps(wide, truth)[0]


def test_drawn_constants_differ_from_seed_to_seed_and_come_back_the_same() -> None:
    one, other = constants_named("drawn-1"), constants_named("drawn-2")
    assert one == constants_named("drawn-1") != other
    assert sum(one.stops.values()) == pytest.approx(1.0)
    assert sum(one.states.values()) == pytest.approx(1.0)
    assert one.day_own != other.day_own != BASE.day_own
