"""What weekly volume does, over HTTP: the population's numbers for a newcomer, moved by a log, and from a body alone."""

from collections.abc import Callable
from datetime import timedelta
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
    assert moved["model_version"] == "dose-response/1"


def test_lists_of_other_lengths_are_named_by_their_place(lifter: Callable[..., Lifter]) -> None:
    answer = computed(lifter(BAR_AND_PLATES), {"series": [SERIES, {**SERIES, "weeks": [4]}]})
    assert answer.status_code == 409
    (fault,) = answer.json()["errors"]
    assert fault["pointer"] == "#/series/1/weeks"
