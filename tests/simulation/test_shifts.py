"""Strength that has moved at once and stays, among lifters whose days and sets differ by chance."""

from collections.abc import Callable
from random import Random

import numpy as np
import pytest

from service.core.capability import (
    AthleteModel,
    AthleteState,
    CapabilityForecast,
    SeriesPrior,
    SessionEvidence,
    SetEvidence,
    begin,
    fold,
    forecast,
)
from service.core.capability.layout import STRENGTH_MORE
from service.core.capability.parameters import TRAINED
from service.core.curve import CURVE_PRIORS

LIFT = "lift"
GAP, BEFORE, REPS = 3.5, 18, 10
#: What a repetition near ten is worth, of the sd of days and of sets as they are drawn. [ln]
A_REPETITION, DAY_SD, SET_SD = 0.028, 0.03, 0.018
MODEL = AthleteModel({LIFT: SeriesPrior(CURVE_PRIORS["bench"])}.__getitem__, lambda *_: 0.0)


def noisy(seed: int, sessions: int, load: Callable[[int], float]) -> list[SessionEvidence]:
    """Return sessions of one lift, three sets of some ten repetitions, two told to be left."""
    rng, found = Random(seed), []
    for at in range(sessions):
        day = rng.gauss(0.0, DAY_SD)
        reps = [max(1, round(REPS + (day + rng.gauss(0.0, SET_SD)) / A_REPETITION)) for _ in range(3)]
        found.append(SessionEvidence(GAP * at, tuple(SetEvidence(LIFT, load(at), one, 2.0) for one in reps)))
    return found


def known(state: AthleteState) -> CapabilityForecast:
    found = forecast(state, LIFT, float(state.athlete[1]) + GAP)
    assert found is not None
    return found


def test_a_lift_that_falls_at_once_takes_its_maximum_with_it() -> None:
    """A sixth less at the same repetitions and reserve: read into the curve it made the maximum rise by a third."""
    twelves, maxima = [], []
    for seed in range(30):
        even = known(fold(begin("trained"), noisy(seed, BEFORE, lambda _: 80.0), MODEL))
        sessions = noisy(seed, BEFORE + 10, lambda at: 80.0 if at < BEFORE else 68.0)
        fallen = known(fold(begin("trained"), sessions, MODEL))
        twelves.append(fallen.ln_load_for(12)[0] - even.ln_load_for(12)[0])
        maxima.append(fallen.one_rep_max().value / even.one_rep_max().value)
    assert np.mean(twelves) == pytest.approx(np.log(68.0 / 80.0), abs=0.03)
    assert np.mean(maxima) < 1.0


def test_chance_is_seldom_taken_for_a_shift() -> None:
    """In 4,000 sessions of lifters who stand still, after their first ten."""
    taken = 0
    for seed in range(100):
        state = begin("trained")
        for number, session in enumerate(noisy(1000 + seed, 50, lambda _: 80.0)):
            state = fold(state, (session,), MODEL)
            taken += number >= 10 and state.notes[0, STRENGTH_MORE] > 0.1 * TRAINED.jump_sd**2
    assert taken <= 0.01 * 4000
