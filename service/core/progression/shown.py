"""What the newest sessions showed of themselves: a forecast lags behind a fall, what was done yesterday does not.

Sessions are held against each other by one line, not by the athlete's own curve: while load and repetitions fall together,
that curve is learned from the fall, and explains it away.
"""

from dataclasses import replace
from math import exp, floor, inf, log

from service.core.estimates import Reason
from service.core.progression.case import SAME_LOAD, Case, Decision, reference
from service.core.progression.chances import Trial
from service.core.progression.situation import LoadOption, NoForecast, Shown
from service.core.units import Kilograms, LogRatio, Repetitions, Share

#: Says that nothing rises after a session that was off.
SHOWED_LESS = "progression.shown_less_than_expected"
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
#: A load this much below the session before is lighter by plan, be it an easy week's or what pain takes off: about a tenth.
#: Where no more was left than is wanted such a one is off all the same, `is_off`. [1] (judgement)
PLANNED_SHARE: Share = 0.09
#: Loads are rounded to what can be made, so a fall may show this much more at a lighter load; where more was left than
#: that the session was an easy one. [repetitions] (judgement)
ROUNDED_REPS: Repetitions = 1.5
#: A reserve is told in whole repetitions: q left is q to q + 1 on the continuous scale, and this its middle. [repetitions]
MIDDLE: Repetitions = 0.5
#: Loads this close are the same. [1] (judgement)
SAME: Share = 1e-3
#: A session is off where its best set is this much below what is believed, and below one of the sessions before it: one sd of
#: a day, which `capability.parameters.Constants` takes for 0.027 of the whole body, 0.025 of the lift, 0.007 of the side and
#: 0.018 of the set, together 0.042; by the curves of the classes 1.5 to 2.5 repetitions at twelve. [ln kg] (judgement)
OFF_LN: LogRatio = 0.04
#: People have about one repetition more left than they say: [Halperin2022]_, abstract. [repetitions]
KEPT_BACK: Repetitions = 1.0


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


def reaches(case: Case, option: LoadOption, lowest: int) -> bool:
    """Whether the newest session showed enough for a load, or told nothing of it."""
    most = most_shown(case, option.load_kg)
    return most is None or most >= lowest


def as_shown(case: Case, trial: Trial | None, lowest: int) -> Trial | None:
    """Return a trial with no more repetitions than the newest session showed."""
    most = most_shown(case, trial.option.load_kg) if trial is not None else None
    if trial is None or most is None or trial.reps <= most:
        return trial
    return case.best([trial.option], range(lowest, most + 1))


def is_off(case: Case) -> bool:
    """Whether the newest session showed clearly less than is believed, and than one of those before it: a bad day, or a fall.

    A session moves what is believed by a part of the way, as it may be a bad day. Both are asked, since what is believed lies
    above what is told by as much as this athlete keeps back; the strongest of those before it, since a fall fills their mean
    sooner than it is believed. A session of which every set left more than is wanted was
    an easy one, and a set that pain ended shows what was possible at least: neither is off.
    """
    *before, last = case.context.shown[-SESSIONS_BEFORE - 1 :] or ((),)
    told = [one for one in last if not one.cut_short]
    if not before or not told or min(one.left for one in told) > case.target.reserve_high:
        return False
    best = max(told, key=_ln_level)
    could = best.repetitions + (KEPT_BACK if best.left else MIDDLE)
    believed = case.forecast.ln_load_for(could, "next_set")[0] - log(best.load_kg)
    strongest = max(_ln_level(one) for session in before for one in session)
    return min(believed, strongest - _ln_level(best)) > OFF_LN


def within_shown(case: Case, decision: Decision | NoForecast) -> Decision | NoForecast:
    """Return a decision, or what holds it where the newest session was off and it asks for more than that did or showed."""
    last = case.context.last_load_kg
    if isinstance(decision, NoForecast) or last is None or not is_off(case):
        return decision
    option, reps = decision.trial.option, decision.trial.reps
    if option.load_kg <= last * (1.0 + SAME_LOAD) and reps <= _most_while_off(case, option):
        return decision
    here = min(option, reference(case), key=lambda one: one.load_kg)
    held = hold_at_shown(case, here, Reason(SHOWED_LESS))
    if decision.policy != "reduce_load":
        return held
    # It comes down for a reason of its own, which stays said.
    lowest = min(held.trial.reps, case.target.low if decision.reps_low is None else decision.reps_low)
    return replace(decision, trial=held.trial, reps_low=lowest, source_keys=SHOWN_SOURCES)


def heaviest_first(case: Case, reserve: Repetitions) -> Kilograms:
    """Return the heaviest load of a side's first time: where the other side's newest session was off, none above that one's,
    and none at which by what it showed the fewest repetitions leave less than such a reserve. [kg]"""
    if not is_off(case):
        return inf
    last, least = case.context.shown[-1], case.target.low + reserve
    strongest = exp(max(_ln_level(one) for one in last))
    return min(max(one.load_kg for one in last), strongest / (1.0 + least / EPLEY_REPS))


def _most_while_off(case: Case, here: LoadOption) -> int:
    """Return the most repetitions after a session that was off: what it showed, of its own load no more than it did."""
    context, most = case.context, most_shown(case, here.load_kg)
    most = max(case.target.high if most is None else most, 1)
    lighter = here.load_kg < (context.last_load_kg or 0.0) * (1.0 - SAME_LOAD)
    return most if lighter or context.last_reps is None else min(most, context.last_reps)


def hold_at_shown(case: Case, here: LoadOption, why: Reason) -> Decision:
    """Stay at the load with what was shown there at most, though the forecast would go on to a heavier one."""
    most = _most_while_off(case, here) if is_off(case) else most_shown(case, here.load_kg)
    highest = case.target.high if most is None else min(max(most, 1), case.target.high)
    lowest = min(case.target.low, highest)
    trial = case.best([here], range(lowest, highest + 1)) or case.trial(here, lowest)
    reason = Reason(why.code, {**why.params, "reps": trial.reps})
    return Decision(case, trial, "hold_load", (reason,), reps_low=lowest, source_keys=SHOWN_SOURCES)
