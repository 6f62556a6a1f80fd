"""The names that people write lead to the exercise they mean."""

import pytest

from service.catalogue import UnknownExercise, load_catalogue
from service.catalogue.naming import comparable_name

pytestmark = pytest.mark.quick

WRITTEN = {
    "bench press": "bench-press",
    "incline dumbbell press": "incline-dumbbell-press",
    "one-arm cable fly": "one-arm-cable-fly",
    "overhead press": "overhead-press",
    "one-arm overhead press": "one-arm-overhead-press",
    "one-arm lateral raise": "one-arm-lateral-raise",
    "dumbbell lateral raise": "dumbbell-lateral-raise",
    "barbell row": "barbell-row",
    "one-arm dumbbell row": "one-arm-dumbbell-row",
    "chest-supported row": "chest-supported-row",
    "lat pulldown": "lat-pulldown",
    "pull-up": "pull-up",
    "assisted pull-up": "assisted-pull-up",
    "dip": "dip",
    "push-up": "push-up",
    "knee push-up": "knee-push-up",
    "one-arm dumbbell curl": "one-arm-dumbbell-curl",
    "barbell curl": "barbell-curl",
    "cable curl": "cable-curl",
    "hammer curl": "hammer-curl",
    "preacher curl": "preacher-curl",
    "wrist curl": "wrist-curl",
    "cable pressdown": "cable-pressdown",
    "one-arm cable pressdown": "one-arm-cable-pressdown",
    "lying triceps extension": "lying-triceps-extension",
    "back squat": "back-squat",
    "front squat": "front-squat",
    "belt squat": "belt-squat",
    "leg press": "leg-press",
    "one-leg leg press": "one-leg-leg-press",
    "one-leg knee extension": "one-leg-knee-extension",
    "split squat": "split-squat",
    "step-up": "step-up",
    "seated leg curl": "seated-leg-curl",
    "prone leg curl": "prone-leg-curl",
    "one-leg leg curl": "one-leg-leg-curl",
    "deadlift": "deadlift",
    "Romanian deadlift": "romanian-deadlift",
    "trap-bar deadlift": "trap-bar-deadlift",
    "hip thrust": "hip-thrust",
    "back extension": "back-extension",
    "standing calf raise": "standing-calf-raise",
    "seated calf raise": "seated-calf-raise",
    "one-leg calf raise": "one-leg-calf-raise",
    "one-leg bodyweight calf raise": "one-leg-bodyweight-calf-raise",
    "incline bench press": "incline-bench-press",
    "Chin Ups": "chin-up",
    "push ups": "push-up",
    "single leg press": "one-leg-leg-press",
    "single leg extension": "one-leg-knee-extension",
    "one-leg curl": "one-leg-leg-curl",
    "1-arm triceps pushdown": "one-arm-cable-pressdown",
    "DB row": "one-arm-dumbbell-row",
    "tibialis raise": "tibialis-raise",
    "hip abduction machine": "hip-abduction-machine",
    "hip adduction machine": "hip-adduction-machine",
    "hip flexion raise": "hip-flexion-raise",
    "neutral-grip dumbbell floor press": "neutral-grip-dumbbell-floor-press",
    "neutral-grip dumbbell press": "neutral-grip-dumbbell-press",
    "machine chest press": "machine-chest-press",
    "shoulder press machine": "machine-shoulder-press",
    "face pull": "face-pull",
    "rear delt fly": "rear-delt-fly",
    "external rotation": "cable-external-rotation",
    "shrug": "shrug",
    "farmer carry": "farmer-carry",
    "plank": "plank",
    "side plank": "side-plank",
    "ab wheel": "ab-wheel-rollout",
    "crunch": "crunch",
    "Pallof press": "pallof-press",
    "neck flexion": "neck-flexion",
}


@pytest.mark.parametrize(("written", "exercise_id"), WRITTEN.items())
def test_a_written_name_leads_to_its_exercise(written: str, exercise_id: str) -> None:
    assert load_catalogue().resolve(written).exercise_id == exercise_id


@pytest.mark.parametrize(
    "spelling",
    [
        "ONE ARM DUMBBELL ROW",
        "one-arm-dumbbell-row",
        "Single-arm DB rows",
        "1-arm dumbbell row",
        "onearm  dumbbell_row",
    ],
)
def test_case_punctuation_and_shorthand_do_not_matter(spelling: str) -> None:
    assert load_catalogue().resolve(spelling).exercise_id == "one-arm-dumbbell-row"


@pytest.mark.parametrize("written", ["", "---", "row the boat", "bench presss", "leg"])
def test_a_name_that_means_nothing_is_refused(written: str) -> None:
    with pytest.raises(UnknownExercise):
        load_catalogue().resolve(written)


def test_an_id_that_does_not_exist_is_refused() -> None:
    with pytest.raises(UnknownExercise, match="no-such-lift"):
        load_catalogue().exercise("no-such-lift")


def test_a_press_is_no_plural_and_presses_are() -> None:
    assert comparable_name("presses") == comparable_name("press")
    assert comparable_name("Leg Press") == "legpress"
