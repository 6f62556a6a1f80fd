"""What to lift next, and drop sets, computed from a body alone."""

from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.contract.lifting import BAR_AND_PLATES, FIVE_POUND_STEPS, Json, codes, lifters
from tests.world import World

CABLE = {
    "kind": "stack", "name": "Cable", "station": "cable", "unit": "kg", "masses": [2.5 * n for n in range(1, 41)],
}  # fmt: skip
KG = "kg"


@pytest.fixture
def client(shared_world: World) -> TestClient:
    return shared_world.client(shared_world.key(shared_world.tenant(), ("compute",)))


def asks(client: TestClient, what: str, body: Json, status: int = 200) -> Json:
    answered = client.post(f"/v1/compute/{what}", json=body)
    assert answered.status_code == status, answered.text
    told: Json = answered.json()
    return told


def done(days_ago: float, load: float, reps: int, unit: str = KG, **said: Any) -> Json:
    return {"days_ago": days_ago, "load": {"value": load, "unit": unit}, "reps": reps, **said}


def benched(**changed: Any) -> Json:
    sets = [done(days, 80, 8, reps_in_reserve=2) for days in (9, 6, 3)]
    return {
        "exercise_id": "bench-press", "sets": sets, "items": BAR_AND_PLATES, "training": "trained",
        "screening": "clear", "safety_bars": True, **changed,
    }  # fmt: skip


def pressed_down(**changed: Any) -> Json:
    return {
        "exercise_id": "cable-pressdown", "load": {"value": 50, "unit": KG}, "reps": 12, "items": [CABLE],
        "training": "trained", "screening": "clear", **changed,
    }  # fmt: skip


def test_the_next_load_from_sent_sets_is_what_a_stored_log_gets(
    shared_world: World, client: TestClient, new_id: Any
) -> None:
    person = lifters(shared_world, new_id)(BAR_AND_PLATES)
    for days in (9, 6, 3):
        person.logs("bench-press", days, 80, 8, reps_in_reserve=2, purpose="unknown")
    stored = person.next(exercise_id="bench-press")
    (sent,) = asks(client, "load-progression", benched())["items"]
    for member in ("action", "load", "sets", "reps", "reps_low", "reps_high", "policy"):
        assert sent[member] == stored[member], member
    # A day begins elsewhere at another hour: the same sets lie a few hours apart.
    assert sent["expected_reps"]["value"] == pytest.approx(stored["expected_reps"]["value"], abs=0.05)
    assert "newest_at" not in sent["basis"]


def test_the_same_body_gets_the_same_answer(client: TestClient) -> None:
    assert asks(client, "load-progression", benched()) == asks(client, "load-progression", benched())


def test_a_unit_leaves_the_choice_as_it_is(client: TestClient) -> None:
    sets = [done(days, 20, 12, "lb", reps_in_reserve=2) for days in (9, 6, 3)]
    body = benched(exercise_id="dumbbell-bench-press", sets=sets, items=FIVE_POUND_STEPS)
    pounds, kilograms = (
        asks(client, "load-progression", {**body, "unit": unit})["items"][0] for unit in ("lb", "kg")
    )
    assert (pounds["load"]["value"], pounds["load"]["unit"]) == (20, "lb")
    assert kilograms["load"]["label"] == "20 lb"
    assert (pounds["reps"], pounds["reps_low"]) == (kilograms["reps"], kilograms["reps_low"])
    ratio = pounds["fitting_load"]["value"] / kilograms["fitting_load"]["value"]
    assert ratio == pytest.approx(1 / 0.45359237, abs=1e-3)


def test_mirrored_sides_get_mirrored_answers(client: TestClient) -> None:
    def told(weak: str, strong: str) -> list[Json]:
        sets = [
            done(days, 25, reps, "lb", side=side, reps_in_reserve=1)
            for days in (12, 9, 6, 3)
            for side, reps in ((weak, 8), (strong, 12))
        ]
        body = benched(exercise_id="one-arm-overhead-press", sets=sets, items=FIVE_POUND_STEPS)
        found: list[Json] = asks(client, "load-progression", body)["items"]
        return found

    one, other = told("right", "left"), told("left", "right")
    assert [item["side"] for item in one] == ["right", "left"]
    assert [item["side"] for item in other] == ["left", "right"]
    for first, second in zip(one, other, strict=True):
        assert (first["load"], first["reps"]) == (second["load"], second["reps"])
        assert first["expected_reps"]["value"] == pytest.approx(second["expected_reps"]["value"], abs=0.02)


def test_levels_without_a_mass_are_answered_as_labels(client: TestClient) -> None:
    sets = [{"days_ago": days, "level": "7", "reps": 10, "reps_in_reserve": 2} for days in (6, 3)]
    station = {
        "kind": "levels", "name": "Raise", "station": "lateral-raise", "labels": [str(n) for n in range(1, 13)],
    }  # fmt: skip
    (item,) = asks(
        client,
        "load-progression",
        benched(exercise_id="lateral-raise-machine", sets=sets, items=[station]),
    )["items"]
    assert item["load"]["label"] in {"6", "7", "8"}


def test_who_was_never_screened_keeps_more_in_reserve(client: TestClient) -> None:
    (item,) = asks(client, "load-progression", benched(screening="none"))["items"]
    assert item["reserve_low"] == 3


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"exercise_id": "no-such-lift"}, "unknown_reference"),
        ({"exercise_id": "plank"}, "outside_valid_range"),
        ({"reps_low": 12, "reps_high": 8}, "not_possible"),
        ({"sets": [{"days_ago": 3, "reps": 8}]}, "nothing_to_compute_on"),
    ],
)
def test_what_cannot_be_computed_says_so(client: TestClient, changed: Json, code: str) -> None:
    assert asks(client, "load-progression", benched(**changed), status=409)["code"] == code


def test_pain_in_the_last_sets_lowers_or_ends_the_lift(client: TestClient) -> None:
    for pain, decision in ((4, "do"), (7, "stop")):
        sets = [done(3, 80, 8, reps_in_reserve=2, pain=pain)]
        (item,) = asks(client, "load-progression", benched(sets=sets))["items"]
        assert item["decision"] == decision
        assert item.get("load", {"value": 0})["value"] < 80


def test_a_drop_set_tells_loads_chances_total_and_minutes(client: TestClient) -> None:
    told = asks(client, "drop-set", pressed_down())
    assert told["decision"] == "do"
    assert told["action"]["text"].count("kg") == 2
    assert [drop["load"]["value"] for drop in told["drops"]] == [35, 25]
    assert all(drop["p_reached"] >= 0.6 for drop in told["drops"])
    assert all(drop["expected_reps"]["value"] < drop["curve_alone_reps"] for drop in told["drops"])
    assert 1 <= told["minutes"] <= 2
    assert told["hard_sets"]["value"] == 2
    assert told["total_reps"]["interval"]["lower"] < told["total_reps"]["value"]
    assert "drop_sets_on_machines" in codes(told["cautions"])
    assert "drops_practice_expects_more" in codes(told["reasons"])


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"training": "novice"}, "drops_not_for_novices"),
        ({"days_since_last": 14}, "drops_not_after_a_break"),
        ({"screening": "none"}, "drops_not_as_screened"),
        ({"screening": "cleared"}, "drops_not_as_screened"),
        ({"exercise_id": "back-squat", "items": BAR_AND_PLATES}, "drops_mostly_technique"),
        ({"items": [{**CABLE, "masses": [47.5, 50]}]}, "drops_nothing_light_enough"),
    ],
)
def test_where_drops_do_not_belong_none_are_planned(client: TestClient, changed: Json, code: str) -> None:
    told = asks(client, "drop-set", pressed_down(**changed))
    assert (told["decision"], told.get("drops", [])) == ("leave_out", [])
    assert codes(told["reasons"]) == {code}


def test_a_referral_closes_drop_sets_too(client: TestClient) -> None:
    assert asks(client, "drop-set", pressed_down(screening="referred"), 409)["code"] == "clearance_required"


def test_drop_sets_done_before_teach_how_far_one_gets(client: TestClient) -> None:
    before = {
        "load": {"value": 50, "unit": KG},
        "reps": 12,
        "drops": [{"load": {"value": 35, "unit": KG}, "reps": 18}],
    }
    usual = asks(client, "drop-set", pressed_down())
    learned = asks(client, "drop-set", pressed_down(done_before=[before] * 4))
    assert learned["drops"][0]["load"]["value"] > usual["drops"][0]["load"]["value"]
    assert "drops_own_factor" in codes(learned["reasons"])


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"exercise_id": "no-such-lift"}, "unknown_reference"),
        ({"reps": 60}, "outside_valid_range"),
        ({"items": BAR_AND_PLATES}, "nothing_to_compute_on"),
    ],
)
def test_a_drop_set_that_cannot_be_computed_says_so(client: TestClient, changed: Json, code: str) -> None:
    assert asks(client, "drop-set", pressed_down(**changed), status=409)["code"] == code
