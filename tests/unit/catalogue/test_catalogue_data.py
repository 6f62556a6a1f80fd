"""What ships in the data files: enough of it, over every pattern, and at odds with itself nowhere."""

from typing import get_args

import pytest

from service.catalogue import UnknownMuscle, load_catalogue
from service.catalogue.records import Exercise, LoadBasis, Pattern, Work
from service.core.sources import SOURCES

pytestmark = pytest.mark.quick

EXERCISES = tuple(load_catalogue())


def named(exercise: Exercise) -> str:
    return exercise.exercise_id


def test_there_are_at_least_75_exercises_and_48_muscles() -> None:
    catalogue = load_catalogue()
    assert len(catalogue) >= 75
    assert len(catalogue.muscles) >= 48


@pytest.mark.parametrize("pattern", get_args(Pattern))
def test_every_pattern_has_an_exercise(pattern: str) -> None:
    assert any(exercise.pattern == pattern for exercise in EXERCISES)


@pytest.mark.parametrize("load_basis", get_args(LoadBasis))
def test_every_way_of_counting_load_occurs(load_basis: str) -> None:
    assert any(exercise.load_basis == load_basis for exercise in EXERCISES)


@pytest.mark.parametrize("work", get_args(Work))
def test_repetitions_holds_and_distances_occur(work: str) -> None:
    assert any(exercise.work == work for exercise in EXERCISES)


def test_every_trainable_muscle_is_trained_by_something() -> None:
    catalogue = load_catalogue()
    trained = {
        muscle for exercise in catalogue for muscle in catalogue.training_muscles(exercise.exercise_id)
    }
    assert {muscle.muscle_id for muscle in catalogue.trainable_muscles()} == trained


def test_the_order_is_that_of_the_files_each_time() -> None:
    assert [exercise.exercise_id for exercise in load_catalogue()] == [named(each) for each in EXERCISES]
    load_catalogue.cache_clear()
    assert [exercise.exercise_id for exercise in load_catalogue()] == [named(each) for each in EXERCISES]


@pytest.mark.parametrize("exercise", EXERCISES, ids=named)
def test_a_name_says_on_how_many_limbs_the_load_rests(exercise: Exercise) -> None:
    if exercise.exercise_id.startswith(("one-arm-", "one-leg-")):
        assert exercise.laterality == "one_sided"
    if exercise.laterality == "two_loads":
        assert exercise.load_basis == "per_hand"
    if exercise.load_basis == "per_hand":
        assert exercise.laterality in ("two_loads", "one_sided")


@pytest.mark.parametrize("exercise", EXERCISES, ids=named)
def test_the_load_is_counted_as_its_implement_allows(exercise: Exercise) -> None:
    assert (exercise.load_basis == "level") == (exercise.implement in ("levels", "band"))
    if exercise.implement == "body":
        assert exercise.load_basis in ("added", "none")
    if exercise.load_basis in ("added", "assistance"):
        assert exercise.body_share > 0.0
    assert exercise.free_weight == (exercise.implement in ("bar", "dumbbells", "kettlebell"))


@pytest.mark.parametrize("exercise", EXERCISES, ids=named)
def test_a_hold_or_carry_is_read_on_its_own_curve(exercise: Exercise) -> None:
    assert (exercise.work != "repetitions") == (exercise.curve_class == "trunk_hold")


@pytest.mark.parametrize("exercise", EXERCISES, ids=named)
def test_every_exercise_has_a_muscle_it_is_done_for(exercise: Exercise) -> None:
    assert next(iter(load_catalogue().training_muscles(exercise.exercise_id).values())) >= 0.5


def test_only_free_weights_can_trap_a_lifter() -> None:
    assert {exercise.exercise_id for exercise in EXERCISES if exercise.failure_exit == 3} == {
        "bench-press",
        "incline-bench-press",
        "close-grip-bench-press",
        "back-squat",
        "half-squat",
    }


def test_shares_come_back_largest_first_and_without_untrained_muscles() -> None:
    shares = load_catalogue().training_muscles("bench-press")
    assert list(shares.values()) == sorted(shares.values(), reverse=True)
    assert "deltoid-middle" not in shares
    assert shares["pectoralis-major-sternal"] == 1.0


def test_a_divided_muscle_stands_for_its_trainable_parts() -> None:
    catalogue = load_catalogue()
    assert set(catalogue.parts("hamstrings")) == {
        "biceps-femoris-long-head",
        "biceps-femoris-short-head",
        "semitendinosus",
        "semimembranosus",
    }
    assert catalogue.parts("soleus") == ("soleus",)
    with pytest.raises(UnknownMuscle):
        catalogue.parts("no-such-muscle")


@pytest.mark.parametrize(
    "muscle_id", ["deltoid", "gastrocnemius", "triceps-brachii", "trapezius", "pectoralis-major"]
)
def test_muscles_are_divided_where_training_differs(muscle_id: str) -> None:
    assert len(load_catalogue().parts(muscle_id)) >= 2


def test_no_share_rests_on_a_work_that_was_only_recalled() -> None:
    cited = {row.basis for exercise in EXERCISES for row in exercise.involvement} - {"anatomy", "judgement"}
    assert cited
    assert all(SOURCES[key].provenance == "read" for key in cited)
