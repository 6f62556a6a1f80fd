"""The example in the document is what the service answers for an invented athlete, not what somebody imagined."""

from collections.abc import Callable
from typing import Any

from service.web.routes.imbalance_examples import IMBALANCE
from tests.contract.comparing import PRESS, Json, compared
from tests.world import World

#: What depends on when and where the answer was made.
_PASSING = ("position", "valid_until")


def shown(world: World, new_id: Callable[[], str]) -> Json:
    """Return the answer of an invented athlete whose left one-arm press is an eighth stronger."""
    someone = compared(world, new_id)(dominance={"hand": "right", "leg": "right"})
    someone.presses(20, 22.5)
    answer = someone.asks(exercise_id=PRESS, weeks=2)
    world.clock.instant = None
    return answer


def without(answer: Json, *names: str) -> Json:
    return {name: value for name, value in answer.items() if name not in names}


def test_the_example_is_the_services_own_answer(shared_world: World, new_id: Callable[[], str]) -> None:
    answer: Any = shown(shared_world, new_id)
    assert without(IMBALANCE, "items", *_PASSING) == without(answer, "items", *_PASSING)
    for told, made in zip(IMBALANCE["items"], answer["items"], strict=True):
        assert without(told, "indices") == without(made, "indices")
        by_id = {index["id"]: index for index in made["indices"]}
        assert told["indices"]
        assert all(by_id[index["id"]] == index for index in told["indices"])
