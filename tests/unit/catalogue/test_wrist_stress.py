"""How much lifts are rated to stress the wrist, one beside the other: judgement, but in an order that holds together."""

import pytest

from service.catalogue.loading import load_catalogue
from service.catalogue.records import Exercise
from service.usecases.answers.regions import burdened_joints

pytestmark = pytest.mark.quick
LIFTS = load_catalogue().exercises
PRESSES = [one for one in LIFTS.values() if one.pattern in {"horizontal_press", "vertical_press"}]


def wrist(lift: str) -> int:
    """Return how much a lift is rated to stress the wrist. [0-3]"""
    return dict(LIFTS[lift].joint_stress).get("wrist", 0)


def bent(lift: Exercise) -> float:
    """Return how far a lift bends the wrist back, 0 where it is told of none. [deg]"""
    return max((one.to_deg for one in lift.joint_demands if one.motion == "wrist_extension"), default=0.0)


@pytest.mark.common_practice
@pytest.mark.parametrize(
    ("less", "more"),
    [
        # The straighter the wrist and the freer the handle, the less.
        ("neutral-grip-dumbbell-press", "dumbbell-bench-press"), ("dumbbell-bench-press", "bench-press"),
        ("neutral-grip-dumbbell-floor-press", "dumbbell-bench-press"), ("incline-dumbbell-press", "incline-bench-press"),
        ("seated-dumbbell-overhead-press", "overhead-press"), ("machine-shoulder-press", "overhead-press"),
        ("machine-chest-press", "bench-press"), ("bench-press", "close-grip-bench-press"),
        ("dip", "push-up"), ("overhead-press", "front-squat"), ("dumbbell-curl", "barbell-curl"),
        ("hammer-curl", "dumbbell-curl"),
        # The more of the body bears on it, the more.
        ("assisted-dip", "dip"), ("knee-push-up", "push-up"), ("assisted-pull-up", "pull-up"), ("bird-dog", "knee-push-up"),
        # A fixed bar in a forearm turned up, under all of the body or under a bar alone; turned down or free it is less.
        ("pull-up", "chin-up"), ("barbell-curl", "chin-up"), ("lying-triceps-extension", "bench-press"),
        ("lying-triceps-extension", "dip"),
    ],
)  # fmt: skip
def test_the_gentler_of_two_alike_lifts_is_rated_no_higher(less: str, more: str) -> None:
    assert wrist(less) <= wrist(more)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("one-arm-dumbbell-bench-press", "dumbbell-bench-press"), ("one-arm-machine-chest-press", "machine-chest-press"),
        ("one-arm-overhead-press", "seated-dumbbell-overhead-press"), ("push-up", "scapular-push-up"),
        ("one-arm-kettlebell-press", "one-arm-overhead-press"),
    ],
)  # fmt: skip
def test_a_lift_is_rated_alike_with_one_arm_and_with_both(one: str, other: str) -> None:
    assert wrist(one) == wrist(other) > 0


def test_what_is_pressed_bears_on_the_wrist_and_a_wrist_rests_under_no_press() -> None:
    assert len(PRESSES) > 15
    for press in PRESSES:
        assert wrist(press.exercise_id) >= 1, press.exercise_id
        assert bent(press) > 0.0, press.exercise_id
        assert "wrist" in burdened_joints(press), press.exercise_id


def test_of_two_presses_the_one_that_bends_the_wrist_much_further_is_rated_no_lower() -> None:
    """The narrow grip bends it sideways as well."""
    others = [one for one in PRESSES if one.exercise_id != "close-grip-bench-press"]
    for less in others:
        for more in others:
            if bent(less) + 10.0 <= bent(more):
                assert wrist(less.exercise_id) <= wrist(more.exercise_id), (
                    less.exercise_id,
                    more.exercise_id,
                )


@pytest.mark.common_practice
def test_a_pull_hangs_from_a_straight_wrist_and_is_rated_below_what_bears_on_a_bent_one() -> None:
    hanging = [
        one.exercise_id for one in LIFTS.values() if one.pattern in {"horizontal_pull", "vertical_pull"}
    ]
    assert {lift for lift in hanging if wrist(lift) > 0} == {"chin-up"}
    assert all(wrist(lift) < wrist("push-up") for lift in hanging)
