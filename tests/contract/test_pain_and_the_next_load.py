"""What pain asks for reaches every answer that names a load: the next one, the next session's. All people are invented."""

from collections.abc import Callable
from typing import Any

import pytest

from tests.contract.lifting import BAR_AND_PLATES, FIVE_POUND_STEPS, Json, Lifter, codes, lifters
from tests.world import World

BENCH, CURL, ONE_ARM = "bench-press", "dumbbell-curl", "one-arm-dumbbell-curl"
RAISE = "dumbbell-lateral-raise"


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def curled_by_sides(person: Lifter, days: tuple[float, ...] = (10, 7, 4, 1), **newest: Any) -> None:
    """Log a two-sided lift as some do: a set of the left and one of the right, each with its side."""
    for day in days:
        for ordinal in range(3):
            for place, side in enumerate(("left", "right")):
                said = newest if day == days[-1] and side == "left" else {}
                person.logs(
                    CURL, day - 0.003 * ordinal - 0.001 * place, 30, 10, unit="lb", side=side,
                    reps_in_reserve=2, **said,
                )  # fmt: skip


def planned(person: Lifter, exercise_id: str) -> Json:
    (item,) = [one for one in person.asks("next-session")["items"] if one["exercise_id"] == exercise_id]
    found: Json = item
    return found


def working(item: Json, side: str | None = None) -> list[Json]:
    return [one for one in item["sets"] if not one["ramp"] and side in {None, one["side"]}]


def pain(region: str, during: float, side: str = "left") -> list[Json]:
    return [{"region": region, "side": side, "during": during}]


@pytest.mark.parametrize("told", [{}, {"pain": [{"region": "shoulder", "during": 0}]}])
def test_a_pain_of_0_told_each_time_lets_the_load_rise_as_silence_does(
    lifter: Callable[..., Lifter], told: Json
) -> None:
    person = lifter(BAR_AND_PLATES)
    for session in range(12):
        for ordinal in range(3):
            person.logs(BENCH, 34 - 3 * session - 0.005 * ordinal, 60, 12, reps_in_reserve=4, **told)
    item = person.next(exercise_id=BENCH)
    assert item["load"]["value"] > 60
    assert not [one for one in person.asks("trends")["due_checks"] if one["kind"] == "next_morning_pain"]


def test_pain_takes_load_off_a_two_sided_lift_whose_sets_name_a_side(lifter: Callable[..., Lifter]) -> None:
    person = lifter(FIVE_POUND_STEPS)
    curled_by_sides(person, pain=pain("elbow", 5))
    item = person.next(exercise_id=CURL)
    assert (item["policy"], item["action"]["code"]) == ("reduce_load", "reduce_load")
    assert item["load"]["value"] == pytest.approx(9.072)  # 20 lb of the 30 lb that hurt
    assert item["sets"] == 3
    assert "tolerance_pain_middle_zone" in codes(item["reasons"])
    sets = working(planned(person, CURL))
    assert len(sets) == 3
    assert all(one["load"]["value"] == pytest.approx(9.072) for one in sets)


def test_a_two_sided_lift_done_by_sides_is_no_first_time_and_its_rounds_are_its_sets(
    lifter: Callable[..., Lifter],
) -> None:
    person = lifter(FIVE_POUND_STEPS)
    curled_by_sides(person)
    item = person.next(exercise_id=CURL)
    assert item["action"]["code"] in {"repeat", "add_repetitions"}
    assert (item["sets"], item["load"]["label"]) == (3, "30 lb")
    assert "progression_first_time" not in codes(item["cautions"])
    session = person.visits(0.02)
    for place, side in enumerate(("left", "right")):
        person.logs(
            CURL, 0.015 - 0.001 * place, 30, 10, unit="lb", side=side, reps_in_reserve=2, session_id=session
        )
    (then,) = person.asks("next-set", exercise_id=CURL, session_id=session)["items"]
    assert (then["sets_done"], then["sets"]) == (1, 2)


def test_a_painful_side_keeps_a_load_and_chances_of_its_own_in_the_plan(
    lifter: Callable[..., Lifter],
) -> None:
    person = lifter(FIVE_POUND_STEPS)
    for day in (15, 13, 10, 7, 4):
        for ordinal in range(3):
            hurt = {"pain": pain("elbow", 5)} if day == 4 else {}
            person.logs(ONE_ARM, day - 0.006 * ordinal, 25, 10, unit="lb", side="right", reps_in_reserve=2)
            person.logs(
                ONE_ARM,
                day - 0.006 * ordinal - 0.003,
                30,
                10,
                unit="lb",
                side="left",
                reps_in_reserve=2,
                **hurt,
            )
    left = next(one for one in person.asks(exercise_id=ONE_ARM)["items"] if one["side"] == "left")
    item = planned(person, ONE_ARM)
    told, lagging = working(item, "left"), working(item, "right")
    assert all(one["load"]["value"] == pytest.approx(9.072) for one in told)  # 20 lb
    assert all(one["load"]["value"] == pytest.approx(11.34) for one in lagging)  # 25 lb
    assert told[0]["p_too_hard"] == pytest.approx(left["p_too_hard"], abs=0.01)
    assert told[0]["p_too_hard"] < lagging[0]["p_too_hard"]
    assert item["policy"] == "reduce_load"
    assert "planning_lagging_side_goes_first" in codes(item["reasons"])
    assert "planning_lagging_side_first" not in codes(item["reasons"])


def test_a_side_that_matches_the_lagging_one_has_its_own_chances(lifter: Callable[..., Lifter]) -> None:
    person = lifter(FIVE_POUND_STEPS)
    for day in (15, 13, 10, 7, 4):
        for ordinal in range(3):
            person.logs(ONE_ARM, day - 0.006 * ordinal, 25, 10, unit="lb", side="right", reps_in_reserve=2)
            person.logs(
                ONE_ARM, day - 0.006 * ordinal - 0.003, 30, 10, unit="lb", side="left", reps_in_reserve=2
            )
    item = planned(person, ONE_ARM)
    told, lagging = working(item, "left")[0], working(item, "right")[0]
    assert told["load"] == lagging["load"]
    assert told["expected_reps"] > lagging["expected_reps"]
    assert told["p_too_hard"] < lagging["p_too_hard"]
    assert "planning_lagging_side_first" in codes(item["reasons"])


def benched(person: Lifter, day: float, load: float, reps: int = 8, sets: int = 3, **said: Any) -> None:
    for ordinal in range(sets):
        person.logs(BENCH, day - 0.003 * ordinal, load, reps, **{"reps_in_reserve": 2, **said})


def test_the_careful_weeks_are_as_careful_in_the_plan(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for day in (40, 37, 34, 31):
        benched(person, day, 80)
    benched(person, 2, 65, reps_in_reserve=4)
    item, plan = person.next(exercise_id=BENCH), planned(person, BENCH)
    sets = working(plan)
    assert "progression_still_returning" in codes(plan["reasons"])
    assert len(sets) == item["sets"] == 2
    assert all(one["reps_in_reserve"] >= item["reserve_low"] >= 3 for one in sets)


def test_a_load_that_comes_back_up_in_the_careful_weeks_is_not_called_lighter(
    lifter: Callable[..., Lifter],
) -> None:
    person = lifter(BAR_AND_PLATES)
    for day in (49, 46, 43, 40):
        benched(person, day, 80)
    benched(person, 2, 65, reps_in_reserve=4)
    item = person.next(exercise_id=BENCH)
    assert (item["policy"], item["action"]["code"]) == ("return_after_break", "raise_load")
    assert item["load"]["value"] > 65


def test_where_the_load_cannot_fall_sets_come_off_once(lifter: Callable[..., Lifter]) -> None:
    person = lifter(FIVE_POUND_STEPS)
    raised(person, (13, 10, 7), 5, sets=3)
    item = person.next(exercise_id=RAISE)
    assert item["load"]["label"] == "5 lb"
    assert (item["sets"], item["policy"]) == (2, "reduce_load")
    assert "load_progression_sets_instead_of_load" in codes(item["reasons"])
    plan = planned(person, RAISE)
    assert len(working(plan)) == 2
    assert plan["policy"] == "reduce_load"
    for day in (4, 1):
        for ordinal in range(2):
            person.logs(RAISE, day - 0.003 * ordinal, 5, 12, unit="lb", reps_in_reserve=2)
    later = person.next(exercise_id=RAISE)
    assert (later["sets"], later["policy"]) == (2, "hold_load")
    assert "load_progression_sets_are_off_already" in codes(later["reasons"])


def raised(person: Lifter, days: tuple[float, ...], pounds: float, sets: int, hurts: float = 4) -> None:
    for day in days:
        for ordinal in range(sets):
            hurt = {"pain": pain("shoulder", hurts)} if day == days[-1] else {}
            person.logs(RAISE, day - 0.003 * ordinal, pounds, 12, unit="lb", reps_in_reserve=2, **hurt)


def names_nothing(person: Lifter, **parameters: Any) -> Json:
    item = person.next(exercise_id=RAISE, **parameters)
    assert (item["decision"], item["action"]["code"]) == ("not_here", "not_here")
    assert not {"load", "sets", "policy"} & set(item)
    assert "load_progression_nothing_light_enough_now" in codes(item["reasons"])
    assert "guidance_not_diagnosis" in codes(item["cautions"])
    return item


def test_where_neither_load_nor_sets_can_fall_no_load_is_named(lifter: Callable[..., Lifter]) -> None:
    person = lifter(FIVE_POUND_STEPS)
    raised(person, (13, 10, 7), 5, sets=1)
    item = names_nothing(person)
    assert "watch_next_morning" in codes(item["cautions"])
    assert RAISE not in {one["exercise_id"] for one in person.asks("next-session")["items"]}


@pytest.mark.parametrize("hurts", [4, 2])
def test_a_place_whose_lightest_load_is_heavier_than_pain_leaves_names_none(
    lifter: Callable[..., Lifter], hurts: float
) -> None:
    person = lifter(FIVE_POUND_STEPS)
    raised(person, (13, 10, 7), 10, sets=3, hurts=hurts)
    assert person.next(exercise_id=RAISE)["load"]["label"] in {"5 lb", "10 lb"}
    heavier = person.site_with(
        [{"kind": "dumbbells", "name": "Rack", "unit": "lb", "first": 15, "last": 50, "step": 5}]
    )
    names_nothing(person, site_id=heavier)
    there = person.asks("next-session", site_id=heavier)["items"]
    assert RAISE not in {one["exercise_id"] for one in there}


def test_where_one_side_hurts_and_its_load_cannot_fall_the_other_keeps_its_sets(
    lifter: Callable[..., Lifter],
) -> None:
    person = lifter(FIVE_POUND_STEPS)
    for day in (13, 10, 7):
        for ordinal in range(3):
            for place, side in enumerate(("left", "right")):
                hurt = {"pain": pain("elbow", 4)} if day == 7 and side == "left" else {}
                person.logs(
                    ONE_ARM, day - 0.006 * ordinal - 0.003 * place, 5, 12, unit="lb", side=side,
                    reps_in_reserve=2, **hurt,
                )  # fmt: skip
    told = {one["side"]: one["sets"] for one in person.asks(exercise_id=ONE_ARM)["items"]}
    item = planned(person, ONE_ARM)
    assert told == {"left": 2, "right": 3}
    assert {side: len(working(item, side)) for side in told} == told
    assert "planning_fewer_sets_one_side" in codes(item["reasons"])
    (hurts,) = [one for one in item["reasons"] if one["code"] == "tolerance_pain_middle_zone"]
    assert (hurts["params"]["side"], hurts["text"].split(":")[0]) == ("left", "Left side")


def test_a_load_that_was_rounded_in_another_unit_is_no_rise_under_pain(lifter: Callable[..., Lifter]) -> None:
    person = lifter([{"kind": "dumbbells", "name": "Rack", "unit": "lb", "first": 20, "last": 50, "step": 5}])
    for day in (10, 7, 4):
        for ordinal in range(3):
            hurt = {"pain": pain("shoulder", 1)} if day == 4 else {}
            person.logs(RAISE, day - 0.003 * ordinal, 9.07, 12, reps_in_reserve=2, **hurt)
    item = person.next(exercise_id=RAISE)
    assert (item["load"]["label"], item["policy"]) == ("20 lb", "hold_load")


@pytest.mark.parametrize(("hurts", "sets"), [(1, 3), (4, 2)])
def test_a_body_that_weighs_more_is_no_load_that_rises(
    lifter: Callable[..., Lifter], hurts: float, sets: int
) -> None:
    person = lifter([])
    person.weighs(30, 80)
    for day in (10, 7, 4):
        for ordinal in range(3):
            body = person.did("push-up", day - 0.003 * ordinal, 0, 12, reps_in_reserve=2)
            del body["load"]
            person.sends({**body, "pain": pain("shoulder", hurts)} if day == 4 else body)
    person.weighs(1, 83)
    item = person.next(exercise_id="push-up")
    assert (item["decision"], item["sets"]) == ("do", sets)
    assert item["policy"] == ("hold_load" if hurts < 3 else "reduce_load")
    assert len(working(planned(person, "push-up"))) == sets


def test_the_careful_weeks_of_one_side_take_no_sets_off_the_other(lifter: Callable[..., Lifter]) -> None:
    person = lifter(FIVE_POUND_STEPS)
    for day in range(68, 1, -3):
        for side, pounds in (("left", 20), ("right", 25)):
            if side == "right" or not 5 < day < 40:
                for ordinal in range(4):
                    at = day - 0.006 * ordinal - 0.003 * (side == "right")
                    person.logs(ONE_ARM, at, pounds, 10, unit="lb", side=side, reps_in_reserve=2)
    told = {one["side"]: one for one in person.asks(exercise_id=ONE_ARM, unit="lb")["items"]}
    assert "progression_still_returning" in codes(told["left"]["reasons"])
    # Nor does what holds the left side take load off the right one, which was not away.
    assert told["right"]["load"]["value"] == 25
    item = planned(person, ONE_ARM)
    assert {side: len(working(item, side)) for side in told} == {"left": 2, "right": 4}
    assert {side: one["sets"] for side, one in told.items()} == {"left": 2, "right": 4}


def test_the_plan_names_what_pain_does_as_the_next_load_does(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for day in (16, 13):
        benched(person, day, 80)
    benched(person, 9, 80, pain=pain("shoulder", 4))
    item, plan = person.next(exercise_id=BENCH), planned(person, BENCH)
    assert item["policy"] == plan["policy"] == "reduce_load"
    assert working(plan)[0]["load"] == {"value": 60, "unit": "kg"}
    assert "tolerance_pain_middle_zone" in codes(plan["reasons"])
    assert not {"progression_add_repetitions", "progression_top_of_range"} & codes(plan["reasons"])
    benched(person, 4, 60)
    item, plan = person.next(exercise_id=BENCH), planned(person, BENCH)
    assert item["policy"] == plan["policy"] == "hold_load"


def test_a_break_that_takes_the_load_further_down_than_pain_is_named(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for day in (24, 21):
        benched(person, day, 80)
    benched(person, 18, 80, pain=pain("shoulder", 2))
    item, plan = person.next(exercise_id=BENCH), planned(person, BENCH)
    assert item["load"]["value"] < 80
    for told in (item, plan):
        assert {"tolerance_pain_morning_unknown", "progression_return_after_break"} <= codes(told["reasons"])
        assert told["policy"] == "return_after_break"
