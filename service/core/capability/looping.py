"""The loop over an athlete's sets, in the order done: the only function that callers of the kernel need."""

from math import isnan
from typing import Any

import numpy as np

from service.core.capability.absorbing import absorb, curve_of, sign_of, strength_now, tiredness
from service.core.capability.compiling import compiled, compiled_to_allocate
from service.core.capability.hub import WORK, join, part_with
from service.core.capability.jumping import jump_variance, make_possible, off_by
from service.core.capability.layout import (
    BIAS,
    C_BOUND_ONLY,
    C_DAY,
    C_LN_LOAD,
    C_MATCHED,
    C_REPS,
    C_RESERVE,
    C_REST,
    C_SERIES,
    C_SESSION,
    C_SETUP,
    C_SIDE,
    C_STAGE,
    C_TIMED,
    C_TO_FAILURE,
    C_WARM_UP,
    ENDURANCE,
    JOINT_COUNT,
    KNOWN,
    LN_K,
    MATCHED_SILENTLY,
    NEWEST_DAY,
    OPEN,
    P_STRENGTH,
    PIVOT,
    REGAIN,
    REJECTED,
    SETS,
    SHIFTED,
    STRENGTH,
    TO_FAILURE,
    TRAINED,
    UNREPORTED,
    USED,
)
from service.core.capability.likelihood import ln_ratio, repetitions, reserve_behind
from service.core.capability.outlook import OUTLOOK_COUNT, foretell, look
from service.core.capability.pivoting import pivot, to_maximum, to_usual
from service.core.capability.running import (
    RUNNING_WEIGHT,
    STAGE_RESERVE,
    begin,
    foretell_stage,
    hard_share,
    learn_drop,
    open_session,
    planned_share,
    stage_base,
    tells_most,
    touch,
    usual_drop,
    weigh,
)
from service.core.capability.shifting import change_share, follow_loads

Array = Any
_NOT_BEGUN = -1
#: Place after the three sides where it is kept which of them was the last.
_LAST = 3
#: After so many sets in a row that nothing believes, or after two while a lift rests on so few, the belief is what is
#: wrong: it is widened until the next such set can be believed (judgement). One alone may be a slip of the pen.
_SURE_AFTER, _YOUNG = 3.0, 3.0
#: A set that tells no effort is believed wherever it stops short of what is possible: it takes back only so much of a
#: contradiction, or a light set before each heavy one would keep a first guess for ever (judgement).
_FORGIVEN = 0.25
#: Doubt about a strength in kilograms has an end (judgement). [ln strength]
_WIDEST_SD = 1.0

#: While so much of what a break has cost is still to be regained, it is strength that differs, not the curve: some two
#: weeks after one of six (judgement). [ln strength]
_COMING_BACK = 0.02
#: Likewise in a session before which a shift of strength was believed as much as this (judgement). [1]
_SHIFTED_SURELY = 0.01


@compiled
def side_code(side: float) -> int:
    """Return the row of the counts of hard sets that a side keeps: both or unknown, left, right."""
    if side == -1.0:
        return 1
    return 2 if side == 1.0 else 0


@compiled
def opening_of(s: int, code: int, top: Array) -> int:
    """Return whose opening set a stage goes on from: its own side's, and where a side is not told the last one's."""
    last = top[s, _LAST, 0]
    if isnan(last):
        return _NOT_BEGUN
    if code == 0 or isnan(top[s, code, 0]):
        return int(last) if code == 0 or last == 0.0 else _NOT_BEGUN
    return code


@compiled
def tells_nothing(row: Array) -> bool:
    """Return whether a set cannot begin a series: it bounds strength from below at most."""
    bound = (
        row[C_BOUND_ONLY] > 0.0
        or row[C_WARM_UP] >= 0.5
        or row[C_MATCHED] == MATCHED_SILENTLY
        or row[C_STAGE] > 0.0
    )
    return bound or row[C_REPS] <= 0.0


@compiled
def tired_by(s: int, row: Array, hard: Array, kinship: Array, c: Any) -> float:
    """Return what the session's earlier hard sets usually cost this one. [1]"""
    code = side_code(row[C_SIDE])
    own, other, shared = hard[s, code], 0.0, 0.0
    if code == 0:
        own += 0.5 * (hard[s, 1] + hard[s, 2])
    else:
        own += 0.5 * hard[s, 0]
        other = hard[s, 3 - code]
    for i in range(hard.shape[0]):
        if i != s:
            shared += kinship[i, s] * (hard[i, 0] + 0.5 * (hard[i, 1] + hard[i, 2]))
    return tiredness(own, other, shared, row[C_REST], c)


@compiled
def note_set(s: int, row: Array, reserve: float, notes: Array) -> None:
    """Count a weighed set, and move the running means of the repetitions trained."""
    notes[s, SETS] += 1.0
    notes[s, NEWEST_DAY] = row[C_DAY]
    if row[C_TO_FAILURE] == 0.0 and isnan(row[C_RESERVE]):
        notes[s, UNREPORTED] += 1.0
    if tells_nothing(row):
        return
    failure = row[C_REPS] + reserve
    if notes[s, TRAINED] == 0.0:
        notes[s, TRAINED], notes[s, TO_FAILURE] = row[C_REPS], failure
    else:
        notes[s, TRAINED] += RUNNING_WEIGHT * (row[C_REPS] - notes[s, TRAINED])
        notes[s, TO_FAILURE] += RUNNING_WEIGHT * (failure - notes[s, TO_FAILURE])
    # A hold's curve does not hang on the endurance that repetitions share, with which it would turn.
    notes[s, PIVOT] = 0.0 if row[C_TIMED] > 0.0 else notes[s, TO_FAILURE]


@compiled
def reserve_left(n: int, row: Array, tired: float, mean: Array, k: float, b: float) -> float:
    """Return the reserve that a set is likely to have left, now that it is weighed. [repetitions]"""
    if row[C_TO_FAILURE] > 0.0:
        return 0.5
    strength = strength_now(n, sign_of(row[C_SIDE]), int(row[C_SETUP]), tired, mean)
    return max(repetitions(strength - row[C_LN_LOAD], k, b) - row[C_REPS], 0.0)


@compiled
def _store(
    s: int, weights: Array, notes: Array, mean: Array, cov: Array, a: Array, b: Array, c: Array, g: Array, p: Array,
    work: Array,
) -> None:  # fmt: skip
    n = int(notes[s, USED])
    for i in range(weights.shape[0]):
        if weights[i] > 0.0:
            to_usual(n, notes[s, PIVOT], mean[i], cov[i])
            part_with(n, mean[i], cov[i], a[i, s], b[i, s], c[i, s], g[i], p[i], work)


@compiled
def _load(
    s: int,
    weights: Array,
    notes: Array,
    mean: Array,
    cov: Array,
    a: Array,
    b: Array,
    c: Array,
    g: Array,
    p: Array,
) -> None:
    n = int(notes[s, USED])
    for i in range(weights.shape[0]):
        if weights[i] > 0.0:
            join(n, a[i, s], b[i, s], c[i, s], g[i], p[i], mean[i], cov[i])
            to_maximum(n, notes[s, PIVOT], mean[i], cov[i])


@compiled
def _absorb_all(
    s: int,
    n: int,
    row: Array,
    tired: float,
    planned: float,
    told_most: float,
    cs: Any,
    weights: Array,
    mean: Array,
    cov: Array,
    athlete: Array,
    notes: Array,
    evidence: Array,
    h: Array,
    tied: Array,
) -> None:
    """Weigh a set under every hypothesis; a set that none believes widens what is believed of strength."""
    bends = notes[s, REGAIN] < _COMING_BACK and notes[s, SHIFTED] < _SHIFTED_SURELY
    usual = notes[s, TO_FAILURE] if bends else -1.0
    # Where nothing is told of what a set left, or it left nothing, chance in its repetitions would bend the curve on and on.
    turns = notes[s, PIVOT] if row[C_TO_FAILURE] == 0.0 and row[C_RESERVE] >= 0.0 else 0.0
    kept = 0.0
    for i in range(weights.shape[0]):
        evidence[i] = 1.0
        if weights[i] > 0.0:
            cov[i, STRENGTH, STRENGTH] += jump_variance(
                n, row, tired, usual, told_most, cs[i], mean[i], cov[i], h, tied
            )
            k, bend = curve_of(n, 0.0, mean[i])
            changed = change_share(n, row, tired, usual, cs[i], mean[i], cov[i], athlete, notes[s], h)
            evidence[i], held = absorb(
                n, row, tired, usual, changed, planned, told_most, cs[i], mean[i], cov[i], h, tied
            )
            pivot(n, turns, k, bend, mean[i], cov[i])
            kept += weights[i] * held
    weigh(weights, evidence)
    if kept >= 0.5:
        silent = isnan(row[C_RESERVE]) and row[C_TO_FAILURE] == 0.0
        notes[s, REJECTED] = max(notes[s, REJECTED] - _FORGIVEN, 0.0) if silent else 0.0
        return
    notes[s, REJECTED] += 1.0
    again = notes[s, REJECTED] >= 2.0 and 0.0 < notes[s, SETS] <= _YOUNG
    gives_way = again or notes[s, REJECTED] >= _SURE_AFTER
    shock = cs[0].shock_sd * 2.0 ** min(notes[s, REJECTED] - 1.0, 6.0)
    for i in range(weights.shape[0]):
        if weights[i] > 0.0:
            sd = shock
            if gives_way:
                to_usual(n, notes[s, PIVOT], mean[i], cov[i])
                make_possible(n, row, mean[i])
                to_maximum(n, notes[s, PIVOT], mean[i], cov[i])
                sd = max(sd, 0.5 * abs(off_by(n, row, tired, cs[i], mean[i], cov[i])))
            held = cov[i, STRENGTH, STRENGTH]
            cov[i, STRENGTH, STRENGTH] = max(held, min(held + sd * sd, _WIDEST_SD * _WIDEST_SD))
            if gives_way:  # at once: a light set before the next heavy one would narrow it again
                k, bend = curve_of(n, 0.0, mean[i])
                absorb(n, row, tired, usual, 1.0, planned, told_most, cs[i], mean[i], cov[i], h, tied)
                pivot(n, turns, k, bend, mean[i], cov[i])


@compiled
def has_drops(number: int, table: Array) -> bool:
    """Return whether the session that begins in this row has a set done after a drop."""
    session = table[number, C_SESSION]
    while number < table.shape[0] and table[number, C_SESSION] == session:
        if table[number, C_STAGE] > 0.0:
            return True
        number += 1
    return False


@compiled_to_allocate
def run(
    table: Array, cs: Any, priors: Array, setups: Array, kinship: Array, foretold: Array, want: bool,
    weights: Array, g: Array, p: Array, a: Array, b: Array, c: Array, notes: Array, athlete: Array, hard: Array,
) -> None:  # fmt: skip
    """Fold the rows of ``table`` into the state, whose arrays are changed in place.

    ``foretold`` receives, where wanted, what was expected of each row before it was seen; NaN where nothing
    was known. The state is left within the last session, series parted.
    """
    hypotheses = weights.shape[0]
    _fold(
        table, cs, priors, setups, kinship, foretold, want, weights, g, p, a, b, c, notes, athlete, hard,
        np.zeros((hypotheses, JOINT_COUNT)), np.zeros((hypotheses, JOINT_COUNT, JOINT_COUNT)),
        np.full((notes.shape[0], _LAST + 1, 4), np.nan), np.zeros((hypotheses, OUTLOOK_COUNT)), np.ones(hypotheses),
        np.zeros(JOINT_COUNT), np.zeros(JOINT_COUNT), np.zeros(WORK),
    )  # fmt: skip


@compiled
def _fold(
    table: Array, cs: Any, priors: Array, setups: Array, kinship: Array, foretold: Array, want: bool,
    weights: Array, g: Array, p: Array, a: Array, b: Array, c: Array, notes: Array, athlete: Array, hard: Array,
    mean: Array, cov: Array, top: Array, outs: Array, evidence: Array, h: Array, tied: Array, work: Array,
) -> None:  # fmt: skip
    """Do what `run` does with arrays to work in; ``top`` has the last set by side, see `_one_set`."""
    current, session, drops = _NOT_BEGUN, -1.0, False
    for number in range(table.shape[0]):
        row = table[number]
        s = int(row[C_SERIES])
        opens = row[C_SESSION] != session
        if current != _NOT_BEGUN and (opens or s != current):
            _store(current, weights, notes, mean, cov, a, b, c, g, p, work)
            current = _NOT_BEGUN
        if opens:
            session, drops = row[C_SESSION], has_drops(number, table)
            open_session(row[C_DAY], cs, weights, g, p, a, b, c, notes, athlete, work)
            hard[:, :] = 0.0
            top[:, :, :] = np.nan
        fresh = notes[s, KNOWN] == 0.0
        if fresh:
            if tells_nothing(row) and isnan(priors[s, P_STRENGTH]):
                continue
            begin(s, row, priors[s], setups[s], cs, weights, g, a, b, c, notes, athlete)
        elif notes[s, OPEN] == 0.0:
            touch(s, cs, weights, a, b, c, notes, athlete)
        if current == _NOT_BEGUN:
            _load(s, weights, notes, mean, cov, a, b, c, g, p)
            current = s
        _one_set(
            s, number, table, fresh and isnan(priors[s, P_STRENGTH]), drops, cs, kinship, foretold, want,
            weights, mean, cov, notes, athlete, hard, top, outs, evidence, h, tied,
        )  # fmt: skip
    if current != _NOT_BEGUN:
        _store(current, weights, notes, mean, cov, a, b, c, g, p, work)


@compiled
def _one_set(
    s: int, number: int, table: Array, unforeseen: bool, drops: bool, cs: Any, kinship: Array, foretold: Array, want: bool,
    weights: Array, mean: Array, cov: Array, notes: Array, athlete: Array, hard: Array, top: Array, outs: Array,
    evidence: Array, h: Array, tied: Array,
) -> None:  # fmt: skip
    """Foretell and weigh one set. ``top`` keeps of the last set by side the strength behind it, its ln load, the reserve
    left and its repetitions, and which side was the last.
    """
    row, n, best = table[number], int(notes[s, USED]), int(np.argmax(weights))
    code = side_code(row[C_SIDE])
    tired = tired_by(s, row, hard, kinship, cs[0])
    opened = opening_of(s, code, top)
    if row[C_STAGE] > 0.0 and opened != _NOT_BEGUN:
        _one_stage(s, opened, n, number, row, cs[best], foretold, want, mean[best], cov[best], athlete, top)
        return
    if want and not unforeseen:
        for i in range(weights.shape[0]):
            if weights[i] > 0.0:
                look(n, row, tired, notes[s, TO_FAILURE], cs[i], mean[i], cov[i], h, outs[i])
        foretell(row[C_LN_LOAD], weights, outs, foretold[number])
    if row[C_STAGE] > 0.0 or (row[C_REPS] <= 0.0 and row[C_TO_FAILURE] == 0.0):
        return
    planned, told_most = planned_share(row, cs[0], athlete), tells_most(number, table, cs[0], athlete)
    _absorb_all(
        s, n, row, tired, planned, told_most, cs, weights, mean, cov, athlete, notes, evidence, h, tied
    )
    best = int(np.argmax(weights))
    k, bend = curve_of(n, sign_of(row[C_SIDE]), mean[best])
    reserve = reserve_left(n, row, tired, mean[best], k, bend)
    hard[s, code] += hard_share(reserve, cs[0]) * (1.0 - row[C_WARM_UP])
    if not tells_nothing(row):
        follow_loads(code, n, row, tired, told_most, best, cs, weights, mean, cov, athlete, notes[s], h)
    note_set(s, row, reserve, notes)
    if not drops:
        return
    left = 0.3 if row[C_TO_FAILURE] > 0.0 else reserve
    if not isnan(row[C_RESERVE]) and row[C_TO_FAILURE] == 0.0:
        left = reserve_behind(row[C_RESERVE], mean[best, n + BIAS], cs[best].report_share)
    top[s, code, 0] = row[C_LN_LOAD] + ln_ratio(row[C_REPS] + left, k, bend)
    top[s, code, 1], top[s, code, 2], top[s, code, 3] = row[C_LN_LOAD], left, row[C_REPS]
    top[s, _LAST, 0] = code


@compiled
def _one_stage(
    s: int, code: int, n: int, number: int, row: Array, c: Any, foretold: Array, want: bool,
    mean: Array, cov: Array, athlete: Array, top: Array,
) -> None:  # fmt: skip
    """Foretell and learn from a drop; it says nothing of strength, which was spent before it."""
    k, bend = curve_of(n, sign_of(row[C_SIDE]), mean)
    base = stage_base(top[s, code, 0], top[s, code, 2], top[s, code, 3], row, top[s, code, 1], k, bend)
    usual = usual_drop(top[s, code, 1], row[C_LN_LOAD], c)
    doubt = cov[LN_K, LN_K] + cov[n + ENDURANCE, n + ENDURANCE] + 2.0 * cov[LN_K, n + ENDURANCE]
    if want:
        foretell_stage(base, usual, doubt, athlete, c, foretold[number])
    if row[C_REPS] > 0.0:
        learn_drop(base, usual, row, athlete, c)
    top[s, code, 1], top[s, code, 2] = row[C_LN_LOAD], STAGE_RESERVE
