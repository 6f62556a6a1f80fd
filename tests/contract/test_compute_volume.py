"""Counting sets from a body alone, over HTTP."""

from collections.abc import Callable
from typing import Any

import pytest

from tests.contract.lifting import BAR_AND_PLATES, Json, Lifter, codes, lifters
from tests.world import World


@pytest.fixture
def person(shared_world: World, new_id: Callable[[], str]) -> Lifter:
    return lifters(shared_world, new_id)(BAR_AND_PLATES)


def counted(person: Lifter, sets: list[Json], status: int = 200, **said: Any) -> Json:
    body = {"screening": "clear", "training": "trained", "sets": sets, **said}
    answer = person.client.post("/v1/compute/volume", json=body)
    assert answer.status_code == status, answer.text
    told: Json = answer.json()
    return told


def of(answer: Json, muscle: str, side: str = "both") -> Json:
    (item,) = [one for one in answer["items"] if (one["muscle_id"], one["side"]) == (muscle, side)]
    told: Json = item
    return told


CHEST = "pectoralis-major-sternal"
CURL = {"exercise_id": "barbell-curl", "reps": 10, "reps_in_reserve": 1}


def test_hard_sets_add_up_and_say_why(person: Lifter) -> None:
    item = of(counted(person, [CURL, CURL, {**CURL, "reps_in_reserve": 8}]), "biceps-brachii")
    assert 2.0 < item["hard_sets"]["value"] < 2.6
    assert [one["index"] for one in item["sets"]] == [0, 1, 2]
    assert item["assumed_effort_share"] == 0.0
    assert {one["reason"]["code"] for one in item["sets"]} == {"volume_direct_set"}


def test_a_drop_set_is_told_stage_by_stage(person: Lifter) -> None:
    failed = {"exercise_id": "cable-pressdown", "reps": 12, "to_failure": True}
    one, alone = of(counted(person, [{**failed, "drops": 2}, failed]), "triceps-lateral-head")["sets"]
    assert one["reason"]["code"] == "volume_drop_set"
    assert [stage["stage"] for stage in one["stages"]] == [0, 1, 2]
    assert [stage["dose"] for stage in one["stages"]] == pytest.approx(
        [alone["dose"], alone["dose"] / 2, alone["dose"] / 2]
    )
    assert one["stages"][0]["reason"]["text"] == alone["reason"]["text"]
    assert "stages" not in alone


def test_a_drop_set_counts_two_and_a_half_at_most(person: Lifter) -> None:
    """Common practice and the trials behind it: 1 + 0.5 a drop."""
    failed = {"exercise_id": "cable-pressdown", "reps": 12, "to_failure": True}
    values = [
        of(counted(person, [{**failed, "drops": drops}]), "triceps-lateral-head")["hard_sets"]["value"]
        for drops in (0, 1, 2, 3, 6)
    ]
    assert values == pytest.approx([1.0, 1.5, 2.0, 2.5, 2.5], abs=0.01)


def test_drops_after_no_work_count_nothing(person: Lifter) -> None:
    warm_up = {"exercise_id": "cable-pressdown", "reps": 12, "drops": 3, "purpose": "warm_up"}
    assert counted(person, [warm_up])["items"] == []
    assert counted(person, [{**warm_up, "purpose": "work", "reps": 0}])["items"] == []


def test_a_side_that_was_told_holds(person: Lifter) -> None:
    row = {"exercise_id": "one-arm-dumbbell-row", "reps": 10, "reps_in_reserve": 1}
    both, left, right = (counted(person, [{**row, "side": side}]) for side in ("both", "left", "right"))
    muscle = both["items"][0]["muscle_id"]
    one_side = of(left, muscle, "left")["hard_sets"]["value"]
    assert of(both, muscle, "left")["hard_sets"]["value"] == one_side
    assert of(both, muscle, "right")["hard_sets"]["value"] == one_side
    assert of(right, muscle, "right")["hard_sets"]["value"] == one_side


def test_an_effort_that_is_not_told_is_an_expectation(person: Lifter) -> None:
    item = of(counted(person, [{"exercise_id": "barbell-curl", "reps": 10}]), "biceps-brachii")
    assert 0.6 <= item["hard_sets"]["value"] <= 0.95
    assert item["assumed_effort_share"] == 1.0
    assert item["sets"][0]["reason"]["code"] == "volume_effort_assumed"


def test_a_one_sided_set_goes_to_its_side_and_is_halved_without_one(person: Lifter) -> None:
    row = {"exercise_id": "one-arm-dumbbell-row", "reps": 10, "reps_in_reserve": 1}
    told = counted(person, [{**row, "side": "left"}])
    left, right = (
        sum(one["hard_sets"]["value"] for one in told["items"] if one["side"] == side)
        for side in ("left", "right")
    )
    assert left > 0.9
    assert right == 0.0
    halved = counted(person, [row])
    assert {one["unspecified_side_share"] for one in halved["items"]} == {1.0}


def test_the_order_of_sets_does_not_matter(person: Lifter) -> None:
    sets = [
        CURL,
        {**CURL, "reps_in_reserve": 4},
        {"exercise_id": "bench-press", "reps": 8, "reps_in_reserve": 2},
    ]
    there, back = (counted(person, one) for one in (sets, sets[::-1]))
    for muscle in {one["muscle_id"] for one in there["items"]}:
        assert of(there, muscle)["hard_sets"] == of(back, muscle)["hard_sets"]


def test_faults_are_named_by_their_place(person: Lifter) -> None:
    unknown = counted(person, [CURL, {"exercise_id": "moon-lift", "reps": 5}], status=409)
    assert unknown["errors"][0]["pointer"] == "#/sets/1/exercise_id"
    nothing = counted(person, [{"exercise_id": "barbell-curl"}], status=409)
    assert nothing["errors"][0]["pointer"] == "#/sets/0"
    assert codes([{"code": nothing["code"]}]) == {"not_possible"}


def test_light_early_sets_are_taken_for_warm_ups_as_in_a_log(person: Lifter) -> None:
    light = pressed(40, 10, session="monday")
    heavy = pressed(80, 8, reps_in_reserve=1, session="monday")
    alone = of(counted(person, [heavy, heavy]), "pectoralis-major-sternal")["hard_sets"]["value"]
    both = of(counted(person, [light, heavy, heavy]), "pectoralis-major-sternal")["hard_sets"]["value"]
    assert alone < both < alone + 0.15
    told = of(counted(person, [{**light, "purpose": "work"}, heavy, heavy]), "pectoralis-major-sternal")
    assert told["hard_sets"]["value"] > alone + 0.4
    first = of(counted(person, [light, heavy, heavy]), "pectoralis-major-sternal")["sets"][0]
    assert first["reason"]["code"] == "volume_warm_up_inferred"


def pressed(kilograms: float, reps: int, **said: Any) -> Json:
    return {"exercise_id": "bench-press", "load": {"value": kilograms, "unit": "kg"}, "reps": reps, **said}


@pytest.mark.parametrize("effort", [{"to_failure": True}, {"reps_in_reserve": 1}])
def test_a_light_set_that_was_told_to_be_hard_is_no_warm_up(person: Lifter, effort: Json) -> None:
    light = [pressed(60, 12, session="monday", **effort)] * 3
    heavy = [pressed(80, 5, session="monday", reps_in_reserve=1)] * 2
    assert of(counted(person, light + heavy), CHEST)["hard_sets"]["value"] == pytest.approx(5.0, abs=0.1)


def test_sets_without_a_session_are_nobodys_warm_ups(person: Lifter) -> None:
    """Monday's lighter sets came days before Thursday's: without a session nothing says that they led up to them."""
    week = [pressed(60, 12)] * 3 + [pressed(100, 5)] * 3
    item = of(counted(person, week), CHEST)
    doses = [one["dose"] for one in item["sets"]]
    assert doses == pytest.approx([doses[0]] * 6)
    assert {one["reason"]["code"] for one in item["sets"]} == {"volume_effort_assumed"}


@pytest.mark.parametrize(
    ("lift", "light", "heavy"), [("pull-up", 2.5, 20), ("assisted-pull-up", 5, 40), ("band-pull-apart", 1, 9)]
)
def test_a_belt_an_assistance_or_a_level_is_no_share_of_what_can_be_lifted(
    person: Lifter, lift: str, light: float, heavy: float
) -> None:
    sets = [
        {"exercise_id": lift, "load": {"value": value, "unit": "kg"}, "reps": reps, "reps_in_reserve": 1, "session": "a"}
        for value, reps in ((light, 10), (heavy, 5))
    ]  # fmt: skip
    told = counted(person, sets)["items"]
    assert {round(one["dose"] / item["sets"][0]["dose"], 3) for item in told for one in item["sets"]} == {1.0}
    assert max(item["hard_sets"]["value"] for item in told) == pytest.approx(2.0, abs=0.05)


def test_with_body_mass_a_belt_is_weighed_with_the_body(person: Lifter) -> None:
    untold = [
        {"exercise_id": "pull-up", "load": {"value": value, "unit": "kg"}, "reps": 5, "session": "a"}
        for value in (0, 60)
    ]
    mass = {"value": 60, "unit": "kg"}
    first, second = of(counted(person, untold, body_mass=mass), "latissimus-dorsi")["sets"]
    assert first["reason"]["code"] == "volume_warm_up_inferred"
    assert first["dose"] < 0.2 * second["dose"]
    without = of(counted(person, untold), "latissimus-dorsi")["sets"]
    assert without[0]["dose"] == without[1]["dose"]


def test_a_very_light_load_fades_and_a_unit_changes_nothing(person: Lifter) -> None:
    def value(light: float, heavy: float, unit: str) -> float:
        sets = [{**CURL, "purpose": "work", "load": {"value": one, "unit": unit}} for one in (light, heavy)]
        told: float = of(counted(person, sets), "biceps-brachii")["hard_sets"]["value"]
        return told

    assert value(10, 40, "kg") < value(30, 40, "kg")
    assert value(10, 40, "kg") == pytest.approx(value(22.046, 88.185, "lb"), abs=1e-3)


def test_a_lift_of_ones_own_counts_by_its_involvement(person: Lifter) -> None:
    own = {
        "exercise_id": "sled-drag-invented", "reps": 10, "reps_in_reserve": 1, "one_sided": True,
        "involvement": [{"muscle_id": "biceps-brachii", "share": 0.5}],
    }  # fmt: skip
    told = counted(person, [{**own, "side": "left"}])
    assert of(told, "biceps-brachii", "left")["hard_sets"]["value"] == pytest.approx(0.5, abs=0.01)
    assert of(told, "biceps-brachii", "left")["direct"] == 0.0
    refused = counted(person, [{**own, "involvement": [{"muscle_id": "no-muscle", "share": 1}]}], 409)
    assert refused["errors"][0]["pointer"] == "#/sets/0/involvement/0/muscle_id"
    twice = [
        *own["involvement"],
        {"muscle_id": "soleus", "share": 1},
        {"muscle_id": "biceps-brachii", "share": 1},
    ]
    refused = counted(person, [CURL, {**own, "involvement": twice}], 409)
    assert refused["code"] == "not_possible"
    (fault,) = refused["errors"]
    assert fault["pointer"] == "#/sets/1/involvement/2/muscle_id"
    assert (fault["code"], fault["expected"]) == ("muscle_twice", "each muscle once")
    unknown = counted(person, [{"exercise_id": "sled-drag-invented", "reps": 10}], 409)
    assert unknown["code"] == "unknown_reference"


def test_what_does_not_count_is_listed_with_why(person: Lifter) -> None:
    sets = [
        {**CURL, "purpose": "warm_up"},
        {"exercise_id": "barbell-curl", "reps": 10, "purpose": "technique"},
        {"exercise_id": "barbell-curl", "reps": 0},
        CURL,
        {"exercise_id": "barbell-curl", "reps": 0, "to_failure": True},
    ]
    told = counted(person, sets)
    assert of(told, "biceps-brachii")["sets"][-1]["reason"]["code"] == "volume_missed_lift"
    assert [(one["index"], one["reason"]["code"]) for one in told["not_counted"]] == [
        (0, "volume_not_counted_warm_up"),
        (1, "volume_not_counted_practice"),
        (2, "volume_not_counted_nothing_done"),
    ]


@pytest.mark.parametrize(
    "row",
    [
        {"exercise_id": "plank", "hold_s": 60, "to_failure": True},
        {"exercise_id": "farmer-carry", "distance_m": 40, "load": {"value": 30, "unit": "kg"}},
    ],
)
def test_no_repetitions_beside_a_hold_or_a_carry_change_nothing(person: Lifter, row: Json) -> None:
    told = counted(person, [row])
    assert told["items"]
    assert counted(person, [{**row, "reps": 0}]) == told


def test_sessions_add_up_to_the_week_and_drops_add_nothing_for_strength(person: Lifter) -> None:
    sets = [
        {**CURL, "session": "monday"},
        {**CURL, "session": "monday", "drops": 2},
        {**CURL, "session": "friday"},
    ]
    item = of(counted(person, sets), "biceps-brachii")
    assert {one["session"] for one in item["sessions"]} == {"monday", "friday"}
    assert sum(one["dose"] for one in item["sessions"]) == pytest.approx(item["hard_sets"]["value"], abs=1e-3)
    assert item["hard_sets"]["value"] - item["for_strength"] == pytest.approx(1.0, abs=1e-3)


def test_a_holds_told_reserve_counts(person: Lifter) -> None:
    plank = {"exercise_id": "plank", "hold_s": 45}
    near, far = (
        of(counted(person, [{**plank, "reps_in_reserve": left}]), "rectus-abdominis")["hard_sets"]["value"]
        for left in (1, 12)
    )
    assert far < 0.5 < 0.9 < near


def test_a_hold_or_a_carry_is_counted_by_its_measure_and_needs_it(person: Lifter) -> None:
    plank = {"exercise_id": "plank", "hold_s": 40, "reps_in_reserve": 2}
    alone, beside = (
        of(counted(person, [{**plank, **said}]), "rectus-abdominis")["hard_sets"]
        for said in ({}, {"reps": 1})
    )
    assert alone == beside
    for lift, wanted in (("plank", "hold_s"), ("farmer-carry", "distance_m")):
        refused = counted(person, [CURL, {"exercise_id": lift, "reps": 10}], status=409)
        (fault,) = refused["errors"]
        assert (fault["pointer"], fault["code"]) == (f"#/sets/1/{wanted}", "work_required")
    assert counted(person, [{"exercise_id": "farmer-carry", "hold_s": 40}])["items"]


@pytest.mark.parametrize(
    ("lift", "said", "wanted"),
    [
        ("barbell-curl", {"hold_s": 40}, "reps"),
        ("barbell-curl", {"distance_m": 40, "to_failure": True}, "reps"),
        ("plank", {"distance_m": 40}, "hold_s"),
    ],
)
def test_a_set_of_the_reference_list_tells_what_the_lift_is_counted_in_as_in_the_log(
    person: Lifter, lift: str, said: Json, wanted: str
) -> None:
    refused = counted(person, [CURL, {"exercise_id": lift, **said}], status=409)
    assert refused["code"] == "not_possible"
    (fault,) = refused["errors"]
    assert fault["pointer"] == f"#/sets/1/{wanted}"
    assert (fault["code"], fault["expected"]) == ("work_required", f"`{wanted}`")
    assert "is counted in" in fault["detail"]
    own = {"exercise_id": "yoke-invented", "involvement": [{"muscle_id": "soleus", "share": 1}], **said}
    assert counted(person, [own])["items"]
