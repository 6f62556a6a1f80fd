"""What pain asks for reaches every answer that names a load: the next one, the next session's. All people are invented."""

from collections.abc import Callable
from typing import Any

import pytest

from tests.contract.lifting import FIVE_POUND_STEPS, Json, Lifter, codes, lifters
from tests.world import World

CURL = "dumbbell-curl"


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def curled_by_sides(person: Lifter, days: tuple[float, ...] = (10, 7, 4, 1), **newest: Any) -> None:
    """Log a two-sided lift as some do: a set of the left and one of the right, each with its side."""
    for day in days:
        for ordinal in range(3):
            for place, side in enumerate(("left", "right")):
                said = newest if day == days[-1] and side == "left" else {}
                person.logs(
                    CURL, day - 0.003 * ordinal - 0.001 * place, 30, 10, unit="lb", side=side,
                    reps_in_reserve=2, **said,
                )  # fmt: skip


def planned(person: Lifter, exercise_id: str) -> Json:
    (item,) = [one for one in person.asks("next-session")["items"] if one["exercise_id"] == exercise_id]
    found: Json = item
    return found


def working(item: Json, side: str | None = None) -> list[Json]:
    return [one for one in item["sets"] if not one["ramp"] and side in {None, one["side"]}]


def pain(region: str, during: float, side: str = "left") -> list[Json]:
    return [{"region": region, "side": side, "during": during}]


def test_pain_takes_load_off_a_two_sided_lift_whose_sets_name_a_side(lifter: Callable[..., Lifter]) -> None:
    person = lifter(FIVE_POUND_STEPS)
    curled_by_sides(person, pain=pain("elbow", 5))
    item = person.next(exercise_id=CURL)
    assert (item["policy"], item["action"]["code"]) == ("reduce_load", "reduce_load")
    assert item["load"]["value"] == pytest.approx(9.072)  # 20 lb of the 30 lb that hurt
    assert item["sets"] == 3
    assert "tolerance_pain_middle_zone" in codes(item["reasons"])
    sets = working(planned(person, CURL))
    assert len(sets) == 3
    assert all(one["load"]["value"] == pytest.approx(9.072) for one in sets)


def test_a_two_sided_lift_done_by_sides_is_no_first_time_and_its_rounds_are_its_sets(
    lifter: Callable[..., Lifter],
) -> None:
    person = lifter(FIVE_POUND_STEPS)
    curled_by_sides(person)
    item = person.next(exercise_id=CURL)
    assert item["action"]["code"] in {"repeat", "add_repetitions"}
    assert (item["sets"], item["load"]["label"]) == (3, "30 lb")
    assert "progression_first_time" not in codes(item["cautions"])
    session = person.visits(0.02)
    for place, side in enumerate(("left", "right")):
        person.logs(
            CURL, 0.015 - 0.001 * place, 30, 10, unit="lb", side=side, reps_in_reserve=2, session_id=session
        )
    (then,) = person.asks("next-set", exercise_id=CURL, session_id=session)["items"]
    assert (then["sets_done"], then["sets"]) == (1, 2)
