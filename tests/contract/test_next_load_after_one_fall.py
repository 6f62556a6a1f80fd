"""The next load right after a session that showed less than expected: it does not rise, whoever is asked."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from tests.contract.lifting import Json, Lifter, codes, lifters
from tests.world import World

LIFT = "one-leg-knee-extension"
STACK = [
    {
        "kind": "stack", "name": "Stack", "station": "knee-extension", "unit": "kg",
        "masses": [1.25 * plates for plates in range(2, 81)],
    }
]  # fmt: skip
LESS = "progression_shown_less_than_expected"
#: Nine weeks, two sessions in each. [d ago]
NINE_WEEKS = [3.5 * visit + 6.0 for visit in range(18)]


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def _log(
    person: Lifter, days_ago: float, load: float, sides: tuple[str, ...] = ("left", "right"), left: int = 2
) -> None:
    for place, side in enumerate(sides):
        for ordinal in range(3):
            said = {"ordinal": 3 * place + ordinal, "reps_in_reserve": left, "side": side}
            person.logs(LIFT, days_ago, load, 10, **said)


def _by_side(person: Lifter, answer: str = "load-progression") -> dict[str, Json]:
    return {item["side"]: item for item in person.asks(answer, exercise_id=LIFT)["items"]}


def _planned(person: Lifter) -> dict[str, list[float]]:
    items = [one for one in person.asks("next-session")["items"] if one["exercise_id"] == LIFT]
    assert len(items) == 1
    loads: dict[str, list[float]] = {}
    for one in items[0]["sets"]:
        loads.setdefault(one["side"], []).append(one["load"]["value"])
    return loads


@pytest.mark.parametrize("late", [28.75, 29.25])
def test_one_side_that_fell_yesterday_rises_nowhere(lifter: Callable[..., Lifter], late: float) -> None:
    person = lifter(STACK)
    for days_ago in NINE_WEEKS:
        _log(person, days_ago, 32.5)
    _log(person, 2.5, 32.5, ("left",))
    _log(person, 2.5, late, ("right",))
    for answer in ("load-progression", "next-set"):
        right = _by_side(person, answer)["right"]
        assert right["load"]["value"] == 28.75, answer
        assert right["action"]["code"] == ("hold_load" if late == 28.75 else "reduce_load")
        # Twelve and a half to failure were shown: so many leave what is wanted, by one line.
        assert right["reps"] <= (10 if late == 28.75 else 12), answer
        assert LESS in codes(right["reasons"])
        assert "Epley1985" in right["sources"]
        # More than two left was not shown, whatever is believed still.
        assert right["action"]["text"].endswith("leaving 1 to 3 in reserve.")
    assert max(_planned(person)["right"]) <= 28.75
    # The next usual session shows that it was the day.
    person.world.clock.instant += timedelta(days=3)
    _log(person, -2.9, 32.5)
    again = _by_side(person)["right"]
    assert LESS not in codes(again["reasons"])
    assert again["load"]["value"] >= 32.5


@pytest.mark.parametrize("late", [28.75, 28.6])
def test_a_side_that_was_never_trained_starts_no_heavier_than_the_other_has_just_shown(
    lifter: Callable[..., Lifter], late: float
) -> None:
    person = lifter(STACK)
    for days_ago in NINE_WEEKS:
        _log(person, days_ago, 32.5, ("right",))
    _log(person, 2.5, late, ("right",))
    for answer in ("load-progression", "next-set"):
        sides = _by_side(person, answer)
        assert set(sides) == {"left", "right"}
        assert all(item["load"]["value"] <= late for item in sides.values()), answer
    assert all(max(loads) <= late for loads in _planned(person).values())


def test_a_planned_easy_session_leaves_the_way_back_open(lifter: Callable[..., Lifter]) -> None:
    person = lifter(STACK)
    for days_ago in NINE_WEEKS:
        _log(person, days_ago, 32.5)
    _log(person, 2.5, 28.75, left=5)
    for item in _by_side(person).values():
        assert item["load"]["value"] > 28.75
        assert LESS not in codes(item["reasons"])


@pytest.mark.parametrize(("ended_by", "is_off"), [("target", True), ("pain", False)])
def test_sets_that_pain_ended_do_not_show_what_could_be_lifted(
    lifter: Callable[..., Lifter], ended_by: str, is_off: bool
) -> None:
    person = lifter(STACK)
    for days_ago in NINE_WEEKS:
        _log(person, days_ago, 32.5, ("right",))
    for ordinal in range(3):
        said = {"ordinal": ordinal, "reps_in_reserve": 2, "side": "right", "limited_by": ended_by}
        person.logs(LIFT, 2.5, 32.5, 6, **said)
    first = _by_side(person)["left"]
    assert (LESS in codes(first["reasons"])) == is_off
    # Six with two left show 29 kg for eight with four left, by one line.
    assert (first["load"]["value"] <= 30.0) == is_off
