"""What a log is looked back on with: lifts with a mass together, each lift on levels by itself."""

from collections.abc import Callable

import numpy as np
import pytest

from service.core.capability import AthleteModel, Line, SeriesPrior, SessionEvidence, SetEvidence
from service.core.curve import CURVE_PRIORS
from service.core.trend import change_between
from service.usecases.answers.trend_states import LookedBack

pytestmark = pytest.mark.quick

MODEL = AthleteModel(lambda _: SeriesPrior(CURVE_PRIORS["bench"]), lambda *_: 0.0, "unknown")
CRUNCH, HIP = "crunch-machine@abdominal-crunch@", "hip-abduction-machine@hip-abduction@"
SESSIONS = 20
Loads = Callable[[int], float]


def looked_back(**lifts: Loads) -> LookedBack:
    """Return ten weeks of two sessions each; lifts are named by their first word."""
    named = {"crunch": CRUNCH, "hip": HIP}
    sessions = [
        SessionEvidence(
            3.5 * number,
            tuple(
                SetEvidence(named.get(name, name), load(number), 12, 2.0, purpose="work")
                for name, load in lifts.items()
            ),
        )
        for number in range(SESSIONS)
    ]
    return LookedBack(sessions, 0.0, {}, MODEL)


def line_of(back: LookedBack, series: str) -> Line:
    line = back.of(series).line(series)
    assert line is not None
    return line


def rising(number: int) -> float:
    return 3.0 + number // 4


def falling(number: int) -> float:
    return 9.0 - number // 4


def test_a_level_is_told_the_same_whatever_other_levels_do() -> None:
    alone = line_of(looked_back(crunch=falling), CRUNCH)
    beside = line_of(looked_back(crunch=falling, hip=rising), CRUNCH)
    np.testing.assert_array_equal(beside.means, alone.means)
    np.testing.assert_array_equal(beside.weights, alone.weights)


def test_levels_stay_out_of_what_lifts_with_a_mass_share() -> None:
    alone = line_of(looked_back(row=lambda _: 60.0), "row")
    beside = line_of(looked_back(row=lambda _: 60.0, hip=rising), "row")
    np.testing.assert_array_equal(beside.means, alone.means)


def test_lifts_with_a_mass_are_looked_back_on_together() -> None:
    back = looked_back(row=lambda _: 60.0, press=lambda _: 50.0, hip=rising)
    assert back.of("row") is back.of("press") is back.weighed
    assert back.of(HIP) is back.of(HIP)
    assert set(back.weighed.end.series()) == {"row", "press"}
    assert back.of(HIP).end.series() == (HIP,)


def test_what_was_lifted_before_a_lift_began_anew_is_not_heard() -> None:
    back = looked_back(row=lambda _: 60.0)
    anew = LookedBack(back.sessions, 0.0, {"row": 35.0}, MODEL)
    assert line_of(anew, "row").days[0] == 35.0
    assert change_between(line_of(back, "row"), 0, SESSIONS - 1).mean == pytest.approx(0.0, abs=0.02)
