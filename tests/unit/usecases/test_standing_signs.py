"""How long a told warning sign stands."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from service.usecases.answers.standing_signs import standing_signs
from service.usecases.records.log import Checkin, Pain, Soreness

pytestmark = pytest.mark.quick

NOW = datetime(2026, 11, 27, 18, 20, tzinfo=UTC)


def told(days_ago: float, *flags: str, **places: Any) -> Checkin:
    pain = [Pain(region=region, side=side, during=1) for region, side in places.items()]
    return Checkin(at=NOW - timedelta(days=days_ago), flags=list(flags), pain=pain)


def standing(*checkins: Checkin, cleared: float | None = None) -> list[tuple[str, str | None]]:
    given = None if cleared is None else NOW - timedelta(days=cleared)
    found = standing_signs(
        checkins, NOW - timedelta(days=14), lambda one: given is not None and given > one.at
    )
    return [(one.code, one.region) for one in found]


LOCKING = told(3, "locking", knee="right")


def test_a_check_in_about_something_else_answers_no_sign() -> None:
    sore = Checkin(at=NOW, soreness=[Soreness(muscle_id="soleus", score=2)])
    assert standing(LOCKING, sore) == [("locking", "knee")]
    assert standing(LOCKING, told(1, shoulder="right")) == [("locking", "knee")]
    assert standing(LOCKING, told(1, "swelling", wrist="left")) == [
        ("locking", "knee"),
        ("swelling", "wrist"),
    ]


@pytest.mark.parametrize(
    ("side", "stands"), [("right", False), ("both", False), ("left", True), (None, True)]
)
def test_a_later_check_in_about_the_region_and_side_without_the_sign_answers_it(
    side: str | None, stands: bool
) -> None:
    assert bool(standing(LOCKING, told(1, knee=side))) is stands


def test_the_sign_told_again_stands_again() -> None:
    assert standing(LOCKING, told(2, knee="right"), told(1, "locking", knee="right")) == [("locking", "knee")]
    assert standing(LOCKING, told(1, "swelling", knee="right")) == [("swelling", "knee")]


def test_each_region_that_was_told_with_a_sign_is_answered_by_itself() -> None:
    both = told(3, "giving_way", knee="right", ankle="right")
    assert standing(both, told(1, ankle="right")) == [("giving_way", "knee")]


def test_a_sign_without_a_region_stands_until_the_same_sign_names_one() -> None:
    nowhere = told(3, "locking")
    assert standing(nowhere, told(2, knee="right")) == [("locking", None)]
    assert standing(nowhere, told(2, "locking", knee="right")) == [("locking", "knee")]
    assert standing(nowhere, told(2, "locking", knee="right"), told(1, knee="right")) == []


def test_signs_stand_for_a_window_and_until_a_clearance_given_since() -> None:
    assert standing(told(13.9, "locking", knee="right")) == [("locking", "knee")]
    assert standing(told(14.1, "locking", knee="right")) == []
    assert standing(LOCKING, cleared=1) == []
    assert standing(LOCKING, cleared=4) == [("locking", "knee")]


def test_a_sign_of_the_whole_body_is_answered_by_no_check_in() -> None:
    assert standing(told(3, "chest_pain", chest=None), told(1, chest=None)) == [("chest_pain", "chest")]


def test_pain_named_without_a_number_answers_no_sign() -> None:
    named = Checkin(at=NOW, pain=[Pain(region="knee", side="right")])
    assert standing(LOCKING, named) == [("locking", "knee")]
