"""What is asked of an earlier day knows no operation that was told of later."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from tests.contract.lifting import FIVE_POUND_STEPS, NOW, Json, Lifter, lifters
from tests.world import World

PRESS = "one-arm-overhead-press"


@pytest.fixture
def person(shared_world: World, new_id: Callable[[], str]) -> Lifter:
    return lifters(shared_world, new_id)(FIVE_POUND_STEPS)


def loads(person: Lifter, days_ago: float) -> list[Json]:
    as_of = (NOW - timedelta(days=days_ago)).isoformat()
    items = person.asks("capability", exercise_id=PRESS, as_of=as_of)["items"]
    return [item["loads"] for item in items]


def test_an_operation_told_today_changes_today_and_not_last_month(person: Lifter) -> None:
    for days_ago in (60, 50, 40, 30, 20):
        person.logs(PRESS, days_ago, 12, 10, side="left", reps_in_reserve=1)
        person.logs(PRESS, days_ago, 12, 9, side="right", reps_in_reserve=1)
    then, now = loads(person, 15), loads(person, 0)
    told = {
        "instrument": "invented", "instrument_version": "1", "performed_on": NOW.date().isoformat(), "outcome": "clear",
        "procedures": [{"region": "shoulder", "side": "left", "performed_on": "2020-05-05"}],
    }  # fmt: skip
    kept = person.client.post(f"{person.path}/screenings", json=told)
    assert kept.status_code == 201, kept.text
    assert loads(person, 15) == then
    assert loads(person, 0) != now
