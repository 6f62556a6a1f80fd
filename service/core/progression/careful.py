"""When a load comes down or starts low: the first time, after a break, with pain, after a lift that was missed."""

from dataclasses import replace
from math import exp

from service.core.estimates import Caution, Reason
from service.core.progression.breaks import ReturnBand
from service.core.progression.case import (
    FITS_PROBABILITY,
    SAME_LOAD,
    Case,
    Decision,
    fewest,
    lighter,
    reference,
)
from service.core.progression.chances import ROUNDING, at_or_below
from service.core.progression.shown import SHOWED_LESS, SHOWN_SOURCES, heaviest_first
from service.core.progression.situation import Caps, NoForecast
from service.core.units import Kilograms

#: Pain from which nothing rises and the load falls, and above which the movement ends. (from memory;
#: versions of the pain-monitoring model differ)
PAIN_REDUCES, PAIN_ENDS = 3.0, 5.0
PAIN_LOAD_SHARE = 0.9
#: After a lift that was missed the next load is at most this share of it. [1] (judgement)
MISSED_LOAD_SHARE = 0.9
#: A missed load that is still this likely to go up once has hardly moved what is known. [1] (judgement)
MISS_UNHEARD = 0.5
#: A first time starts at this quantile of the load, with this reserve and share of sets. (judgement)
FIRST_QUANTILE_SD, FIRST_RESERVE, FIRST_SETS_SHARE, FIRST_TOO_HARD = -0.8416, 4.0, 2.0 / 3.0, 0.05


def first_time(case: Case) -> Decision | NoForecast:
    """Start at the low end of what can probably be lifted, with much in reserve; lighter where the cap asks it."""
    # At least so much in reserve is wanted the first time; more is no fault, so the chance has no upper end.
    open_ended = case.leaving_at_least(max(FIRST_RESERVE, case.target.reserve_low))
    first = replace(open_ended, caps=Caps(min(case.caps.too_hard, FIRST_TOO_HARD)))
    mean, sd = case.forecast.ln_load_for(case.target.low + first.target.reserve_low, "next_set")
    low_end, shown = exp(mean + FIRST_QUANTILE_SD * sd), heaviest_first(case, first.target.reserve_low)
    option = at_or_below(case.options, min(low_end, shown)) or case.options[0]
    reason = Reason(_why_low(case))
    less = (Reason(SHOWED_LESS),) if shown < low_end else ()
    trial = first.best([option])
    found = (
        Decision(first, trial, "add_repetitions_then_load", (reason,))
        if trial is not None
        else lighter(first, option)
    )
    if isinstance(found, NoForecast):
        found = fewest(open_ended, reason)
    if isinstance(found, NoForecast):
        return found
    return replace(
        found,
        policy="add_repetitions_then_load",
        reasons=(reason, *less, *_of_few(found)),
        cautions=(Caution("progression.first_time"),),
        sets_share=FIRST_SETS_SHARE,
        source_keys=SHOWN_SOURCES if less else (),
    )


def _why_low(case: Case) -> str:
    if case.context.missed_kg is not None:
        return "progression.only_missed"
    return "progression.new_station" if case.context.new_station else "progression.first_time_low_start"


def after_break(case: Case, band: ReturnBand) -> Decision | NoForecast:
    """Return below the load before the break: the band is a ceiling, and lighter where it would be too hard."""
    reserve = max(case.target.reserve_low, band.reserve)
    last = reference(case).load_kg
    lowest, highest = band.load_low * last * (1.0 - ROUNDING), band.load_high * last * (1.0 + ROUNDING)
    below = [option for option in case.options if option.load_kg <= highest] or case.options[:1]
    gentle = case.leaving_at_least(reserve).up_to(below)
    within = [option for option in below if option.load_kg >= lowest] or below[-1:]
    reason = _why_return(case, band, reserve)
    trial = gentle.among(within)
    found: Decision | NoForecast
    if trial is not None and trial.p_wanted >= FITS_PROBABILITY:
        found = Decision(gentle, trial, "return_after_break", (reason,))
    else:
        percent = 100.0 * (1.0 - gentle.p_fits(within[0]))
        params = {"reps_low": case.target.low, "p_less_percent": percent}
        found = lighter(gentle, within[0])
        if isinstance(found, NoForecast):
            return found
        still = Reason("progression.lighter_still", params)
        found = replace(found, reasons=(reason, *(_of_few(found) or (still,))))
    return replace(
        found,
        policy="return_after_break",
        cautions=(Caution("progression.after_break"),),
        sets_share=band.sets_share,
    )


def _why_return(case: Case, band: ReturnBand, reserve: float) -> Reason:
    code = "return_after_illness" if case.context.after_illness else "return_after_break"
    params = {
        "days": case.context.days_since_last,
        "reserve": reserve,
        "sets_percent": 100.0 * band.sets_share,
    }
    return Reason(f"progression.{code}", params)


def with_pain(case: Case, pain: float) -> Decision | NoForecast:
    """Take a tenth off the last load, and more where that is still too hard."""
    highest = PAIN_LOAD_SHARE * reference(case).load_kg * (1.0 + ROUNDING)
    eased = case.up_to([one for one in case.options if one.load_kg <= highest] or case.options[:1])
    reason = Reason("progression.pain_reduces_load", {"pain": pain})
    found = _at_most(eased, reason)
    if isinstance(found, NoForecast):
        return found
    return replace(found, cautions=(Caution("progression.watch_next_morning"),))


def below_missed(case: Case, missed_kg: Kilograms) -> Case | NoForecast:
    """Return the case without loads near one that did not go up, or that nothing lighter is there."""
    highest = MISSED_LOAD_SHARE * missed_kg * (1.0 + ROUNDING)
    below = [option for option in case.options if option.load_kg <= highest]
    just_below = [one for one in case.options if one.load_kg < missed_kg * (1.0 - SAME_LOAD)]
    if not just_below:
        # How likely the lightest is to be too hard is no reason here: far below all that was done it is told as unlikely.
        return NoForecast(Reason("progression.nothing_below_missed"), nothing_here=True)
    return case.up_to(below or just_below[:1])


def passes_by_miss(case: Case) -> bool:
    """Whether what is known still believes that the missed load goes up: one miss against all that was done before."""
    missed = case.context.missed_kg
    return (
        missed is not None and case.forecast.repetitions_at(missed).probability_at_least(1.0) > MISS_UNHEARD
    )


def after_miss(case: Case) -> Decision | NoForecast:
    """Take a lighter load after one that did not go up; ``case`` has only such."""
    return _at_most(case, Reason("progression.missed"))


def _at_most(case: Case, reason: Reason) -> Decision | NoForecast:
    """Take the heaviest load of a case for at most the last one, or a lighter one where that does not fit."""
    here = reference(case)
    trial = case.best([here]) if case.fits(here) else None
    if trial is not None:
        return Decision(case, trial, "reduce_load", (reason,))
    found = lighter(case, here)
    if isinstance(found, NoForecast):
        return found
    return replace(found, reasons=(reason, *_of_few(found)))


def _of_few(found: Decision) -> tuple[Reason, ...]:
    """Return why fewer repetitions than wanted are done, nothing where they are not."""
    return found.reasons[-1:] if found.reps_low is not None else ()
