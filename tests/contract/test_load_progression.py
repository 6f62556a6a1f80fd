"""The next load, asked for over HTTP by invented athletes."""

from collections.abc import Callable
from datetime import timedelta
from random import Random

import pytest

from tests.contract.lifting import (
    BAR_AND_PLATES,
    FIVE_POUND_STEPS,
    NOW,
    Json,
    Lifter,
    codes,
    lifters,
)
from tests.world import World


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def test_the_lagging_side_goes_first_and_the_other_copies_it(lifter: Callable[..., Lifter]) -> None:
    person = lifter(FIVE_POUND_STEPS, unit="lb")
    for days_ago in (12, 9, 6, 3):
        person.logs("one-arm-overhead-press", days_ago, 25, 12, side="left", reps_in_reserve=1, unit="lb")
        person.logs(
            "one-arm-overhead-press", days_ago, 25, 8, side="right", reps_in_reserve=1, unit="lb", ordinal=1
        )
    first, second = person.asks(exercise_id="one-arm-overhead-press")["items"]
    assert (first["side"], second["side"]) == ("right", "left")
    assert (second["load"], second["reps"]) == (first["load"], first["reps"])
    assert second["expected_reps"]["value"] > first["expected_reps"]["value"]
    assert "load_progression_lagging_side_first" in codes(first["reasons"])
    assert "load_progression_matches_other_side" in codes(second["reasons"])
    assert "right side" in first["action"]["text"]


def test_no_side_is_called_weaker_where_only_one_has_told_its_reserve(lifter: Callable[..., Lifter]) -> None:
    person = lifter(FIVE_POUND_STEPS, unit="lb")
    for days_ago in (24, 21, 18, 15, 12, 9, 6, 3):
        person.logs("one-arm-overhead-press", days_ago, 25, 10, side="right", reps_in_reserve=1, unit="lb")
        person.logs("one-arm-overhead-press", days_ago, 25, 10, side="left", unit="lb", ordinal=1)
    items = person.asks(exercise_id="one-arm-overhead-press")["items"]
    told = {code for item in items for code in codes(item["reasons"])}
    assert len(items) == 2
    assert "load_progression_lagging_side_first" not in told


def test_pain_above_five_ends_the_movement_and_gives_no_load(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    person.logs("bench-press", 6, 80, 8, reps_in_reserve=2)
    person.logs("bench-press", 1, 80, 8, reps_in_reserve=2, pain=[{"region": "shoulder", "during": 7}])
    item = person.next(exercise_id="bench-press")
    assert item["decision"] == "stop"
    assert "load" not in item
    assert "stop" in item["action"]["text"]
    assert "pain_stop" in codes(item["cautions"])


@pytest.mark.parametrize(("pain", "least", "most"), [(3, 0.75, 0.80), (5, 0.65, 0.70)])
def test_pain_of_three_to_five_takes_a_fifth_or_more_off_the_load(
    lifter: Callable[..., Lifter], pain: int, least: float, most: float
) -> None:
    person = lifter(BAR_AND_PLATES)
    person.logs("bench-press", 6, 80, 8, reps_in_reserve=2)
    told = {"region": "shoulder", "during": pain, "next_morning": 0}
    person.logs("bench-press", 1, 80, 8, reps_in_reserve=2, pain=[told])
    item = person.next(exercise_id="bench-press")
    assert 80 * least <= item["load"]["value"] <= 80 * most
    assert item["policy"] == "reduce_load"
    assert "tolerance_pain_middle_zone" in codes(item["reasons"])


def test_an_unknown_morning_after_pain_lets_nothing_rise(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for days_ago in (7, 4):
        person.logs("bench-press", days_ago, 60, 14, reps_in_reserve=4)
    person.logs("bench-press", 1, 60, 14, reps_in_reserve=4, pain=[{"region": "elbow", "during": 1}])
    answer = person.asks(exercise_id="bench-press", reps_low=8, reps_high=12)
    assert answer["items"][0]["load"]["value"] <= 60
    assert answer["items"][0]["policy"] == "hold_load"
    assert answer["ask"]["code"] == "load_progression_ask_morning_pain"


def test_every_answer_names_one_action_and_at_most_three_reasons(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for ordinal in range(3):
        person.logs("bench-press", 3, 80, 8, ordinal=ordinal)
        person.logs("overhead-press", 3, 40, 8, ordinal=3 + ordinal, reps_in_reserve=2)
    answer = person.asks()
    assert [item["exercise_id"] for item in answer["items"]] == ["bench-press", "overhead-press"]
    for item in answer["items"]:
        assert item["action"]["text"].startswith(item["exercise_name"])
        assert 1 <= len(item["reasons"]) <= 3
        assert len(item["alternatives"]) <= 3
        assert {"guidance_not_diagnosis"} <= codes(item["cautions"])
        assert item["sources"]
        assert item["expected_reps"]["interval"]["lower"] < item["expected_reps"]["interval"]["upper"]
    assert answer["model_version"] == "load-progression/5"
    assert answer["ask"]["code"] == "load_progression_ask_reserve"


def test_a_first_time_starts_low_from_a_lift_that_is_known(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for ordinal in range(3):
        person.logs("bench-press", 3, 100, 8, ordinal=ordinal, reps_in_reserve=2)
    item = person.next(exercise_id="close-grip-bench-press")
    assert item["basis"] == {"observation_count": 0, "prior_share": 1}
    assert 60 <= item["load"]["value"] <= 90
    assert item["reserve_low"] >= 4
    assert {"progression_first_time_low_start", "capability_mostly_prior"} <= codes(item["reasons"])


def test_a_lift_like_nothing_in_the_log_is_refused(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    refused = person.asks(exercise_id="bench-press", status=409)
    assert (refused["code"], refused["exercise_id"]) == ("nothing_to_compute_on", "bench-press")
    assert person.asks()["items"] == []
    assert person.asks(exercise_id="no-such-lift", status=409)["code"] == "unknown_reference"


def test_levels_are_answered_as_labels(lifter: Callable[..., Lifter]) -> None:
    exercise = "machine-chest-press"
    own = {
        "name": "Old chest press (invented entry)", "pattern": "horizontal_press", "laterality": "two_sided",
        "load_basis": "level", "implement": "levels", "station": "old-press", "curve_class": "bench",
        "body_part": "upper", "repetitions_low": 6, "repetitions_high": 15,
        "involvement": [{"muscle_id": "triceps-brachii-lateral-head", "share": 1}],
    }  # fmt: skip
    station = {
        "kind": "levels",
        "name": "Old press",
        "station": "old-press",
        "labels": [str(n) for n in range(1, 13)],
    }
    person = lifter([station])
    exercise = person.new_id()
    muscles = person.client.get("/v1/muscles").json()["items"]
    own["involvement"] = [{"muscle_id": muscles[0]["muscle_id"], "share": 1}]
    kept = person.client.put(f"/v1/exercises/{exercise}", json=own)
    assert kept.status_code == 201, kept.text
    for days_ago in (6, 3):
        body = person.did(exercise, days_ago, 1, 10, reps_in_reserve=2, level="7")
        body.pop("load")
        person.sends(body)
    item = person.next(exercise_id=exercise)
    assert item["load"]["unit"] == "{level}"
    assert item["load"]["label"] in {"6", "7", "8"}
    assert f"level {item['load']['label']}" in item["action"]["text"]


def test_a_site_must_be_known_and_have_the_gear(lifter: Callable[..., Lifter]) -> None:
    person = lifter([])
    person.logs("bench-press", 3, 80, 8, reps_in_reserve=2)
    assert person.next()["decision"] == "not_here"
    assert person.asks(site_id=person.new_id(), status=409)["code"] == "site_required"


def test_the_asked_unit_is_the_answers_unit(lifter: Callable[..., Lifter]) -> None:
    person = lifter(FIVE_POUND_STEPS, unit="kg")
    for days_ago in (6, 3):
        person.logs("dumbbell-bench-press", days_ago, 30, 10, reps_in_reserve=2, unit="lb")
    pounds = person.next(exercise_id="dumbbell-bench-press", unit="lb")
    kilograms = person.next(exercise_id="dumbbell-bench-press")
    assert (pounds["load"]["unit"], kilograms["load"]["unit"]) == ("lb", "kg")
    assert kilograms["load"]["value"] == pytest.approx(pounds["load"]["value"] * 0.45359237, abs=0.0006)
    assert kilograms["load"]["label"] == f"{pounds['load']['value']:g} lb"
    assert kilograms["load"]["label"] in kilograms["action"]["text"]


def test_a_referral_closes_and_a_clearance_opens_with_its_reserve(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    person.logs("bench-press", 3, 80, 8, reps_in_reserve=2)
    person.is_screened("referred", performed_on="2026-11-20")
    closed = person.asks(status=409)
    assert closed["code"] == "clearance_required"
    assert {"clearance_needed", "guidance_not_diagnosis"} <= codes(closed["cautions"])
    assert person.asks("capability")["items"]
    clearance = {
        "by": "an invented clinician",
        "role": "physician",
        "given_on": "2026-11-25",
        "min_reps_in_reserve": 4,
    }
    person.is_screened("cleared", performed_on="2026-11-25", clearance=clearance)
    assert person.next()["reserve_low"] >= 4


def test_an_emergency_sign_closes_at_once(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    person.logs("bench-press", 3, 80, 8, reps_in_reserve=2)
    body = {"at": (NOW - timedelta(hours=1)).isoformat(), "flags": ["chest_pain"]}
    assert person.client.put(f"{person.path}/checkins/{person.new_id()}", json=body).status_code == 201
    closed = person.asks(status=409)
    assert closed["cautions"][0]["urgency"] == "emergency"
    assert "emergency services" in closed["cautions"][0]["text"]


def test_a_withdrawn_consent_stops_every_answer_at_once(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    person.logs("bench-press", 3, 80, 8, reps_in_reserve=2)
    etag = person.client.get(f"{person.path}/load-progression").headers["ETag"]
    person.consents(granted=False)
    for answer in ("capability", "load-progression"):
        got = person.client.get(f"{person.path}/{answer}", headers={"If-None-Match": etag})
        assert (got.status_code, got.json()["code"]) == (403, "consent_required")


def test_an_answer_can_be_revalidated_until_something_is_written(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    person.logs("bench-press", 3, 80, 8, reps_in_reserve=2)
    where = f"{person.path}/load-progression"
    first = person.client.get(where)
    assert first.headers["Cache-Control"] == "private, no-cache"
    assert first.headers["Content-Language"] == "en"
    assert first.json()["valid_until"] == "2026-11-27T19:00:00Z"
    held = {"If-None-Match": first.headers["ETag"]}
    person.world.clock.instant = NOW + timedelta(minutes=5)
    again = person.client.get(where, headers=held)
    assert (again.status_code, again.content) == (304, b"")
    assert again.headers["ETag"] == first.headers["ETag"]
    assert person.client.get(where, headers=held, params={"unit": "lb"}).status_code == 200
    person.logs("bench-press", 0.001, 80, 9, reps_in_reserve=2)
    changed = person.client.get(where, headers=held)
    assert (changed.status_code, changed.headers["ETag"] == first.headers["ETag"]) == (200, False)


def test_a_reader_can_wait_for_its_own_write(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    body = person.did("bench-press", 3, 80, 8, reps_in_reserve=2)
    wrote = person.client.put(f"{person.path}/sets/{person.new_id()}", json=body)
    position = int(wrote.headers["Steelyard-Position"])
    for wanted, status in ((position, 200), (position + 1, 503)):
        header = {"Steelyard-Min-Position": str(wanted)}
        assert person.client.get(f"{person.path}/load-progression", headers=header).status_code == status


def test_later_sets_do_not_change_an_earlier_answer(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for days_ago in (9, 6):
        person.logs("bench-press", days_ago, 80, 8, reps_in_reserve=2)
    then = (NOW - timedelta(days=5)).isoformat()
    before = person.asks(as_of=then)
    person.logs("bench-press", 2, 90, 10, reps_in_reserve=0)
    after = person.asks(as_of=then)
    assert before["items"] == after["items"]
    assert "valid_until" not in after
    assert person.asks()["items"] != after["items"]


def test_the_order_of_arrival_makes_no_difference(lifter: Callable[..., Lifter]) -> None:
    answers = []
    for seed in range(3):
        person = lifter(BAR_AND_PLATES)
        bodies = [
            person.did("bench-press", days_ago, 80 + ordinal, 9 - ordinal, reps_in_reserve=2, ordinal=ordinal)
            for days_ago in (12, 9, 6, 3)
            for ordinal in range(3)
        ]
        Random(seed).shuffle(bodies)
        for body in bodies:
            person.sends(body)
        answers.append((person.asks()["items"], person.asks("capability")["items"]))
    assert answers[0] == answers[1] == answers[2]


def test_an_empty_range_of_repetitions_is_refused(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    refused = person.asks(status=409, reps_low=12, reps_high=8)
    assert refused["errors"][0]["parameter"] == "reps_high"


def test_a_list_of_plates_that_cannot_be_added_up_is_said(lifter: Callable[..., Lifter]) -> None:
    plates = [
        {"kind": "plate_pairs", "name": "odd", "mass": {"value": 1 + n * 0.137, "unit": "kg"}, "pairs": 40}
        for n in range(12)
    ]
    person = lifter([BAR_AND_PLATES[0], *BAR_AND_PLATES[-2:], *plates])
    person.logs("bench-press", 3, 80, 8, reps_in_reserve=2)
    item = person.next()
    assert item["decision"] == "not_here"
    assert "added up" in item["reasons"][0]["text"]


@pytest.mark.parametrize(
    ("exercise_id", "said"),
    [("goblet-squat", "40 lb,"), ("dumbbell-curl", "40 lb in each hand"), ("lunge", "40 lb in each")],
)
def test_a_load_is_made_and_said_as_the_lift_holds_it(
    lifter: Callable[..., Lifter], exercise_id: str, said: str
) -> None:
    person = lifter([*FIVE_POUND_STEPS, {"kind": "gear", "name": "Floor", "gear": "floor-space"}], unit="lb")
    sides = ("left", "right") if exercise_id == "lunge" else ("both",)
    for days_ago in (6, 3):
        for side in sides:
            person.logs(exercise_id, days_ago, 40, 10, reps_in_reserve=2.5, unit="lb", side=side)
    item = person.asks(exercise_id=exercise_id, reps_low=8, reps_high=12)["items"][0]
    assert item["load"]["value"] == 40
    assert item["load"]["made_of"] == ["Rack", "40 lb"]
    assert said in item["action"]["text"]


def test_two_worse_mornings_in_a_row_change_the_movement(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for days_ago in (6, 3):
        told = {"region": "shoulder", "during": 1, "next_morning": 4}
        person.logs("bench-press", days_ago, 80, 8, reps_in_reserve=2, pain=[told])
    item = person.next()
    assert item["decision"] == "swap"
    assert "load" not in item
    assert "tolerance_pain_worse_two_mornings" in codes(item["reasons"])


def test_a_morning_told_in_a_checkin_counts_as_the_sets_own(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    person.logs("bench-press", 2, 80, 8, reps_in_reserve=2, pain=[{"region": "shoulder", "during": 1}])
    pain = {"region": "shoulder", "next_morning": 4, "exercise_id": "bench-press"}
    body = {"at": (NOW - timedelta(days=1.4)).isoformat(), "pain": [pain]}
    assert person.client.put(f"{person.path}/checkins/{person.new_id()}", json=body).status_code == 201
    item = person.next()
    assert item["policy"] == "reduce_load"
    assert 0.8 * 80 <= item["load"]["value"] <= 0.9 * 80


def test_a_limit_caps_the_load_or_sets_the_lift_aside(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    person.logs("bench-press", 3, 80, 8, reps_in_reserve=2)
    capped = {
        "kind": "clinician", "mode": "improve", "exercise_ids": ["bench-press"], "load_cap": {"value": 60, "unit": "kg"},
        "min_reps_in_reserve": 4,
    }  # fmt: skip
    where = f"{person.path}/limits/{person.new_id()}"
    assert person.client.put(where, json=capped).status_code == 201
    item = person.next()
    assert item["load"]["value"] <= 60
    assert item["reserve_low"] == 4
    aside = {"kind": "preference", "mode": "replace", "exercise_ids": ["bench-press"]}
    assert person.client.put(where, json=aside, headers={"If-Match": '"1"'}).status_code == 200
    assert person.next()["decision"] == "leave_out"


def test_alone_without_bars_a_lift_that_traps_keeps_two_in_reserve(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    person.logs("bench-press", 3, 80, 8, reps_in_reserve=2)
    with_bars = person.next()
    alone = {"name": "Garage (invented)", "safety_bars": False, "supervised": False}
    changed = person.client.put(f"/v1/sites/{person.site}", json=alone, headers={"If-Match": '"1"'})
    assert changed.status_code == 200
    without = person.next()
    assert (with_bars["reserve_low"], without["reserve_low"]) == (1, 2)
    assert "alone_without_bars" in codes(without["cautions"])


def test_who_was_never_screened_keeps_three_in_reserve_and_hears_why(
    lifter: Callable[..., Lifter], new_id: Callable[[], str]
) -> None:
    person = lifter(BAR_AND_PLATES)
    person.path = f"/v1/athletes/{new_id()}"
    said = {"time_zone": "Europe/Riga", "training_years": 4, "home_site_id": person.site}
    assert person.client.put(person.path, json=said).status_code == 201
    person.consents()
    person.logs("bench-press", 3, 80, 8, reps_in_reserve=2)
    item = person.next()
    assert item["reserve_low"] == 3
    assert "tolerance_gate_not_screened" in codes(item["reasons"])
    assert "screening_first" in codes(item["cautions"])


@pytest.mark.parametrize(
    "parameters",
    [
        {"reserve_high": 0}, {"reserve_low": 10}, {"reps_low": 100}, {"reps_high": 1}, {"mass": 0.99}, {"mass": 0.5},
        {"as_of": "0001-01-01T00:00:00+14:00"}, {"as_of": "9999-12-31T23:59:59-12:00"},
        {"as_of": "1930-01-01T00:00:00Z"}, {"as_of": "2199-12-31T23:59:59Z"},
    ],
)  # fmt: skip
def test_every_parameter_at_its_ends_gets_an_answer_or_a_reason(
    lifter: Callable[..., Lifter], parameters: Json
) -> None:
    person = lifter(BAR_AND_PLATES)
    person.logs("bench-press", 3, 80, 8, reps_in_reserve=2)
    shared = {"mass", "as_of"}
    answers = ("load-progression", "capability") if shared & parameters.keys() else ("load-progression",)
    for answer in answers:
        got = person.client.get(f"{person.path}/{answer}", params=parameters)
        assert got.status_code in {200, 409}, got.text


def test_two_careful_weeks_follow_a_month_off(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for week in range(6):
        for ordinal in range(4):
            person.logs("bench-press", 36 + 7 * week, 100, 8, reps_in_reserve=2, ordinal=ordinal)
    for ordinal in range(2):
        person.logs("bench-press", 4, 85, 8, reps_in_reserve=4, ordinal=ordinal)
    item = person.next(exercise_id="bench-press")
    assert item["policy"] == "return_after_break"
    # Lighter than before the break, and yet more than in the session back.
    assert (item["action"]["code"], item["load"]["value"]) == ("raise_load", 90)
    assert item["load"]["value"] <= 90
    assert item["reserve_low"] >= 3
    assert "progression_still_returning" in codes(item["reasons"])


def test_a_stack_that_is_known_in_kilograms_begins_low_where_there_are_only_levels(
    lifter: Callable[..., Lifter],
) -> None:
    stack = {
        "kind": "stack", "name": "Press", "station": "chest-press", "unit": "kg", "masses": [5 * n for n in range(1, 25)],
    }  # fmt: skip
    person = lifter([stack])
    for days_ago in (9, 6, 3):
        person.logs("machine-chest-press", days_ago, 50, 10, reps_in_reserve=2)
    labels = {
        "kind": "levels", "name": "Old press", "station": "chest-press", "labels": [str(n) for n in range(1, 16)],
    }  # fmt: skip
    item = person.next(exercise_id="machine-chest-press", site_id=person.site_with([labels]))
    assert (item["decision"], item["load"]["unit"]) == ("do", "{level}")
    assert 1 <= int(item["load"]["label"]) <= 5
    assert item["reserve_low"] >= 4
    assert item["action"]["code"] == "start_low"
    assert person.next(exercise_id="machine-chest-press")["load"]["unit"] == "kg"
