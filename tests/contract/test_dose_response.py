"""What weekly volume does, over HTTP: the population's numbers for a newcomer, moved by a log, and from a body alone."""

from collections.abc import Callable
from datetime import timedelta
from random import Random
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from tests.contract.lifting import BAR_AND_PLATES, NOW, Json, Lifter, codes, lifters
from tests.world import World

CHEST = "pectoralis-major-sternal"


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def asked(person: Lifter, **query: Any) -> Json:
    answer = person.client.get(f"{person.path}/dose-response", params=query)
    assert answer.status_code == 200, answer.text
    told: Json = answer.json()
    return told


def sets_of(item: Json) -> dict[str, Json]:
    return {one["criterion"]: one for one in item["thresholds"]}


def months_of_benching(person: Lifter, gain_a_week: float) -> Lifter:
    """Twenty-three weeks, twice a week, of rising loads; every other month with twice the sets."""
    for week in range(23, 0, -1):
        load = round(80.0 * (1.0 + gain_a_week) ** (23 - week) / 1.25) * 1.25
        for day in (0, 3):
            for _ in range(6 if week % 8 < 4 else 2):
                person.logs("bench-press", 7 * week - day, load, 8, reps_in_reserve=2)
    return person


def test_a_newcomer_gets_the_populations_thresholds_and_is_told_so(lifter: Callable[..., Lifter]) -> None:
    """Scenario 15."""
    (item,) = asked(lifter(BAR_AND_PLATES), muscle_id=CHEST)["items"]
    found = sets_of(item)
    values = [one["weekly_hard_sets"]["value"] for one in item["thresholds"]]
    assert list(found) == ["keeps_size", "detectable_gain", "small_next_gain"]
    assert values == sorted(values)
    assert 3.0 <= found["detectable_gain"]["weekly_hard_sets"]["value"] <= 6.0
    assert 8.0 <= found["small_next_gain"]["weekly_hard_sets"]["value"] <= 25.0
    assert all(one["prior_share"] >= 0.9 for one in item["thresholds"])
    assert "dose_response_population_only" in codes(item["reasons"])
    assert "peak" not in item


def test_what_is_worth_it_moves_the_thresholds(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    (usual,) = asked(person, muscle_id=CHEST)["items"]
    (choosy,) = asked(person, muscle_id=CHEST, worth=0.003)["items"]
    little, much = (sets_of(one)["small_next_gain"]["weekly_hard_sets"]["value"] for one in (choosy, usual))
    assert little < much
    (hungry,) = asked(person, muscle_id=CHEST, gain=0.02)["items"]
    first, more = (sets_of(one)["detectable_gain"]["weekly_hard_sets"]["value"] for one in (usual, hungry))
    assert first < more


def test_months_of_a_lift_move_the_muscle_it_trains(lifter: Callable[..., Lifter]) -> None:
    fast, still = (months_of_benching(lifter(BAR_AND_PLATES), gain) for gain in (0.012, 0.0))
    told = [asked(person, muscle_id=CHEST)["items"][0] for person in (fast, still)]
    assert all(item["lift_count"] == 1 for item in told)
    assert all("dose_response_moved_by_lifts" in codes(item["reasons"]) for item in told)
    assert told[0]["slope"]["value"] > told[1]["slope"]["value"]
    assert all(item["basis"]["prior_share"] < 1.0 for item in told)
    assert 4.0 < told[0]["recent_weekly_hard_sets"] < 13.0


def test_numbers_of_levels_are_no_growth(lifter: Callable[..., Lifter]) -> None:
    """Pin 2 to pin 6 is no gain of a hundred and more per cent: levels have no mass."""
    labels = [str(number) for number in range(1, 16)]
    person = lifter([{"kind": "levels", "name": "Machine", "station": "hip-abduction", "labels": labels}])
    for week in range(23, 0, -1):
        for day in (0, 3):
            level = str(2 + (23 - week) // 5)
            body = person.did(
                "hip-abduction-machine",
                7 * week - day,
                0,
                12,
                reps_in_reserve=2,
                level=level,
                load_basis="level",
            )
            del body["load"]
            person.sends(body)
    (item,) = asked(person, muscle_id="gluteus-medius")["items"]
    assert item["lift_count"] == 0
    assert "dose_response_population_only" in codes(item["reasons"])


def measured(
    person: Lifter, site: str, days_ago: float, girth: float, side: str = "left", **said: Any
) -> None:
    body = {
        "kind": "girth", "at": (NOW - timedelta(days=days_ago)).isoformat(), "site": site, "side": side, "unit": "cm",
        "readings": [girth, girth + 0.1, girth - 0.1], **said,
    }  # fmt: skip
    kept = person.client.put(f"{person.path}/measurements/{person.new_id()}", json=body)
    assert kept.status_code == 201, kept.text


ARM, TRICEPS = "upper-arm-relaxed", "triceps-long-head"


def pressing(person: Lifter) -> Lifter:
    """Twenty weeks of an elbow extension that does not get stronger, twelve sets a week."""
    for week in range(20, 0, -1):
        for day in (0, 3):
            for _ in range(6):
                person.logs("lying-triceps-extension", 7 * week - day, 30, 10, reps_in_reserve=1)
    return person


def arm_over_months(person: Lifter, gain: float, **said: Any) -> Lifter:
    for at, days_ago in enumerate((138, 110, 82, 54, 26, 2)):
        for side in ("left", "right"):
            measured(person, ARM, days_ago, 34.0 * (1.0 + gain * at / 5.0), side, **said)
    return person


def test_a_girth_that_grew_moves_the_muscles_under_it_and_says_by_how_much(
    lifter: Callable[..., Lifter],
) -> None:
    grown, thinner, none = (
        arm_over_months(pressing(lifter(BAR_AND_PLATES)), 0.06), arm_over_months(pressing(lifter(BAR_AND_PLATES)), -0.02),
        pressing(lifter(BAR_AND_PLATES)),
    )  # fmt: skip
    items = [asked(person, muscle_id=TRICEPS)["items"][0] for person in (grown, thinner, none)]
    slopes = [item["slope"]["value"] for item in items]
    assert slopes[0] > slopes[2] > slopes[1]
    assert all(item["slope"]["sd"] < items[2]["slope"]["sd"] for item in items[1:2])
    for item, direction in zip(items, ("raised", "lowered"), strict=False):
        (girth,) = [one for one in item["moved_by"] if one["kind"] == "girth"]
        assert (girth["site"], girth["direction"]) == (ARM, direction)
        assert girth["growth_change"] * (1 if direction == "raised" else -1) > 0.05
        assert 18.0 < girth["weeks"] < 20.0
        assert codes(girth["reasons"]) == {f"dose_response_girth_{direction}", "dose_response_girth_plain"}
        assert "dose_response_moved_by_girth" in codes(item["reasons"])
    assert [one["kind"] for one in items[2]["moved_by"]] == ["lift"]


def test_a_girth_alone_moves_a_muscle_and_says_nothing_of_the_leg(lifter: Callable[..., Lifter]) -> None:
    person = arm_over_months(lifter(BAR_AND_PLATES), 0.04)
    (arm,) = asked(person, muscle_id="brachialis")["items"]
    assert [one["kind"] for one in arm["moved_by"]] == ["girth"]
    assert "dose_response_population_only" not in codes(arm["reasons"])
    (leg,) = asked(person, muscle_id="soleus")["items"]
    assert leg["moved_by"] == []
    assert "dose_response_population_only" in codes(leg["reasons"])


def curling(person: Lifter, side: str) -> Lifter:
    """Twenty weeks of one arm that does not get stronger, twelve sets a week; the left arm's girth grows all the same."""
    for week in range(20, 0, -1):
        for day in (0, 3):
            for _ in range(6):
                person.logs("one-arm-dumbbell-curl", 7 * week - day, 15, 10, reps_in_reserve=1, side=side)
    for at, days_ago in enumerate((138, 110, 82, 54, 26, 2)):
        measured(person, ARM, days_ago, 34.0 * (1.0 + 0.06 * at / 5.0), "left")
    return person


def test_a_girth_of_one_side_answers_to_the_sets_of_that_side(lifter: Callable[..., Lifter]) -> None:
    told = {}
    for side in ("left", "right"):
        (item,) = asked(curling(lifter(BAR_AND_PLATES), side), muscle_id="biceps-brachii")["items"]
        (told[side],) = [one for one in item["moved_by"] if one["kind"] == "girth"]
    assert told["left"]["direction"] == "raised"
    # An arm that grew without a set of its own is no answer to sets.
    assert told["right"]["growth_change"] < 0.5 * told["left"]["growth_change"]


def test_one_visit_or_a_waist_moves_nothing(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    (before,) = asked(person, muscle_id=TRICEPS)["items"]
    for days_ago in (60, 2):
        measured(person, "waist", days_ago, 80.0 + days_ago / 60.0)
    measured(person, ARM, 20, 34.0)
    measured(person, ARM, 2, 36.0)
    (after,) = asked(person, muscle_id=TRICEPS)["items"]
    assert after["slope"] == before["slope"]
    assert "dose_response_girth_too_short" in codes(after["reasons"])


def test_a_girth_that_grew_with_body_mass_is_heard_less_and_a_big_gain_is_left_out(
    lifter: Callable[..., Lifter],
) -> None:
    lean, fat, jump = (arm_over_months(pressing(lifter(BAR_AND_PLATES)), 0.06) for _ in range(3))
    for at, days_ago in enumerate((138, 110, 82, 54, 26, 2)):
        lean.weighs(days_ago, 80.0)
        fat.weighs(days_ago, 80.0 + 1.6 * at)
        jump.weighs(days_ago, 80.0 if at < 3 else 90.0)
    items = [asked(person, muscle_id=TRICEPS)["items"][0] for person in (lean, fat, jump)]
    assert items[0]["slope"]["value"] > items[1]["slope"]["value"]
    (girth,) = [one for one in items[2]["moved_by"] if one["kind"] == "girth"]
    (left_out,) = [one for one in girth["reasons"] if one["code"] == "dose_response_girth_body_mass"]
    assert left_out["params"]["count"] == 1
    assert girth["weeks"] == pytest.approx(15.4, abs=0.1)


def test_where_body_mass_jumped_between_all_visits_the_girth_says_nothing(
    lifter: Callable[..., Lifter],
) -> None:
    person = lifter(BAR_AND_PLATES)
    for days_ago, girth, mass in ((80, 34.0, 70.0), (40, 35.0, 76.0), (2, 36.5, 83.0)):
        measured(person, ARM, days_ago, girth)
        person.weighs(days_ago, mass)
    (item,) = asked(person, muscle_id=TRICEPS)["items"]
    assert item["moved_by"] == []
    assert {"dose_response_girth_all_left_out", "dose_response_population_only"} <= codes(item["reasons"])
    assert item["basis"]["prior_share"] == 1.0


def test_an_earlier_instant_knows_no_later_girth(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for days_ago in (120, 80, 40):
        measured(person, ARM, days_ago, 34.0)
    then = (NOW - timedelta(days=30)).isoformat()
    before = asked(person, muscle_id=TRICEPS, as_of=then)["items"]
    measured(person, ARM, 2, 38.0)
    assert asked(person, muscle_id=TRICEPS, as_of=then)["items"] == before
    assert asked(person, muscle_id=TRICEPS)["items"] != before


def test_skinfolds_are_taken_off_where_they_were_measured(lifter: Callable[..., Lifter]) -> None:
    person = arm_over_months(lifter(BAR_AND_PLATES), 0.04, skinfold={"value": 1.0, "unit": "cm"})
    (item,) = asked(person, muscle_id=TRICEPS)["items"]
    (girth,) = item["moved_by"]
    assert "dose_response_girth_corrected" in codes(girth["reasons"])


def test_a_tape_round_both_shoulders_is_read_too(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for days_ago in (90, 45, 2):
        measured(person, "shoulder", days_ago, 120.0, "both")
    (item,) = asked(person, muscle_id="deltoid-middle")["items"]
    assert [one["site"] for one in item["moved_by"]] == ["shoulder"]


def test_odd_girths_never_break_the_answer(lifter: Callable[..., Lifter]) -> None:
    """Slips, folds wider than the limb, sides that change, two visits a minute apart, names in other orders, one reading."""
    person, rng = lifter(BAR_AND_PLATES), Random(4)
    person.logs("bench-press", 30, 80, 8, reps_in_reserve=2)
    sites = (
        "upper-arm-relaxed",
        "arm-upper",
        "mid-thigh",
        "thigh-proximal",
        "calf",
        "shoulder",
        "chest",
        "waist",
        "x1",
    )
    for _ in range(90):
        girth = rng.choice((5.0, 36.0, 36.4, 60.0, 250.0))
        said: Json = {"readings": [girth] * rng.choice((1, 2, 3))}
        if rng.random() < 0.4:
            said["skinfold"] = {"value": rng.choice((0.5, 2.0, 20.0)), "unit": "cm"}
        days_ago = rng.choice((0.001, 0.002, 1.0, 27.0, 28.0, 60.0, 150.0, 181.0))
        measured(person, rng.choice(sites), days_ago, girth, rng.choice(("left", "right", "both")), **said)
        if rng.random() < 0.3:
            person.weighs(rng.choice((1.0, 30.0, 90.0)), rng.choice((30.0, 80.0, 300.0)))
    for muscle in ("biceps-brachii", "vastus-lateralis", "soleus", "deltoid-middle", CHEST, "neck-nothing"):
        status = 409 if muscle == "neck-nothing" else 200
        answer = person.client.get(f"{person.path}/dose-response", params={"muscle_id": muscle})
        assert answer.status_code == status, answer.text
        for item in answer.json().get("items", ()):
            assert item["slope"]["sd"] > 0.0
            assert sum(one["kind"] == "girth" for one in item["moved_by"]) <= 1
            values = [one["weekly_hard_sets"]["value"] for one in item["thresholds"] if one["reached"]]
            assert values == sorted(values)


def test_each_lift_is_named_with_what_it_said(lifter: Callable[..., Lifter]) -> None:
    fast, still = (months_of_benching(lifter(BAR_AND_PLATES), gain) for gain in (0.012, 0.0))
    for person, direction in ((fast, "raised"), (still, "lowered")):
        (item,) = asked(person, muscle_id=CHEST)["items"]
        (lift,) = item["moved_by"]
        assert (lift["kind"], lift["exercise_id"], lift["direction"]) == ("lift", "bench-press", direction)
        assert lift["at_weekly_hard_sets"] == item["recent_weekly_hard_sets"]
        (reason,) = lift["reasons"]
        assert reason["code"] == f"dose_response_lift_{direction}"
        assert reason["text"].startswith("Bench press")


def test_an_earlier_instant_knows_only_what_had_happened(lifter: Callable[..., Lifter]) -> None:
    person = months_of_benching(lifter(BAR_AND_PLATES), 0.01)
    then = (NOW - timedelta(days=100)).isoformat()
    early = asked(person, muscle_id=CHEST, as_of=then)["items"]
    assert early[0]["weeks_seen"] < asked(person, muscle_id=CHEST)["items"][0]["weeks_seen"]
    person.logs("bench-press", 1, 100, 10, reps_in_reserve=3)
    assert asked(person, muscle_id=CHEST, as_of=then)["items"] == early


def test_all_trained_muscles_are_told_unless_one_is_named(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    assert asked(person)["items"] == []
    person.logs("bench-press", 3, 80, 8, reps_in_reserve=2)
    muscles = [item["muscle_id"] for item in asked(person)["items"]]
    assert CHEST in muscles
    assert muscles == sorted(muscles)


def test_a_muscle_that_is_not_there_is_named(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    answer = person.client.get(f"{person.path}/dose-response", params={"muscle_id": "wing"})
    assert (answer.status_code, answer.json()["code"]) == (409, "unknown_reference")


def test_a_chart_of_one_muscle_or_of_all(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    person.logs("bench-press", 3, 80, 8, reps_in_reserve=2)
    for query in ({"muscle_id": CHEST}, {}):
        answer = person.client.get(f"{person.path}/dose-response", params={**query, "format": "svg"})
        assert answer.headers["Content-Type"].startswith("image/svg+xml")
        root = ET.fromstring(answer.text)  # noqa: S314
        assert root.find("{http://www.w3.org/2000/svg}title") is not None


def computed(person: Lifter, body: Json) -> Any:
    return person.client.post("/v1/compute/dose-response", json={"screening": "clear", **body})


SERIES = {
    "kind": "strength", "changes_percent": [3.0, 0.5, 3.5], "error_percent": 0.8, "weeks": [4, 4, 4],
    "weekly_hard_sets": [12, 3, 14],
}  # fmt: skip


def test_a_body_alone_is_enough(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    usual, moved = (computed(person, body).json() for body in ({}, {"series": [SERIES]}))
    assert usual["basis"]["prior_share"] == 1.0
    assert moved["basis"]["prior_share"] < 1.0
    assert moved["slope"]["sd"] < usual["slope"]["sd"]
    assert moved["model_version"] == "dose-response/5"


def test_each_series_says_what_it_changed(lifter: Callable[..., Lifter]) -> None:
    girth = {**SERIES, "kind": "girth", "changes_percent": [-2.0, 0.1, -1.5]}
    told = computed(lifter(BAR_AND_PLATES), {"series": [SERIES, girth], "recent_weekly_hard_sets": 9}).json()
    assert [one["series"] for one in told["moved_by"]] == [0, 1]
    assert [one["direction"] for one in told["moved_by"]] == ["raised", "lowered"]
    assert all(one["at_weekly_hard_sets"] == 9 for one in told["moved_by"])
    assert codes(told["moved_by"][1]["reasons"]) == {"dose_response_girth_lowered"}
    assert "dose_response_moved_by_series" in codes(told["reasons"])
    assert computed(lifter(BAR_AND_PLATES), {}).json()["moved_by"] == []


def test_a_change_that_no_sets_make_is_set_aside_and_said_so(lifter: Callable[..., Lifter]) -> None:
    """Half of strength lost three times made the slope four times anybody's."""
    person, halved = lifter(BAR_AND_PLATES), {**SERIES, "changes_percent": [-50, -50, -50]}
    usual, told = (computed(person, body).json() for body in ({}, {"series": [halved]}))
    for member in ("slope", "curve", "thresholds", "p_downturn", "basis"):
        assert told[member] == usual[member]
    assert codes(told["reasons"]) == codes(usual["reasons"]) | {"dose_response_series_set_aside"}
    assert "dose_response_population_only" in codes(told["reasons"])
    (moved,) = told["moved_by"]
    assert (moved["weeks"], moved["direction"], moved["growth_change"]) == (0, "left", 0)
    (aside,) = [one for one in moved["reasons"] if one["code"] == "dose_response_set_aside"]
    assert aside["params"] == {"count": 3, "stretches": 3}
    slip = {**SERIES, "changes_percent": [3.0, -40, 3.5]}
    (moved,) = computed(person, {"series": [slip]}).json()["moved_by"]
    assert (moved["weeks"], moved["reasons"][-1]["params"]) == (8, {"count": 1, "stretches": 3})


@pytest.mark.parametrize(
    ("changes", "count", "named"),
    [([[50, 60]], 2, "1"), ([[2, 1], [50, 60]], 2, "2"), ([[50, 1], [1, 1], [60, 60]], 3, "1, 3")],
)
def test_what_was_set_aside_is_named_beside_what_the_numbers_rest_on(
    lifter: Callable[..., Lifter], changes: list[list[float]], count: int, named: str
) -> None:
    sent = [
        {"kind": "girth", "changes_percent": one, "error_percent": 0.5, "weeks": [10, 10], "weekly_hard_sets": [9, 10]}
        for one in changes
    ]  # fmt: skip
    told = computed(lifter(BAR_AND_PLATES), {"series": sent}).json()
    (aside,) = [one for one in told["reasons"] if one["code"] == "dose_response_series_set_aside"]
    assert aside["params"] == {"count": count, "stretches": 2 * len(changes), "series": named}
    assert f"{count}, of series {named}." in aside["text"]


FALLING = {
    "kind": "strength", "changes_percent": [-2, -7, -3, -7], "error_percent": 1, "weeks": [4] * 4,
    "weekly_hard_sets": [4, 20, 6, 20],
}  # fmt: skip


def test_a_log_that_falls_gets_no_threshold_that_is_not_met_and_no_curve_upside_down(
    lifter: Callable[..., Lifter],
) -> None:
    """It was told a gain of more than 0.4 % from 52 sets on, for eight in ten, at a chance of 7 %, and that no sets build."""
    told = computed(lifter(BAR_AND_PLATES), {"series": [FALLING]}).json()
    found = sets_of(told)
    gain = found["detectable_gain"]
    assert (gain["reached"], gain["weekly_hard_sets"]["value"]) == (False, 52)
    assert codes(gain["reasons"]) == {"volume_threshold_detectable_gain_not_reached"}
    assert gain["reasons"][0]["text"].startswith("Not reached by 52 hard sets a week")
    assert found["small_next_gain"]["reached"]
    assert found["small_next_gain"]["weekly_hard_sets"]["value"] < 10
    growth = {point["weekly_hard_sets"]: point["growth"] for point in told["curve"]}
    assert growth[0]["value"] < 0.0
    assert growth[0]["interval"]["upper"] <= 0.0
    assert growth[20]["value"] > growth[2]["value"]
    assert told["slope"]["interval"]["lower"] >= 0.0
    assert told["p_downturn"] > 0.05
    assert codes(told["reasons"]) == {
        "dose_response_moved_by_series",
        "dose_response_effect_not_told",
        "dose_response_fell_with_sets",
    }
    usual = computed(lifter(BAR_AND_PLATES), {}).json()
    assert all(one["reached"] for one in usual["thresholds"])
    assert "dose_response_downturn_not_shown" in codes(usual["reasons"])


@pytest.mark.parametrize("sets", [4, 10, 20])
def test_a_steady_fall_at_one_dose_is_no_answer_to_sets(lifter: Callable[..., Lifter], sets: int) -> None:
    fell = {**FALLING, "changes_percent": [-8] * 4, "weekly_hard_sets": [sets] * 4}
    usual, told = (computed(lifter(BAR_AND_PLATES), {"series": series}).json() for series in ([], [fell]))
    assert 0.3 * usual["slope"]["value"] < told["slope"]["value"] < 1.05 * usual["slope"]["value"]
    assert told["slope"]["sd"] > 0.5 * usual["slope"]["sd"]
    assert told["p_downturn"] < 0.15
    assert "peak" not in told
    growth = {point["weekly_hard_sets"]: point["growth"]["value"] for point in told["curve"]}
    assert growth[0] < 0.0 < growth[4] < growth[10]


def test_lists_of_other_lengths_are_named_by_their_place(lifter: Callable[..., Lifter]) -> None:
    answer = computed(lifter(BAR_AND_PLATES), {"series": [SERIES, {**SERIES, "weeks": [4]}]})
    assert answer.status_code == 409
    (fault,) = answer.json()["errors"]
    assert fault["pointer"] == "#/series/1/weeks"


def test_an_asked_share_is_told_as_it_was_asked(lifter: Callable[..., Lifter]) -> None:
    """0.05 % was told as 0.1 %."""
    person = lifter(BAR_AND_PLATES)
    for asked, shown in ((0.0005, "0.05 %"), (0.00125, "0.125 %")):
        found = sets_of(computed(person, {"gain": asked, "worth": asked}).json())
        for criterion in ("detectable_gain", "small_next_gain"):
            assert f" {shown}" in found[criterion]["reasons"][0]["text"]


def test_an_empty_answer_says_why(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    person.logs("bench-press", 1, 40, 8, purpose="warm_up")
    answer = person.asks("dose-response")
    assert (answer["items"], codes(answer["reasons"])) == ([], {"dose_response_nothing_trained"})
    assert person.asks("dose-response", muscle_id=CHEST)["reasons"] == []
    person.logs("bench-press", 1, 60, 8, reps_in_reserve=1)
    answer = person.asks("dose-response")
    assert answer["items"]
    assert answer["reasons"] == []
