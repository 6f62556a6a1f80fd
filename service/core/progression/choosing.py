"""The next load: the boldest one that is likely enough to feel as wanted, within what the situation
allows."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, inf

from service.core.errors import NothingLoadable, OutsideValidity
from service.core.estimates import Caution, Reason
from service.core.progression.breaks import EndedBreak, ReturnBand, return_band, standing_band
from service.core.progression.chances import (
    ROUNDING,
    Trial,
    Wanted,
    at_or_below,
    boldest,
    candidate,
    fitting_repetitions,
    heaviest_close,
    next_above,
    trials,
    whole_range,
)
from service.core.progression.in_session import LoadForecast
from service.core.progression.situation import (
    Caps,
    Choice,
    LoadOption,
    NoForecast,
    Policy,
    ProgressionContext,
    RepetitionTarget,
)
from service.core.units import Kilograms, Share

#: A load step above this share waits, and repetitions absorb it: the upper end of [Acsm2009]_, summary, 2-10
#: %.
BIG_STEP = 0.10
#: Highest rise at once, upper and lower body; one step where the step is larger. (judgement)
RISE_UPPER, RISE_LOWER = 0.05, 0.10
#: Highest rise at once on the way back to a load from before a break. (judgement)
RISE_REGAIN = 0.10
#: The fewest repetitions must leave the wanted reserve with this chance, or the load is too heavy. (judgement)
FITS_PROBABILITY = 0.5
#: Repetitions up to which the range may extend, and by how much at a time. (judgement)
EXTENDS_TO, EXTENDS_TO_SINGLE_JOINT, EXTENDS_BY = 20, 30, 3
#: A big step is taken once the range's lower end less two is reached with this probability. (judgement)
BIG_STEP_SLACK, BIG_STEP_PROBABILITY = 2, 0.7
#: Two sessions in which the last set passed the range by two: [BaechleEarle2008]_.
SESSIONS_ABOVE = 2
#: Pain from which nothing rises and the load falls, and above which the movement ends. (from memory;
#: versions of the pain-monitoring model differ)
PAIN_REDUCES, PAIN_ENDS = 3.0, 5.0
PAIN_LOAD_SHARE = 0.9
#: Sessions without reported effort from which nothing rises. (judgement)
EFFORT_MISSING = 2
#: Loads this close are one load, told in another unit or rounded: 20 lb are logged as 9.07 kg. [1] (judgement)
SAME_LOAD = 0.005
#: A load without told effort is held until this chance that it is too hard. (judgement)
HOLD_UNTIL = 0.5
#: A first time starts at this quantile of the load, with this reserve and share of sets. (judgement)
FIRST_QUANTILE_SD, FIRST_RESERVE, FIRST_SETS_SHARE, FIRST_TOO_HARD = -0.8416, 4.0, 2.0 / 3.0, 0.05


@dataclass(frozen=True, slots=True)
class _Decision:
    trial: Trial
    policy: Policy
    reasons: tuple[Reason, ...]
    cautions: tuple[Caution, ...] = ()
    reps_low: int | None = None
    reps_high: int | None = None
    sets_share: Share = 1.0


@dataclass(frozen=True, slots=True)
class _Case:
    forecast: LoadForecast
    options: tuple[LoadOption, ...]
    target: RepetitionTarget
    caps: Caps
    context: ProgressionContext

    @property
    def wanted(self) -> Wanted:
        return Wanted(self.target.reserve_low, self.target.reserve_high, self.caps.too_hard)

    @property
    def longest_range(self) -> int:
        return EXTENDS_TO_SINGLE_JOINT if self.context.single_joint else EXTENDS_TO

    @property
    def usual_range(self) -> range:
        return whole_range(self.target.low, self.target.high)

    def best(self, options: Sequence[LoadOption], reps: range | None = None) -> Trial | None:
        return boldest(trials(self.forecast, options, reps or self.usual_range, self.wanted))

    def among(self, options: Sequence[LoadOption], reps: range | None = None) -> Trial | None:
        return heaviest_close(self.forecast, options, reps or self.usual_range, self.wanted)

    def fits(self, option: LoadOption) -> bool:
        """Whether the range's lower end is likely to leave the wanted reserve, and not too likely to be too hard."""
        at_load = self.forecast.repetitions_at(option.load_kg)
        if 1.0 - at_load.probability_at_least(self.target.low + 1.0) > self.caps.too_hard:
            return False
        return at_load.probability_at_least(self.target.low + self.target.reserve_low) >= FITS_PROBABILITY

    def gentlest(self, option: LoadOption, reps: int | None = None) -> Trial:
        at_load = self.forecast.repetitions_at(option.load_kg)
        return self.wanted.trial(option, reps or self.target.low, at_load)


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
    case = _Case(forecast, tuple(sorted(options, key=lambda o: o.load_kg)), target, caps, context)
    return _answer(case, _decide(case))


def _decide(case: _Case) -> _Decision:
    context = case.context
    band = return_band(context.days_since_last, context.after_illness)
    if context.first_time or not case.forecast.basis.observation_count:
        return _first_time(case)
    if band is not None:
        return _after_break(case, band)
    if context.recent_pain is not None and context.recent_pain >= PAIN_REDUCES:
        return _with_pain(case, context.recent_pain)
    standing = standing_band(context.ended_break)
    if standing is not None and context.ended_break is not None:
        return _returning(case, standing, context.ended_break)
    return _progress(case)


def _first_time(case: _Case) -> _Decision:
    # At least so much in reserve is wanted the first time; more is no fault, so the chance has no upper end.
    wanted = RepetitionTarget(case.target.low, case.target.high, FIRST_RESERVE, inf)
    first = replace(case, target=wanted, caps=Caps(min(case.caps.too_hard, FIRST_TOO_HARD)))
    mean, sd = case.forecast.ln_load_for(case.target.low + FIRST_RESERVE, "next_set")
    start: Kilograms = exp(mean + FIRST_QUANTILE_SD * sd)
    option = at_or_below(case.options, start) or case.options[0]
    trial = first.best([option]) or first.gentlest(option)
    code = "progression.new_station" if case.context.new_station else "progression.first_time_low_start"
    return _Decision(
        trial,
        "add_repetitions_then_load",
        (Reason(code),),
        (Caution("progression.first_time"),),
        sets_share=FIRST_SETS_SHARE,
    )


def _after_break(case: _Case, band: ReturnBand) -> _Decision:
    reserve = max(case.target.reserve_low, band.reserve)
    wanted = RepetitionTarget(case.target.low, case.target.high, reserve, inf)
    gentle = replace(case, target=wanted)
    last = _reference(case).load_kg
    lowest, highest = band.load_low * last * (1.0 - ROUNDING), band.load_high * last * (1.0 + ROUNDING)
    within = [option for option in case.options if lowest <= option.load_kg <= highest]
    lightest = at_or_below(case.options, highest) or case.options[0]
    trial = gentle.among(within or [lightest]) or gentle.gentlest(within[0] if within else lightest)
    params = {
        "days": case.context.days_since_last,
        "reserve": reserve,
        "sets_percent": 100.0 * band.sets_share,
    }
    return _Decision(
        trial,
        "return_after_break",
        (Reason("progression.return_after_break", params),),
        (Caution("progression.after_break"),),
        sets_share=band.sets_share,
    )


def _returning(case: _Case, band: ReturnBand, ended: EndedBreak) -> _Decision:
    """The careful weeks after a long break: as usual, but below the load before it and with more in reserve."""
    highest = band.load_high * ended.load_before_kg
    options = tuple(option for option in case.options if option.load_kg <= highest * (1.0 + ROUNDING))
    reserve = max(case.target.reserve_low, band.reserve)
    wanted = RepetitionTarget(
        case.target.low, case.target.high, reserve, max(case.target.reserve_high, reserve + 1.0)
    )
    decision = _progress(replace(case, options=options or case.options[:1], target=wanted))
    params = {"days": ended.days, "reserve": reserve, "sets_percent": 100.0 * band.sets_share}
    reasons = (Reason("progression.still_returning", params), *decision.reasons)
    return replace(decision, policy="return_after_break", reasons=reasons, sets_share=band.sets_share)


def _with_pain(case: _Case, pain: float) -> _Decision:
    lighter = at_or_below(case.options, PAIN_LOAD_SHARE * _reference(case).load_kg) or case.options[0]
    trial = case.best([lighter]) or case.gentlest(lighter)
    return _Decision(
        trial,
        "reduce_load",
        (Reason("progression.pain_reduces_load", {"pain": pain}),),
        (Caution("progression.watch_next_morning"),),
    )


def _reference(case: _Case) -> LoadOption:
    """Return the option nearest below the last load, or the one that the forecast fits where there is
    none."""
    last = case.context.last_load_kg
    if last is None:
        middle = 0.5 * (case.target.low + case.target.high)
        last = case.forecast.load_for(middle + case.target.reserve_high, of="next_set").value
    return at_or_below(case.options, last * (1.0 + SAME_LOAD)) or case.options[0]


def _progress(case: _Case) -> _Decision:
    here = _reference(case)
    at_load = case.forecast.repetitions_at(here.load_kg)
    if case.context.effort_missing_count >= EFFORT_MISSING:
        return _hold(case, here) or _lighter(case, here)
    if not case.fits(here):
        return _lighter(case, here)
    fitting = fitting_repetitions(at_load, case.target)
    two_for_two = case.context.sessions_above_range >= SESSIONS_ABOVE
    if fitting < case.target.high + 0.5 and not two_for_two:
        return _stay(case, here)
    return _heavier(case, here, two_for_two)


def _lighter(case: _Case, here: LoadOption) -> _Decision:
    below = [option for option in case.options if option.load_kg < here.load_kg]
    fitting = [option for option in below if case.fits(option)]
    trial = case.best(fitting[-1:])
    reason = Reason("progression.forecast_below_range", {"reps_low": case.target.low})
    if trial is not None:
        return _Decision(trial, "reduce_load", (reason,))
    lightest = case.options[0]
    trial = case.best([lightest], range(1, case.target.low)) or case.gentlest(lightest, 1)
    short = Reason("progression.range_out_of_reach", {"reps_low": case.target.low})
    return _Decision(trial, "reduce_load", (reason, short), reps_low=trial.reps, reps_high=case.target.low)


def _hold(case: _Case, here: LoadOption) -> _Decision | None:
    """Hold what was done, or one repetition more; ``None`` where it is more likely than not too hard."""
    last = case.context.last_reps or case.target.low
    trial = case.best([here], range(last, last + 2)) or case.gentlest(here, last)
    if trial.p_too_hard >= HOLD_UNTIL:
        return None
    reason = Reason("progression.effort_missing", {"sessions": case.context.effort_missing_count})
    return _Decision(trial, "hold_load", (reason,), (Caution("progression.effort_assumed"),))


def _stay(case: _Case, here: LoadOption) -> _Decision:
    """Stay at the load; a big next step turns the top of the range into the start of a longer one."""
    above = next_above(case.options, here.load_kg)
    last = case.context.last_reps
    step = above.load_kg / here.load_kg - 1.0 if above else 0.0
    if above and step > BIG_STEP and last is not None and last >= case.target.high:
        return _extend(case, here, above)
    trial = case.best([here]) or case.gentlest(here)
    code = "add_repetitions"
    if last is not None and trial.reps <= last:
        code = "repeat" if trial.reps == last else "fewer_repetitions"
    return _Decision(
        trial, "add_repetitions_then_load", (Reason(f"progression.{code}", {"reps": trial.reps}),)
    )


def _heavier(case: _Case, here: LoadOption, two_for_two: bool) -> _Decision:
    above = next_above(case.options, here.load_kg)
    if above is None:
        return _extend(case, here, None)
    step = above.load_kg / here.load_kg - 1.0
    if step > BIG_STEP and not _big_step_is_due(case, above):
        return _extend(case, here, above)
    lowest = case.target.low - (BIG_STEP_SLACK if step > BIG_STEP else 0)
    trial = case.among(_rises(case, here, above), whole_range(lowest, case.target.high))
    if trial is None:
        return _extend(case, here, above)
    policy: Policy = "two_for_two" if two_for_two else "add_repetitions_then_load"
    code = "progression.two_sessions_above" if two_for_two else "progression.top_of_range"
    rise = 100.0 * (trial.option.load_kg / here.load_kg - 1.0)
    return _Decision(trial, policy, (Reason(code, {"rise_percent": rise, "reps": trial.reps}),))


def _rises(case: _Case, here: LoadOption, above: LoadOption) -> list[LoadOption]:
    share = RISE_UPPER if case.context.upper_body else RISE_LOWER
    before = case.context.ended_break
    if before is not None and here.load_kg < before.load_before_kg:
        share = max(share, min(RISE_REGAIN, before.load_before_kg / here.load_kg - 1.0))
    highest = max(here.load_kg * (1.0 + share), above.load_kg)
    return [option for option in case.options if here.load_kg < option.load_kg <= highest * (1.0 + ROUNDING)]


def _big_step_is_due(case: _Case, above: LoadOption) -> bool:
    needed = max(case.target.low - BIG_STEP_SLACK, 1)
    return case.forecast.repetitions_at(above.load_kg).probability_at_least(needed) >= BIG_STEP_PROBABILITY


def _extend(case: _Case, here: LoadOption, above: LoadOption | None) -> _Decision:
    """Stay and let repetitions grow past the range, in short blocks up to the longest range."""
    reached = max(case.context.last_reps or case.target.high, case.target.high)
    low = min(reached + 1, case.longest_range)
    high = min(reached + EXTENDS_BY, case.longest_range)
    trial = case.best([here], range(case.target.low, high + 1)) or case.gentlest(here)
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
    return _Decision(trial, "add_repetitions_then_load", tuple(reasons), reps_low=low, reps_high=high)


def _answer(case: _Case, decision: _Decision) -> Choice:
    chosen = candidate(case.forecast, decision.trial)
    chance = Reason(
        "progression.chance_of_wanted_effort",
        {"p_wanted_percent": 100.0 * chosen.p_wanted, "p_too_hard_percent": 100.0 * chosen.p_too_hard},
    )
    return Choice(
        load_index=chosen.option.index,
        load_kg=chosen.option.load_kg,
        reps=chosen.reps,
        reps_low=case.target.low if decision.reps_low is None else decision.reps_low,
        reps_high=case.target.high if decision.reps_high is None else decision.reps_high,
        reserve=chosen.reserve,
        p_wanted=chosen.p_wanted,
        p_too_hard=chosen.p_too_hard,
        expected_reps=chosen.expected_reps,
        policy=decision.policy,
        sets_share=decision.sets_share,
        alternatives=tuple(candidate(case.forecast, trial) for trial in _alternatives(case, decision.trial)),
        reasons=(*decision.reasons, chance),
        cautions=decision.cautions,
    )


def _alternatives(case: _Case, chosen: Trial) -> list[Trial]:
    place = case.options.index(chosen.option)
    neighbours = [i for i in (place - 1, place + 1) if 0 <= i < len(case.options)]
    return [case.best([case.options[i]]) or case.gentlest(case.options[i]) for i in neighbours]
