"""The example in the document is what the service answers for an invented athlete, not what somebody imagined.

After a change of an answer, ``STEELYARD_WRITE_EXAMPLES=1 python -m pytest tests/contract/test_imbalance_example.py``
writes the example anew; then ``steelyard openapi --write``.
"""

import os
import pprint
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from service.web.routes.imbalance_examples import IMBALANCE
from tests.contract.comparing import PRESS, Json, compared
from tests.world import World

#: What depends on when and where the answer was made.
_PASSING = ("position", "valid_until")
SHOWN = ("symmetry_right_left", "limb_symmetry_of_dominant", "limb_symmetry_of_uninvolved")
PLACE = Path(__file__).parents[2] / "service/web/routes/imbalance_examples.py"
_HEAD = '''"""An answer as the service gave it for an invented athlete, with three of its indices; a test keeps it so."""

from service.usecases.documents import Document
'''


def shown(world: World, new_id: Callable[[], str]) -> Json:
    """Return the answer of an invented athlete whose left one-arm press is an eighth stronger."""
    someone = compared(world, new_id)(dominance={"hand": "right", "leg": "right"})
    someone.is_screened("clear")
    someone.presses(20, 22.5)
    answer = someone.asks(exercise_id=PRESS, weeks=2)
    world.clock.instant = None
    return answer


def written(answer: Any) -> str:
    """Return the module that holds an answer, with three of its indices."""
    for item in answer["items"]:
        item["indices"] = [index for index in item["indices"] if index["id"] in SHOWN]
    told = pprint.pformat(answer, width=108, compact=True, sort_dicts=False)
    return f"{_HEAD}\n# fmt: off\nIMBALANCE: Document = {told}\n"


def without(answer: Json, *names: str) -> Json:
    return {name: value for name, value in answer.items() if name not in names}


def test_the_example_is_the_services_own_answer(shared_world: World, new_id: Callable[[], str]) -> None:
    answer: Any = shown(shared_world, new_id)
    if os.environ.get("STEELYARD_WRITE_EXAMPLES"):
        PLACE.write_text(written(answer), "utf-8")
        pytest.skip("written anew")
    assert without(IMBALANCE, "items", *_PASSING) == without(answer, "items", *_PASSING)
    for told, made in zip(IMBALANCE["items"], answer["items"], strict=True):
        assert without(told, "indices") == without(made, "indices")
        by_id = {index["id"]: index for index in made["indices"]}
        assert told["indices"]
        assert all(by_id[index["id"]] == index for index in told["indices"])
