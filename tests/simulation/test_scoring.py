"""The scores tell a perfect answer from a poor one, and read the files the backtest writes."""

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from tests.simulation.baseline import predict
from tests.simulation.files import write_predictions, write_world
from tests.simulation.report import as_text, score_directory
from tests.simulation.scores import KNOTS, planned_chances
from tests.simulation.worlds import LOAD_TARGETS, World, simulate

pytestmark = pytest.mark.quick
NAMES = ("one_rm", *(f"load_{n}" for n in LOAD_TARGETS))


@pytest.fixture(scope="module")
def world() -> World:
    return simulate(athletes=12, seed=9, weeks=16)


@pytest.fixture(scope="module")
def directory(world: World, tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("world")
    write_world(world, place)
    return place


def _lines(path: Path) -> list[dict[str, str]]:
    with path.open(newline="") as stream:
        return list(csv.DictReader(stream))


def _write(path: Path, lines: list[dict[str, object]]) -> Path:
    with path.open("w", newline="") as stream:
        writer = csv.DictWriter(stream, list(lines[0]))
        writer.writeheader()
        writer.writerows(lines)
    return path


def _capability(directory: Path, answer: Callable[[float], float]) -> Path:
    lines: list[dict[str, object]] = []
    for line in _lines(directory / "maxima.csv"):
        told: dict[str, object] = {name: line[name] for name in ("athlete", "exercise", "side")}
        for name in NAMES:
            middle = answer(float(line[name]))
            told |= {f"{name}_q10": 0.96 * middle, f"{name}_q50": middle, f"{name}_q90": 1.04 * middle}
        lines.append(told)
    return _write(directory / "capability.csv", lines)


def test_the_oracle_scores_one_against_itself_and_the_plain_rule_worse(world: World, directory: Path) -> None:
    oracle = score_directory(directory, None, None, None)["predictions"]["after 12+"]
    write_predictions(directory / "plain.csv", predict(world.rows))
    plain = score_directory(directory, directory / "plain.csv", None, None)["predictions"]["after 12+"]
    assert oracle["ratio"] == pytest.approx(1.0)
    assert abs(oracle["bias"]) < 0.15
    assert 1.2 < plain["ratio"] < 2.5
    assert plain["load_error"] > oracle["load_error"]


def test_the_oracles_stated_chances_come_true_and_too_sure_ones_do_not() -> None:
    chance = np.random.default_rng(5)
    middle = chance.uniform(6.0, 16.0, 20_000)
    honest = middle[:, None] + 2.0 * KNOTS
    told = planned_chances(honest, middle + 2.0 * chance.standard_normal(20_000))
    assert told["wanted_stated"] == pytest.approx(told["wanted_seen"], abs=0.01)
    assert told["too_hard_stated"] == pytest.approx(told["too_hard_seen"], abs=0.01)
    sure = planned_chances(honest, middle + 3.0 * chance.standard_normal(20_000))
    assert sure["too_hard_seen"] > sure["too_hard_stated"] + 0.05


def test_the_true_loads_hit_as_often_as_the_oracles_and_heavier_ones_less(directory: Path) -> None:
    right = score_directory(directory, None, _capability(directory, lambda load: load), None)["capability"]
    heavy = score_directory(directory, None, _capability(directory, lambda load: 1.06 * load), None)[
        "capability"
    ]
    assert right["hits"]["ratio"] == pytest.approx(1.0, abs=1e-3)
    assert right["one_rm"]["rms"] < 1e-4
    assert right["one_rm"]["cover80"] == 1.0
    assert heavy["hits"]["ratio"] < 0.9
    assert heavy["one_rm"]["bias"] == pytest.approx(0.0583, abs=1e-3)
    assert heavy["one_rm"]["cover80"] == 0.0


def test_false_calls_and_right_calls_of_a_side_are_told_apart(directory: Path) -> None:
    lines: list[dict[str, object]] = []
    for line in _lines(directory / "sides.csv"):
        t = float(line["t"]) + 0.10
        told: dict[str, object] = {
            "athlete": line["athlete"],
            "exercise": line["exercise"],
            "muscle": "",
            "t": t,
        }
        lines.append(told | {"q025": t - 0.04, "q10": t - 0.02, "q90": t + 0.02, "q975": t + 0.04})
    scores = score_directory(directory, None, None, _write(directory / "told.csv", lines))["sides"]
    assert scores["bias"] == pytest.approx(0.10, abs=1e-6)
    assert scores["cover95"] == 0.0
    assert scores["false_call_at_0"] == 1.0
    assert scores["wrong_sign_calls"] > 0.1


def test_a_row_without_a_prediction_is_counted_and_not_scored(world: World, directory: Path) -> None:
    told = predict(world.rows)
    write_predictions(directory / "half.csv", [None if i % 2 else one for i, one in enumerate(told)])
    scores = score_directory(directory, directory / "half.csv", None, None)["predictions"]
    assert scores["unpredicted_held_out"] > 0.4 * scores["held out"]["rows"]


def test_the_text_has_a_line_for_each_reserve_condition(directory: Path) -> None:
    text = as_text(score_directory(directory, None, None, None))
    for condition in ("every", "half", "last"):
        assert f"condition {condition}" in text
