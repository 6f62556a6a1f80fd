"""An emergency, a closed gate or an age stands with every answer about a body, before anything else that it says."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from tests.contract.lifting import BAR_AND_PLATES, NOW, Json, Lifter, codes, lifters
from tests.world import World

ANSWERS = (
    "volume", "dose-response", "recovery", "tolerance", "trends", "imbalance-indices", "muscle-ratios", "capability",
)  # fmt: skip
#: `trends` speaks of signs and ages; that a gate is closed it leaves to the plans that it closes.
ABOUT_THE_GATE = tuple(name for name in ANSWERS if name != "trends")


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def benched(person: Lifter) -> Lifter:
    for days_ago in (9, 6, 3):
        person.logs("bench-press", days_ago, 80, 8, reps_in_reserve=2)
    return person


def cautions(person: Lifter, answer: str) -> list[Json]:
    told = person.asks(answer)
    # What can be lifted is told lift by lift, and so is what stands with it.
    (found,) = [item["cautions"] for item in told["items"]] if answer == "capability" else [told["cautions"]]
    return list(found)


@pytest.mark.parametrize("answer", ANSWERS)
def test_an_emergency_sign_comes_first_in_every_answer(lifter: Callable[..., Lifter], answer: str) -> None:
    person = benched(lifter(BAR_AND_PLATES))
    assert all(one["urgency"] == "heed" for one in cautions(person, answer))
    body = {"at": (NOW - timedelta(hours=1)).isoformat(), "flags": ["chest_pain"]}
    assert person.client.put(f"{person.path}/checkins/{person.new_id()}", json=body).status_code == 201
    first = cautions(person, answer)[0]
    assert (first["code"], first["urgency"]) == ("flag_chest_pain", "emergency")


@pytest.mark.parametrize("answer", ABOUT_THE_GATE)
def test_a_referral_stands_with_every_answer(lifter: Callable[..., Lifter], answer: str) -> None:
    person = benched(lifter(BAR_AND_PLATES))
    assert "clearance_needed" not in codes(cautions(person, answer))
    person.is_screened("referred", performed_on="2026-11-26")
    assert "clearance_needed" in codes(cautions(person, answer))


@pytest.mark.parametrize("answer", ANSWERS)
def test_somebody_not_grown_up_is_told_to_be_supervised(lifter: Callable[..., Lifter], answer: str) -> None:
    person = benched(lifter(BAR_AND_PLATES, birth_year=2012))
    assert "minor_supervised" in codes(cautions(person, answer))
