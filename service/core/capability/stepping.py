"""How a series begins, and how strength moves between its sessions: gain that fades, layoffs, regain, new days."""

from math import exp
from typing import Any

from service.core.capability.compiling import compiled
from service.core.capability.layout import (
    BEND,
    DRIFT,
    FIRST_SETUP,
    GAP_MORE,
    GLOBAL_COUNT,
    HALF_GAP,
    HALF_LN_K,
    LN_K,
    LOCAL_COUNT,
    OWN_DAY,
    OWN_TIRING,
    P_BEND,
    P_BEND_SD,
    P_HALF_GAP_SD,
    P_LN_K,
    P_LN_K_SD,
    P_SIDED,
    REGAIN,
    REGAIN_WEEKS,
    SIDE_DAY,
    STOP,
    STRENGTH,
    STRENGTH_MORE,
    TREND,
    USED,
)

Array = Any
DAYS_PER_WEEK = 7.0
#: Weeks of a gap that can still widen what is believed; longer gaps are as good as these (judgement).
_LONGEST_WEEKS = 104.0
#: Share of a series' own pause that counts as a layoff while the athlete trains other lifts (judgement).
_OWN_PAUSE = 1.0 / 3.0
_LEAST_REGAIN_WEEKS = 2.0


@compiled
def begin_globals(c: Any, g: Array, p: Array, day_variance: float) -> None:
    """Write what is believed of an athlete before the first set."""
    for q in range(GLOBAL_COUNT):
        g[q] = 0.0
        for r in range(GLOBAL_COUNT):
            p[q, r] = 0.0
    g[1], p[1, 1] = c.bias, c.bias_sd**2
    g[2], p[2, 2] = c.habit, c.habit_sd**2
    p[3, 3] = c.person_ln_k_sd**2
    g[4], p[4, 4] = 1.0, c.tiring_sd**2
    g[5], p[5, 5] = c.trend, c.trend_sd**2
    p[0, 0] = day_variance


@compiled
def begin_series(
    strength: float, strength_sd: float, prior: Array, setup_priors: Array, c: Any, own_variance: float,
    a: Array, b: Array, cov: Array,
) -> None:  # fmt: skip
    """Write what is believed of a series before its first set; ``setup_priors`` has mean and sd per slot."""
    for i in range(LOCAL_COUNT):
        a[i] = 0.0
        for q in range(GLOBAL_COUNT):
            b[i, q] = 0.0
        for j in range(LOCAL_COUNT):
            cov[i, j] = 0.0
    a[STRENGTH], cov[STRENGTH, STRENGTH] = strength, strength_sd**2
    cov[DRIFT, DRIFT] = c.drift_sd**2
    a[LN_K], cov[LN_K, LN_K] = prior[P_LN_K], max(prior[P_LN_K_SD] ** 2 - c.person_ln_k_sd**2, 0.01)
    a[BEND], cov[BEND, BEND] = prior[P_BEND], prior[P_BEND_SD] ** 2
    cov[OWN_TIRING, OWN_TIRING] = c.own_tiring_sd**2
    cov[OWN_DAY, OWN_DAY], cov[STOP, STOP] = own_variance, c.stop_sd**2
    if prior[P_SIDED] > 0.0:
        cov[HALF_GAP, HALF_GAP] = prior[P_HALF_GAP_SD] ** 2
        cov[HALF_LN_K, HALF_LN_K] = c.gap_ln_k_sd**2
        cov[SIDE_DAY, SIDE_DAY] = c.side_day_sd**2
    for slot in range(LOCAL_COUNT - FIRST_SETUP):
        a[FIRST_SETUP + slot] = setup_priors[slot, 0]
        cov[FIRST_SETUP + slot, FIRST_SETUP + slot] = setup_priors[slot, 1] ** 2


@compiled
def idle_weeks(weeks: float, usual: float, c: Any) -> float:
    """Return how many weeks of a pause cost strength, where gaps are ``usual`` weeks long (-1: not known yet). [week]"""
    if usual < 0.0:
        return 0.0
    free = max(c.layoff_free_weeks, c.layoff_free_gaps * usual)
    return min(max(weeks - free, 0.0), c.layoff_longest_weeks)


@compiled
def _redraw(n: int, i: int, variance: float, a: Array, b: Array, cov: Array) -> None:
    a[i] = 0.0
    for q in range(GLOBAL_COUNT):
        b[i, q] = 0.0
    for j in range(n):
        cov[i, j] = 0.0
        cov[j, i] = 0.0
    cov[i, i] = variance


@compiled
def _relax(n: int, i: int, kept: float, variance: float, a: Array, b: Array, cov: Array) -> None:
    """Let a local return towards 0 and its usual spread."""
    a[i] *= kept
    for q in range(GLOBAL_COUNT):
        b[i, q] *= kept
    for j in range(n):
        cov[i, j] *= kept
    for j in range(n):
        cov[j, i] *= kept
    cov[i, i] += (1.0 - kept * kept) * variance


@compiled
def advance(
    weeks: float, age_weeks: float, athlete_idle: float, own_variance: float, c: Any,
    a: Array, b: Array, cov: Array, notes: Array,
) -> None:  # fmt: skip
    """Move a series to the start of a session ``weeks`` after its last one, ``age_weeks`` into the log then.

    ``athlete_idle`` of these weeks cost strength because nothing was trained.
    """
    n, weeks = int(notes[USED]), min(weeks, _LONGEST_WEEKS)
    idle = athlete_idle + _OWN_PAUSE * idle_weeks(weeks - athlete_idle, 0.0, c)
    idle = min(idle, c.layoff_longest_weeks)
    active = max(weeks - athlete_idle, 0.0)
    faded = (1.0 - exp(-c.fading * active)) / c.fading
    kept = exp(-c.fading * weeks)
    regained = notes[REGAIN] * (1.0 - exp(-weeks / max(notes[REGAIN_WEEKS], _LEAST_REGAIN_WEEKS)))
    lost = c.layoff_loss * idle
    a[STRENGTH] += faded * a[DRIFT] + regained - lost
    for q in range(GLOBAL_COUNT):
        b[STRENGTH, q] += faded * b[DRIFT, q]
    b[STRENGTH, TREND] += faded * exp(-c.fading * age_weeks)
    for j in range(n):
        cov[STRENGTH, j] += faded * cov[DRIFT, j]
    for j in range(n):
        cov[j, STRENGTH] += faded * cov[j, DRIFT]
    a[DRIFT] *= kept
    for q in range(GLOBAL_COUNT):
        b[DRIFT, q] *= kept
    for j in range(n):
        cov[DRIFT, j] *= kept
    for j in range(n):
        cov[j, DRIFT] *= kept
    cov[STRENGTH, STRENGTH] += (
        c.strength_walk**2 * weeks + (c.layoff_loss_sd * idle) ** 2 + (c.regain_sd_share * regained) ** 2
    )
    cov[STRENGTH, STRENGTH] += notes[STRENGTH_MORE]
    cov[DRIFT, DRIFT] += c.drift_walk**2 * weeks
    cov[LN_K, LN_K] += c.ln_k_walk**2 * weeks
    if cov[HALF_GAP, HALF_GAP] > 0.0:
        cov[HALF_GAP, HALF_GAP] += c.gap_walk**2 * weeks + notes[GAP_MORE]
        cov[HALF_LN_K, HALF_LN_K] += c.gap_ln_k_walk**2 * weeks
        _redraw(n, SIDE_DAY, c.side_day_sd**2, a, b, cov)
    _redraw(n, OWN_DAY, own_variance, a, b, cov)
    _relax(n, STOP, exp(-weeks / c.stop_weeks), c.stop_sd**2, a, b, cov)
    notes[REGAIN] -= regained
    if lost > 0.0:
        notes[REGAIN] += c.regain_share * lost
        notes[REGAIN_WEEKS] = max(idle, _LEAST_REGAIN_WEEKS)
