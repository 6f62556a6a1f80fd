"""Which lifts load a region that is told in words: what is not known is taken to."""

from dataclasses import replace

import pytest

from service.catalogue.loading import load_catalogue
from service.usecases.answers.regions import burdened_joints, is_known, joints_of, loads_region

pytestmark = pytest.mark.quick
LIFTS = load_catalogue().exercises


@pytest.mark.parametrize(
    ("region", "loading", "sparing"),
    [
        ("left-shoulder", ["bench-press"], ["leg-press"]),
        ("Shoulder", ["bench-press", "deadlift", "back-squat", "barbell-row", "shrug"], ["leg-press", "crunch"]),
        ("wrist", ["barbell-row", "dumbbell-curl", "assisted-dip", "farmer-carry"], ["leg-press", "plank"]),
        ("elbow", ["dumbbell-curl", "deadlift", "pull-up"], ["seated-leg-curl", "crunch"]),
        ("lower back", ["deadlift", "barbell-row", "overhead-press"], ["preacher-curl", "knee-extension"]),
        ("neck", ["back-squat", "shrug", "farmer-carry", "neck-flexion"], ["bench-press", "leg-press"]),
        ("hip", ["good-morning", "front-squat", "hack-squat", "barbell-row"], ["bench-press", "lat-pulldown"]),
        ("knee", ["back-squat", "leg-press", "farmer-carry", "knee-extension"], ["bench-press", "machine-row"]),
        ("ankle", ["back-squat", "farmer-carry", "romanian-deadlift"], ["bench-press", "seated-leg-curl"]),
    ],
)  # fmt: skip
def test_a_region_is_loaded_by_what_stresses_moves_or_holds_through_it(
    region: str, loading: list[str], sparing: list[str]
) -> None:
    assert [lift for lift in loading if not loads_region(LIFTS[lift], region)] == []
    assert [lift for lift in sparing if loads_region(LIFTS[lift], region)] == []


def test_what_rests_with_a_joint_is_bound_with_it_too() -> None:
    """A lift that would be left out while a joint rests is never free of a reserve or a cap of that joint."""
    for lift in LIFTS.values():
        stressed = {joint for joint, ordinal in lift.joint_stress if ordinal}
        assert stressed <= burdened_joints(lift)
        for joint in burdened_joints(lift):
            assert loads_region(lift, joint), (lift.exercise_id, joint)


def test_a_lift_that_nobody_rated_and_a_region_that_is_not_known_are_taken_to_be_meant() -> None:
    spared = LIFTS["leg-press"]
    assert not loads_region(spared, "shoulder")
    assert loads_region(replace(spared, basis={}), "shoulder")
    assert loads_region(spared, "where the strap sits")


@pytest.mark.parametrize(
    ("region", "joints"),
    [
        ("biceps left", {"shoulder", "elbow"}),
        ("right triceps", {"shoulder", "elbow"}),
        ("Knees", {"knee"}),
        ("calves", {"ankle", "knee"}),
        ("achilles", {"ankle"}),
        ("hamstrings", {"knee", "hip"}),
        ("rotator cuff", {"shoulder"}),
        ("lats", {"shoulder"}),
    ],
)
def test_muscles_and_plurals_are_known_by_their_joints(region: str, joints: set[str]) -> None:
    assert is_known(region)
    assert {*joints_of(region)} == joints


@pytest.mark.parametrize("region", ["pelvis", "s", "left", "knee cap bones"])
def test_words_that_are_not_known_are_taken_for_every_joint(region: str) -> None:
    assert not is_known(region)
    assert len(joints_of(region)) == 8


@pytest.mark.parametrize(
    ("region", "closed", "open_"),
    [
        ("hip", ["good-morning", "front-squat", "hack-squat", "barbell-row", "farmer-carry"], ["bench-press", "pull-up"]),
        ("shoulder", ["deadlift", "shrug", "lying-triceps-extension", "back-squat"], ["leg-press", "seated-leg-curl"]),
        ("shoulder", ["preacher-curl", "hammer-curl", "farmer-carry"], ["wrist-curl", "reverse-wrist-curl", "forearm-pronation"]),
        ("elbow", ["wrist-curl", "forearm-pronation"], ["leg-press"]),
        ("wrist", ["deadlift", "pull-up", "dip", "neutral-grip-dumbbell-press"], ["leg-press", "knee-extension"]),
        ("elbow", ["bench-press", "barbell-row", "farmer-carry", "plank"], ["leg-press", "hip-thrust", "seated-leg-curl"]),
        ("lower back", ["shrug", "standing-calf-raise", "deadlift"], ["goblet-squat", "dumbbell-curl", "lat-pulldown"]),
        ("neck", ["back-squat", "deadlift", "neck-flexion"], ["bench-press", "goblet-squat"]),
        ("knee", ["good-morning", "hip-thrust", "farmer-carry"], ["bench-press", "barbell-row", "lat-pulldown"]),
        ("ankle", ["back-squat", "leg-press", "farmer-carry"], ["bench-press", "seated-leg-curl", "knee-extension"]),
    ],
)  # fmt: skip
def test_a_region_cannot_rest_under_what_stresses_or_moves_it_or_much_is_held_through(
    region: str, closed: list[str], open_: list[str]
) -> None:
    joints = {*joints_of(region)}
    assert [lift for lift in closed if not burdened_joints(LIFTS[lift]) & joints] == []
    assert [lift for lift in open_ if burdened_joints(LIFTS[lift]) & joints] == []


def test_no_region_rests_under_a_lift_that_nobody_rated() -> None:
    assert {"shoulder", "neck", "ankle"} <= burdened_joints(replace(LIFTS["leg-press"], basis={}))
