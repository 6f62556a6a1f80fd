"""What invented athletes can lift, asked for over HTTP."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.world import World

Json = dict[str, Any]
NOW = datetime(2026, 11, 27, 18, 20, tzinfo=UTC)


class Lifter:
    """An invented athlete of a tenant of their own."""

    def __init__(self, client: TestClient, new_id: Callable[[], str], athlete: Json) -> None:
        self.client, self.new_id = client, new_id
        self.path = f"/v1/athletes/{new_id()}"
        said = {"time_zone": "Europe/Riga", "training_years": 4, **athlete}
        assert client.put(self.path, json=said).status_code == 201
        consent = {"purpose": "process_health", "granted": True, "text_version": "invented-1"}
        assert client.post(f"{self.path}/consents", json=consent).status_code == 201

    def logs(self, exercise_id: str, days_ago: float, load: float | None, reps: int, **said: Any) -> None:
        body = {
            "exercise_id": exercise_id, "performed_at": (NOW - timedelta(days=days_ago)).isoformat(), "reps": reps,
            "purpose": "work", **said,
        }  # fmt: skip
        if load is not None:
            body["load"] = {"value": load, "unit": "kg"}
        kept = self.client.put(f"{self.path}/sets/{self.new_id()}", json=body)
        assert kept.status_code == 201, kept.text

    def weighs(self, kilograms: float) -> None:
        body = {
            "kind": "body_mass", "at": (NOW - timedelta(days=20)).isoformat(), "mass": {"value": kilograms, "unit": "kg"},
        }  # fmt: skip
        assert self.client.put(f"{self.path}/measurements/{self.new_id()}", json=body).status_code == 201

    def asks(self, status: int = 200, **parameters: Any) -> Json:
        got = self.client.get(f"{self.path}/capability", params=parameters)
        assert got.status_code == status, got.text
        found: Json = got.json()
        return found

    def can(self, **parameters: Any) -> Json:
        items = self.asks(**parameters)["items"]
        assert len(items) == 1
        item: Json = items[0]
        return item


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    shared_world.clock.instant = NOW

    def make(**athlete: Any) -> Lifter:
        return Lifter(shared_world.signed_in(), new_id, athlete)

    return make


def codes(told: list[Json]) -> set[str]:
    return {one["code"] for one in told}


def loads(item: Json) -> list[float]:
    return [row["load"]["value"] for row in item["loads"]]


def test_more_repetitions_mean_less_load_and_the_interval_widens_away_from_training(
    lifter: Callable[..., Lifter],
) -> None:
    person = lifter()
    for days_ago in (12, 9, 6, 3):
        person.logs("bench-press", days_ago, 80, 8, reps_in_reserve=2)
    item = person.can()
    assert [row["reps"] for row in item["loads"]] == [1, 5, 8, 10, 12, 15, 20, 25]
    assert loads(item) == sorted(loads(item), reverse=True)
    widths = {
        row["reps"]: (row["load"]["interval"]["upper"] - row["load"]["interval"]["lower"])
        / row["load"]["value"]
        for row in item["loads"]
    }
    assert widths[10] < widths[1]
    assert widths[10] < widths[20]
    flagged = {row["reps"] for row in item["loads"] if row["extrapolated"]}
    assert flagged == {1, 15, 20, 25}
    assert item["trained_repetitions"] == 8
    assert 80 < loads(item)[2] < 100
    assert (item["basis"]["observation_count"], item["basis"]["newest_at"]) == (4, "2026-11-24T18:20:00Z")


def test_a_wider_mass_gives_a_wider_interval_and_the_same_value(lifter: Callable[..., Lifter]) -> None:
    person = lifter()
    person.logs("bench-press", 3, 80, 8, reps_in_reserve=2)
    narrow, wide = (person.can(reps=8, mass=mass)["loads"][0]["load"] for mass in (0.8, 0.95))
    assert narrow["value"] == wide["value"]
    assert (
        wide["interval"]["lower"]
        < narrow["interval"]["lower"]
        < narrow["interval"]["upper"]
        < wide["interval"]["upper"]
    )
    assert (narrow["interval"]["mass"], wide["interval"]["mass"]) == (0.8, 0.95)


def test_pounds_are_the_same_loads(lifter: Callable[..., Lifter]) -> None:
    person = lifter(unit="lb")
    person.logs("bench-press", 3, 80, 8, reps_in_reserve=2)
    pounds, kilograms = person.can(reps=8), person.can(reps=8, unit="kg")
    assert (pounds["loads"][0]["load"]["unit"], kilograms["loads"][0]["load"]["unit"]) == ("lb", "kg")
    assert loads(pounds)[0] * 0.45359237 == pytest.approx(loads(kilograms)[0], abs=0.001)


def test_a_lift_of_the_body_is_answered_in_what_is_added_or_taken_off(lifter: Callable[..., Lifter]) -> None:
    """Scenario 10: 80 kg of body; +10 kg x 5 to failure is 86 kg in all, and what is answered is the 10."""
    person = lifter()
    person.weighs(80)
    for days_ago in (9, 6, 3):
        person.logs("pull-up", days_ago, 10, 5, to_failure=True)
    item = person.can(reps=[5, 30])
    five, thirty = item["loads"]
    assert five["load_basis"] == "added"
    assert 7 <= five["load"]["value"] <= 14
    assert thirty["load_basis"] == "assistance"
    assert thirty["load"]["value"] > 0
    interval = thirty["load"]["interval"]
    assert interval["lower"] < thirty["load"]["value"] < interval["upper"]
    assert 6 < item["repetitions_without_load"]["value"] < 12
    assert "load_progression_body_mass_unknown" not in codes(item["reasons"])


def test_an_unknown_body_mass_is_said_and_widens(lifter: Callable[..., Lifter]) -> None:
    known, unknown = lifter(), lifter()
    known.weighs(75)
    for person in (known, unknown):
        person.logs("pull-up", 3, 10, 5, to_failure=True)
    widths = []
    for person in (known, unknown):
        interval = person.can(reps=5)["loads"][0]["load"]["interval"]
        widths.append(interval["upper"] - interval["lower"])
    assert widths[0] < widths[1]
    assert "load_progression_body_mass_unknown" in codes(unknown.can(reps=5)["reasons"])


def test_missing_effort_is_said_and_never_read_as_failure(lifter: Callable[..., Lifter]) -> None:
    """Scenario 4: eight sessions of 60 kg x 10 without effort; ten repetitions with 60 to 68 kg, at least 8 % wide."""
    person = lifter()
    for session in range(8):
        person.logs("bench-press", 3 + 3.5 * session, 60, 10)
    item = person.can(reps=10)
    load = item["loads"][0]["load"]
    assert 60 <= load["value"] <= 68
    assert (load["interval"]["upper"] - load["interval"]["lower"]) / load["value"] >= 0.08
    assert "capability_effort_assumed" in codes(item["reasons"])


def test_unflagged_warm_ups_do_not_poison_capability(lifter: Callable[..., Lifter]) -> None:
    """Scenario 5: 20 x 10, 60 x 5, 80 x 3, then 100 x 8 with 2 left, against the last set alone, within 2 %."""
    alone, whole = lifter(), lifter()
    for ordinal, (load, reps) in enumerate(((20, 10), (60, 5), (80, 3))):
        whole.logs("bench-press", 3 - ordinal / 500, load, reps, ordinal=ordinal, purpose="unknown")
    for person in (alone, whole):
        person.logs("bench-press", 3 - 4 / 500, 100, 8, reps_in_reserve=2, ordinal=4, purpose="unknown")
    ratio = loads(whole.can(reps=8))[0] / loads(alone.can(reps=8))[0]
    assert 0.98 <= ratio <= 1.02


def test_each_side_is_answered_and_one_can_be_asked(lifter: Callable[..., Lifter]) -> None:
    person = lifter()
    for days_ago in (9, 6, 3):
        person.logs("one-arm-overhead-press", days_ago, 15, 12, side="left", reps_in_reserve=1)
        person.logs("one-arm-overhead-press", days_ago, 15, 8, side="right", reps_in_reserve=1, ordinal=1)
    left, right = person.asks(reps=10)["items"]
    assert (left["side"], right["side"]) == ("left", "right")
    assert loads(left)[0] > loads(right)[0]
    assert person.can(reps=10, side="right") == right


def test_an_unlogged_lift_is_guessed_from_a_known_one_or_refused(lifter: Callable[..., Lifter]) -> None:
    person = lifter()
    person.logs("bench-press", 3, 100, 8, reps_in_reserve=2)
    guessed = person.can(exercise_id="close-grip-bench-press", reps=8)
    assert guessed["basis"] == {"observation_count": 0, "prior_share": 1}
    assert 70 <= loads(guessed)[0] <= 110
    assert person.asks(status=409, exercise_id="pull-up")["code"] == "nothing_to_compute_on"
    assert person.asks(side="left")["items"] == []


def test_an_earlier_instant_knows_only_what_had_happened(lifter: Callable[..., Lifter]) -> None:
    person = lifter()
    person.logs("bench-press", 9, 80, 8, reps_in_reserve=2)
    then = (NOW - timedelta(days=5)).isoformat()
    before = person.asks(as_of=then)
    person.logs("bench-press", 3, 100, 8, reps_in_reserve=2)
    after = person.asks(as_of=then)
    assert before["items"] == after["items"]
    assert person.asks(as_of=(NOW - timedelta(days=10)).isoformat())["items"] == []


@pytest.mark.parametrize(
    ("parameters", "fault"),
    [
        ({"mass": 0.4}, "mass"),
        ({"reps": 0}, "reps"),
        ({"unit": "stone"}, "unit"),
        ({"as_of": "yesterday"}, "as_of"),
    ],
)
def test_parameters_outside_their_bounds_are_named(
    lifter: Callable[..., Lifter], parameters: Json, fault: str
) -> None:
    refused = lifter().asks(status=422, **parameters)
    assert fault in refused["errors"][0]["parameter"]
