"""Ratios of opposing muscles over HTTP: one device and mode only, and everything else with its reason."""

from collections.abc import Callable, Iterator
from math import log, sqrt
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from service.reports.charts import number
from service.web.routes.muscle_ratios_examples import MUSCLE_RATIOS
from tests.contract.lifting import BAR_AND_PLATES, Json, Lifter, codes, lifters
from tests.world import World

CURL, PRESSDOWN = "one-arm-cable-curl", "one-arm-cable-pressdown"
#: z of the 80 % interval.
_Z = 1.2815515655


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Iterator[Callable[..., Lifter]]:
    yield lifters(shared_world, new_id)
    shared_world.clock.instant = None


def _trains(
    person: Lifter, exercise_id: str, load: float, sides: tuple[str, ...] = ("left", "right"), **said: Any
) -> None:
    for days_ago in (24, 17, 10, 3):
        for ordinal, side in enumerate(sides):
            person.logs(
                exercise_id, days_ago, load, 10, side=side, reps_in_reserve=1, ordinal=ordinal, **said
            )


@pytest.fixture
def curler(lifter: Callable[..., Lifter]) -> Lifter:
    """Four weeks of one-arm curls with 15 kg and pressdowns with 20 kg at one cable, ten repetitions, one left."""
    person = lifter(BAR_AND_PLATES)
    _trains(person, CURL, 15)
    _trains(person, PRESSDOWN, 20)
    return person


def test_opposing_lifts_at_one_cable_have_a_ratio_a_side(curler: Lifter) -> None:
    answer = curler.asks("muscle-ratios")
    assert [(one["pair"], one["side"]) for one in answer["items"]] == [
        ("elbow_flexion_extension", "left"), ("elbow_flexion_extension", "right"),
    ]  # fmt: skip
    for item in answer["items"]:
        assert item["device"]["name"] == "cable"
        assert (item["over"]["exercise_id"], item["under"]["exercise_id"]) == (CURL, PRESSDOWN)
        ratio = item["ratio"]
        assert ratio["value"] == pytest.approx(15 / 20, rel=0.05)
        assert ratio["interval"]["lower"] < 15 / 20 < ratio["interval"]["upper"]
        assert "ratios_device_alike" in codes(item["reasons"])
        assert "ratios_no_cut" in codes(item["cautions"])
    assert answer["model_version"] == "muscle-ratios/1"


def test_the_interval_is_that_of_both_forecasts(curler: Lifter) -> None:
    """Independent errors add in squares on the log scale."""
    for item in curler.asks("muscle-ratios")["items"]:
        halves = [
            log(item[name]["load"]["interval"]["upper"] / item[name]["load"]["interval"]["lower"]) / 2
            for name in ("over", "under")
        ]
        interval = item["ratio"]["interval"]
        half = log(interval["upper"] / interval["lower"]) / 2
        # Ratios are told to four places: that is what the two ends can be off by.
        rounded = 0.5 * 5e-5 * (1.0 / interval["lower"] + 1.0 / interval["upper"])
        assert half == pytest.approx(sqrt(sum(one * one for one in halves)), abs=rounded + 1e-5)
        loads = [item[name]["load"]["value"] for name in ("over", "under")]
        assert item["ratio"]["value"] == pytest.approx(loads[0] / loads[1], rel=1e-3)


def test_a_change_of_unit_and_of_repetitions_leaves_the_ratio_near_itself(curler: Lifter) -> None:
    plain, in_pounds = (curler.asks("muscle-ratios", **asked)["items"][0] for asked in ({}, {"unit": "lb"}))
    assert plain["ratio"] == in_pounds["ratio"]
    assert in_pounds["over"]["load"]["unit"] == "lb"
    at_five = curler.asks("muscle-ratios", reps=5)["items"][0]
    assert at_five["reps"] == 5
    assert "ratios_extrapolated" in codes(at_five["reasons"])
    assert at_five["ratio"]["value"] == pytest.approx(plain["ratio"]["value"], rel=0.03)


def test_lifts_of_different_machines_are_refused(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    _trains(person, "one-leg-knee-extension", 40)
    _trains(person, "one-leg-leg-curl", 25)
    answer = person.asks("muscle-ratios")
    assert answer["items"] == []
    (refused,) = answer["not_computed"]
    assert refused["pair"] == "knee_flexion_extension"
    assert refused["reason"]["code"] == "ratios_mixed_devices"
    named = {"over_exercise_id": "one-leg-leg-curl", "under_exercise_id": "one-leg-knee-extension"}
    problem = person.asks("muscle-ratios", 409, **named)
    assert problem["code"] == "not_possible"
    assert problem["errors"][0]["code"] == "mixed_devices"


def test_the_same_station_in_two_gyms_is_two_devices(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    other = person.site_with(BAR_AND_PLATES)
    _trains(person, CURL, 15)
    for days_ago in (9, 2):
        session = person.visits(days_ago, other)
        for side in ("left", "right"):
            person.logs(PRESSDOWN, days_ago, 20, 10, side=side, reps_in_reserve=1, session_id=session)
    (refused,) = person.asks("muscle-ratios")["not_computed"]
    assert refused["reason"]["code"] == "ratios_mixed_devices"


def test_one_multi_gym_station_told_in_the_set_up_is_one_device(lifter: Callable[..., Lifter]) -> None:
    """Knee extension and curl on one combined machine, told as the same station."""
    person = lifter(BAR_AND_PLATES)
    _trains(person, "one-leg-knee-extension", 40, set_up={"station": "combined-leg-machine"})
    _trains(person, "one-leg-leg-curl", 25, set_up={"station": "combined-leg-machine"})
    items = person.asks("muscle-ratios")["items"]
    assert {item["device"]["name"] for item in items} == {"combined-leg-machine"}
    assert [item["ratio"]["value"] for item in items] == pytest.approx([0.625, 0.625], rel=0.06)


def test_one_limb_against_both_is_a_mixed_mode(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    _trains(person, CURL, 15)
    _trains(person, "cable-pressdown", 40, sides=("both",))
    (refused,) = person.asks("muscle-ratios")["not_computed"]
    assert refused["reason"]["code"] == "ratios_mixed_modes"


def test_a_lift_without_its_opposite_says_what_is_missing(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    _trains(person, CURL, 15)
    (refused,) = person.asks("muscle-ratios")["not_computed"]
    assert refused["reason"]["code"] == "ratios_opposite_missing"
    assert "elbow extension" in refused["reason"]["text"]


@pytest.mark.parametrize(
    ("named", "status", "code"),
    [
        ({"over_exercise_id": CURL}, 409, "one_of_two"),
        ({"over_exercise_id": CURL, "under_exercise_id": "nowhere"}, 409, "unknown_exercise"),
        ({"over_exercise_id": CURL, "under_exercise_id": "cable-fly"}, 409, "not_in_log"),
        ({"over_exercise_id": PRESSDOWN, "under_exercise_id": CURL}, 409, "not_opposing"),
    ],
)
def test_named_lifts_that_cannot_be_compared_are_refused_in_words(
    curler: Lifter, named: Json, status: int, code: str
) -> None:
    problem = curler.asks("muscle-ratios", status, **named)
    assert problem["errors"][0]["code"] == code


def test_as_of_uses_only_what_had_happened(curler: Lifter) -> None:
    before = curler.asks("muscle-ratios", as_of="2026-11-04T12:00:00Z")
    assert (
        before["items"][0]["over"]["basis"]["observation_count"]
        < (curler.asks("muscle-ratios")["items"][0]["over"]["basis"]["observation_count"])
    )
    assert curler.asks("muscle-ratios", as_of="2026-10-01T12:00:00Z")["items"] == []


def test_the_chart_tells_the_numbers_of_the_answer(curler: Lifter) -> None:
    items = curler.asks("muscle-ratios")["items"]
    drawn = curler.client.get(f"{curler.path}/muscle-ratios", params={"format": "svg"})
    assert drawn.headers["content-type"] == "image/svg+xml"
    told = str(ET.fromstring(drawn.text).findtext("{http://www.w3.org/2000/svg}desc"))  # noqa: S314
    for item in items:
        ratio, ends = item["ratio"]["value"], item["ratio"]["interval"]
        numbers = f"{number(ratio)} ({number(ends['lower'])} to {number(ends['upper'])})"
        assert f"{item['side']}: elbow flexion over elbow extension: {numbers}, 10 reps, cable." in told


def test_no_sentence_of_a_ratio_judges(curler: Lifter) -> None:
    told = str(curler.asks("muscle-ratios")).lower()
    for claim in ("weak", "balanced", "healthy", "normal", "at risk", "poor", "should be"):
        assert claim not in told


def test_the_example_of_the_document_is_what_this_athlete_gets(curler: Lifter) -> None:
    answer = curler.asks("muscle-ratios")
    for shown, item in zip(MUSCLE_RATIOS["items"], answer["items"], strict=True):
        assert shown["ratio"]["value"] == pytest.approx(item["ratio"]["value"], rel=0.02)
        assert shown["ratio"]["interval"]["upper"] == pytest.approx(
            item["ratio"]["interval"]["upper"], rel=0.02
        )
        assert codes(shown["reasons"]) == codes(item["reasons"])
