"""How the sides compare, asked for over HTTP by an invented athlete."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from math import exp, log
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.world import World

Json = dict[str, Any]
NOW = datetime(2026, 11, 27, 9, 0, tzinfo=UTC)
PRESS = "one-arm-overhead-press"
AHEAD_ONLY = {"right_ahead", "left_ahead"}


@dataclass
class Lifter:
    """An invented athlete of a tenant of their own."""

    client: TestClient
    path: str
    new_id: Callable[[], str]

    def logs(self, exercise_id: str, days_ago: float, side: str, load: float, reps: int, **said: Any) -> None:
        performed_at = (NOW - timedelta(days=days_ago)).isoformat()
        mass = {"value": load, "unit": "kg"}
        body = {
            "exercise_id": exercise_id, "performed_at": performed_at, "side": side, "load": mass, "reps": reps,
            "purpose": "work", **said,
        }  # fmt: skip
        kept = self.client.put(f"{self.path}/sets/{self.new_id()}", json=body)
        assert kept.status_code == 201, kept.text

    def measures(self, site: str, side: str, readings: list[float], days_ago: float = 1.0) -> None:
        body = {
            "kind": "girth", "at": (NOW - timedelta(days=days_ago)).isoformat(), "site": site, "side": side,
            "readings": readings, "unit": "cm",
        }  # fmt: skip
        kept = self.client.put(f"{self.path}/measurements/{self.new_id()}", json=body)
        assert kept.status_code == 201, kept.text

    def asks(self, **parameters: Any) -> Json:
        answer = self.client.get(f"{self.path}/imbalance-indices", params=parameters)
        assert answer.status_code == 200, answer.text
        found: Json = answer.json()
        return found


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Iterator[Callable[..., Lifter]]:
    def make(**athlete: Any) -> Lifter:
        client = shared_world.signed_in()
        path = f"/v1/athletes/{new_id()}"
        said = {"time_zone": "Europe/Riga", "training_years": 4, **athlete}
        assert client.put(path, json=said).status_code == 201
        consent = {"purpose": "process_health", "granted": True, "text_version": "invented-1"}
        assert client.post(f"{path}/consents", json=consent).status_code == 201
        return Lifter(client, path, new_id)

    shared_world.clock.instant = NOW
    yield make
    shared_world.clock.instant = None


def test_a_left_side_that_copies_the_right_without_saying_its_reserve_stays_undetermined(
    lifter: Callable[..., Lifter],
) -> None:
    """Scenario 6 of the practice: right 20 x 10 with one in reserve, left 20 x 10 unstated, eight sessions."""
    someone = lifter()
    for session in range(8):
        someone.logs("one-arm-dumbbell-row", 50 - 7 * session + 0.01, "right", 20, 10, reps_in_reserve=1)
        someone.logs("one-arm-dumbbell-row", 50 - 7 * session, "left", 20, 10)
    (item,) = someone.asks(exercise_id="one-arm-dumbbell-row")["items"]
    assert item["state"] == "undetermined"
    assert 0.5 <= 1.0 - item["p_right_ahead"] <= 0.9
    assert {"sides_undetermined", "sides_effort_missing"} <= {reason["code"] for reason in item["reasons"]}
    assert "visits_needed" not in item


def test_silence_that_is_repeated_adds_up_to_nothing(lifter: Callable[..., Lifter]) -> None:
    shares = []
    for sessions in (4, 20):
        someone = lifter()
        for session in range(sessions):
            someone.logs("one-arm-dumbbell-row", 2 + 7 * session, "right", 20, 10, reps_in_reserve=1)
            someone.logs("one-arm-dumbbell-row", 2 + 7 * session - 0.01, "left", 20, 10)
        (item,) = someone.asks(exercise_id="one-arm-dumbbell-row")["items"]
        shares.append(1.0 - item["p_right_ahead"])
    assert shares[1] == pytest.approx(shares[0], abs=0.08)
    assert max(shares) < 0.9


def test_a_bigger_right_arm_and_a_stronger_left_press_are_two_gaps(lifter: Callable[..., Lifter]) -> None:
    """Scenario 7 of the practice: girths 36.4 and 35.9 cm, three each; the left press 12 % stronger, six sessions."""
    someone = lifter()
    someone.measures("upper-arm-relaxed", "right", [36.4, 36.4, 36.4])
    someone.measures("upper-arm-relaxed", "left", [35.9, 35.9, 35.9])
    for session in range(6):
        someone.logs(PRESS, 38 - 7 * session + 0.01, "right", 20, 8, reps_in_reserve=2)
        someone.logs(PRESS, 38 - 7 * session, "left", 22.5, 8, reps_in_reserve=2)
    answer = someone.asks()
    items = {(item["kind"], item["scope"]): item for item in answer["items"]}
    size, press = items["size", "site"], items["strength", "exercise"]
    assert size["site"] == "upper-arm-relaxed"
    assert 0.01 <= size["t"]["value"] <= 0.035
    assert press["exercise_id"] == PRESS
    assert -0.12 <= press["t"]["value"] <= -0.07
    assert press["state"] == "left_ahead"
    assert "biceps" not in str(size)
    assert "sides_girths_not_interleaved" in {reason["code"] for reason in size["reasons"]}


def test_equal_sides_with_told_reserves_put_no_side_ahead(lifter: Callable[..., Lifter]) -> None:
    someone = lifter()
    for session in range(8):
        for side in ("left", "right"):
            someone.logs(PRESS, 50 - 7 * session, side, 20, 8, reps_in_reserve=2)
    (item,) = someone.asks(exercise_id=PRESS)["items"]
    assert item["state"] not in AHEAD_ONLY | {"undetermined"}
    assert abs(item["t"]["value"]) < 0.02
    assert item["t"]["interval"]["lower"] < 0.0 < item["t"]["interval"]["upper"]
    assert item["basis"]["observation_count"] == 8


def test_reserves_told_long_ago_no_longer_count_as_a_comparison(lifter: Callable[..., Lifter]) -> None:
    someone = lifter()
    for session in range(8):
        told = {"reps_in_reserve": 2} if session < 2 else {}
        someone.logs(PRESS, 50 - 7 * session + 0.01, "right", 20, 8, reps_in_reserve=2)
        someone.logs(PRESS, 50 - 7 * session, "left", 20, 8, **told)
    (item,) = someone.asks(exercise_id=PRESS)["items"]
    assert item["state"] == "undetermined"
    assert someone.asks(exercise_id=PRESS, as_of=(NOW - timedelta(days=42)).isoformat())["items"][0][
        "state"
    ] in {"not_decided", "too_small_to_matter"}


def test_every_index_is_the_published_function_of_t(lifter: Callable[..., Lifter]) -> None:
    """Forms as catalogued in [Bishop2016]_ and [Parkinson2021]_, reckoned here from the two loads themselves."""
    someone = lifter(dominance={"hand": "right", "leg": "left"})
    for session in range(6):
        someone.logs(PRESS, 38 - 7 * session, "right", 24, 8, reps_in_reserve=2)
        someone.logs(PRESS, 38 - 7 * session, "left", 20, 8, reps_in_reserve=2)
    (item,) = someone.asks(exercise_id=PRESS, detail="full")["items"]
    assert {index["form_seen"] for index in item["indices"]} == {"read", "secondary_source"}
    assert {index["definition"] for index in item["indices"]} == {"model_of_the_log"}
    t = item["t"]["value"]
    right, left = exp(t / 2), exp(-t / 2)
    values = {index["id"]: index.get("value") for index in item["indices"]}
    assert item["dominant_side"] == "right"
    assert values["limb_symmetry_of_dominant"] == pytest.approx(100 * left / right, abs=0.02)
    assert values["symmetry_right_left"] == pytest.approx(
        100 * (right - left) / (0.5 * (right + left)), abs=0.02
    )
    assert values["log_ratio_right_left"] == pytest.approx(100 * log(right / left), abs=0.02)
    assert values["bilateral_asymmetry_of_sum"] == pytest.approx(
        100 * (right - left) / (right + left), abs=0.02
    )
    assert values["limb_symmetry_of_uninvolved"] is None
    assert all(index["reference_limb"] and index["sign_convention"] for index in item["indices"])
    assert all(index["title"] and index["expression"] and index["source"] for index in item["indices"])
    assert len(values) >= 15


def test_the_dominant_leg_serves_legs_and_the_request_overrides(lifter: Callable[..., Lifter]) -> None:
    someone = lifter(dominance={"hand": "right", "leg": "left"})
    for side in ("left", "right"):
        someone.logs("one-leg-knee-extension", 2, side, 40, 10, reps_in_reserve=1)
    (own,) = someone.asks(exercise_id="one-leg-knee-extension")["items"]
    assert own["dominant_side"] == "left"
    (asked,) = someone.asks(exercise_id="one-leg-knee-extension", dominant_side="right")["items"]
    assert asked["dominant_side"] == "right"


def test_an_operated_knee_is_the_involved_side_and_widens_what_is_believed(
    lifter: Callable[..., Lifter],
) -> None:
    someone = lifter()
    for session in range(4):
        someone.logs("one-leg-knee-extension", 30 - 7 * session, "left", 40, 10, reps_in_reserve=1)
        someone.logs("one-leg-knee-extension", 30 - 7 * session, "right", 28, 10, reps_in_reserve=1)
    (before,) = someone.asks(exercise_id="one-leg-knee-extension")["items"]
    screening = {
        "instrument": "an invented form", "instrument_version": "1", "performed_on": "2026-09-01", "outcome": "referred",
        "procedures": [{"region": "knee", "performed_on": "2026-08-20", "side": "right"}],
    }  # fmt: skip
    kept = someone.client.post(f"{someone.path}/screenings", json=screening)
    assert kept.status_code == 201, kept.text
    (after,) = someone.asks(exercise_id="one-leg-knee-extension")["items"]
    assert after["involved_side"] == "right"
    assert after["t"]["value"] < before["t"]["value"] < 0.0
    values = {index["id"]: index.get("value") for index in after["indices"]}
    assert values["limb_symmetry_of_uninvolved"] == pytest.approx(100 * exp(after["t"]["value"]), abs=0.05)


def test_lifts_of_one_muscle_are_pooled_with_the_spread_between_them(lifter: Callable[..., Lifter]) -> None:
    someone = lifter()
    for session in range(6):
        for exercise_id in ("one-arm-dumbbell-row", "one-arm-lat-pulldown"):
            someone.logs(exercise_id, 38 - 7 * session, "right", 33, 10, reps_in_reserve=1)
            someone.logs(exercise_id, 38 - 7 * session, "left", 30, 10, reps_in_reserve=1)
    answer = someone.asks(muscle_id="latissimus-dorsi")
    pooled = [item for item in answer["items"] if item["scope"] == "muscle"]
    assert [item["muscle_id"] for item in pooled] == ["latissimus-dorsi"]
    assert pooled[0]["exercise_ids"] == ["one-arm-dumbbell-row", "one-arm-lat-pulldown"]
    assert pooled[0]["between_exercises_sd"] > 0.0
    assert pooled[0]["t"]["value"] > 0.04


def test_two_girth_sites_are_never_mixed_and_no_girth_answers_for_a_muscle(
    lifter: Callable[..., Lifter],
) -> None:
    someone = lifter()
    for site, right in (("upper-arm-relaxed", 36.4), ("upper-arm-flexed", 39.0)):
        someone.measures(site, "right", [right, right])
        someone.measures(site, "left", [35.9, 35.9])
    items = someone.asks()["items"]
    assert [(item["kind"], item["site"]) for item in items] == [
        ("size", "upper-arm-flexed"), ("size", "upper-arm-relaxed"),
    ]  # fmt: skip
    assert items[0]["t"]["value"] > items[1]["t"]["value"]
    assert someone.asks(muscle_id="biceps-brachii")["items"] == []


def test_what_was_done_or_measured_on_one_side_only_is_named_with_the_reason(
    lifter: Callable[..., Lifter],
) -> None:
    someone = lifter()
    someone.logs(PRESS, 3, "right", 20, 8, reps_in_reserve=2)
    someone.logs("one-arm-dumbbell-row", 3, "unspecified", 20, 8, reps_in_reserve=2)
    someone.measures("thigh-mid", "left", [58.0])
    answer = someone.asks()
    assert answer["items"] == []
    assert [
        (one.get("exercise_id") or one["site"], one["reason"]["code"]) for one in answer["not_computed"]
    ] == [
        ("one-arm-dumbbell-row", "sides_one_side_only"),
        (PRESS, "sides_one_side_only"),
        ("thigh-mid", "sides_one_side_measured"),
    ]


def test_the_answer_says_that_a_difference_is_no_injury_risk(lifter: Callable[..., Lifter]) -> None:
    answer = lifter().asks()
    assert [caution["code"] for caution in answer["cautions"]] == ["imbalance_is_measurement_not_risk"]
    assert "risk" not in answer["cautions"][0]["text"]


def test_refusals_name_what_is_missing(lifter: Callable[..., Lifter]) -> None:
    someone = lifter()
    for parameters in ({"muscle_id": "no-such-muscle"}, {"exercise_id": "no-such-lift"}):
        refused = someone.client.get(f"{someone.path}/imbalance-indices", params=parameters)
        assert (refused.status_code, refused.json()["code"]) == (409, "unknown_reference")
    withdrawn = {"purpose": "process_health", "granted": False, "text_version": "invented-1"}
    someone.client.post(f"{someone.path}/consents", json=withdrawn)
    assert someone.client.get(f"{someone.path}/imbalance-indices").status_code == 403
