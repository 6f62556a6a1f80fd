"""What a plan does not bring in by itself: lifts that take teaching, and bodies that are too heavy for now."""

import pytest

from service.catalogue import load_catalogue
from service.core.tolerance.cautions import Person
from service.core.tolerance.screening import Clearance, Gate, Screening, open_gate
from service.usecases.answers.plan_first_times import trains_with_care

pytestmark = pytest.mark.quick

ADULT = Person(age_years=35.0)


def _gate(state: str) -> Gate:
    clearance = Clearance(day=10.0, role="clinician", min_reserve=4.0) if state == "cleared" else None
    return open_gate(Screening(state, clearance), today=20.0)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("state", "person", "expected"),
    [
        ("clear", ADULT, False),
        ("none", ADULT, True),
        ("cleared", ADULT, True),
        ("clear", Person(age_years=16.0), True),
        ("clear", Person(age_years=60.0), True),
        ("clear", Person(age_years=35.0, conditions=frozenset({"pregnancy"})), True),
        ("clear", Person(age_years=35.0, novice=True), True),
    ],
)
def test_who_is_taught_a_demanding_lift_first(state: str, person: Person, expected: bool) -> None:
    assert trains_with_care(_gate(state), person) is expected


def test_the_reference_list_keeps_easy_lifts_for_those_who_are_taught_first() -> None:
    easy = [exercise for exercise in load_catalogue() if exercise.skill < 2]
    patterns = {exercise.pattern for exercise in easy}
    assert {
        "knee",
        "hip",
        "horizontal_press",
        "vertical_press",
        "horizontal_pull",
        "vertical_pull",
    } <= patterns
