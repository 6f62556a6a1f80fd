"""What one set does to what is believed, under one hypothesis about the athlete."""

from math import exp, expm1, isnan
from typing import Any

from service.core.capability.compiling import compiled
from service.core.capability.hub import along, update
from service.core.capability.layout import (
    BEND,
    BIAS,
    C_ALIKE,
    C_BOUND_ONLY,
    C_LIKENESS,
    C_LN_LOAD,
    C_LN_LOAD_SD,
    C_MATCHED,
    C_PAIN,
    C_REPS,
    C_RESERVE,
    C_SETUP,
    C_SIDE,
    C_TIMED,
    C_TO_FAILURE,
    C_WARM_UP,
    DAY,
    ENDURANCE,
    FIRST_SETUP,
    GLOBAL_COUNT,
    HABIT,
    HALF_GAP,
    HALF_LN_K,
    LN_K,
    MATCHED_SILENTLY,
    NOT_MATCHED,
    OWN_DAY,
    OWN_TIRING,
    SIDE_DAY,
    STOP,
    STRENGTH,
    TIRING,
)
from service.core.capability.likelihood import (
    AT_LEAST,
    FAILED,
    LEAST_BEND,
    MEASURED,
    MISSED,
    MOST_BEND,
    STOPPED,
    TOLD,
    TOLD_HIGHEST,
    TOLD_MOST,
    posterior,
    repetitions,
    slopes,
)

Array = Any
#: Repetitions between which the curve is linearised.
_FEWEST, _MOST = 0.5, 60.0
#: Repetitions predicted beyond so many times those done, and some more, are no matter of the curve (judgement).
_FAR_TIMES, _FAR_MORE = 2.5, 4.0
#: Repetitions predicted beyond so many times those done, and some more, are no plan of anybody's: the set is not
#: believed, however little where it stopped can say (judgement).
_ABSURD_TIMES = 6.0
#: Beyond these a belief is a fault of the linear step, no insight (judgement). [repetitions], [1]
_LEAST_BIAS, _MOST_BIAS, _MOST_RESERVE, _MOST_TIRING = -4.0, 1.0, 10.0, 5.0
#: How a set resembles an earlier one of its session and side: its load and repetitions, or its reserve too.
NEW, REPEATED, COPIED = 0, 1, 2
UNSPECIFIED_SIDE = 2.0
#: How a reserve stands among those that an athlete tells: below the highest, the highest so far, where reports pile up.
NOT_MOST, HIGHEST, PILED = 0.0, 0.5, 1.0
#: The second order holds for small doubt alone: where a curve is nearly flat it runs to whole logarithms (judgement). [1]
_MOST_CURVE_DOUBT = 0.15
#: ln(1RM / load) at 40 % of the maximum, the fewest repetitions that anyone's curve gives there, and how many more make a
#: curve usual again. The fewest of a published group are 16 (leg curl, untrained women: Hoeger 1990, from memory); half
#: of that for one person is judgement. [1], [repetitions]
_LIGHT, _FEWEST_WHEN_LIGHT, _FEW_WHEN_LIGHT = 0.9163, 8.0, 8.0
#: The fewest repetitions beyond the first at no load at all, of curves on which they rise with what is taken off the
#: maximum: 9 beyond it at 40 % (judgement). A set that shows fewer below that load is not believed. [repetitions]
_FEWEST_AT_NONE = 15.0
#: Repetitions to failure within so much of the usual ones count as the same (judgement). [1], [repetitions]
_ALIKE_SHARE, _ALIKE_MORE = 0.1, 1.0
#: More repetitions predicted than so many times those shown, and some more, are far more (judgement).
_FAR_SHORT_TIMES, _FAR_SHORT_MORE = 1.3, 2.0
#: What is told short of failure is less than what is left: [Halperin2022]_ and [Zourdos2021]_. [repetitions], [1]
_LEFT_AT_LEAST, _LEFT_TIMES = 1.0, 1.3


@compiled
def sign_of(side: float) -> float:
    """Return -1 for left, 1 for right, 0 where both limbs share the load or the side is not known."""
    return 0.0 if side == UNSPECIFIED_SIDE else side


@compiled
def tiredness(own: float, other_side: float, shared: float, rest_s: float, c: Any) -> float:
    """Return the log strength that the session's earlier hard sets usually cost. [1]"""
    rest = c.usual_rest_s if isnan(rest_s) else rest_s
    per_set = c.tiring_floor + c.tiring_fresh * exp(-rest / c.tiring_time_s)
    return per_set * own + c.tiring_other_side * other_side + c.tiring_shared * shared


@compiled
def strength_direction(n: int, sign: float, setup: int, tired: float, h: Array) -> None:
    """Write how the log strength of the moment hangs on the joint numbers, the curve apart."""
    for i in range(h.shape[0]):
        h[i] = 0.0
    h[STRENGTH] = 1.0
    h[OWN_DAY] = 1.0
    h[OWN_TIRING] = -tired
    if sign != 0.0:
        h[HALF_GAP] = sign
        h[SIDE_DAY] = sign
    if setup > 0:
        h[FIRST_SETUP + setup - 1] = 1.0
    h[n + DAY] = 1.0
    h[n + TIRING] = -tired


@compiled
def strength_now(n: int, sign: float, setup: int, tired: float, mean: Array) -> float:
    """Return the log strength of the moment as it is believed: `strength_direction` times ``mean``. [ln kg]"""
    strength = mean[STRENGTH] + mean[OWN_DAY] - tired * mean[OWN_TIRING]
    if sign != 0.0:
        strength += sign * mean[HALF_GAP] + mean[SIDE_DAY] * sign
    if setup > 0:
        strength += mean[FIRST_SETUP + setup - 1]
    return float(strength + mean[n + DAY] - tired * mean[n + TIRING])


@compiled
def curve_of(n: int, sign: float, mean: Array) -> tuple[float, float]:
    """Return k and b of a side as they are believed."""
    ln_k = mean[LN_K] + mean[n + ENDURANCE]
    if sign != 0.0:
        ln_k += sign * mean[HALF_LN_K]
    return exp(min(max(ln_k, 0.0), 6.5)), min(max(mean[BEND], LEAST_BEND), MOST_BEND)


@compiled
def curve_doubt(n: int, sign: float, cov: Array, by_ln_k_twice: float, by_b_twice: float) -> float:
    """Return how much doubt about the curve raises the mean of ln(1RM / load), to second order. [1]"""
    of_ln_k = cov[LN_K, LN_K] + cov[n + ENDURANCE, n + ENDURANCE] + 2.0 * cov[LN_K, n + ENDURANCE]
    if sign != 0.0:
        of_ln_k += cov[HALF_LN_K, HALF_LN_K]
    doubt = 0.5 * (by_ln_k_twice * of_ln_k + by_b_twice * cov[BEND, BEND])
    return float(min(max(doubt, -_MOST_CURVE_DOUBT), _MOST_CURVE_DOUBT))


@compiled
def noise_of(row: Array, mean: Array, cov: Array, c: Any) -> float:
    """Return the variance of a set around the day's strength, as far as it is known before the set. [1]"""
    variance = c.set_sd**2 + row[C_LN_LOAD_SD] ** 2
    if row[C_SIDE] == UNSPECIFIED_SIDE:
        variance += cov[HALF_GAP, HALF_GAP] + mean[HALF_GAP] ** 2 + c.side_day_sd**2
    return variance


@compiled
def noise_of_pain(row: Array, c: Any) -> float:
    """Return the variance that pain told of a set adds, which is known only after it. [1]"""
    return float(c.pain_ln_sd**2) if row[C_PAIN] > c.pain_from else 0.0


@compiled
def _keep_possible(n: int, mean: Array) -> None:
    """Bring back what a linear step carried where it cannot be: a bend off the curve, a reserve below none."""
    mean[BEND] = min(max(mean[BEND], LEAST_BEND), MOST_BEND)
    mean[n + BIAS] = min(max(mean[n + BIAS], _LEAST_BIAS), _MOST_BIAS)
    mean[n + HABIT] = min(max(mean[n + HABIT], 0.0), _MOST_RESERVE)
    mean[STOP] = min(max(mean[STOP], -mean[n + HABIT]), _MOST_RESERVE)
    mean[n + TIRING] = min(max(mean[n + TIRING], 0.0), _MOST_TIRING)


@compiled
def _shown(kind: float, value: float, reps: float, habit: float) -> float:
    """Return the repetitions to failure that an observation speaks of, -1 where it only bounds them."""
    if kind == TOLD:
        return reps + _LEFT_TIMES * value + _LEFT_AT_LEAST
    if kind == STOPPED:
        return reps + habit
    return reps + 0.5 if kind == FAILED else -1.0


@compiled
def alike_share(shown: float, usual: float) -> float:
    """Return how nearly the repetitions shown are the usual ones: 1 where they are the same, 0 where they are nowhere near."""
    apart = (shown - usual) / (_ALIKE_SHARE * usual + _ALIKE_MORE)
    return float(exp(-0.5 * apart * apart))


@compiled
def _linearised_at(predicted: float, shown: float, alike: float) -> float:
    """Return the repetitions at which the curve is taken as straight.

    Where far fewer than predicted are shown, and as many as usual, the curve is known there from the sets before: taken
    where they were predicted, where it is not, it would bend to explain that as many go with less.
    """
    at = predicted
    if predicted > _FAR_SHORT_TIMES * shown + _FAR_SHORT_MORE:
        at -= alike * (predicted - shown)
    return min(max(at, _FEWEST), _MOST)


@compiled
def _share_of_curve(shown: float, predicted: float, usual: float, alike: float, k: float, b: float) -> float:
    """Return how much of a shortfall the curve may take.

    Where as many repetitions to failure are shown as are ``usual``, at a load at which more were predicted, it is strength
    that has fallen or the curve that is flatter: the flatter it is already, the less is left for it to take. After a break
    it takes nothing.
    """
    if usual < 0.0:
        return 0.0
    if predicted <= shown:
        return 1.0
    left = min(max((repetitions(_LIGHT, k, b) - _FEWEST_WHEN_LIGHT) / _FEW_WHEN_LIGHT, 0.0), 1.0)
    return float(1.0 - (1.0 - left) * alike)


@compiled
def _beyond_belief(kind: float, shown: float, row: Array, predicted: float, below: float) -> bool:
    """Return whether a set stops where nobody plans to, or shows fewer than anybody's curve gives ``below`` a maximum."""
    if kind == STOPPED:
        return bool(predicted > _ABSURD_TIMES * (row[C_REPS] + _FAR_MORE))
    if kind not in (TOLD, FAILED) or below <= _LIGHT or row[C_TIMED] > 0.0:
        return False
    return bool(shown < 1.0 - _FEWEST_AT_NONE * expm1(-below))


@compiled
def _observe(
    kind: float, value: float, power: float, curve_share: float, only_if_contradicted: float,
    n: int, row: Array, tired: float, usual: float, changed: float, c: Any, mean: Array, cov: Array, h: Array, tied: Array,
) -> tuple[float, float]:  # fmt: skip
    """Weigh one observation; return its evidence and the share kept. Repetitions below ``only_if_contradicted``."""
    sign, setup, m = sign_of(row[C_SIDE]), int(row[C_SETUP]), n + GLOBAL_COUNT
    centre = strength_now(n, sign, setup, tired, mean)
    k, b = curve_of(n, sign, mean)
    below = centre - row[C_LN_LOAD]
    predicted = repetitions(below, k, b)
    if only_if_contradicted >= 0.0 and predicted >= only_if_contradicted - 1.0:
        return 1.0, 1.0
    strength_direction(n, sign, setup, tired, h)
    shown, flattens = _shown(kind, value, row[C_REPS], mean[n + HABIT] + mean[STOP]), 1.0
    known = shown >= 0.0 and usual > 0.0 and row[C_TIMED] == 0.0
    alike = alike_share(shown, usual) if known else 0.0
    if kind not in (MEASURED, MISSED):
        at = _linearised_at(predicted, shown, alike)
        at -= alike * changed * (at - usual)
        _, by_n, by_ln_k, by_b, by_ln_k_twice, by_b_twice = slopes(at, k, b)
        centre -= curve_doubt(n, sign, cov, by_ln_k_twice, by_b_twice)
        share = curve_share
        if predicted < 0.0 or predicted > _FAR_TIMES * (row[C_REPS] + _FAR_MORE):
            share = 0.0  # so far off something else has changed: the curve must not take the blame
        flattens = _share_of_curve(shown, predicted, usual, alike, k, b)
        share *= flattens
        h[LN_K] = -by_ln_k * share
        h[n + ENDURANCE] = 0.0 if row[C_TIMED] > 0.0 else -by_ln_k * share
        if sign != 0.0:
            h[HALF_LN_K] = -sign * by_ln_k * share
        h[BEND] = -by_b * share
        if kind == STOPPED:
            h[n + HABIT] = -by_n
            h[STOP] = -by_n
            h[OWN_TIRING] = 0.0  # where one stops is planned: it must not teach how tiring sets are
            h[n + TIRING] = 0.0
            centre -= by_n * (mean[n + HABIT] + mean[STOP])
        elif kind in (TOLD, TOLD_MOST, TOLD_HIGHEST):
            h[n + BIAS] = (
                by_n * (1.0 - exp(-0.5 * max(predicted - row[C_REPS], 0.0))) / (1.0 - c.report_share)
            )
    before = along(m, cov, h, tied) + noise_of(row, mean, cov, c) + noise_of_pain(row, c)
    after, left, evidence, kept = posterior(
        centre, before, kind, row[C_LN_LOAD], k, b, row[C_REPS], value, power, mean[n + BIAS], c
    )
    bias, habit = mean[n + BIAS], mean[n + HABIT]
    curve = (mean[LN_K], mean[BEND], mean[n + ENDURANCE])
    habit_pace = c.silent_habit_pace if isnan(row[C_RESERVE]) and kind != FAILED else c.told_habit_pace
    update(m, mean, cov, tied, before, after - centre, left - before, n + BIAS, c.bias_pace, habit_pace)
    # A bound only ever pushes one way: it must not teach how reports and stops are off.
    if kind in (AT_LEAST, TOLD_MOST, TOLD_HIGHEST, MISSED):
        mean[n + BIAS], mean[n + HABIT] = bias, habit
    # Nor may a curve that is flat already follow by what is held together with strength.
    mean[LN_K] += (1.0 - flattens) * (curve[0] - mean[LN_K])
    mean[BEND] += (1.0 - flattens) * (curve[1] - mean[BEND])
    mean[n + ENDURANCE] += (1.0 - flattens) * (curve[2] - mean[n + ENDURANCE])
    _keep_possible(n, mean)
    if _beyond_belief(kind, shown, row, predicted, below):
        kept = 0.0
    return evidence, kept


@compiled
def absorb(
    n: int,
    row: Array,
    tired: float,
    usual: float,
    changed: float,
    planned: float,
    told_most: float,
    c: Any,
    mean: Array,
    cov: Array,
    h: Array,
    tied: Array,
) -> tuple[float, float]:
    """Weigh all that a set says, in order; return its evidence and the smallest share kept.

    ``usual`` are the repetitions to failure of the lift's sets lately, 0 before the first, -1 soon after a break;
    ``changed`` is how surely strength has changed where as many are shown at another load: the load for them is off then,
    however the curve is taken, and were the set to bend it the change would stay in the curve.

    Short of failure the repetitions done say where this athlete usually stops, and a report adds what it felt
    like. Without a report the bound speaks up only where it is contradicted: a bound weighed every time would
    push strength up for ever. Repetitions that repeat themselves were planned and say once where one stops. The
    highest reserve ever told may be "that many or more", and says nothing of where one usually stops.
    """
    reps, told = row[C_REPS], row[C_RESERVE]
    if row[C_BOUND_ONLY] > 0.0 or row[C_WARM_UP] >= 0.5 or row[C_MATCHED] == MATCHED_SILENTLY:
        if (
            row[C_MATCHED] == MATCHED_SILENTLY
        ):  # told again every week it must not add up to a side that is ahead
            return _observe(
                AT_LEAST,
                reps,
                c.matched_power,
                1.0,
                -1.0,
                n,
                row,
                tired,
                usual,
                changed,
                c,
                mean,
                cov,
                h,
                tied,
            )
        return _observe(AT_LEAST, reps, 1.0, 1.0, reps, n, row, tired, usual, changed, c, mean, cov, h, tied)
    if row[C_TO_FAILURE] > 0.0:
        if reps <= 0.0:
            return _observe(MISSED, 0.0, 1.0, 0.0, -1.0, n, row, tired, usual, changed, c, mean, cov, h, tied)
        return _observe(FAILED, reps, 1.0, 1.0, -1.0, n, row, tired, usual, changed, c, mean, cov, h, tied)
    evidence, kept = 1.0, 1.0
    if row[C_TIMED] > 0.0:
        planned = 1.0  # a clock or a line on the floor ends it
    feel = 1.0 - planned
    power = feel + planned * c.planned_power * (1.0 if row[C_ALIKE] == 0.0 else c.repeated_power)
    curve = feel * c.stop_curve + planned * c.planned_curve
    # Hypotheses are weighed against each other by what they make of a set, so that each must read it alike.
    if told_most == NOT_MOST and row[C_MATCHED] == NOT_MATCHED and (row[C_LIKENESS] == NEW or isnan(told)):
        evidence, kept = _observe(
            STOPPED, reps, power, curve, -1.0, n, row, tired, usual, changed, c, mean, cov, h, tied
        )
    if not isnan(told):
        kind = TOLD_MOST if told_most == PILED else TOLD_HIGHEST if told_most == HIGHEST else TOLD
        power = c.copied_power if row[C_LIKENESS] == COPIED else 1.0
        more, held = _observe(
            kind, told, power, 1.0, -1.0, n, row, tired, usual, changed, c, mean, cov, h, tied
        )
        evidence, kept = evidence * more, min(kept, held)
    more, held = _observe(
        AT_LEAST, reps, c.repeated_power, 1.0, reps, n, row, tired, usual, changed, c, mean, cov, h, tied
    )
    return evidence * more, min(kept, held)
