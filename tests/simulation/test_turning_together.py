"""All of an athlete's lifts turn together: told as a fall, and not as days that were off."""

from math import exp

import numpy as np

from service.core.capability import AthleteModel, Retrospect, SeriesPrior, SessionEvidence, SetEvidence
from service.core.curve import CURVE_PRIORS
from service.core.trend import change_between

BENCH = CURVE_PRIORS["bench"]


def together(fall: float, seed: int, weeks: int = 8) -> list[float]:
    """Return what is told of four lifts that stood still for sixteen weeks and then fell by so much in eight [ln]."""
    rng, lifts, sessions = (
        np.random.default_rng(seed),
        {"press": 75.0, "squat": 105.0, "row": 62.5, "pull": 97.5},
        [],
    )
    for number in range(2 * (16 + weeks)):
        week = 0.5 * number
        truth = -fall * max(week - 16.0, 0.0) / weeks
        day = rng.normal(0.0, 0.02)
        sets = [
            SetEvidence(name, load * exp(truth), 8, reserve_at(day + rng.normal(0.0, 0.012)), purpose="work")
            for name, load in lifts.items()
            for _ in range(3)
        ]
        sessions.append(SessionEvidence(7.0 * week, tuple(sets)))
    back = Retrospect(
        sessions[:32], sessions[32:], AthleteModel(lambda _: SeriesPrior(BENCH), lambda *_: 0.0, "trained")
    )
    lines = [line for name in lifts if (line := back.line(name))]
    return [change_between(line, 0, len(line.days) - 1).mean for line in lines]


def reserve_at(off: float) -> float:
    """Return the whole reserve that a set of eight leaves where ten are possible, on a day that is so far off [ln]."""
    return float(max(0, round(2.0 + off * 33.0)))


def test_a_slow_fall_of_all_lifts_is_no_run_of_bad_days() -> None:
    """Of 6 % in eight weeks a third was told, of 12 % two thirds: days that were off for all lifts explained the rest."""
    for fall, least in ((0.06, 0.03), (0.12, 0.085)):
        told = [mean for seed in range(4) for mean in together(fall, seed)]
        assert -1.1 * fall < np.mean(told) < -least
    flat = [mean for seed in range(4) for mean in together(0.0, seed)]
    assert abs(np.mean(flat)) < 0.01
