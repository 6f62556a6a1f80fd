"""Drop sets: how many more repetitions a lighter load buys at once, and which loads give enough of them.

At failure with a load, momentary strength has fallen to that load. At a lighter one the set goes on until
strength has fallen further: the curve's own difference, plus what the pause gives back. That bound is too
kind, so it is multiplied by a factor that an athlete's logged drops teach.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import exp, expm1, inf, log, sqrt
from statistics import NormalDist
from typing import Final

from service.core.curve import CurvePrior
from service.core.errors import OutsideValidity
from service.core.estimates import DEFAULT_MASS, Interval, Reason
from service.core.progression.situation import LoadOption
from service.core.units import Days, Kilograms, LogRatio, Repetitions, Seconds, Share

#: Share of the bound that is really done, by the share of the load that is taken off: for drops up to a
#: quarter, and from a half; straight in between. (judgement)
FACTOR_SMALL, SMALL_DROP = 0.6, 0.25
FACTOR_LARGE, LARGE_DROP = 0.85, 0.50
#: Spread of ln factor over athletes and over one athlete's drops; together 0.35. (judgement) [1]
FACTOR_BETWEEN, FACTOR_WITHIN = 0.28, 0.21
#: A drop that is further than this from the usual share says no more: it is another kind of set, or a slip. (judgement) [1]
MOST_OWN: LogRatio = 1.5
#: Time in which a pause at failure gives back all but 1/e of the repetitions done. (judgement) [s]
PAUSE_RETURNS: Seconds = 60.0
#: Seconds a repetition in the opening set and, quicker, in a drop. (common practice, no source)
OPENING_TEMPO, DROP_TEMPO = 2.5, 1.5
#: Repetitions wanted in each drop (common practice, no source), and how surely (judgement).
WANTED_REPETITIONS, WANTED_CHANCE = 10, 0.6
#: Most drops in one cluster, and most repetitions to failure that a drop can start from. (judgement)
MOST_DROPS, MOST_OPENING = 4, 40
#: The drops of which practice says that they give the wanted repetitions. (common practice, no source)
PRACTISED_DROPS: Final = (0.13, 0.20)
#: From this much skill a tired repetition is no longer the lift that was meant. (judgement)
TECHNIQUE_HEAVY = 3
#: After so many days without the lift there are no drops in the first session. (judgement)
LONG_BREAK: Days = 10.0

_STANDARD = NormalDist()
_QUANTILES = (0.5 - 0.5 * DEFAULT_MASS, 0.5 + 0.5 * DEFAULT_MASS)


@dataclass(frozen=True, slots=True)
class DropFactor:
    """What an athlete's own drops say: mean and sd of ln(own factor / usual factor). [1]"""

    ln_shift: LogRatio = 0.0
    ln_shift_sd: LogRatio = FACTOR_BETWEEN
    drop_count: int = 0

    def ln_factor(self, drop: Share) -> tuple[LogRatio, LogRatio]:
        """Return mean and sd of ln factor of the next drop that takes off a share of the load. [1]"""
        return log(usual_factor(drop)) + self.ln_shift, sqrt(self.ln_shift_sd**2 + FACTOR_WITHIN**2)


@dataclass(frozen=True, slots=True)
class SetToFailure:
    """A set that ended at failure: effective load [kg], repetitions, and the lift's curve."""

    load_kg: Kilograms
    reps: int
    curve: CurvePrior

    def __post_init__(self) -> None:
        if not (0.0 < self.load_kg < inf and 1 <= self.reps <= MOST_OPENING):
            raise OutsideValidity(load_kg=self.load_kg, reps=self.reps, most_reps=MOST_OPENING)

    def repetitions_at(self, load_kg: Kilograms) -> tuple[Repetitions, LogRatio]:
        """Return the repetitions to failure when fresh at a load, and the sd of the logarithm of what it has
        over the opening load. [repetitions], [1]"""
        ratio = log(self.load_kg / load_kg)
        k, b = exp(self.curve.mean_ln_k), self.curve.b
        grown = ratio if abs(b) < 1e-6 else expm1(b * ratio) / b
        # The set ended between its last repetition and the next.
        at_failure = self.reps + 0.5
        steepness = k + b * (at_failure - 1.0)
        return at_failure + steepness * grown, self.curve.sd_ln_k * k / steepness


@dataclass(frozen=True, slots=True)
class LoggedDrop:
    """A drop as it was done: from and to which effective load [kg], its repetitions, and the pause before
    it [s]."""

    from_kg: Kilograms
    to_kg: Kilograms
    reps: int
    pause_s: Seconds


@dataclass(frozen=True, slots=True)
class DropWish:
    """How many drops, repetitions wanted in each and how surely [1], and the pause before each. [s]"""

    drops: int = 2
    reps: int = WANTED_REPETITIONS
    chance: Share = WANTED_CHANCE
    pause_s: Seconds = 5.0

    def __post_init__(self) -> None:
        fits = 1 <= self.drops <= MOST_DROPS and self.reps >= 1 and 0.0 <= self.pause_s < inf
        if not (fits and 0.0 < self.chance < 1.0):
            raise OutsideValidity(drops=self.drops, reps=self.reps, chance=self.chance, pause_s=self.pause_s)


@dataclass(frozen=True, slots=True)
class DropSituation:
    """What may forbid drops: skill of the lift (0-3), days since it was last trained (None: not told), and
    what screening and person allow."""

    skill: int = 0
    novice: bool = False
    days_since_last: Days | None = None
    allowed: bool = True


@dataclass(frozen=True, slots=True)
class Drop:
    """One stage after the opening set.

    ``drop`` is the share taken off the load before, ``reps`` the median of the repetitions to failure,
    ``chance`` that of reaching the wanted ones, ``bound`` what the curve alone would say. [repetitions]
    """

    option: LoadOption
    drop: Share
    reps: Repetitions
    interval: Interval
    chance: Share
    bound: Repetitions
    ln_sd: LogRatio


@dataclass(frozen=True, slots=True)
class DropPlan:
    """The drops, and with the opening set their repetitions and time. [repetitions], [min]"""

    opening: SetToFailure
    drops: tuple[Drop, ...]
    total_reps: Repetitions
    total_interval: Interval
    minutes: float
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class DropRefusal:
    """Why no drop set is planned."""

    reason: Reason


def usual_factor(drop: Share) -> Share:
    """Return the share of the bound that is usually done, by the share of the load taken off. [1]

    Straight between a quarter and a half: the two ends are judgement, and so is the line.
    """
    way = (min(max(drop, SMALL_DROP), LARGE_DROP) - SMALL_DROP) / (LARGE_DROP - SMALL_DROP)
    return FACTOR_SMALL + way * (FACTOR_LARGE - FACTOR_SMALL)


def learn_factor(opening: SetToFailure, drops: Iterable[LoggedDrop], factor: DropFactor) -> DropFactor:
    """Return what is believed of the athlete's own factor after some logged drops to failure of one cluster.

    A conjugate update of a Gaussian on the logarithm, one drop at a time; a drop to nowhere says nothing.
    """
    mean, variance, count = factor.ln_shift, factor.ln_shift_sd**2, factor.drop_count
    for done in drops:
        if not 0.0 < done.to_kg < done.from_kg:
            continue
        bound, ln_sd = _bound(opening, done.from_kg, done.to_kg, done.pause_s)
        usual = bound * usual_factor(1.0 - done.to_kg / done.from_kg)
        noise = FACTOR_WITHIN**2 + ln_sd**2
        gain = variance / (variance + noise)
        own = min(max(log((done.reps + 0.5) / usual), -MOST_OWN), MOST_OWN)
        mean += gain * (own - mean)
        variance *= 1.0 - gain
        count += 1
    return DropFactor(mean, sqrt(variance), count)


def foresee_drop(
    opening: SetToFailure,
    from_kg: Kilograms,
    option: LoadOption,
    wish: DropWish,
    factor: DropFactor = DropFactor(),
) -> Drop:
    """Return what a drop from one load, at failure there, to a lighter one is expected to give.

    Raises:
        OutsideValidity: it is no drop.
    """
    if not 0.0 < option.load_kg < from_kg <= opening.load_kg:
        raise OutsideValidity(from_kg=from_kg, to_kg=option.load_kg)
    share = 1.0 - option.load_kg / from_kg
    bound, curve_sd = _bound(opening, from_kg, option.load_kg, wish.pause_s)
    ln_factor, factor_sd = factor.ln_factor(share)
    middle, sd = log(bound) + ln_factor, sqrt(factor_sd**2 + curve_sd**2)
    low, high = (exp(middle + _STANDARD.inv_cdf(level) * sd) for level in _QUANTILES)
    chance = 1.0 - _STANDARD.cdf((log(wish.reps) - middle) / sd)
    interval = Interval(low, high, DEFAULT_MASS, "prediction")
    return Drop(option, share, exp(middle), interval, chance, bound, sd)


def _bound(
    opening: SetToFailure, from_kg: Kilograms, to_kg: Kilograms, pause_s: Seconds
) -> tuple[Repetitions, LogRatio]:
    """Return the repetitions that a drop cannot pass, and the sd of their logarithm from the curve alone."""
    before, _ = opening.repetitions_at(from_kg)
    after, ln_sd = opening.repetitions_at(to_kg)
    given_back = -expm1(-pause_s / PAUSE_RETURNS) * opening.reps
    return after - before + given_back, ln_sd


def plan_drops(
    opening: SetToFailure,
    options: Sequence[LoadOption],
    wish: DropWish,
    situation: DropSituation,
    factor: DropFactor = DropFactor(),
) -> DropPlan | DropRefusal:
    """Return drops on loads that exist, each the heaviest that is likely enough to reach the wanted
    repetitions; fewer than asked where the loads run out.

    No drops for novices, after a break, where screening or person forbid them, and in lifts that are mostly
    technique. Every drop is meant to end at failure or just before it.
    """
    refused = _refusal(situation)
    if refused is not None:
        return DropRefusal(refused)
    made: list[Drop] = []
    from_kg = opening.load_kg
    for _ in range(wish.drops):
        found = _heaviest(opening, from_kg, options, wish, factor)
        if found is None:
            break
        made.append(found)
        from_kg = found.option.load_kg
    if not made:
        return DropRefusal(Reason("drops.nothing_light_enough", {"reps": wish.reps}))
    return _plan(opening, made, wish, factor)


def _refusal(situation: DropSituation) -> Reason | None:
    if situation.novice:
        return Reason("drops.not_for_novices")
    if situation.days_since_last is not None and situation.days_since_last >= LONG_BREAK:
        return Reason("drops.not_after_a_break", {"days": situation.days_since_last})
    if not situation.allowed:
        return Reason("drops.not_as_screened")
    if situation.skill >= TECHNIQUE_HEAVY:
        return Reason("drops.mostly_technique")
    return None


def _heaviest(
    opening: SetToFailure,
    from_kg: Kilograms,
    options: Sequence[LoadOption],
    wish: DropWish,
    factor: DropFactor,
) -> Drop | None:
    lighter = sorted(
        (option for option in options if 0.0 < option.load_kg < from_kg * (1.0 - 1e-9)),
        key=lambda option: -option.load_kg,
    )
    drops = (foresee_drop(opening, from_kg, option, wish, factor) for option in lighter)
    return next((drop for drop in drops if drop.chance >= wish.chance), None)


def _plan(
    opening: SetToFailure,
    made: Sequence[Drop],
    wish: DropWish,
    factor: DropFactor,
) -> DropPlan:
    # An athlete whose first drop falls short falls short in the others too, so the ends add up.
    low = opening.reps + sum(drop.interval.lower for drop in made)
    high = opening.reps + sum(drop.interval.upper for drop in made)
    further = sum(drop.reps for drop in made)
    seconds = opening.reps * OPENING_TEMPO + further * DROP_TEMPO + len(made) * wish.pause_s
    reasons = [_why(made, wish)]
    if len(made) < wish.drops:
        reasons.append(Reason("drops.loads_run_out", {"drops": len(made), "wanted": wish.drops}))
    doubt = practice_disagreement(opening, wish, factor)
    if doubt is not None:
        reasons.append(doubt)
    interval = Interval(low, high, DEFAULT_MASS, "prediction")
    return DropPlan(opening, tuple(made), opening.reps + further, interval, seconds / 60.0, tuple(reasons))


def _why(made: Sequence[Drop], wish: DropWish) -> Reason:
    least = min(made, key=lambda drop: drop.chance)
    return Reason("drops.heaviest_that_reach", {"reps": wish.reps, "p_percent": 100.0 * least.chance})


def practice_disagreement(opening: SetToFailure, wish: DropWish, factor: DropFactor) -> Reason | None:
    """Return that practice expects the wanted repetitions after drops at which this model does not; None
    where the two agree."""
    told: list[Repetitions] = []
    for share in PRACTISED_DROPS:
        lighter = LoadOption((1.0 - share) * opening.load_kg, 0)
        told.append(foresee_drop(opening, opening.load_kg, lighter, wish, factor).reps)
    if told[-1] >= wish.reps:
        return None
    params = {
        "from_percent": 100.0 * PRACTISED_DROPS[0], "to_percent": 100.0 * PRACTISED_DROPS[1],
        "low": told[0], "high": told[1], "reps": wish.reps,
    }  # fmt: skip
    return Reason("drops.practice_expects_more", params)
