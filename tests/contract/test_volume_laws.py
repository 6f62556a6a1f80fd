"""What must not change a week's hard sets, whatever was logged: units, batches, order, pairs; and sides mirrored."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.contract.lifting import BAR_AND_PLATES, NOW, Json, Lifter, lifters
from tests.world import World

LIFTS = ("bench-press", "barbell-curl", "one-arm-dumbbell-row", "plank")
MIRROR = {"left": "right", "right": "left"}
done = st.lists(
    st.fixed_dictionaries(
        {
            "exercise_id": st.sampled_from(LIFTS),
            "kg": st.integers(4, 60).map(lambda quarter: quarter * 1.25),
            "count": st.integers(1, 20),
            "reserve": st.none() | st.integers(0, 6),
            "side": st.sampled_from(["left", "right"]),
            "purpose": st.sampled_from(["work", "unknown", "warm_up", "technique"]),
            "session": st.integers(0, 1),
        }
    ),
    min_size=1,
    max_size=8,
)


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[[], Lifter]:
    make = lifters(shared_world, new_id)
    return lambda: make(BAR_AND_PLATES)


def bodies(
    sets: list[dict[str, Any]], pound: bool = False, mirror: bool = False, paired: bool = False
) -> list[Json]:
    found: list[Json] = []
    pairs = [str(uuid4()) for _ in sets]
    for number, said in enumerate(sets):
        at = NOW.replace(hour=8 + 4 * said["session"], minute=2 * number)
        body: Json = {
            "exercise_id": said["exercise_id"], "performed_at": at.isoformat(), "ordinal": number,
            "purpose": said["purpose"], "reps_in_reserve": said["reserve"],
        }  # fmt: skip
        if said["exercise_id"] == "plank":
            body["hold_s"] = 4.0 * said["count"]
        else:
            value = round(said["kg"] / 0.45359237, 3) if pound else said["kg"]
            body |= {"reps": said["count"], "load": {"value": value, "unit": "lb" if pound else "kg"}}
        if said["exercise_id"].startswith("one-arm"):
            body["side"] = MIRROR[said["side"]] if mirror else said["side"]
        if paired:
            body |= {"pair_id": pairs[number // 2], "pair_order": number % 2 + 1}
        found.append({key: value for key, value in body.items() if value is not None})
    return found


def sent(person: Lifter, sets: list[Json], size: int) -> None:
    for start in range(0, len(sets), size):
        operations = [
            {"op": "put", "type": "set", "id": str(uuid4()), "body": one}
            for one in sets[start : start + size]
        ]
        answer = person.client.post(f"{person.path}/operations", json={"operations": operations})
        assert answer.status_code == 200, answer.text


def doses(person: Lifter) -> dict[tuple[str, str], float]:
    items = person.asks("volume")["items"]
    return {(one["muscle_id"], one["side"]): one["hard_sets"]["value"] for one in items}


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(done, st.integers(1, 8), st.randoms(use_true_random=False))
def test_units_batches_order_and_pairs_change_nothing_and_sides_mirror(
    lifter: Callable[[], Lifter], sets: list[dict[str, Any]], size: int, chance: Any
) -> None:
    person = lifter()
    sent(person, bodies(sets), len(sets))
    usual = doses(person)
    shuffled = bodies(sets)
    chance.shuffle(shuffled)
    for others, per_batch in (
        (shuffled, size),
        (bodies(sets, pound=True), size),
        (bodies(sets, paired=True), 8),
    ):
        other = lifter()
        sent(other, others, per_batch)
        assert doses(other) == pytest.approx(usual, abs=2e-3)
    mirrored = lifter()
    sent(mirrored, bodies(sets, mirror=True), 8)
    swapped = {(muscle, MIRROR.get(side, side)): dose for (muscle, side), dose in doses(mirrored).items()}
    assert swapped == pytest.approx(usual, abs=2e-3)
