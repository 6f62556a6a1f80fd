"""Muscle volumes, identifiers, starting ratios and body shares against published figures."""

import csv
import re
from itertools import pairwise
from math import log
from pathlib import Path

import pytest

from service.catalogue import load_catalogue
from service.core.sources import SOURCES

pytestmark = pytest.mark.quick

HERE = Path(__file__).parent


def volume(muscle_id: str) -> float:
    found = load_catalogue().muscle(muscle_id).volume_cm3
    assert found is not None
    return found


def test_volumes_stand_to_each_other_as_in_the_published_model() -> None:
    # [Rajagopal2016]_, model file: shares of lower-limb volume, rounded to 0.01 points; volumes to 1 cm3.
    with (HERE / "model_volumes.csv").open(encoding="utf-8") as lines:
        rows = [(row["muscle"], float(row["share_percent"])) for row in csv.DictReader(lines)]
    for (larger, larger_share), (smaller, smaller_share) in pairwise(rows):
        ratio, published = volume(smaller) / volume(larger), smaller_share / larger_share
        rounding = 0.5 / volume(smaller) + 0.5 / volume(larger) + 0.005 / smaller_share + 0.005 / larger_share
        assert abs(log(ratio / published)) <= rounding, (larger, smaller)


@pytest.mark.parametrize("muscle_id", ["quadriceps-femoris", "hamstrings", "biceps-femoris", "gastrocnemius"])
def test_a_divided_muscle_is_as_large_as_its_parts(muscle_id: str) -> None:
    # [Rajagopal2016]_; each part is rounded to 1 cm3.
    parts = load_catalogue().parts(muscle_id)
    assert sum(volume(part) for part in parts) == pytest.approx(volume(muscle_id), abs=0.5 * (len(parts) + 1))


@pytest.mark.parametrize(
    ("muscle_id", "uberon_id", "fma_id"),
    [
        ("latissimus-dorsi", "UBERON:0001112", "FMA:13357"),
        ("biceps-brachii", "UBERON:0001507", "FMA:37670"),
        ("gluteus-maximus", "UBERON:0001370", "FMA:22314"),
        ("rectus-femoris", "UBERON:0001378", "FMA:22430"),
        ("soleus", "UBERON:0001389", "FMA:22542"),
    ],
)
def test_identifiers_are_those_of_the_anatomy_ontology(muscle_id: str, uberon_id: str, fma_id: str) -> None:
    # [Mungall2012]_: the ontology's musculoskeletal file, cross-references to FMA.
    muscle = load_catalogue().muscle(muscle_id)
    assert (muscle.uberon_id, muscle.fma_id) == (uberon_id, fma_id)


def test_no_two_muscles_share_an_identifier() -> None:
    muscles = load_catalogue().muscles.values()
    uberon = [muscle.uberon_id for muscle in muscles if muscle.uberon_id]
    fma = [muscle.fma_id for muscle in muscles if muscle.fma_id]
    assert len(uberon) == len(set(uberon)) >= 48
    assert len(fma) == len(set(fma)) >= 48
    assert all(re.fullmatch(r"UBERON:\d{7}", each) for each in uberon)
    assert all(re.fullmatch(r"FMA:\d+", each) for each in fma)


@pytest.mark.parametrize(
    ("exercise_id", "slope", "intercept_kg"),
    [("barbell-curl", 0.33, 6.20), ("overhead-triceps-extension", 0.33, -0.60)],
)
@pytest.mark.parametrize("bench_kg", [40.0, 50.0, 60.0])
def test_a_ratio_to_the_bench_press_agrees_with_the_published_line_within_its_error(
    exercise_id: str, slope: float, intercept_kg: float, bench_kg: float
) -> None:
    # [Wong2013]_, abstract, equations (b) and (c): 6RM loads; differences of 6.52 to 8.54 % from the actual loads.
    anchor = load_catalogue().exercise(exercise_id).anchor
    assert anchor is not None
    assert anchor.basis == "Wong2013"
    assert anchor.exercise_id == "bench-press"
    assert abs(log(anchor.ratio * bench_kg / (slope * bench_kg + intercept_kg))) <= 0.0854


@pytest.mark.from_memory
@pytest.mark.parametrize(
    ("exercise_id", "share"),
    [("pull-up", 0.95), ("assisted-pull-up", 0.95), ("dip", 0.95), ("push-up", 0.64)],
)
def test_body_shares_are_those_remembered_or_seen_second_hand(exercise_id: str, share: float) -> None:
    # Pull-up and dip from memory; push-up [Ebben2011]_ as others quote it.
    assert load_catalogue().exercise(exercise_id).body_share == share


def test_push_ups_from_the_knees_move_less_of_the_body() -> None:
    # [Ebben2011]_, abstract: the flexed-knee push-up had lower ground reaction forces than the regular one.
    catalogue = load_catalogue()
    assert catalogue.exercise("knee-push-up").body_share < catalogue.exercise("push-up").body_share
    assert SOURCES["Ebben2011"].provenance == "read_secondary"


@pytest.mark.common_practice
def test_a_pull_up_is_one_line_from_assisted_to_loaded() -> None:
    # Common practice, no source: an invented person of 80 kg, +10 kg, and 20 kg of assistance.
    catalogue = load_catalogue()
    loaded = catalogue.exercise("pull-up").body_share * 80.0 + 10.0
    assisted = catalogue.exercise("assisted-pull-up").body_share * 80.0 - 20.0
    heavier = catalogue.exercise("pull-up").body_share * 84.0 + 10.0
    assert 82.0 <= loaded <= 90.0
    assert 52.0 <= assisted <= 60.0
    assert heavier - loaded == pytest.approx(3.8)


@pytest.mark.common_practice
def test_repetition_ranges_are_lower_for_heavy_lifts_than_for_single_joint_ones() -> None:
    # Common practice, no source: heavy free lifts 3 to 12, single-joint work about 8 to 20.
    exercises = list(load_catalogue())
    heavy = [
        each for each in exercises if each.compound and each.implement == "bar" and each.work == "repetitions"
    ]
    single = [each for each in exercises if each.curve_class == "single_joint" and each.implement == "stack"]
    assert max(each.repetition_range[0] for each in heavy) <= 8
    assert min(each.repetition_range[0] for each in single) >= 8
