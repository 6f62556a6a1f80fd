"""What recovery learns, against a brute-force grid over loss and decay time, and against sums done day by day."""

from dataclasses import replace

import numpy as np
import pytest

from service.core.recovery import SYSTEMIC, TRUNK, Asked, NextSeen, learn
from service.core.recovery.fatigue import (
    LOSS_PERSON_LOG_SD,
    LOSS_SESSION_LOG_SD,
    PRIOR_BELIEF,
    TAU_LOG_SD,
)
from service.core.recovery.kernels import decayed_sums
from service.core.recovery.learning import (
    ATHLETE_BIAS_SD,
    LIFT_BIAS_SD,
    NOISE_PRIOR,
    SAME_LIFT,
    SAME_LIFT_DAYS,
    TRUST,
    taken_in,
)

pytestmark = pytest.mark.quick


def _athlete(seed: int, ln_loss: float, tau_h: float, count: int) -> tuple[list[Asked], list[NextSeen]]:
    """One lift, one muscle: sessions at odd intervals, what each asked, and the gaps at the next."""
    rng = np.random.default_rng(seed)
    days = np.cumsum(rng.choice([1.0, 1.5, 2.0, 3.0], size=count))
    losses = rng.choice([2.0, 3.5, 5.0], size=count)
    asked = [
        Asked("quads", side, float(day), float(loss))
        for day, loss in zip(days, losses, strict=True)
        for side in ("left", "right")
    ]
    lost = []
    for day in days[1:]:
        earlier = days < day
        lost.append(np.exp(ln_loss) * losses[earlier] @ np.exp(-(day - days[earlier]) * 24.0 / tau_h))
    blank = [NextSeen(float(day), "squat", 0.0, 1.2, {"quads": 1.0}) for day in days[1:]]
    gaps = -taken_in(blank) @ np.array(lost) + rng.normal(0, 1.2, size=count - 1)
    seen = [replace(one, gap=float(gap)) for one, gap in zip(blank, gaps, strict=True)]
    return asked, seen


def _on_a_grid(asked: list[Asked], seen: list[NextSeen]) -> tuple[np.ndarray, np.ndarray]:
    """Return mean and covariance of ln loss and ln tau, every step written anew."""
    days = np.array([one.day for one in seen])
    thens, losses = np.array([(one.day, one.loss) for one in asked if one.side == "left"]).T
    gaps = np.array([one.gap for one in seen])
    since = days[:, None] - thens
    asked_then = np.where((since > 0.0) & (since <= 10.0), losses, 0.0)

    def lost(ln_loss: float, ln_tau: float) -> np.ndarray:
        scale = np.exp(ln_loss + 0.5 * LOSS_SESSION_LOG_SD**2)
        # What is yet to come has lost nothing, and must not grow without bounds.
        return scale * (asked_then * np.exp(-np.maximum(since, 0.0) * 24.0 / np.exp(ln_tau))).sum(axis=1)

    draws = np.random.default_rng(0).normal(size=(2, 4000))
    usual = np.mean(
        [
            lost(PRIOR_BELIEF.ln_loss + LOSS_PERSON_LOG_SD * a, PRIOR_BELIEF.ln_tau + TAU_LOG_SD * b)
            for a, b in draws.T[:400]
        ],
        axis=0,
    )
    variance = 1.2**2 + (LOSS_SESSION_LOG_SD * usual) ** 2
    near = SAME_LIFT * np.exp(-np.abs(days[:, None] - days) / SAME_LIFT_DAYS)
    np.fill_diagonal(near, 1.0)
    noise = near * np.sqrt(np.outer(variance, variance)) + LIFT_BIAS_SD**2 + ATHLETE_BIAS_SD**2
    inverse, follows = np.linalg.inv(noise), taken_in(seen)
    x = np.linspace(-4.0, 4.0, 61)
    grid = [
        (PRIOR_BELIEF.ln_loss + LOSS_PERSON_LOG_SD * a, PRIOR_BELIEF.ln_tau + TAU_LOG_SD * b, a, b)
        for a in x
        for b in x
    ]
    squares = []
    for ln_loss, ln_tau, _, _ in grid:
        off = gaps + follows @ lost(ln_loss, ln_tau)
        squares.append(off @ inverse @ off)
    scale = (NOISE_PRIOR + min(squares)) / (NOISE_PRIOR + len(seen)) / TRUST
    log_weight = np.array(
        [-0.5 * (square / scale + a * a + b * b) for square, (_, _, a, b) in zip(squares, grid, strict=True)]
    )
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    points = np.array([(one[0], one[1]) for one in grid])
    mean = weight @ points
    off = points - mean
    return mean, (weight[:, None] * off).T @ off


@pytest.mark.parametrize(
    ("seed", "ln_loss", "tau_h", "count"),
    [(1, -0.1, 28.0, 40), (2, 0.3, 45.0, 40), (3, -0.4, 20.0, 25), (4, 0.1, 30.0, 12)],
)
def test_the_posterior_is_that_of_a_brute_force_grid(
    seed: int, ln_loss: float, tau_h: float, count: int
) -> None:
    asked, seen = _athlete(seed, ln_loss, tau_h, count)
    belief = learn(asked, seen, ["quads"])["quads"]
    mean, covariance = _on_a_grid(asked, seen)
    sd = np.sqrt(np.diag(covariance))
    assert abs(belief.ln_loss - mean[0]) < 0.3 * sd[0]
    assert abs(belief.ln_tau - mean[1]) < 0.3 * sd[1]
    assert belief.loss_sd == pytest.approx(sd[0], rel=0.2)
    assert belief.tau_sd == pytest.approx(sd[1], rel=0.2)
    assert belief.observation_count == len(seen)


def test_a_channel_that_nothing_was_seen_of_is_told_by_the_others_and_less_surely() -> None:
    asked, seen = _athlete(2, 0.5, 45.0, 40)
    beliefs = learn(asked, seen, ["quads", "biceps"])
    own, other, prior = beliefs["quads"], beliefs["biceps"], PRIOR_BELIEF
    assert prior.ln_loss < other.ln_loss < own.ln_loss
    assert own.loss_sd < other.loss_sd < prior.loss_sd
    assert other.observation_count == 0
    assert set(beliefs) == {"quads", "biceps", TRUNK, SYSTEMIC}


def test_without_a_next_session_people_in_general_speak() -> None:
    belief = learn([], [], ["quads"])["quads"]
    assert (belief.ln_loss, belief.ln_tau) == (PRIOR_BELIEF.ln_loss, PRIOR_BELIEF.ln_tau)
    assert (belief.prior_share, belief.observation_count) == (1.0, 0)
    assert belief.loss_sd == pytest.approx(LOSS_PERSON_LOG_SD)
    assert belief.tau_sd == pytest.approx(TAU_LOG_SD)


def test_the_sums_are_those_of_the_day_by_day_recursion() -> None:
    """The impulse-response recursion g <- g e^(-1/tau) + w, the day's own load included [Clarke2013]_."""
    loads = np.random.default_rng(3).gamma(1.0, 40.0, size=120)
    for tau in (21.0, 36.0):
        level, levels = 0.0, []
        for load in loads:
            level = level * np.exp(-1.0 / tau) + load
            levels.append(level)
        ages = np.arange(120)[:, None] - np.arange(120)
        sums = decayed_sums(np.where(ages >= 0, loads, 0.0), np.maximum(ages, 0), np.array(tau))
        assert sums == pytest.approx(levels, rel=1e-12)
