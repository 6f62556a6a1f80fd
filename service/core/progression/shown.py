"""What the newest sessions showed of themselves: a forecast lags behind a fall, what was done yesterday does not.

Sessions are held against each other by one line, not by the athlete's own curve: while load and repetitions fall together,
that curve is learned from the fall, and explains it away.
"""

from math import exp, floor, log

from service.core.estimates import Reason
from service.core.progression.case import Case, Decision
from service.core.progression.situation import LoadOption, Shown
from service.core.units import Kilograms, LogRatio, Repetitions, Share

#: What a decision rests on too where it is bound by what sessions showed.
SHOWN_SOURCES = ("Epley1985",)
#: A repetition more at one load is so much of the maximum: the line of [Epley1985]_, here beyond its repetitions too
#: (judgement).
EPLEY_REPS: Repetitions = 30.0
#: The newest session is held against the mean of so many before it, and of no fewer than these. (judgement)
SESSIONS_BEFORE, FEWEST_BEFORE = 3, 2
#: It fell where it is this much below them, a good repetition, or so much where the load was lowered too, and not above
#: the one right before. [ln kg] (judgement)
FELL_LN, FELL_LIGHTER_LN = 0.03, 0.01
#: A load this much below the session before is lighter by plan, be it an easy week's or what pain takes off: about a tenth,
#: and no one falls so far in days. [1] (judgement)
PLANNED_SHARE: Share = 0.09
#: Loads are rounded to what can be made, so a fall may show this much more at a lighter load; where more was left than
#: that the session was an easy one. [repetitions] (judgement)
ROUNDED_REPS: Repetitions = 1.5
#: A reserve is told in whole repetitions: q left is q to q + 1 on the continuous scale, and this its middle. [repetitions]
MIDDLE: Repetitions = 0.5
#: Loads this close are the same. [1] (judgement)
SAME: Share = 1e-3


def _ln_level(one: Shown) -> LogRatio:
    """Return the log of the maximum that a set shows, to compare sets with one another only. [ln kg]"""
    return log(one.load_kg) + log(1.0 + (one.repetitions + MIDDLE) / EPLEY_REPS)


def fell_percent(case: Case) -> float | None:
    """Return by how much the newest session fell against those before it, None where it did not. [%]

    Only sessions whose reserve was told count, and only those since the load last went down by plan; a session that is
    lighter and showed more repetitions to failure is an easy one, and no fall.
    """
    sessions = _since_planned(case.context.shown)[-SESSIONS_BEFORE - 1 :]
    if len(sessions) <= FEWEST_BEFORE:
        return None
    *before, last = (max(session, key=_ln_level) for session in sessions)
    fall = sum(_ln_level(one) for one in before) / len(before) - _ln_level(last)
    if _is_risen(before, last) or _is_easy(before, last) or _ln_level(last) > _ln_level(before[-1]):
        return None
    lowered = last.load_kg < max(one.load_kg for one in before[-FEWEST_BEFORE:]) * (1.0 - SAME)
    return 100.0 * (1.0 - exp(-fall)) if fall >= (FELL_LIGHTER_LN if lowered else FELL_LN) else None


def _is_risen(before: list[Shown], last: Shown) -> bool:
    return last.load_kg > min(one.load_kg for one in before) * (1.0 + SAME)


def _is_easy(before: list[Shown], last: Shown) -> bool:
    return last.repetitions > sum(one.repetitions for one in before) / len(before) + ROUNDED_REPS


def _since_planned(sessions: tuple[tuple[Shown, ...], ...]) -> tuple[tuple[Shown, ...], ...]:
    heaviest = [max(one.load_kg for one in session) for session in sessions]
    cuts = [i for i in range(1, len(sessions)) if heaviest[i] < heaviest[i - 1] * (1.0 - PLANNED_SHARE)]
    return sessions[max(cuts, default=0) :]


def most_shown(case: Case, load_kg: Kilograms) -> int | None:
    """Return the most repetitions at a load that leave the least wanted reserve by what the newest session showed.

    None where it told no reserve: then nothing is shown. [repetitions]
    """
    if not case.context.shown:
        return None
    strongest = max(_ln_level(one) for one in case.context.shown[-1])
    to_failure = EPLEY_REPS * (exp(strongest - log(load_kg)) - 1.0)
    return max(floor(to_failure - case.target.reserve_low), 0)


def hold_at_shown(case: Case, here: LoadOption, why: Reason) -> Decision:
    """Stay at the load with what was shown there at most, though the forecast would go on to a heavier one."""
    most = most_shown(case, here.load_kg)
    highest = case.target.high if most is None else min(max(most, 1), case.target.high)
    lowest = min(case.target.low, highest)
    trial = case.best([here], range(lowest, highest + 1)) or case.trial(here, lowest)
    reason = Reason(why.code, {**why.params, "reps": trial.reps})
    return Decision(case, trial, "hold_load", (reason,), reps_low=lowest, source_keys=SHOWN_SOURCES)
