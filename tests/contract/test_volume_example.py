"""The example in the document is what the service answers for an invented athlete, not what somebody imagined.

After a change of an answer, ``STEELYARD_WRITE_EXAMPLES=1 python -m pytest tests/contract/test_volume_example.py`` writes
the example anew; then ``steelyard openapi --write``.
"""

import os
import pprint
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from service.web.routes.volume_examples import VOLUME
from tests.contract.lifting import BAR_AND_PLATES, Json, lifters
from tests.world import World

#: What depends on when and where the answer was made.
_PASSING = ("position", "valid_until")
PLACE = Path(__file__).parents[2] / "service/web/routes/volume_examples.py"
_HEAD = '''"""An answer as the service gave it for an invented athlete, its ids aside; a test keeps it so."""

from service.usecases.documents import Document
'''


def asked(world: World, new_id: Callable[[], str]) -> Json:
    """Return the week of an invented athlete's triceps: a press, a pressdown with a drop, a warm-up and practice."""
    person = lifters(world, new_id)(BAR_AND_PLATES)
    session = person.visits(2.0)
    at = 1.99

    def did(exercise: str, load: float, reps: int, **said: object) -> str:
        nonlocal at
        at -= 0.002
        set_id = person.new_id()
        body = person.did(exercise, at, load, reps, session_id=session, **said)
        person.client.put(f"{person.path}/sets/{set_id}", json=body).raise_for_status()
        return set_id

    did("bench-press", 40, 8, purpose="warm_up")
    did("bench-press", 80, 8, reps_in_reserve=2)
    did("bench-press", 80, 8)
    did("cable-pressdown", 20, 12, purpose="technique")
    first = did("cable-pressdown", 30, 12, to_failure=True)
    did("cable-pressdown", 20, 9, stage=1, stage_of=first)
    answer = person.asks("volume", muscle_id="triceps-lateral-head", detail="full")
    ids: dict[str, str] = {}
    for item in answer["items"]:
        stages = [stage for one in item["sets"] for stage in one.get("stages", ())]
        for one in (*item["sets"], *stages, *item["not_counted"]):
            one["set_id"] = ids.setdefault(one["set_id"], f"01937b5c-7a00-7000-8000-0000000002{len(ids):02d}")
        for one in item["sessions"]:
            one["session_id"] = "01937b5c-7a00-7000-8000-000000000020"
    answer["items"] = answer["items"][:1]
    return {**answer, "position": "42"}


def without(answer: Json) -> Json:
    return {name: value for name, value in answer.items() if name not in _PASSING}


def test_the_example_is_the_services_own_answer(shared_world: World, new_id: Callable[[], str]) -> None:
    answer = asked(shared_world, new_id)
    if os.environ.get("STEELYARD_WRITE_EXAMPLES"):
        told = pprint.pformat(answer, width=108, compact=True, sort_dicts=False)
        PLACE.write_text(f"{_HEAD}\n# fmt: off\nVOLUME: Document = {told}\n", "utf-8")
        pytest.skip("written anew")
    assert near(without(answer), without(VOLUME)) == without(VOLUME)


def near(found: Any, shown: Any) -> Any:
    """Return what was found, with numbers that are near the shown ones in their place."""
    if isinstance(shown, dict) and isinstance(found, dict):
        return {name: near(value, shown.get(name)) for name, value in found.items()}
    if isinstance(shown, list) and isinstance(found, list) and len(shown) == len(found):
        return [near(one, other) for one, other in zip(found, shown, strict=True)]
    if isinstance(shown, float) and found == pytest.approx(shown, rel=1e-3, abs=1e-3):
        return shown
    return found
