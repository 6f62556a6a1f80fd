"""Which side a reason of a planned exercise concerns, in its sentence and in its params."""

import pytest

from service.catalogue.texts import load_texts
from service.core.estimates import Reason
from service.usecases.answers.plan_reasons import SideReason, told_reasons
from service.usecases.answers.telling import Teller
from service.usecases.records.base import Side
from service.usecases.records.plans import ReasonText

pytestmark = pytest.mark.quick

MISSED = Reason("progression.missed")
KEPT = Reason("planning.kept_lift")
MUSCLES = Reason("planning.for_muscles", {"muscles": "lats"})
LAGS = Reason("planning.lagging_side_first", {"side": "left"})


def repeats(reps: int) -> Reason:
    return Reason("progression.repeat", {"reps": reps})


def chance(percent: float) -> Reason:
    params = {"p_wanted_percent": percent, "p_too_hard_percent": 5.0}
    return Reason("progression.chance_of_wanted_effort", params)


def told(
    *of_sides: SideReason, planned: tuple[Reason, ...] = (MUSCLES, KEPT), most: int = 9
) -> list[ReasonText]:
    return told_reasons(of_sides, planned, Teller(load_texts("en")), most)


def sides(reasons: list[ReasonText]) -> list[tuple[str, object]]:
    return [(one.code, one.params.get("side")) for one in reasons]


def test_a_reason_of_one_side_names_it_and_one_of_both_names_none() -> None:
    found = told(("left", MISSED), ("left", chance(80.0)), ("right", repeats(8)), ("right", chance(80.0)))
    assert sides(found) == [
        ("progression_missed", "left"),
        ("progression_repeat", "right"),
        ("planning_for_muscles", None),
        ("planning_kept_lift", None),
        ("progression_chance_of_wanted_effort", None),
    ]
    assert found[0].text == "Left side: The last load did not go up, so a lighter one comes next."
    assert found[1].text.startswith("Right side: Stay at this load with 8 repetitions")
    assert not found[4].text.startswith(("Left", "Right"))


def test_one_code_with_other_numbers_is_told_of_each_side() -> None:
    found = told(("left", repeats(8)), ("right", repeats(9)))
    assert sides(found)[:2] == [("progression_repeat", "left"), ("progression_repeat", "right")]
    assert [one.params["reps"] for one in found[:2]] == [8, 9]


def test_numbers_that_read_the_same_are_one_reason() -> None:
    found = told(("left", repeats(8)), ("left", chance(80.1)), ("right", repeats(8)), ("right", chance(79.9)))
    assert sides(found) == [
        ("progression_repeat", None),
        ("planning_for_muscles", None),
        ("planning_kept_lift", None),
        ("progression_chance_of_wanted_effort", None),
    ]


def test_what_decides_the_other_side_is_not_crowded_out() -> None:
    found = told(
        ("left", MISSED), ("left", chance(70.0)), ("right", repeats(8)), ("right", chance(80.0)),
        planned=(Reason("planning.aimed_lift"), MUSCLES, KEPT, LAGS), most=5,
    )  # fmt: skip
    assert sides(found)[:3] == [
        ("progression_missed", "left"),
        ("progression_repeat", "right"),
        ("planning_lagging_side_first", "left"),
    ]


ARC = Reason("tolerance.pain_range_ends_before_arc", {"end_deg": 60.0})
PAIN = Reason("tolerance.pain_middle_zone", {"pain": 4.0, "load_percent": 25.0})


@pytest.mark.parametrize(
    "other_side", [(), (("right", PAIN), ("right", ARC)), (("right", repeats(8)), ("right", chance(80.0)))]
)
def test_how_to_move_with_pain_comes_before_why_the_exercise_is_there(
    other_side: tuple[SideReason, ...],
) -> None:
    planned = (Reason("planning.aimed_lift"), MUSCLES, KEPT, LAGS)
    found = told(
        ("left", PAIN), ("left", ARC), ("left", chance(90.0)), *other_side, planned=planned, most=5
    )  # fmt: skip
    assert {"tolerance_pain_middle_zone", "tolerance_pain_range_ends_before_arc"} <= {
        code for code, _ in sides(found)[:3]
    }


def test_where_one_side_works_its_reasons_name_it() -> None:
    assert sides(told(("right", MISSED), ("right", chance(80.0)))) == [
        ("progression_missed", "right"),
        ("planning_for_muscles", None),
        ("planning_kept_lift", None),
        ("progression_chance_of_wanted_effort", "right"),
    ]


@pytest.mark.parametrize("side", ["both", "unspecified"])
def test_a_lift_without_sides_names_none(side: Side) -> None:
    assert {named for _, named in sides(told((side, MISSED), (side, chance(80.0))))} == {None}


def test_a_side_that_a_reason_names_already_stays() -> None:
    follows = Reason("load_progression.matches_other_side", {"side": "left"})
    (first, *_) = told(("right", follows))
    assert (first.params["side"], first.text.startswith("This side")) == ("left", True)
