"""Trends of lifts on levels over HTTP: no lift's number goes up or down by what another's does."""

from collections.abc import Callable

import pytest

from tests.contract.lifting import Json, Lifter, lifters
from tests.world import World

LABELS = [str(number) for number in range(1, 16)]
STATIONS = ("hip-abduction", "abdominal-crunch", "knee-extension")
STACKS = [{"kind": "levels", "name": one, "station": one, "labels": LABELS} for one in STATIONS]
WEEKS = 12
RISING, FALLING, STANDING = (lambda week: 3 + week // 2), (lambda week: 9 - week // 2), (lambda _: 6)


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def trained(person: Lifter, exercise_id: str, level: Callable[[int], int], **said: str) -> None:
    """Log a set of 12 with 2 in reserve twice a week, the newest a day ago."""
    sets = []
    for week in range(WEEKS):
        for day in (1.0, 4.0):
            ago = 7.0 * (WEEKS - 1 - week) + day
            body = person.did(exercise_id, ago, 0, 12, reps_in_reserve=2, level=str(level(week)), **said)
            del body["load"]
            sets.append({**body, "id": person.new_id(), "load_basis": "level"})
    kept = person.client.post(f"{person.path}/sets", json={"sets": sets})
    assert kept.status_code == 201, kept.text


def told(person: Lifter, exercise_id: str) -> Json:
    (item,) = person.asks("trends", exercise_id=exercise_id)["items"]
    chances: Json = {name: item[name] for name in ("state", "p_progress", "p_regression", "p_stall")}
    return chances


@pytest.mark.parametrize("level", [FALLING, STANDING])
def test_a_rising_level_of_another_machine_is_no_progress(
    lifter: Callable[..., Lifter], level: Callable[[int], int]
) -> None:
    """Levels share no mass, so what the abduction machine's number grew by says nothing of the crunch machine's."""
    alone, beside = lifter(STACKS), lifter(STACKS)
    for person in (alone, beside):
        trained(person, "crunch-machine", level)
    trained(beside, "hip-abduction-machine", RISING)
    assert told(beside, "hip-abduction-machine")["state"] == "progress"
    assert told(beside, "crunch-machine")["state"] != "progress"
    assert told(beside, "crunch-machine") == told(alone, "crunch-machine")


def test_lifts_on_levels_that_were_looked_back_on_alone_are_pooled(lifter: Callable[..., Lifter]) -> None:
    """One of both legs and one of each: the hypotheses that they stand under differ in number."""
    person = lifter(STACKS)
    trained(person, "knee-extension", RISING)
    for side in ("left", "right"):
        trained(person, "one-leg-knee-extension", RISING, side=side)
    answer = person.asks("trends", muscle_id="rectus-femoris", side="both")
    lifts = [item for item in answer["items"] if item["scope"] == "exercise"]
    muscles = [item for item in answer["items"] if item["scope"] == "muscle"]
    assert {item["state"] for item in lifts} == {"progress"}
    assert [set(item["exercise_ids"]) for item in muscles] == [{"knee-extension", "one-leg-knee-extension"}]
    assert muscles[0]["state"] == "progress"
    assert answer["easier_week"]["suggestion"] != "consider_now"
