"""One choice of a load: what it is made from, what it comes to, and how it gets lighter where the wanted is too much."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf

from service.core.estimates import Caution, Reason
from service.core.progression.chances import (
    Trial,
    Wanted,
    at_or_below,
    boldest,
    heaviest_close,
    trials,
    whole_range,
)
from service.core.progression.in_session import LoadForecast
from service.core.progression.situation import (
    Caps,
    LoadOption,
    NoForecast,
    Policy,
    ProgressionContext,
    RepetitionTarget,
)
from service.core.units import Share

#: The fewest repetitions must leave the wanted reserve with this chance, or the load is too heavy. (judgement)
FITS_PROBABILITY = 0.5
#: Repetitions up to which the range may extend. (judgement)
EXTENDS_TO, EXTENDS_TO_SINGLE_JOINT = 20, 30
#: Loads this close are one load, told in another unit or rounded: 20 lb are logged as 9.07 kg. [1] (judgement)
SAME_LOAD = 0.005


@dataclass(frozen=True, slots=True)
class Case:
    """A forecast, the loads there from light to heavy, and what is wanted.

    ``cut`` says that heavier loads are there, and left out on purpose.
    """

    forecast: LoadForecast
    options: tuple[LoadOption, ...]
    target: RepetitionTarget
    caps: Caps
    context: ProgressionContext
    cut: bool = False

    @property
    def wanted(self) -> Wanted:
        """The wanted reserve and the accepted chance of leaving none."""
        return Wanted(self.target.reserve_low, self.target.reserve_high, self.caps.too_hard)

    @property
    def longest_range(self) -> int:
        """Repetitions up to which the range may extend. [repetitions]"""
        return EXTENDS_TO_SINGLE_JOINT if self.context.single_joint else EXTENDS_TO

    @property
    def usual_range(self) -> range:
        """The wanted repetitions."""
        return whole_range(self.target.low, self.target.high)

    def up_to(self, options: Sequence[LoadOption]) -> "Case":
        """Return the case with these lighter loads only."""
        return replace(self, options=tuple(options), cut=self.cut or len(options) < len(self.options))

    def leaving_at_least(self, reserve: float) -> "Case":
        """Return the case in which at least so much is to be left, and more is no fault. [repetitions]"""
        return replace(self, target=RepetitionTarget(self.target.low, self.target.high, reserve, inf))

    def best(self, options: Sequence[LoadOption], reps: range | None = None) -> Trial | None:
        """Return the boldest trial of some loads that the cap allows, None where it allows none."""
        return boldest(trials(self.forecast, options, reps or self.usual_range, self.wanted))

    def among(self, options: Sequence[LoadOption], reps: range | None = None) -> Trial | None:
        """Return the best trial of the heaviest load that is close to the best, None where the cap allows none."""
        return heaviest_close(self.forecast, options, reps or self.usual_range, self.wanted)

    def p_fits(self, option: LoadOption) -> Share:
        """Return the chance that the fewest wanted repetitions leave the wanted reserve. [1]"""
        at_load = self.forecast.repetitions_at(option.load_kg)
        return at_load.probability_at_least(self.target.low + self.target.reserve_low)

    def fits(self, option: LoadOption) -> bool:
        """Whether the range's lower end is likely to leave the wanted reserve, and not too likely to be too hard."""
        lowest = self.trial(option, self.target.low)
        return lowest.p_too_hard <= self.caps.too_hard and self.p_fits(option) >= FITS_PROBABILITY

    def trial(self, option: LoadOption, reps: int) -> Trial:
        """Return one number of repetitions at one load, allowed or not."""
        return self.wanted.trial(option, reps, self.forecast.repetitions_at(option.load_kg))


@dataclass(frozen=True, slots=True)
class Decision:
    """A chosen trial with the case that it was weighed in, so that what is said follows from the same numbers.

    ``source_keys`` are the works behind its numbers that not every decision rests on.
    """

    case: Case
    trial: Trial
    policy: Policy
    reasons: tuple[Reason, ...]
    cautions: tuple[Caution, ...] = ()
    reps_low: int | None = None
    reps_high: int | None = None
    sets_share: Share = 1.0
    source_keys: tuple[str, ...] = ()


def reference(case: Case) -> LoadOption:
    """Return the option nearest below the last load, or the one that the forecast fits where there is none."""
    last = case.context.last_load_kg
    if last is None:
        middle = 0.5 * (case.target.low + case.target.high)
        last = case.forecast.load_for(middle + case.target.reserve_high, of="next_set").value
    return at_or_below(case.options, last * (1.0 + SAME_LOAD)) or case.options[0]


def lighter(case: Case, here: LoadOption) -> Decision | NoForecast:
    """Take the heaviest load below one that fits, else the lightest for fewer repetitions, else none."""
    fitting = [option for option in case.options if option.load_kg < here.load_kg and case.fits(option)]
    trial = case.best(fitting[-1:])
    why = _why_lighter(case, here)
    if trial is not None:
        return Decision(case, trial, "reduce_load", (why,))
    return fewest(case, why)


def _why_lighter(case: Case, here: LoadOption) -> Reason:
    """Say whether a load is too heavy, or too little is known of it."""
    params = {"reps_low": case.target.low}
    if case.p_fits(here) < FITS_PROBABILITY:
        return Reason("progression.forecast_below_range", params)
    percent = 100.0 * case.trial(here, case.target.low).p_too_hard
    return Reason("progression.chance_above_cap", {**params, "p_too_hard_percent": percent})


def fewest(case: Case, why: Reason) -> Decision | NoForecast:
    """Do fewer repetitions than wanted with the lightest load, and say whether that is heavy or what is known unsure.

    Where one repetition is too likely to be too hard no load is named, but for one: doubt alone does not keep anybody
    from the lightest load who has lifted as much lately.
    """
    lightest = case.options[0]
    params = {"reps_low": case.target.low}
    if case.p_fits(lightest) < FITS_PROBABILITY:
        trial = case.best([lightest], range(1, case.target.low))
        out_of_reach = (why, Reason("progression.range_out_of_reach", params))
        return _few(case, trial, out_of_reach) if trial is not None else nothing_light_enough(case)
    unsure = case.leaving_at_least(case.target.reserve_low)
    allowed = trials(case.forecast, [lightest], range(1, max(case.target.low, 2)), unsure.wanted)
    most = max(case.context.most_kg or 0.0, case.context.last_load_kg or 0.0)
    if not allowed and lightest.load_kg > most * (1.0 + SAME_LOAD):
        return nothing_light_enough(case)
    trial = allowed[-1] if allowed else unsure.trial(lightest, 1)
    return _few(unsure, trial, (Reason("progression.too_uncertain", params),))


def _few(case: Case, trial: Trial, reasons: tuple[Reason, ...]) -> Decision:
    low, high = min(trial.reps, case.target.low), max(trial.reps, case.target.low)
    return Decision(case, trial, "reduce_load", reasons, reps_low=low, reps_high=high)


def nothing_light_enough(case: Case) -> NoForecast:
    """Say that even one repetition of the lightest load is too likely to be too hard."""
    percent = 100.0 * case.trial(case.options[0], 1).p_too_hard
    reason = Reason("progression.nothing_light_enough", {"p_too_hard_percent": percent})
    return NoForecast(reason, nothing_here=True)
