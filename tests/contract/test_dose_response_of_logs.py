"""Which sets of a log speak in the answer to weekly volume: levels, breaks, one side, other muscles."""

from collections.abc import Callable
from typing import Any

import pytest

from tests.contract.lifting import BAR_AND_PLATES, Json, Lifter, codes, lifters
from tests.world import World

CHEST = "pectoralis-major-sternal"


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def item_of(person: Lifter, muscle: str) -> Json:
    (item,) = person.asks("dose-response", muscle_id=muscle)["items"]
    found: Json = item
    return found


def keeps_size(answer: Json) -> Json:
    (found,) = [one for one in answer["thresholds"] if one["criterion"] == "keeps_size"]
    told: Json = found
    return told


def trained(person: Lifter, exercise: str, weeks: range, sets: int, gain: float = 0.0, **said: Any) -> Lifter:
    """So many sets on one day of each of some weeks ago, the load rising with the weeks."""
    for week in weeks:
        load = round(40.0 * (1.0 + gain) ** (weeks.start - week) * 4.0) / 4.0
        for _ in range(sets):
            person.logs(exercise, 7 * week, load, 10, reps_in_reserve=1, **said)
    return person


def test_levels_of_a_machine_say_nothing_of_growth(lifter: Callable[..., Lifter]) -> None:
    """A pin that went from 2 to 3 was read as 41 % of strength."""
    person = lifter(BAR_AND_PLATES)
    before = {muscle: item_of(person, muscle) for muscle in ("gluteus-medius", CHEST)}
    for week in range(20, 0, -1):
        body = person.did("hip-abduction-machine", 7 * week, 1, 12, reps_in_reserve=2)
        del body["load"]
        for _ in range(4 if week % 8 < 4 else 8):
            person.sends({**body, "level": "2" if week > 9 else "3"})
    item = item_of(person, "gluteus-medius")
    assert (item["lift_count"], item["moved_by"]) == (0, [])
    assert item["slope"] == before["gluteus-medius"]["slope"]
    (left_out,) = [one for one in item["reasons"] if one["code"] == "dose_response_levels_left_out"]
    assert left_out["params"] == {"lifts": 1}
    assert item["recent_weekly_hard_sets"] > 3.0
    elsewhere = item_of(person, CHEST)
    assert elsewhere["slope"] == before[CHEST]["slope"]
    assert "dose_response_levels_left_out" not in codes(elsewhere["reasons"])


def test_what_keeps_size_does_not_fall_because_training_stopped(lifter: Callable[..., Lifter]) -> None:
    """At 65 years and 8 sets a week it fell from 2.67 to 1.11 over eight weeks off."""
    going = trained(lifter(BAR_AND_PLATES, birth_year=1961), "bench-press", range(16, 0, -1), 8)
    stopped = trained(lifter(BAR_AND_PLATES, birth_year=1961), "bench-press", range(24, 8, -1), 8)
    told, since = (item_of(person, CHEST) for person in (going, stopped))
    assert since["recent_weekly_hard_sets"] == pytest.approx(told["recent_weekly_hard_sets"], rel=0.02)
    value = keeps_size(since)["weekly_hard_sets"]["value"]
    assert value == pytest.approx(since["recent_weekly_hard_sets"] / 3.0, rel=1e-3)
    assert value > 2.0


def test_volume_says_that_its_thresholds_are_other_peoples(lifter: Callable[..., Lifter]) -> None:
    person = trained(lifter(BAR_AND_PLATES), "bench-press", range(6, 0, -1), 4)
    thresholds = person.asks("volume")["thresholds"]
    assert all("volume_threshold_of_other_people" in codes(one["reasons"]) for one in thresholds)
    assert all(
        "volume_threshold_of_other_people" not in codes(one["reasons"])
        for one in item_of(person, CHEST)["thresholds"]
    )


def test_a_muscle_that_other_muscles_moved_is_not_called_other_peoples(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    newcomer = item_of(person, "soleus")
    assert "dose_response_population_only" in codes(newcomer["reasons"])
    for week in range(23, 0, -1):
        load = round(80.0 * 1.012 ** (23 - week) / 1.25) * 1.25
        for _ in range(12 if week % 8 < 4 else 4):
            person.logs("bench-press", 7 * week, load, 8, reps_in_reserve=2)
    item = item_of(person, "soleus")
    assert item["slope"] != newcomer["slope"]
    assert item["basis"]["prior_share"] < 1.0
    assert "dose_response_population_only" not in codes(item["reasons"])
    (moved,) = [one for one in item["reasons"] if one["code"] == "dose_response_moved_by_other_muscles"]
    assert moved["params"] == {"lifts": 1}


def test_a_lift_of_one_side_is_heard_with_the_sets_of_that_side(lifter: Callable[..., Lifter]) -> None:
    """With the mean of both sides the left alone seemed to have got half of its sets."""
    weeks, lift = range(20, 0, -1), "one-leg-knee-extension"
    left = trained(lifter(BAR_AND_PLATES), lift, weeks, 6, 0.01, side="left")
    both = trained(
        trained(lifter(BAR_AND_PLATES), lift, weeks, 6, 0.01, side="left"), lift, weeks, 6, 0.01, side="right"
    )
    one, two = (item_of(person, "vastus-lateralis") for person in (left, both))
    assert one["recent_weekly_hard_sets"] == pytest.approx(two["recent_weekly_hard_sets"], rel=0.02)
    assert one["slope"]["value"] == pytest.approx(two["slope"]["value"], rel=0.1)
    assert keeps_size(one)["weekly_hard_sets"]["value"] == pytest.approx(
        keeps_size(two)["weekly_hard_sets"]["value"], rel=0.02
    )


@pytest.mark.parametrize("sets", [2, 5, 10])
def test_a_lift_that_fell_by_a_fifth_at_one_dose_leaves_the_answer_wide(
    lifter: Callable[..., Lifter], sets: int
) -> None:
    """The fall was read as one by e^-5: a slope of 13 % [12, 14], -49 % without sets and +45 % at 52."""
    person = lifter(BAR_AND_PLATES)
    usual = item_of(person, CHEST)
    for week in range(15, -1, -1):
        for day in (1, 4):
            for at in range(sets):
                person.logs(
                    "bench-press", 7 * week + day - 0.003 * at, 80.0 + 1.2 * week, 8, reps_in_reserve=1
                )
    told = item_of(person, CHEST)
    assert told["lift_count"] == 1
    assert 0.4 * usual["slope"]["value"] < told["slope"]["value"] < 1.1 * usual["slope"]["value"]
    assert told["slope"]["sd"] > 0.5 * usual["slope"]["sd"]
    assert told["p_downturn"] < 0.12
    assert "peak" not in told
    growth = {point["weekly_hard_sets"]: point["growth"]["value"] for point in told["curve"]}
    assert growth[0] < 0.0 < growth[6] < growth[52] < 8.0
    (gain,) = [one for one in told["thresholds"] if one["criterion"] == "detectable_gain"]
    interval = gain["weekly_hard_sets"]["interval"]
    assert interval["upper"] > 3.0 * interval["lower"]


def test_volume_and_dose_response_count_the_same_weeks_alike(lifter: Callable[..., Lifter]) -> None:
    """What was told of effort before the window tells strength in both: one had counted by the window's sets alone."""
    person = lifter(BAR_AND_PLATES)
    for week in range(45, 0, -1):
        said = {"reps_in_reserve": 4} if week > 30 else {}
        for _ in range(4):
            person.logs("bench-press", 7 * week - 3, 80, 8, **said)
    weekly = [
        one["hard_sets"]["value"]
        for one in person.asks("volume", muscle_id=CHEST, weeks=13)["items"]
        if one["side"] == "both"
    ][:-1]
    assert len(weekly) == 12
    assert item_of(person, CHEST)["recent_weekly_hard_sets"] == pytest.approx(sum(weekly) / 12, abs=1e-3)
