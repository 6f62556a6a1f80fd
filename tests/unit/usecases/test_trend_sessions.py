"""Which sets of a log tell strength, so that a trend may begin with them."""

from typing import Any

import pytest

from service.core.capability import SetEvidence
from service.usecases.answers.trend_sessions import Done, telling

pytestmark = pytest.mark.quick


def done(session: str = "1", place: int = 0, *, range_: str = "full", **said: Any) -> Done:
    evidence = SetEvidence(**{"series": "row", "load_kg": 60.0, "reps": 8.0, "purpose": "work", **said})
    return Done("row", session, (place, 0.0), float(session), evidence, range_, "any")


@pytest.mark.parametrize("said", [{"purpose": "warm_up"}, {"purpose": "bound"}, {"stage": 1}])
def test_what_only_bounds_strength_tells_none(said: dict[str, Any]) -> None:
    work = done("2")
    assert telling([done("1", **said), work]) == [work]


def test_an_inferred_warm_up_tells_none_and_its_session_does() -> None:
    sets = [done(place=1, load_kg=30.0, purpose="unknown"), done(place=2, purpose="unknown")]
    assert telling(sets) == sets[1:]


def test_a_side_that_stopped_with_the_first_one_stands_with_it() -> None:
    sets = [done(place=1, side="left"), done(place=2, side="right")]
    assert telling(sets) == sets


def test_a_side_that_stopped_with_a_warm_up_tells_none() -> None:
    assert not telling([done(place=1, side="left", purpose="warm_up"), done(place=2, side="right")])


def test_sets_in_another_range_make_no_warm_up_of_others() -> None:
    sets = [done(place=1, load_kg=30.0, purpose="unknown"), done(place=2, range_="top_half")]
    assert telling(sets) == sets
