"""Trends over HTTP: progress, breaks, another depth, another station, rare tests, what is due, and charts."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from service.web.routes.trends_examples import AFTER_A_BREAK, LEG_PRESS
from tests.contract.lifting import BAR_AND_PLATES, NOW, Json, Lifter, codes, lifters
from tests.contract.lifting import LEG_PRESS as SLED
from tests.contract.trend_cases import asked, back_from_a_break, beginner
from tests.world import World


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def only(answer: Json) -> Json:
    (item,) = answer["items"]
    told: Json = item
    return told


def near(found: Any, shown: Any) -> Any:
    """Return what was found with every number of the example where the two agree to a thousandth."""
    if isinstance(shown, dict):
        assert isinstance(found, dict)
        assert set(found) == set(shown)
        return {name: near(found[name], shown[name]) for name in shown}
    if isinstance(shown, list):
        assert len(found) == len(shown)
        return [near(one, other) for one, other in zip(found, shown, strict=True)]
    if isinstance(shown, float) and found == pytest.approx(shown, rel=1e-3, abs=1e-3):
        return shown
    return found


@pytest.mark.parametrize(
    ("case", "exercise_id", "shown"),
    [(beginner, "leg-press", LEG_PRESS), (back_from_a_break, "bench-press", AFTER_A_BREAK)],
)
def test_the_examples_are_what_the_service_answers(
    lifter: Callable[..., Lifter], case: Callable[..., Lifter], exercise_id: str, shown: Json
) -> None:
    found = asked(case(lifter), exercise_id)
    assert near({**found, "position": shown["position"]}, shown) == shown


def test_a_beginners_progress_is_told_by_the_week(lifter: Callable[..., Lifter]) -> None:
    """Scenario 3: plus 2 to 6 % a week."""
    item = only(asked(beginner(lifter), "leg-press"))
    assert item["state"] == "progress"
    assert 2.0 <= item["weekly_change"]["value"] <= 6.0
    assert item["p_progress"] + item["p_regression"] + item["p_stall"] == pytest.approx(1.0, abs=2e-4)
    assert "trend_mostly_learning" in codes(item["reasons"])


def test_an_earlier_instant_knows_only_what_had_happened(lifter: Callable[..., Lifter]) -> None:
    person = beginner(lifter)
    then = NOW - timedelta(days=12)
    early = asked(person, "leg-press", as_of=then.isoformat())
    assert only(early)["sessions"] == 5
    person.logs("leg-press", 1, 120, 10, reps_in_reserve=3)
    again = asked(person, "leg-press", as_of=then.isoformat())
    assert only(again) == only(early)
    assert only(asked(person, "leg-press"))["sessions"] == 9


def test_what_a_break_takes_is_no_regression(lifter: Callable[..., Lifter]) -> None:
    """Scenario 2 and its aftermath: after 20 days away 90 kg is all there is."""
    item = only(asked(back_from_a_break(lifter), "bench-press"))
    assert item["state"] == "not_decided"
    assert "change" not in item
    assert {"trend_break", "trend_too_few"} <= codes(item["reasons"])


def test_the_trend_before_a_break_that_is_on_stands(lifter: Callable[..., Lifter]) -> None:
    """Scenario 2: eight stable weeks of 100 kg x 8 with 2 in reserve, then 14 days off."""
    person = lifter(BAR_AND_PLATES)
    for day in range(14, 71, 4):
        for ordinal in range(3):
            person.logs("bench-press", day, 100, 8, reps_in_reserve=2, ordinal=ordinal)
    item = only(asked(person, "bench-press"))
    assert item["state"] in {"stall", "not_decided"}
    assert abs(item["change"]["value"]) < 2.0
    assert "trend_away" in codes(item["reasons"])
    assert item["to"] == "2026-11-12T22:00:00Z"  # the thirteenth begins in Riga


def test_another_depth_is_no_regression(lifter: Callable[..., Lifter]) -> None:
    """Situation 15: a half-range press becomes full range, at three quarters of the load."""
    person = lifter(BAR_AND_PLATES)
    for day in range(40, 10, -3):
        person.logs("bench-press", day, 100, 8, reps_in_reserve=2, range="top_half")
    for day in (8, 5, 2):
        person.logs("bench-press", day, 75, 8, reps_in_reserve=2, range="full")
    item = only(asked(person, "bench-press"))
    assert item["sessions"] == 3
    assert item["state"] != "regression"
    assert "trend_depth_changed" in codes(item["reasons"])
    assert any(reason["text"].startswith("The depth changed") for reason in item["reasons"])


def test_another_gyms_machine_is_not_joined(lifter: Callable[..., Lifter]) -> None:
    """Scenario 11: a new gym's loads mean something else, on a sled as on a stack of levels."""
    person = lifter(SLED)
    other = person.site_with(SLED)
    for day in range(40, 8, -3):
        person.logs("leg-press", day, 150, 10, reps_in_reserve=2, session_id=person.visits(day))
    for day in (7, 4, 1):
        person.logs("leg-press", day, 100, 10, reps_in_reserve=2, session_id=person.visits(day, other))
    item = only(asked(person, "leg-press"))
    assert item["sessions"] == 3
    assert item["state"] != "regression"
    assert "trend_new_station" in codes(item["reasons"])


def test_levels_of_another_gym_are_a_line_of_their_own(lifter: Callable[..., Lifter]) -> None:
    """Scenario 11: 20 sessions of level 7 x 10, then a new gym."""
    labels = [str(number) for number in range(1, 16)]
    stack = [{"kind": "levels", "name": "Old machine", "station": "chest-press", "labels": labels}]
    person = lifter(stack)
    other = person.site_with(stack)

    def presses(day: float, level: str, site: str) -> None:
        body = person.did(
            "machine-chest-press", day, 0, 10, reps_in_reserve=2, level=level, load_basis="level"
        )
        del body["load"]
        person.sends({**body, "session_id": person.visits(day, site)})

    for day in range(50, 10, -2):
        presses(day, "7", person.site)
    for day in (7, 4, 1):
        presses(day, "4", other)
    item = only(asked(person, "machine-chest-press"))
    assert item["sessions"] == 3
    assert item["state"] != "regression"
    assert "trend_new_station" in codes(item["reasons"])


def test_tests_five_weeks_apart_are_too_rare_and_no_plateau(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for days, load in ((80, 100), (45, 110), (10, 119)):
        at = (NOW - timedelta(days=days)).isoformat()
        body = {
            "kind": "tested_maximum", "at": at, "exercise_id": "bench-press",
            "load": {"value": load, "unit": "kg"}, "reps": 1,
        }  # fmt: skip
        put = person.client.put(f"{person.path}/measurements/{person.new_id()}", json=body)
        assert put.status_code == 201, put.text
    item = only(asked(person, "bench-press", weeks=12))
    assert item["state"] == "not_decided"
    assert "change" not in item
    assert "trend_too_rare" in codes(item["reasons"])


def test_sides_have_trends_of_their_own_and_a_muscle_pools_its_lifts(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for number, day in enumerate(range(54, 0, -3)):
        for side, load in (("right", 20 + 0.2 * number), ("left", 20)):
            person.logs("one-arm-dumbbell-curl", day, load, 10, side=side, reps_in_reserve=2)
    answer = person.asks("trends")
    sides = {item["side"]: item for item in answer["items"] if item["scope"] == "exercise"}
    assert set(sides) == {"left", "right"}
    assert sides["right"]["state"] == "progress"
    assert sides["left"]["change"]["value"] < sides["right"]["change"]["value"] - 4.0
    muscles = [item for item in answer["items"] if item["scope"] == "muscle"]
    assert muscles
    assert {item["side"] for item in muscles} == {"left", "right", "both"}
    right = person.asks("trends", muscle_id=muscles[0]["muscle_id"], side="right")["items"]
    assert {item["side"] for item in right} == {"right"}


def test_one_lift_is_drawn_as_a_line_and_all_as_intervals(lifter: Callable[..., Lifter]) -> None:
    person = beginner(lifter)
    for asks, words in (({"exercise_id": "leg-press"}, "Trend of Leg press"), ({}, "Change of strength")):
        drawn = person.client.get(f"{person.path}/trends", params={**asks, "format": "svg"})
        assert drawn.headers["content-type"] == "image/svg+xml"
        root = ET.fromstring(drawn.text)  # noqa: S314
        assert words in str(root.findtext("{http://www.w3.org/2000/svg}title"))


def test_whoever_logged_nothing_has_no_trend_and_no_suggestion(lifter: Callable[..., Lifter]) -> None:
    answer = lifter(BAR_AND_PLATES).asks("trends")
    assert answer["items"] == []
    assert answer["easier_week"]["suggestion"] == "not_decided"
    assert answer["due_checks"] == []


def test_an_unknown_lift_or_muscle_is_refused(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for parameters in ({"exercise_id": "no-such-lift"}, {"muscle_id": "no-such-muscle"}):
        assert person.asks("trends", status=409, **parameters)["code"] == "unknown_reference"


def test_sets_that_keep_falling_short_suggest_an_easier_week(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for number, day in enumerate(range(68, 0, -2)):
        reps = 10 if number < 24 else 10 - (number - 22) // 2
        for ordinal in range(3):
            person.logs("bench-press", day, 100, max(reps, 3), to_failure=True, ordinal=ordinal)
    answer = person.asks("trends")
    easier = answer["easier_week"]
    assert easier["suggestion"] == "consider_now"
    assert easier["in_weeks"]["interval"]["lower"] == 0.0
    assert 0.3 <= easier["sets_share"]["value"] <= 0.7
    assert {"trend_strength_falls", "trend_sets_fall_short"} & codes(easier["reasons"])
    item = next(one for one in answer["items"] if one["scope"] == "exercise")
    assert item["state"] == "regression"


def kinds(answer: Json) -> list[str]:
    return [one["kind"] for one in answer["due_checks"]]


def test_pain_asks_for_the_next_morning_until_it_is_told(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    hurt = [{"region": "shoulder", "side": "right", "during": 4}]
    person.logs("bench-press", 0.2, 60, 8, reps_in_reserve=3, pain=hurt)
    for answer in ("trends", "next-session"):
        (check,) = person.asks(answer)["due_checks"]
        assert (check["kind"], check["due_on"], check["region"]) == (
            "next_morning_pain", "2026-11-28", "shoulder",
        )  # fmt: skip
    body = {
        "at": (NOW - timedelta(hours=1)).isoformat(),
        "pain": [{"region": "shoulder", "side": "right", "next_morning": 1}],
    }
    put = person.client.put(f"{person.path}/checkins/{person.new_id()}", json=body)
    assert put.status_code == 201, put.text
    assert kinds(person.asks("trends")) == []


def test_the_morning_after_is_the_athletes_own(lifter: Callable[..., Lifter]) -> None:
    """A set at 09:30 of 27 November in Auckland, entered in UTC, asks on the 28th and is answered on it."""
    person = lifter(BAR_AND_PLATES, time_zone="Pacific/Auckland")
    hurt = [{"region": "shoulder", "during": 4}]
    said = person.did("bench-press", 0.9, 60, 8, reps_in_reserve=3, pain=hurt)
    person.sends({**said, "performed_at": "2026-11-26T20:30:00Z"})
    (check,) = person.asks("trends")["due_checks"]
    assert check["due_on"] == "2026-11-28"
    body = {"at": "2026-11-27T17:30:00Z", "pain": [{"region": "shoulder", "next_morning": 1}]}
    put = person.client.put(f"{person.path}/checkins/{person.new_id()}", json=body)
    assert put.status_code == 201, put.text
    assert kinds(person.asks("trends")) == []


def test_sides_that_copy_each_other_are_asked_for_their_effort(lifter: Callable[..., Lifter]) -> None:
    """Situation 16."""
    person = lifter(BAR_AND_PLATES)
    for day in range(28, 0, -4):
        person.logs("one-arm-dumbbell-curl", day, 20, 10, side="right", reps_in_reserve=1, ordinal=0)
        person.logs("one-arm-dumbbell-curl", day, 20, 10, side="left", ordinal=1)
    assert "effort_of_sides" in kinds(person.asks("trends"))
    assert kinds(person.asks("imbalance-indices")) == ["effort_of_sides"]
    person.logs("one-arm-dumbbell-curl", 0.5, 20, 10, side="right", reps_in_reserve=1, ordinal=0)
    person.logs("one-arm-dumbbell-curl", 0.5, 20, 11, side="left", reps_in_reserve=1, ordinal=1)
    assert "effort_of_sides" not in kinds(person.asks("trends"))


def test_a_silent_log_is_asked_for_one_test_set_on_a_machine(lifter: Callable[..., Lifter]) -> None:
    """Situation 6: after eight sessions."""
    person = lifter(SLED)
    for day in range(25, 2, -3):
        person.logs("leg-press", day, 150, 10)
    (check,) = person.asks("trends")["due_checks"]
    assert (check["kind"], check["exercise_id"]) == ("test_set", "leg-press")
    person.logs("leg-press", 1, 150, 12, reps_in_reserve=2)
    assert kinds(person.asks("trends")) == []


def test_a_limit_to_improve_is_tested_again_and_a_girth_read_again(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    limit = {
        "kind": "range_of_motion", "mode": "improve", "region": "ankle", "side": "left",
        "joint_limit": {"motion": "ankle_dorsiflexion", "from_deg": 0, "to_deg": 15, "side": "left"},
        "starts_on": "2026-10-30",
    }  # fmt: skip
    put = person.client.put(f"{person.path}/limits/{person.new_id()}", json=limit)
    assert put.status_code == 201, put.text
    aim = {"kind": "grow_muscle", "muscle_id": "biceps-brachii"}
    put = person.client.put(f"{person.path}/aims/{person.new_id()}", json=aim)
    assert put.status_code == 201, put.text
    girth = {
        "kind": "girth", "at": (NOW - timedelta(weeks=6)).isoformat(), "site": "upper-arm", "side": "left",
        "readings": [36.1, 36.2, 36.0], "unit": "cm",
    }  # fmt: skip
    put = person.client.put(f"{person.path}/measurements/{person.new_id()}", json=girth)
    assert put.status_code == 201, put.text
    found = {one["kind"]: one["due_on"] for one in person.asks("trends")["due_checks"]}
    assert found == {"retest": "2026-11-27", "girth": "2026-11-27"}
