"""Which lifts load a region that is told in words: what is not known is taken to."""

from dataclasses import replace

import pytest

from service.catalogue.loading import load_catalogue
from service.usecases.answers.regions import loads_region

pytestmark = pytest.mark.quick
LIFTS = load_catalogue().exercises


@pytest.mark.parametrize(
    ("region", "loading", "sparing"),
    [
        ("left-shoulder", ["leg-press", "bench-press"], []),
        ("Shoulder", ["bench-press", "deadlift", "back-squat", "barbell-row", "shrug"], ["leg-press", "crunch"]),
        ("wrist", ["barbell-row", "dumbbell-curl", "bench-press", "farmer-carry"], ["leg-press", "plank"]),
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
    """A lift that would be left out for stressing a joint is never free of a reserve or a cap of that joint."""
    for lift in LIFTS.values():
        for joint, ordinal in lift.joint_stress:
            region = {"lumbar": "lower back"}.get(joint, joint)
            assert not ordinal or loads_region(lift, region), (lift.exercise_id, joint)


def test_a_lift_that_nobody_rated_and_a_region_that_is_not_known_are_taken_to_be_meant() -> None:
    spared = LIFTS["leg-press"]
    assert not loads_region(spared, "shoulder")
    assert loads_region(replace(spared, basis={}), "shoulder")
    assert loads_region(spared, "where the strap sits")
