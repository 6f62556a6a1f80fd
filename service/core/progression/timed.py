"""The next hold or carry: a little longer up to a minute or 60 m, then the next load that the site can make."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor
from typing import Final, Literal

from service.core.curve import CARRYING_M_S, PIECE_S
from service.core.errors import NothingLoadable
from service.core.estimates import DEFAULT_MASS, Estimate, Interval, Param, Reason
from service.core.progression.breaks import EndedBreak, ReturnBand, return_band, standing_band
from service.core.progression.chances import at_or_below, next_above
from service.core.progression.in_session import LoadForecast
from service.core.progression.situation import LoadOption, Policy
from service.core.units import Days, Kilograms, Repetitions, Share


@dataclass(frozen=True, slots=True)
class Measure:
    """How a lift is measured that is not counted: its unit, and in it the length of one piece of `core.curve`, by how much
    a session adds, how long it may become before the load grows, and the shortest worth asking for."""

    unit: Literal["s", "m"]
    piece: float
    step: float = 5.0
    longest: float = 60.0
    shortest: float = 5.0


#: Holds grow by five seconds to a minute, carries by five metres to 60; then the load does. (common practice, no source)
HOLD: Final = Measure("s", PIECE_S)
CARRY: Final = Measure("m", PIECE_S * CARRYING_M_S)
#: A longer hold, or a heavier load, is asked for with this chance of reaching it; the last one is asked for again
#: with this one. (judgement)
REACHES: Final[Share] = 0.6
REPEATS: Final[Share] = 0.5
#: The middle share of a distribution that lies within one standard deviation of a Gaussian's middle.
_ONE_SD = 0.6827


@dataclass(frozen=True, slots=True)
class TimedPast:
    """The last working hold or carry: its load [kg], its length, and how long ago it was [d]; None where there is none.

    ``ended_break`` is the last break before this one. ``most`` caps the length for people for whom long holds are not, and
    then nothing rises. ``least_reserve`` counts the pieces that must be left; ``may_rise`` is False where pain or a warning
    sign holds everything, ``load_share`` less than 1 where it takes something off.
    """

    load_kg: Kilograms | None = None
    length: float | None = None
    days_ago: Days | None = None
    after_illness: bool = False
    least_reserve: Repetitions = 0.0
    may_rise: bool = True
    load_share: Share = 1.0
    most: float | None = None
    ended_break: EndedBreak | None = None


@dataclass(frozen=True, slots=True)
class TimedChoice:
    """Load and length of the next one, how likely it is to be reached with what must be left, and why."""

    option: LoadOption
    length: float
    p_reached: Share
    policy: Policy
    code: str
    sets_share: Share
    reasons: tuple[Reason, ...]


def expected_length(
    forecast: LoadForecast, load_kg: Kilograms, measure: Measure, mass: Share = DEFAULT_MASS
) -> Estimate:
    """Return how long a load can be held, or how far carried, to failure. [s] or [m]"""
    at_load = forecast.repetitions_at(load_kg)
    one_sd, asked = at_load.interval(_ONE_SD), at_load.interval(mass)
    lower, upper = (max(end, 0.0) * measure.piece for end in (asked.lower, asked.upper))
    sd = 0.5 * (one_sd.upper - one_sd.lower) * measure.piece
    middle = max(at_load.median, 0.0) * measure.piece
    return Estimate(middle, measure.unit, sd, Interval(lower, upper, mass, "prediction"), "median")


def choose_timed(
    forecast: LoadForecast, options: Sequence[LoadOption], measure: Measure, first: float, past: TimedPast
) -> TimedChoice:
    """Return the next hold or carry; ``first`` is how long a first one is, in the measure's unit.

    Raises:
        NothingLoadable: there is no option.
    """
    if not options:
        raise NothingLoadable
    return _Case(forecast, sorted(options, key=lambda one: one.load_kg), measure, first, past).choice()


@dataclass(frozen=True, slots=True)
class _Case:
    forecast: LoadForecast
    options: Sequence[LoadOption]
    measure: Measure
    first: float
    past: TimedPast

    @property
    def returns(self) -> ReturnBand | None:
        """What the first one after a break asks for."""
        return return_band(self.past.days_ago, self.past.after_illness)

    @property
    def band(self) -> ReturnBand | None:
        """The same, and its careful weeks."""
        return self.returns or standing_band(self.past.ended_break)

    @property
    def reserve(self) -> Repetitions:
        band = self.band
        return max(self.past.least_reserve, band.reserve if band is not None else 0.0)

    def chance(self, option: LoadOption, length: float) -> Share:
        at_load = self.forecast.repetitions_at(option.load_kg)
        return at_load.probability_at_least(length / self.measure.piece + self.reserve)

    def longest(self, option: LoadOption, most: float) -> float:
        """Return the longest length in whole steps that is likely enough, at least the shortest."""
        step = self.measure.step
        steps = range(floor(self.capped(most) / step), 0, -1)
        likely = (count * step for count in steps if self.chance(option, count * step) >= REACHES)
        return next(likely, self.measure.shortest)

    def capped(self, length: float) -> float:
        return length if self.past.most is None else min(length, self.past.most)

    def choice(self) -> TimedChoice:
        past = self.past
        if past.load_kg is None or past.length is None:
            option = self.options[0]
            return self.told(
                option, self.longest(option, self.first), "hold_load", "start_low", "first_length"
            )
        here = at_or_below(self.options, past.load_kg * past.load_share) or self.options[0]
        if self.returns is not None:
            length = self.longest(here, past.length)
            return self.told(here, length, "return_after_break", "return_lighter", "length_after_break")
        if past.load_share < 1.0 or not past.may_rise or past.most is not None:
            length = min(self.longest(here, past.length), past.length)
            careful = past.may_rise and past.load_share >= 1.0
            if careful:
                return self.told(here, length, "hold_load", "hold_load", "length_with_care")
            policy: Policy = "reduce_load" if past.load_share < 1.0 else "hold_load"
            return self.told(here, length, policy, policy, "length_held")
        if past.length >= self.measure.longest and self.chance(here, past.length) >= REPEATS:
            heavier = self.heavier(here)
            if heavier is not None:
                return heavier
        return self.same_load(here, past.length)

    def heavier(self, here: LoadOption) -> TimedChoice | None:
        above = next_above(self.options, here.load_kg)
        if above is None or self.chance(above, self.first) < REACHES:
            return None
        length = self.longest(above, self.measure.longest - self.measure.step)
        return self.told(above, length, "add_repetitions_then_load", "raise_load", "length_then_load")

    def same_load(self, here: LoadOption, last: float) -> TimedChoice:
        longer = last + self.measure.step
        if longer <= self.measure.longest and self.chance(here, longer) >= REACHES:
            return self.told(here, longer, "add_repetitions_then_load", "add_length", "longer")
        if self.chance(here, last) >= REPEATS:
            code = "length_at_its_longest" if longer > self.measure.longest else "length_repeated"
            return self.told(here, last, "hold_load", "repeat", code)
        lighter = at_or_below(self.options, here.load_kg * (1.0 - 1e-3))
        if self.longest(here, last) < self.first and lighter is not None:
            length = self.longest(lighter, last)
            return self.told(lighter, length, "reduce_load", "reduce_load", "lighter_for_length")
        return self.told(here, self.longest(here, last), "reduce_load", "less_length", "shorter")

    def told(self, option: LoadOption, length: float, policy: Policy, code: str, reason: str) -> TimedChoice:
        chance, share = self.chance(option, length), 1.0 if self.band is None else self.band.sets_share
        params: dict[str, Param] = {
            "longest": self.measure.longest,
            "length": length,
            "unit": self.measure.unit,
            "days": self.past.days_ago or 0.0,
            "most": self.past.most or self.measure.longest,
            "sets_percent": 100.0 * share,
        }
        chances: dict[str, Param] = {"p_percent": 100.0 * chance}
        if self.reserve > 0.0:
            chances |= {"left": self.measure.piece * self.reserve, "unit": self.measure.unit}
        told = "chance_of_length_and_more" if self.reserve > 0.0 else "chance_of_length"
        reasons = (Reason(f"timed.{reason}", params), *self.careful(), Reason(f"timed.{told}", chances))
        return TimedChoice(option, length, chance, policy, code, share, reasons)

    def careful(self) -> tuple[Reason, ...]:
        """Say that the careful weeks after a break are not over, nothing where they are."""
        ended, band = self.past.ended_break, self.band
        if self.returns is not None or band is None or ended is None:
            return ()
        params: dict[str, Param] = {"days": ended.days, "sets_percent": 100.0 * band.sets_share}
        return (Reason("timed.still_returning", params),)
