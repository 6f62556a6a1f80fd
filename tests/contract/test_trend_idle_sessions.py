"""Sessions that tell no strength: warm-ups, technique, rehab, reduced days and lone drops begin no trend and end none."""

from collections.abc import Callable

import pytest

from tests.contract.lifting import BAR_AND_PLATES, Json, Lifter, codes, lifters
from tests.world import World

DAYS = [7 * week + day for week in range(6, -1, -1) for day in (4, 1)]
IDLE: tuple[Json, ...] = (
    {"purpose": "warm_up"},
    {"purpose": "technique"},
    {"purpose": "rehab"},
    {"purpose": "reduced"},
    {"stage": 1},
)


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def rising(person: Lifter) -> None:
    for number, day in enumerate(DAYS):
        person.logs("bench-press", day, 80.0 + 1.25 * number, 8, reps_in_reserve=2)


def of_lift(answer: Json) -> Json:
    found = [item for item in answer["items"] if item["scope"] == "exercise"]
    assert len(found) == 1
    item: Json = found[0]
    return item


@pytest.mark.parametrize("said", IDLE)
def test_a_first_session_that_tells_no_strength_takes_no_trend_away(
    lifter: Callable[..., Lifter], said: Json
) -> None:
    person = lifter(BAR_AND_PLATES)
    rising(person)
    before = of_lift(person.asks("trends"))
    person.logs("bench-press", 50, 40, 8, **said)
    told = of_lift(person.asks("trends"))
    assert told["state"] == before["state"] == "progress"
    assert told["change"]["value"] == pytest.approx(before["change"]["value"], abs=1.0)
    assert (told["sessions"], told["from"]) == (before["sessions"], before["from"]) == (14, before["from"])
    (left_out,) = [one for one in told["reasons"] if one["code"] == "trend_no_work"]
    assert left_out["params"] == {"sessions": 1}
    muscle = person.asks("dose-response", muscle_id="pectoralis-major-sternal")["items"][0]
    assert muscle["lift_count"] == 1


def test_newest_sets_in_another_range_that_tell_nothing_change_no_depth(
    lifter: Callable[..., Lifter],
) -> None:
    person = lifter(BAR_AND_PLATES)
    rising(person)
    before = of_lift(person.asks("trends"))
    person.logs("bench-press", 0.2, 40, 8, purpose="technique", range="top_half")
    told = of_lift(person.asks("trends"))
    assert told["change"] == before["change"]
    assert codes(told["reasons"]) == {"trend_progress", "trend_no_work"}


def test_a_session_in_two_ranges_is_followed_in_the_last_ones(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    rising(person)
    person.logs("bench-press", 0.2, 97.5, 8, reps_in_reserve=2)
    person.logs("bench-press", 0.1, 110, 8, reps_in_reserve=2, range="top_half")
    told = of_lift(person.asks("trends"))
    assert "change" not in told
    assert {"trend_depth_changed", "trend_too_few"} <= codes(told["reasons"])


def test_a_log_of_nothing_but_warm_ups_says_so(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for day in DAYS:
        person.logs("bench-press", day, 40, 8, purpose="warm_up")
    for item in person.asks("trends")["items"]:
        assert (item["state"], item["sessions"]) == ("not_decided", 0)
        assert codes(item["reasons"]) == {"trend_no_work", "trend_too_few"}


def test_a_trend_after_a_break_begins_with_work_and_not_with_rehab(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for week in range(24, 14, -1):
        person.logs("bench-press", 7 * week + 1, 100, 8, reps_in_reserve=2)
    for week in range(9, 5, -1):
        person.logs("bench-press", 7 * week + 1, 40, 8, purpose="rehab")
    for week in range(5, -1, -1):
        for day in (4, 1):
            person.logs("bench-press", 7 * week + day, 80 - 4 * week, 8, reps_in_reserve=2)
    told = of_lift(person.asks("trends", weeks=12))
    assert (told["sessions"], told["state"]) == (12, "progress")
    assert told["change"]["value"] > 10.0
    assert "trend_no_work" in codes(told["reasons"])
