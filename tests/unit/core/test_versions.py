"""A plan's numbers follow from other models' numbers, so its version rises with theirs."""

import pytest

from service.core import capability, planning, progression, recovery, tolerance
from service.core.volume import thresholds, weekly_dose

pytestmark = pytest.mark.quick

#: What `next-session` is made of, and the versions that its own was last raised with.
NEXT_SESSION = "next-session/2"
RAISED_WITH = {
    "capability/5",
    "dose-response/5",
    "load-progression/5",
    "recovery/4",
    "tolerance/4",
    "volume/4",
}


def test_the_next_session_rises_with_every_model_that_it_rests_on() -> None:
    rests_on = (capability, progression, recovery, tolerance, thresholds, weekly_dose)
    now = {model.MODEL_VERSION for model in rests_on}
    why = "another model's answers changed: raise planning.MODEL_VERSION, then both names here"
    assert now == RAISED_WITH, why
    assert planning.MODEL_VERSION == NEXT_SESSION, why
