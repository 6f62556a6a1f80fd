"""What the answer to weekly volume makes of a break: what was before it counts, what comes back after it is no growth."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from tests.contract.lifting import BAR_AND_PLATES, NOW, Json, Lifter, codes, lifters
from tests.world import World

CHEST = "pectoralis-major-sternal"


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def trained(
    person: Lifter, weeks: range, first: float, weekly: float, exercise: str = "bench-press"
) -> Lifter:
    """Two days in each of some weeks ago, sets by blocks of four weeks, a load that moves by so much a week."""
    for week in weeks:
        load = round(first * (1.0 + weekly) ** (weeks.start - week) / 1.25) * 1.25
        for day in (0, 3):
            for _ in range(5 if week % 8 < 4 else 2):
                person.logs(exercise, 7 * week - day, load, 8, reps_in_reserve=2)
    return person


def item_of(person: Lifter, weeks_ago: float = 0.0) -> Json:
    as_of = (NOW - timedelta(weeks=weeks_ago)).isoformat()
    (item,) = person.asks("dose-response", muscle_id=CHEST, as_of=as_of)["items"]
    found: Json = item
    return found


def test_the_weeks_before_a_break_count_and_the_break_is_named(lifter: Callable[..., Lifter]) -> None:
    """Twelve weeks, five off and three back told of 2.4 weeks alone, those in which strength came back."""
    person = trained(
        trained(lifter(BAR_AND_PLATES), range(20, 8, -1), 80.0, 0.006), range(3, 0, -1), 78.0, 0.02
    )
    item = item_of(person)
    assert 10.5 < item["weeks_seen"] < 12.0
    assert item["lift_count"] == 1
    (told,) = [one for one in item["reasons"] if one["code"] == "dose_response_break_left_out"]
    assert told["params"]["days"] == pytest.approx(39.0, abs=1.0)
    assert told["params"]["back"] == told["params"]["days"]
    assert told["text"].startswith("There was a break of 39 days")
    (moved,) = item["moved_by"]
    assert moved["weeks"] == item["weeks_seen"]
    assert "dose_response_break_left_out" in codes(moved["reasons"])
    assert "dose_response_set_aside" not in codes(moved["reasons"])


def test_strength_that_comes_back_after_a_break_is_no_growth(lifter: Callable[..., Lifter]) -> None:
    """Alike before it, one comes back fast and the other does not: that is no difference of growth."""
    slopes = []
    for weekly in (0.0, 0.04):
        person = trained(lifter(BAR_AND_PLATES), range(20, 8, -1), 80.0, 0.004)
        slopes.append(item_of(trained(person, range(3, 0, -1), 72.0, weekly))["slope"])
    still, fast = slopes
    assert fast["value"] == pytest.approx(still["value"], abs=0.2 * still["sd"])
    assert fast["sd"] == pytest.approx(still["sd"], rel=0.2)


def test_what_was_before_a_break_says_what_it_said_then(lifter: Callable[..., Lifter]) -> None:
    person = trained(lifter(BAR_AND_PLATES), range(23, 8, -1), 80.0, 0.009)
    before = item_of(person, weeks_ago=8.4)
    since = item_of(trained(person, range(3, 0, -1), 85.0, 0.0))
    assert since["weeks_seen"] == pytest.approx(before["weeks_seen"], abs=0.2)
    assert since["slope"]["value"] == pytest.approx(before["slope"]["value"], abs=0.3 * before["slope"]["sd"])
    assert since["basis"]["prior_share"] == pytest.approx(before["basis"]["prior_share"], abs=0.1)


def test_what_grew_long_after_a_break_counts_beside_what_was_before_it(lifter: Callable[..., Lifter]) -> None:
    person = trained(lifter(BAR_AND_PLATES), range(24, 16, -1), 80.0, 0.006)
    item = item_of(trained(person, range(13, 0, -1), 80.0, 0.006))
    # Eight weeks before, and thirteen after, less the three and a half that the break lasted.
    assert 15.0 < item["weeks_seen"] < 17.5
    alone = item_of(trained(lifter(BAR_AND_PLATES), range(24, 16, -1), 80.0, 0.006))
    assert item["basis"]["prior_share"] < alone["basis"]["prior_share"] < 1.0
    assert "dose_response_break_left_out" not in codes(alone["reasons"])


def test_of_a_break_that_leaves_nothing_to_read_it_is_said_too(lifter: Callable[..., Lifter]) -> None:
    person = trained(trained(lifter(BAR_AND_PLATES), range(9, 8, -1), 80.0, 0.0), range(3, 0, -1), 78.0, 0.01)
    item = item_of(person)
    assert (item["lift_count"], item["moved_by"]) == (0, [])
    assert "dose_response_break_left_out" in codes(item["reasons"])


def test_single_weeks_off_are_no_break(lifter: Callable[..., Lifter]) -> None:
    person = trained(
        trained(lifter(BAR_AND_PLATES), range(16, 9, -1), 80.0, 0.004), range(9, 0, -1), 82.0, 0.004
    )
    item = item_of(person)
    assert item["weeks_seen"] > 14.5
    assert "dose_response_break_left_out" not in codes(item["reasons"])
