"""The next load: the boldest one that is likely enough to feel as wanted, within what the situation
allows."""

from collections.abc import Sequence
from dataclasses import replace
from math import floor

from service.core.errors import NothingLoadable, OutsideValidity
from service.core.estimates import Caution, Reason
from service.core.progression.breaks import EndedBreak, ReturnBand, return_band, standing_band
from service.core.progression.careful import (
    PAIN_ENDS,
    PAIN_REDUCES,
    after_break,
    after_miss,
    below_missed,
    first_time,
    passes_by_miss,
    with_pain,
)
from service.core.progression.case import SAME_LOAD, Case, Decision, lighter, reference
from service.core.progression.chances import (
    ROUNDING,
    Trial,
    boldest,
    candidate,
    fitting_repetitions,
    next_above,
    trials,
    whole_range,
)
from service.core.progression.in_session import LoadForecast
from service.core.progression.shown import (
    SHOWED_LESS,
    SHOWN_SOURCES,
    as_shown,
    fell_percent,
    hold_at_shown,
    reaches,
    within_shown,
)
from service.core.progression.situation import (
    Candidate,
    Caps,
    Choice,
    LoadOption,
    NoForecast,
    Policy,
    ProgressionContext,
    RepetitionTarget,
)
from service.core.units import Kilograms

#: A load step above this share waits, and repetitions absorb it: the upper end of [Acsm2009]_, summary, 2-10
#: %.
BIG_STEP = 0.10
#: Highest rise at once, upper and lower body; one step where the step is larger. (judgement)
RISE_UPPER, RISE_LOWER = 0.05, 0.10
#: Highest rise at once on the way back to a load from before a break. (judgement)
RISE_REGAIN = 0.10
#: By how many repetitions the range extends at a time. (judgement)
EXTENDS_BY = 3
#: A big step is taken once the range's lower end less two is reached with this probability. (judgement)
BIG_STEP_SLACK, BIG_STEP_PROBABILITY = 2, 0.7
#: Two sessions in which the last set passed the range by two: [BaechleEarle2008]_.
SESSIONS_ABOVE = 2
#: Sessions without reported effort from which nothing rises. (judgement)
EFFORT_MISSING = 2
#: A load without told effort is held until this chance that as many repetitions are too hard. (judgement)
HOLD_UNTIL = 0.35
#: What says that a load stays, or that what was done at it does.
_STAYS = frozenset(
    f"progression.{code}"
    for code in (
        "add_repetitions", "repeat", "fewer_repetitions", "effort_missing", "held_as_done", "build_repetitions",
        "step_is_unsure", "sessions_fell", "shown_too_little", "shown_less_than_expected",
    )
)  # fmt: skip


def choose(
    forecast: LoadForecast | None,
    options: Sequence[LoadOption],
    target: RepetitionTarget,
    caps: Caps,
    context: ProgressionContext,
) -> Choice | NoForecast:
    """Return load and repetitions for the next set on the forecast's side, or why none can be named.

    A lift without a set of its own needs a forecast whose prior was told by another lift; else it is
    `NoForecast`. Pain above 5 ends the movement: `NoForecast` too.

    Raises:
        NothingLoadable: there is no option.
        OutsideValidity: the target is empty.
    """
    if not 1 <= target.low <= target.high or not 0.0 <= target.reserve_low <= target.reserve_high:
        raise OutsideValidity(low=target.low, high=target.high)
    if not options:
        raise NothingLoadable
    if context.recent_pain is not None and context.recent_pain > PAIN_ENDS:
        return NoForecast(
            Reason("progression.pain_ends_movement", {"pain": context.recent_pain}),
            (Caution("progression.pain_stop", "soon"),),
        )
    if forecast is None:
        return NoForecast(Reason("progression.no_evidence"))
    from_light = tuple(sorted(options, key=lambda option: option.load_kg))
    decision = _decide(Case(forecast, from_light, target, caps, context, cut=context.held))
    return decision if isinstance(decision, NoForecast) else _answer(decision)


def _decide(case: Case) -> Decision | NoForecast:
    context = case.context
    if context.missed_kg is not None:
        below = below_missed(case, context.missed_kg)
        if isinstance(below, NoForecast):
            return below
        case = below
    band = return_band(context.days_since_last, context.after_illness)
    if context.first_time or not case.forecast.basis.observation_count:
        return first_time(case)
    if band is not None:
        return after_break(case, band)
    if context.recent_pain is not None and context.recent_pain >= PAIN_REDUCES:
        return with_pain(case, context.recent_pain)
    if context.missed_kg is not None:
        return after_miss(case)
    standing = standing_band(context.ended_break)
    if standing is not None and context.ended_break is not None:
        return _returning(case, standing, context.ended_break)
    return _progress(case)


def _returning(case: Case, band: ReturnBand, ended: EndedBreak) -> Decision | NoForecast:
    """The careful weeks after a long break: as usual, but below the load before it and with more in reserve."""
    highest = band.load_high * ended.load_before_kg * (1.0 + ROUNDING)
    below = [option for option in case.options if option.load_kg <= highest] or case.options[:1]
    reserve = max(case.target.reserve_low, band.reserve)
    wanted = RepetitionTarget(
        case.target.low, case.target.high, reserve, max(case.target.reserve_high, reserve + 1.0)
    )
    decision = _progress(replace(case, target=wanted).up_to(below), _why_below(case, highest))
    if isinstance(decision, NoForecast):
        return decision
    code = "return_after_illness" if ended.after_illness else "still_returning"
    params = {"days": ended.days, "reserve": reserve, "sets_percent": 100.0 * band.sets_share}
    reasons = (Reason(f"progression.{code}", params), *decision.reasons)
    return replace(decision, policy="return_after_break", reasons=reasons, sets_share=band.sets_share)


def _why_below(case: Case, highest: Kilograms) -> str:
    last = case.context.last_load_kg
    return "below_before_break" if last is not None and last > highest else "nearest_below_last"


def _progress(case: Case, why_below: str = "nearest_below_last") -> Decision | NoForecast:
    """Go on from the last load, or from the nearest that is there, and say which it is."""
    decision = within_shown(case, _go_on(case))
    last = case.context.last_load_kg
    if isinstance(decision, NoForecast) or last is None:
        return decision
    percent, reps = 100.0 * (decision.trial.option.load_kg / last - 1.0), decision.trial.reps
    stays = any(reason.code in _STAYS for reason in decision.reasons)
    # That nothing rises stays true of a load that the site makes lighter.
    kept = tuple(reason for reason in decision.reasons if reason.code not in _STAYS - {SHOWED_LESS})
    if abs(percent) <= 100.0 * SAME_LOAD or not stays:
        return decision
    if percent > 0.0:
        told = Reason("progression.lightest_is_heavier", {"percent": percent, "reps": reps})
        return replace(decision, reasons=(told, *kept))
    told = Reason(f"progression.{why_below}", {"percent": -percent, "reps": reps})
    return replace(decision, policy="reduce_load", reasons=(told, *kept))


def _go_on(case: Case) -> Decision | NoForecast:
    here = reference(case)
    at_load = case.forecast.repetitions_at(here.load_kg)
    if case.context.effort_missing_count >= EFFORT_MISSING:
        return _hold(case, here) or lighter(case, here)
    if not case.fits(here):
        return lighter(case, here)
    fitting = fitting_repetitions(at_load, case.target)
    two_for_two = case.context.sessions_above_range >= SESSIONS_ABOVE
    if fitting < case.target.high + 0.5 and not two_for_two:
        return _stay(case, here)
    return _heavier(case, here, two_for_two)


def _hold(case: Case, here: LoadOption) -> Decision | None:
    """Hold what was done as far as the wish goes, or one repetition more; ``None`` where as many are more likely than
    not too hard.

    Without told effort what was done stays likely enough to be too hard, however often it is done: the cap keeps from
    more of it, and does not take it away.
    """
    last = case.context.last_reps or case.target.low
    aim = min(max(last, case.target.low), case.target.high)
    done = min(aim, last)
    held = case.trial(here, done)
    if held.p_too_hard >= HOLD_UNTIL:
        return None
    most = aim + 1 if aim < case.target.high or aim == last else aim
    allowed = trials(case.forecast, [here], range(done, most + 1), case.wanted)
    trial = boldest([one for one in allowed if one.reps >= aim]) or (allowed[-1] if allowed else held)
    reasons = [Reason("progression.effort_missing", {"sessions": case.context.effort_missing_count})]
    if not allowed:
        percents = {"p_percent": 100.0 * held.p_too_hard, "cap_percent": 100.0 * case.caps.too_hard}
        reasons.append(Reason("progression.held_as_done", {"reps": done, **percents}))
    elif trial.reps < aim:
        reasons.append(Reason("progression.fewer_repetitions", {"reps": trial.reps}))
    return Decision(
        case,
        trial,
        "hold_load",
        tuple(reasons),
        (Caution("progression.effort_assumed"),),
        reps_low=min(trial.reps, case.target.low),
        reps_high=max(trial.reps, case.target.high),
    )


def _stay(case: Case, here: LoadOption) -> Decision:
    """Stay at the load; a big next step turns the top of the range into the start of a longer one."""
    above = next_above(case.options, here.load_kg)
    last = case.context.last_reps
    step = above.load_kg / here.load_kg - 1.0 if above else 0.0
    if above and _is_big(step) and last is not None and last >= case.target.high:
        return _extend(case, here, above)
    trial = case.best([here]) or case.trial(here, case.target.low)
    code = "add_repetitions"
    if last is not None and trial.reps <= last:
        code = "repeat" if trial.reps == last else "fewer_repetitions"
    fell = fell_percent(case) if code == "add_repetitions" else None
    if fell is not None:
        return _hold_fallen(case, here, fell)
    reason = Reason(f"progression.{code}", {"reps": trial.reps})
    return Decision(case, trial, "add_repetitions_then_load", (reason,))


def _is_big(step: float) -> bool:
    """Return whether the step to a load is over a tenth; converted loads make ten to eleven no more than that."""
    return step > BIG_STEP + ROUNDING


def _heavier(case: Case, here: LoadOption, two_for_two: bool) -> Decision:
    above = next_above(case.options, here.load_kg)
    if above is None:
        return _stay(case, here) if case.cut else _extend(case, here, None)
    step = above.load_kg / here.load_kg - 1.0
    if _is_big(step) and not _big_step_is_due(case, above):
        return _extend(case, here, above)
    fell = fell_percent(case)
    if fell is not None:
        return _hold_fallen(case, here, fell)
    lowest = max(case.target.low - (BIG_STEP_SLACK if _is_big(step) else 0), 1)
    rises = _rises(case, here, above)
    shown = [option for option in rises if reaches(case, option, lowest)]
    if not shown:
        return hold_at_shown(case, here, _too_little(case, above, lowest))
    free = case.among(shown, whole_range(lowest, case.target.high))
    trial = as_shown(case, free, lowest)
    decision = _risen(case, here, above, trial, two_for_two)
    bound = trial != free or len(shown) < len(rises)
    return replace(decision, source_keys=SHOWN_SOURCES) if bound else decision


def _risen(
    case: Case, here: LoadOption, above: LoadOption, trial: Trial | None, two_for_two: bool
) -> Decision:
    """Take a heavier load's trial, or wait where the cap allows none."""
    if trial is None:
        is_big = _is_big(above.load_kg / here.load_kg - 1.0)
        return _extend(case, here, above) if is_big else _wait(case, here, above)
    policy: Policy = "two_for_two" if two_for_two else "add_repetitions_then_load"
    code = "progression.two_sessions_above" if two_for_two else "progression.top_of_range"
    # From what was lifted, also where that cannot be made here.
    rise = 100.0 * (trial.option.load_kg / (case.context.last_load_kg or here.load_kg) - 1.0)
    reasons = (
        Reason(code, {"rise_percent": rise, "reps": trial.reps}),
        *_more_left(case, trial),
    )
    return Decision(case, trial, policy, reasons, reps_low=min(trial.reps, case.target.low))


def _hold_fallen(case: Case, here: LoadOption, percent: float) -> Decision:
    return hold_at_shown(case, here, Reason("progression.sessions_fell", {"percent": percent}))


def _too_little(case: Case, above: LoadOption, lowest: int) -> Reason:
    params = {"step_percent": 100.0 * (above.load_kg / reference(case).load_kg - 1.0), "reps_low": lowest}
    return Reason("progression.shown_too_little", params)


def _more_left(case: Case, trial: Trial) -> tuple[Reason, ...]:
    """Say why more is left than wanted where a load rises step by step; nothing where it is not."""
    left = candidate(case.forecast, trial).reserve
    if left < case.target.reserve_high + 1.0:
        return ()
    return (Reason("progression.rises_step_by_step", {"reserve": floor(left)}),)


def _rises(case: Case, here: LoadOption, above: LoadOption) -> list[LoadOption]:
    share = RISE_UPPER if case.context.upper_body else RISE_LOWER
    before = case.context.ended_break
    if before is not None and here.load_kg < before.load_before_kg:
        share = max(share, min(RISE_REGAIN, before.load_before_kg / here.load_kg - 1.0))
    highest = max(here.load_kg * (1.0 + share), above.load_kg)
    return [option for option in case.options if here.load_kg < option.load_kg <= highest * (1.0 + ROUNDING)]


def _big_step_is_due(case: Case, above: LoadOption) -> bool:
    needed = max(case.target.low - BIG_STEP_SLACK, 1)
    return case.forecast.repetitions_at(above.load_kg).probability_at_least(needed) >= BIG_STEP_PROBABILITY


def _wait(case: Case, here: LoadOption, above: LoadOption) -> Decision:
    """Stay in the range though more could be lifted: the next load, however near, is not sure enough yet."""
    trial = case.best([here]) or case.trial(here, case.target.low)
    params = {
        "reps": trial.reps,
        "step_percent": 100.0 * (above.load_kg / here.load_kg - 1.0),
        "reps_low": case.target.low,
        "p_too_hard_percent": 100.0 * case.trial(above, case.target.low).p_too_hard,
    }
    return Decision(case, trial, "add_repetitions_then_load", (Reason("progression.step_is_unsure", params),))


def _extend(case: Case, here: LoadOption, above: LoadOption | None) -> Decision:
    """Stay and let repetitions grow past the range, in short blocks up to the longest range."""
    last = case.context.last_reps or case.target.high
    farthest = min(max(last, case.target.high) + EXTENDS_BY, case.longest_range)
    trial = case.best([here], range(case.target.low, farthest + 1)) or case.trial(here, case.target.low)
    # What was done once, to failure perhaps, is no start for a range that leaves something.
    reached = max(min(last, trial.reps), case.target.high)
    low = min(reached + 1, case.longest_range)
    high = min(reached + EXTENDS_BY, case.longest_range)
    reasons = [
        Reason("progression.build_repetitions", {"reps_low": low, "reps_high": high, "reps": trial.reps})
    ]
    if above is None:
        reasons.append(Reason("progression.heaviest_load"))
    else:
        expected = case.forecast.repetitions_at(above.load_kg).median
        step = 100.0 * (above.load_kg / here.load_kg - 1.0)
        reasons.append(
            Reason("progression.step_waits", {"step_percent": step, "reps_there": max(expected, 0.0)})
        )
    return Decision(case, trial, "add_repetitions_then_load", tuple(reasons), reps_low=low, reps_high=high)


def chance_of(chosen: Candidate, code: str = "progression.chance_of_wanted_effort") -> Reason:
    """Return the chances of a candidate as a reason."""
    percents = {"p_wanted_percent": 100.0 * chosen.p_wanted, "p_too_hard_percent": 100.0 * chosen.p_too_hard}
    return Reason(code, percents)


def _chance(case: Case, chosen: Candidate) -> Reason:
    """Say of what is known whether it passes by a miss, or its chances would speak against why the load is so light."""
    return chance_of(chosen, "progression.chance_despite_miss") if passes_by_miss(case) else chance_of(chosen)


def _answer(decision: Decision) -> Choice:
    case = decision.case
    chosen = candidate(case.forecast, decision.trial)
    return Choice(
        load_index=chosen.option.index,
        load_kg=chosen.option.load_kg,
        reps=chosen.reps,
        reps_low=case.target.low if decision.reps_low is None else decision.reps_low,
        reps_high=case.target.high if decision.reps_high is None else decision.reps_high,
        reserve_low=case.target.reserve_low,
        reserve_high=case.target.reserve_high,
        reserve=chosen.reserve,
        p_wanted=chosen.p_wanted,
        p_too_hard=chosen.p_too_hard,
        expected_reps=chosen.expected_reps,
        policy=decision.policy,
        sets_share=decision.sets_share,
        alternatives=tuple(candidate(case.forecast, trial) for trial in _alternatives(case, decision.trial)),
        reasons=(*decision.reasons, _chance(case, chosen)),
        cautions=decision.cautions,
        source_keys=decision.source_keys,
    )


def _alternatives(case: Case, chosen: Trial) -> list[Trial]:
    place = case.options.index(chosen.option)
    neighbours = [case.options[i] for i in (place - 1, place + 1) if 0 <= i < len(case.options)]
    return [case.best([option]) or case.trial(option, case.target.low) for option in neighbours]
