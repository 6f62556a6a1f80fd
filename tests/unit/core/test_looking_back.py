"""The hypotheses that a log is looked back on with: who comes back to training among them."""

import numpy as np
import pytest

from service.core.capability import AthleteModel, Line, Retrospect, SeriesPrior, SessionEvidence, SetEvidence
from service.core.capability.looking_back import (
    LOOKING_BACK,
    OF_BOTH_LIMBS,
    OF_SIDES,
    RETURNING,
    RISING,
    STEADY,
    begin_looking_back,
    walked,
)
from service.core.capability.parameters import WEIGHTS, Training
from service.core.curve import CURVE_PRIORS
from service.core.trend import change_between

pytestmark = pytest.mark.quick

BENCH = CURVE_PRIORS["bench"]
WEEKS = 22


def line_of(ln_gains: list[float], start_kg: float, step_kg: float, told: Training = "unknown") -> Line:
    """Return the last eight weeks of a lift done twice a week, its loads told as the nearest step."""
    sessions = []
    for number, gain in enumerate(ln_gains):
        load = max(round(start_kg * np.exp(gain) / step_kg), 1) * step_kg
        sets = tuple(SetEvidence("press", float(load), 8, 2.0) for _ in range(3))
        sessions.append(SessionEvidence(3.5 * number, sets))
    model = AthleteModel({"press": SeriesPrior(BENCH)}.__getitem__, lambda *_: 0.0, told)
    line = Retrospect(sessions[:-16], sessions[-16:], model).line("press")
    assert line is not None
    return line


def saturating(gain: float, half_life_weeks: float) -> list[float]:
    return [gain * (1.0 - 0.5 ** (0.5 * number / half_life_weeks)) for number in range(2 * WEEKS)]


def test_shares_of_the_hypotheses_add_up() -> None:
    for training in ("novice", "trained", "unknown"):
        weights = begin_looking_back(training).weights
        assert weights.sum() == pytest.approx(1.0)
        assert weights[RISING] == pytest.approx(WEIGHTS[training][1])
    for within in (OF_BOTH_LIMBS, OF_SIDES):
        for kind in (STEADY, RISING, RETURNING):
            assert sum(one.share for one in within if one.before == kind) == pytest.approx(1.0)


def test_who_regains_in_weeks_is_told_from_who_learns_for_months() -> None:
    back, learning = line_of(saturating(0.25, 2.5), 60.0, 0.5), line_of(saturating(0.45, 9.0), 60.0, 0.5)
    assert back.kinds[RETURNING] > learning.kinds[RETURNING]
    assert learning.novice > back.novice


def test_what_was_regained_before_the_window_is_not_told_as_progress_in_it() -> None:
    line = line_of(saturating(0.25, 2.5), 60.0, 0.5)
    assert abs(change_between(line, 0, len(line.days) - 1).mean) < 0.03


def test_more_can_change_in_more_weeks_under_every_hypothesis() -> None:
    few, many = walked(2.0), walked(8.0)
    assert few.shape == (len(LOOKING_BACK),)
    assert (few < many).all()
    assert few[STEADY] < min(few[RISING], few[RETURNING])


@pytest.mark.parametrize("reserve", [0.0, 2.0, None])
def test_a_fall_that_all_lifts_share_is_told_as_one(reserve: float | None) -> None:
    """80 kg x 8 for a month and 60 kg x 8 since, of two lifts: this used to be told as -2 %, the curves having gone flat."""
    sessions = [
        SessionEvidence(
            3.0 * number,
            tuple(
                SetEvidence(series, 80.0 if number < 9 else 60.0, 8, reserve, purpose="work")
                for series in ("press", "pull")
            ),
        )
        for number in range(16)
    ]
    model = AthleteModel(lambda _: SeriesPrior(BENCH), lambda *_: 0.0, "trained")
    line = Retrospect([], sessions, model).line("press", "both", 8.0)
    assert line is not None
    change = change_between(line, 0, len(line.days) - 1)
    assert -0.3 < change.mean < -0.08
    assert change.quantile(0.9) < -0.03


@pytest.mark.parametrize(("weekly", "least", "most"), [(0.0, -0.02, 0.02), (-0.01, -0.12, -0.05)])
def test_a_novices_lift_that_does_not_rise_is_not_carried_up_by_those_that_do(
    weekly: float, least: float, most: float
) -> None:
    """Ten weeks of one lift that stands still or falls by 1 %, beside three that rise by 3 % of their start a week."""
    risings = {"press": weekly, "squat": 0.03, "pull": 0.03, "row": 0.03}
    sessions = [
        SessionEvidence(
            day,
            tuple(
                SetEvidence(name, 2.5 * round(32.0 * (1.0 + rate * (day // 7.0))), 8, 2.0)
                for name, rate in risings.items()
                for _ in range(3)
            ),
        )
        for day in (7.0 * week + day for week in range(10) for day in (0.0, 2.0, 4.0))
    ]
    model = AthleteModel(lambda _: SeriesPrior(BENCH), lambda *_: 0.0, "novice")
    line = Retrospect((), sessions, model).line("press")
    assert line is not None
    assert least < change_between(line, 0, len(line.days) - 1).mean < most
