"""The loop over an athlete's sets: sessions open and close, series join and part, hypotheses gain and lose weight."""

from math import ceil, exp, expm1, isnan, log, sqrt
from typing import Any

import numpy as np

from service.core.capability.absorbing import HIGHEST, NOT_MOST, PILED
from service.core.capability.compiling import compiled
from service.core.capability.hub import day_given_rest, fold_day, new_day
from service.core.capability.layout import (
    C_ALIKE,
    C_LN_LOAD,
    C_REPS,
    C_RESERVE,
    C_REST,
    C_SESSION,
    C_TO_FAILURE,
    DAY,
    DAY_SUM,
    DAY_WEIGHT,
    DROP,
    DROP_VARIANCE,
    FIRST_DAY,
    GAP_MORE,
    GAP_NOW_SUM,
    GAP_NOW_WEIGHT,
    GAP_SUM,
    GAP_WEIGHT,
    GLOBAL_COUNT,
    IDLE_SEEN,
    IDLE_WEEKS,
    KNOWN,
    LAST_DAY,
    LEFT_SUM,
    LEVEL_NOW_SUM,
    LEVEL_NOW_WEIGHT,
    LEVEL_SUM,
    LEVEL_WEIGHT,
    MOST_TOLD,
    MOST_TOLD_COUNT,
    MOST_TOLD_RUNNING,
    NEXT_TOLD_COUNT,
    OPEN,
    OWN_DAY,
    OWN_SUM,
    OWN_WEIGHT,
    P_BEND,
    P_LN_K,
    P_STRENGTH,
    P_STRENGTH_SD,
    PLANNING,
    PRIOR_VARIANCE,
    REGAIN,
    REGAIN_WEEKS,
    SESSION_DAY,
    SHIFTED,
    STRENGTH_MORE,
    USED,
    USUAL_GAP,
)
from service.core.capability.likelihood import ln_ratio, repetitions, reserve_behind
from service.core.capability.stepping import DAYS_PER_WEEK, advance, begin_series, idle_weeks

Array = Any
#: Weight of a new set in the running means of the repetitions trained (judgement).
RUNNING_WEIGHT = 0.1
#: A hypothesis below this weight is given up.
_GIVEN_UP = 1e-3
#: More repetitions after a drop are no forecast (judgement).
MOST_STAGE = 100.0
#: Reserve taken to be left after a set on the way down whose effort is not told (judgement). [repetitions]
STAGE_RESERVE = 0.5
#: Time in which a pause gives back all but 1/e of the repetitions done, the pause taken where the load did not fall and
#: none is told, and loads that count as the same. (judgement) [s], [s], [ln]
PAUSE_RETURNS_S, REST_PAUSE_S, _SAME_LN_LOAD = 60.0, 20.0, 0.02
#: Beyond this a set is not hard at all, and e to the power of it would overflow. [1]
_HOPELESSLY_EASY = 50.0
#: A drop that is further than this from the usual share says no more: it is another kind of set, or a slip. (judgement) [ln]
MOST_OWN_DROP = 1.5


@compiled
def day_variance(c: Any, athlete: Array) -> float:
    """Return the variance of this athlete's days: what is usual, moved by the days seen. [1]"""
    w = c.day_prior_weight
    return float((w * c.day_sd**2 + athlete[DAY_SUM]) / (w + athlete[DAY_WEIGHT]))


@compiled
def own_day_variance(c: Any, athlete: Array) -> float:
    """Return the variance of one lift's day around the athlete's. [1]"""
    w = 2.0 * c.day_prior_weight
    return float((w * c.own_day_sd**2 + athlete[OWN_SUM]) / (w + athlete[OWN_WEIGHT]))


@compiled
def close_session(
    cs: Any, weights: Array, g: Array, p: Array, a: Array, b: Array, cov: Array, notes: Array, athlete: Array,
    work: Array,
) -> None:  # fmt: skip
    """Fold the open session's day away, and learn from it how much days differ for this athlete.

    A day that was seen with a share f of its variance gone has an estimate whose square is f times that variance on
    average: f is its weight.
    """
    opened, own_square, own_seen, day_square, day_seen = False, 0.0, 0.0, 0.0, 0.0
    for s in range(notes.shape[0]):
        opened = opened or notes[s, OPEN] > 0.0
    if not opened:
        return
    for i in range(weights.shape[0]):
        if weights[i] > 0.0:
            left, offset = day_given_rest(g[i], p[i], work)
            own = own_day_variance(cs[i], athlete)
            for s in range(notes.shape[0]):
                if notes[s, OPEN] > 0.0:
                    mean, variance = _own_day(a[i, s], b[i, s], cov[i, s], g[i], p[i])
                    own_square += weights[i] * mean * mean
                    own_seen += weights[i] * max(1.0 - variance / own, 0.0)
                    fold_day(int(notes[s, USED]), a[i, s], b[i, s], cov[i, s], left, offset, work)
            day_square += weights[i] * g[i, DAY] ** 2
            day_seen += weights[i] * max(1.0 - p[i, DAY, DAY] / day_variance(cs[i], athlete), 0.0)
    for s in range(notes.shape[0]):
        notes[s, OPEN] = 0.0
    athlete[DAY_WEIGHT] += day_seen
    athlete[DAY_SUM] += day_square
    athlete[OWN_WEIGHT] += own_seen
    athlete[OWN_SUM] += own_square


@compiled
def _own_day(a: Array, b: Array, cov: Array, g: Array, p: Array) -> tuple[float, float]:
    """Return mean and variance of the session's effect on one exercise. [1]"""
    mean, variance = a[OWN_DAY], cov[OWN_DAY, OWN_DAY]
    for q in range(GLOBAL_COUNT):
        slope = b[OWN_DAY, q]
        mean += slope * g[q]
        for r in range(GLOBAL_COUNT):
            variance += slope * p[q, r] * b[OWN_DAY, r]
    return mean, variance


@compiled
def planned_share(row: Array, c: Any, athlete: Array) -> float:
    """Return how surely this athlete's repetitions are planned, this set's likeness to the one before included. [1]"""
    if row[C_ALIKE] > 0.0:
        athlete[PLANNING] += c.planning_alike
    elif row[C_ALIKE] < 0.0:
        athlete[PLANNING] += c.planning_unlike
    athlete[PLANNING] = min(max(athlete[PLANNING], -c.planning_most), c.planning_most)
    return float(1.0 / (1.0 + exp(-athlete[PLANNING])))


@compiled
def tells_most(number: int, table: Array, c: Any, athlete: Array) -> float:
    """Return `PILED` where the reserve told is the highest this athlete has a word for, since reports pile up there,
    `HIGHEST` where it is only the highest that was ever told, `NOT_MOST` else.
    """
    row = table[number]
    if not _reports(row):
        return NOT_MOST
    told = ceil(row[C_RESERVE])
    if told < max(athlete[MOST_TOLD], c.cap_least):
        athlete[MOST_TOLD_RUNNING] = 0.0
    elif told == athlete[MOST_TOLD] and _first_report(number, table):
        athlete[MOST_TOLD_RUNNING] += 1.0 if athlete[MOST_TOLD_RUNNING] >= 0.0 else -1.0
    if told < c.cap_least:
        return NOT_MOST
    if told > athlete[MOST_TOLD]:
        athlete[NEXT_TOLD_COUNT] = athlete[MOST_TOLD_COUNT] if told == athlete[MOST_TOLD] + 1.0 else 0.0
        athlete[MOST_TOLD], athlete[MOST_TOLD_COUNT] = told, 0.0
    if told == athlete[MOST_TOLD]:
        athlete[MOST_TOLD_COUNT] += 1.0
    elif told == athlete[MOST_TOLD] - 1.0:
        athlete[NEXT_TOLD_COUNT] += 1.0
    # Told for long and nothing else, it is what is planned each time, not the most that there is a word for.
    if abs(athlete[MOST_TOLD_RUNNING]) > c.cap_plan or told < athlete[MOST_TOLD]:
        return NOT_MOST
    if athlete[MOST_TOLD_COUNT] > c.cap_pile * (athlete[NEXT_TOLD_COUNT] + c.cap_count):
        return PILED
    # Of a first session's reserves one is the highest, whatever the scale.
    first = athlete[SESSION_DAY] == athlete[FIRST_DAY]
    return NOT_MOST if first or athlete[MOST_TOLD_RUNNING] < 0.0 else HIGHEST


@compiled
def _reports(row: Array) -> bool:
    return bool(row[C_RESERVE] >= 0.0 and row[C_TO_FAILURE] == 0.0)


@compiled
def _first_report(number: int, table: Array) -> bool:
    """Return whether no set before this one in its session told a reserve."""
    before = number - 1
    while before >= 0 and table[before, C_SESSION] == table[number, C_SESSION]:
        if _reports(table[before]):
            return False
        before -= 1
    return True


@compiled
def _pause(weeks: float, c: Any, athlete: Array) -> None:
    """Count what a gap between sessions costs, and learn the usual gap; breaks count no longer than they are free."""
    athlete[IDLE_WEEKS] += idle_weeks(weeks, athlete[USUAL_GAP], c)
    if weeks <= 0.0:
        return
    if athlete[USUAL_GAP] < 0.0:
        athlete[USUAL_GAP] = weeks
    else:
        longest = max(c.layoff_free_weeks, c.layoff_free_gaps * athlete[USUAL_GAP])
        athlete[USUAL_GAP] += c.usual_gap_pace * (min(weeks, longest) - athlete[USUAL_GAP])


@compiled
def open_session(
    day: float,
    cs: Any,
    weights: Array,
    g: Array,
    p: Array,
    a: Array,
    b: Array,
    cov: Array,
    notes: Array,
    athlete: Array,
    work: Array,
) -> None:
    """Close what is open and draw a new day."""
    close_session(cs, weights, g, p, a, b, cov, notes, athlete, work)
    if athlete[FIRST_DAY] == -np.inf:
        athlete[FIRST_DAY] = day
        athlete[SESSION_DAY] = day
    _pause((day - athlete[SESSION_DAY]) / DAYS_PER_WEEK, cs[0], athlete)
    athlete[SESSION_DAY] = day
    for hypothesis in range(weights.shape[0]):
        if weights[hypothesis] > 0.0:
            new_day(g[hypothesis], p[hypothesis], day_variance(cs[hypothesis], athlete))


@compiled
def touch(
    s: int,
    cs: Any,
    weights: Array,
    a: Array,
    b: Array,
    cov: Array,
    notes: Array,
    athlete: Array,
) -> None:
    """Move a known series to the open session."""
    day = athlete[SESSION_DAY]
    weeks = (day - notes[s, LAST_DAY]) / DAYS_PER_WEEK
    idle = athlete[IDLE_WEEKS] - notes[s, IDLE_SEEN]
    age = (notes[s, LAST_DAY] - athlete[FIRST_DAY]) / DAYS_PER_WEEK
    regain, regain_weeks = notes[s, REGAIN], notes[s, REGAIN_WEEKS]
    for hypothesis in range(weights.shape[0]):
        if weights[hypothesis] > 0.0:
            notes[s, REGAIN], notes[s, REGAIN_WEEKS] = regain, regain_weeks
            own = own_day_variance(cs[hypothesis], athlete)
            advance(
                weeks,
                age,
                idle,
                own,
                cs[hypothesis],
                a[hypothesis, s],
                b[hypothesis, s],
                cov[hypothesis, s],
                notes[s],
            )
    notes[s, LEVEL_SUM], notes[s, LEVEL_WEIGHT] = notes[s, LEVEL_NOW_SUM], notes[s, LEVEL_NOW_WEIGHT]
    notes[s, GAP_SUM], notes[s, GAP_WEIGHT] = notes[s, GAP_NOW_SUM], notes[s, GAP_NOW_WEIGHT]
    notes[s, LEFT_SUM:LEVEL_SUM] = 0.0
    notes[s, SHIFTED] = notes[s, STRENGTH_MORE] / cs[0].jump_sd ** 2
    notes[s, STRENGTH_MORE] = notes[s, GAP_MORE] = 0.0
    notes[s, LAST_DAY] = day
    notes[s, IDLE_SEEN] = athlete[IDLE_WEEKS]
    notes[s, OPEN] = 1.0


@compiled
def suggested_strength(row: Array, prior: Array, habit: float, bias: float, c: Any) -> float:
    """Return the ln 1RM that a first set suggests with the class's curve. [ln kg]"""
    n = row[C_REPS] + 0.5
    if row[C_TO_FAILURE] == 0.0:
        n = row[C_REPS] + (
            habit if isnan(row[C_RESERVE]) else reserve_behind(row[C_RESERVE], bias, c.report_share)
        )
    return float(row[C_LN_LOAD] + ln_ratio(n, exp(prior[P_LN_K]), prior[P_BEND]))


@compiled
def begin(
    s: int, row: Array, prior: Array, setups: Array, cs: Any, weights: Array, g: Array,
    a: Array, b: Array, cov: Array, notes: Array, athlete: Array,
) -> None:  # fmt: skip
    """Begin a series with its first telling set, or with what another lift tells of it."""
    for hypothesis in range(weights.shape[0]):
        c = cs[hypothesis]
        strength, sd = prior[P_STRENGTH], prior[P_STRENGTH_SD]
        if isnan(strength):
            strength = suggested_strength(row, prior, g[hypothesis, 2], g[hypothesis, 1], c)
            sd = c.first_strength_sd
        own = own_day_variance(c, athlete)
        begin_series(
            strength, sd, prior, setups, c, own, a[hypothesis, s], b[hypothesis, s], cov[hypothesis, s]
        )
        notes[s, PRIOR_VARIANCE] = sd * sd
    notes[s, KNOWN], notes[s, OPEN] = 1.0, 1.0
    notes[s, LAST_DAY], notes[s, IDLE_SEEN] = athlete[SESSION_DAY], athlete[IDLE_WEEKS]


@compiled
def hard_share(reserve: float, c: Any) -> float:
    """Return how hard a set was, from 0 to 1, by the reserve it left."""
    return float(1.0 / (1.0 + exp(min((reserve - c.hard_reserve) / c.hard_fade, _HOPELESSLY_EASY))))


@compiled
def weigh(weights: Array, evidence: Array) -> None:
    """Move the weights of the hypotheses by their evidence; one that has become hopeless is given up."""
    total = 0.0
    for i in range(weights.shape[0]):
        weights[i] *= evidence[i]
        total += weights[i]
    if total <= 0.0:
        return
    for i in range(weights.shape[0]):
        weights[i] /= total
    left = 0.0
    for i in range(weights.shape[0]):
        if weights[i] < _GIVEN_UP:
            weights[i] = 0.0
        left += weights[i]
    for i in range(weights.shape[0]):
        weights[i] /= left


@compiled
def stage_base(
    before: float, reserve: float, opened_with: float, row: Array, ln_load_before: float, k: float, b: float
) -> float:
    """Return the further repetitions that the curve and the pause give after a drop. [repetitions]

    ``opened_with`` are the repetitions of the opening set, of which a pause gives some back as in `core.progression.drops`.
    A pause that is not told is none where the load falls; without that nothing but a pause lets a set go on.
    """
    lower = repetitions(before - row[C_LN_LOAD], k, b) - repetitions(before - ln_load_before, k, b)
    pause = row[C_REST]
    if isnan(pause):
        pause = 0.0 if row[C_LN_LOAD] < ln_load_before - _SAME_LN_LOAD else REST_PAUSE_S
    given_back = -expm1(-pause / PAUSE_RETURNS_S) * opened_with
    return min(max(lower + reserve + given_back, 0.3), MOST_STAGE)


@compiled
def usual_drop(ln_load_before: float, ln_load: float, c: Any) -> float:
    """Return the log of the usual share of those repetitions, by the size of the drop."""
    drop = 1.0 - exp(min(ln_load - ln_load_before, 0.0))
    part_way = min(max((drop - 0.25) / 0.25, 0.0), 1.0)
    return float(c.drop_near + part_way * (c.drop_far - c.drop_near))


@compiled
def foretell_stage(
    base: float, usual: float, ln_k_variance: float, athlete: Array, c: Any, result: Array
) -> None:
    """Write what is expected of a drop: log-normal around the usual share of what the curve gives."""
    mean = log(base) + usual + athlete[DROP]
    variance = athlete[DROP_VARIANCE] + c.drop_set_sd**2 + ln_k_variance
    sd = sqrt(variance)
    result[0] = exp(mean + 0.5 * variance)
    result[1] = result[0] * sqrt(exp(variance) - 1.0)
    result[2], result[3], result[4] = exp(mean - 1.959964 * sd), exp(mean - 1.281552 * sd), exp(mean)
    result[5], result[6] = exp(mean + 1.281552 * sd), exp(mean + 1.959964 * sd)


@compiled
def learn_drop(base: float, usual: float, row: Array, athlete: Array, c: Any) -> None:
    """Move this athlete's drop factor by one drop: a conjugate step on its logarithm."""
    reserve = STAGE_RESERVE
    if row[C_TO_FAILURE] == 0.0 and not isnan(row[C_RESERVE]):
        reserve = row[C_RESERVE] + 0.5
    seen = max(row[C_REPS] + reserve, 0.5)
    noise = c.drop_set_sd**2 + (0.6 / seen) ** 2
    share = athlete[DROP_VARIANCE] / (athlete[DROP_VARIANCE] + noise)
    own = min(max(log(seen) - log(base) - usual, -MOST_OWN_DROP), MOST_OWN_DROP)
    athlete[DROP] += share * (own - athlete[DROP])
    athlete[DROP_VARIANCE] *= 1.0 - share
