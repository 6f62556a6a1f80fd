"""Looking back: later sets correct what was believed before, and never make it less sure."""

from math import exp, log

import numpy as np
import pytest

from service.core.capability import (
    AthleteModel,
    SeriesPrior,
    SessionEvidence,
    SetEvidence,
    begin,
    fold,
    forecast,
    smooth,
)
from service.core.curve import CURVE_PRIORS, log_ratio_at

pytestmark = pytest.mark.quick

MODEL = AthleteModel(lambda _: SeriesPrior(CURVE_PRIORS["bench"]), lambda _, __: 0.0)
LN_K, BEND = CURVE_PRIORS["bench"].mean_ln_k, CURVE_PRIORS["bench"].b


def training(generator: np.random.Generator, sessions: int = 30) -> tuple[list[SessionEvidence], list[float]]:
    """Sets to failure of an invented athlete whose strength and loads rise by a fifth, with the day's ups and downs."""
    told, truth = [], []
    for number in range(sessions):
        strength = log(100.0) + 0.2 * number / sessions
        day = generator.normal(0.0, 0.035)
        sets = []
        for share in (0.70, 0.725):
            load = 100.0 * share * exp(0.2 * number / sessions)
            z = strength + day + generator.normal(0.0, 0.015) - log(load)
            n = 1.0 + np.exp(LN_K) * np.expm1(BEND * z) / BEND
            sets.append(SetEvidence("press", load, int(max(n, 0.0)), to_failure=True))
        told.append(SessionEvidence(3.5 * number, tuple(sets)))
        truth.append(strength - log_ratio_at(12.0, LN_K, BEND))
    return told, truth


def test_the_last_point_is_what_the_filter_knows() -> None:
    sessions, _ = training(np.random.default_rng(1))
    points = smooth(begin(), sessions, MODEL, "press", repetitions=12.0)
    end = forecast(fold(begin(), sessions, MODEL), "press", sessions[-1].day, same_session=True)
    assert end is not None
    assert points[-1].ln_load == pytest.approx(end.ln_load_for(12.0)[0], rel=1e-9)
    assert points[-1].sd <= end.ln_load_for(12.0)[1]
    assert [point.day for point in points] == [session.day for session in sessions]


def test_looking_back_is_never_less_sure_than_looking_ahead() -> None:
    sessions, _ = training(np.random.default_rng(2))
    points = smooth(begin(), sessions, MODEL, "press", repetitions=12.0)
    state = begin()
    for session, point in zip(sessions, points, strict=True):
        state = fold(state, (session,), MODEL)
        then = forecast(state, "press", session.day, same_session=True)
        assert then is not None
        assert point.sd <= then.ln_load_for(12.0)[1] * (1.0 + 1e-9)


def test_looking_back_tells_changes_more_truly() -> None:
    """The change over eight weeks: what the curve is off by is in both ends, and falls away."""
    ahead, back = [], []
    for seed in range(8):
        sessions, truth = training(np.random.default_rng(10 + seed))
        points = smooth(begin(), sessions, MODEL, "press", repetitions=12.0)
        state, then = begin(), []
        for session in sessions:
            state = fold(state, (session,), MODEL)
            found = forecast(state, "press", session.day, same_session=True)
            assert found is not None
            then.append(found.ln_load_for(12.0)[0])
        for early in range(len(sessions) - 16):
            true = truth[early + 16] - truth[early]
            ahead.append(then[early + 16] - then[early] - true)
            back.append(points[early + 16].ln_load - points[early].ln_load - true)
    assert np.sqrt(np.mean(np.square(back))) < 0.75 * np.sqrt(np.mean(np.square(ahead)))
    assert np.sqrt(np.mean(np.square(back))) < 0.03


def test_a_series_without_sets_has_no_points() -> None:
    sessions, _ = training(np.random.default_rng(3), 3)
    assert smooth(begin(), sessions, MODEL, "row") == ()
    assert smooth(begin(), [], MODEL, "press") == ()
