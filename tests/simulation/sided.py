"""Invented lifters who do a one-sided lift: true gaps between the sides, told through sets as practice tells them."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from random import Random
from typing import Literal

from service.core.capability import (
    AthleteModel,
    AthleteState,
    SeriesPrior,
    SessionEvidence,
    SetEvidence,
    begin,
    fold,
    forecast,
)
from service.core.curve import CURVE_PRIORS
from service.core.symmetry.decisions import SidePosterior, side_posterior
from service.core.symmetry.posterior import SideReading
from service.core.symmetry.qualities import reading_of, strength_gap
from tests.simulation.families import DRAWN, log_ratio, repetitions

Side = Literal["left", "right"]
LIFT = "one-arm press"
POUND = 0.45359237
PRIOR = SeriesPrior(CURVE_PRIORS["upper_press"], one_sided=True, half_gap_sd=0.03)
MODEL = AthleteModel(lambda _: PRIOR, lambda _, __: 0.3, "trained")


@dataclass(frozen=True, slots=True)
class World:
    """How a lifter trains and tells: ln strengths are natural logarithms, other than the filter's own constants.

    ``copies`` says that the second side stops at the first one's repetitions, ``tells_second`` that its reserve is told
    then; ``step_kg`` is what loads go up by; ``slips`` the share of loads with a decimal point gone wrong.
    """

    gap: float = 0.0
    endurance_gap_sd: float = 0.03
    day_sd: float = 0.04
    side_day_sd: float = 0.010
    set_sd: float = 0.016
    tiring: float = 0.022
    walk: float = 0.002
    copies: bool = False
    tells_second: bool = True
    check_every: int = 0
    step_kg: float = 1.0
    strength_kg: float = 32.0
    slips: float = 0.0
    sets: int = 3
    days: float = 3.5


@dataclass(slots=True)
class Lifter:
    """One true lifter: curve, endurance and strength of each side, and how reserves are called."""

    family: str
    ln_strength: dict[Side, float]
    endurance: dict[Side, float]
    bias: float
    target: int

    def true_gap(self) -> float:
        """ln(right / left) of the loads for the repetitions that are trained."""
        load = {
            side: self.ln_strength[side] - log_ratio(self.family, self.target + 1.5, self.endurance[side])
            for side in ("left", "right")
        }
        return load["right"] - load["left"]


def drawn(world: World, rng: Random) -> Lifter:
    """Return a lifter of a world."""
    endurance = math.exp(rng.gauss(0.1, 0.22))
    gap = 0.5 * rng.gauss(0.0, world.endurance_gap_sd)
    middle = math.log(world.strength_kg) + rng.gauss(0.0, 0.15)
    return Lifter(
        rng.choice(DRAWN),
        {"left": middle - 0.5 * world.gap, "right": middle + 0.5 * world.gap},
        {"left": endurance * math.exp(-gap), "right": endurance * math.exp(gap)},
        rng.gauss(-0.9, 0.5),
        rng.choice((8, 8, 10, 10, 12)),
    )


def train(lifter: Lifter, world: World, sessions: int, rng: Random) -> Iterator[SessionEvidence]:
    """Yield sessions of a few sets a side, the right first and the left first in turn."""
    for number in range(sessions):
        for side in ("left", "right"):
            lifter.ln_strength[side] += rng.gauss(0.0, world.walk * math.sqrt(world.days / 7.0))  # type: ignore[index]
        yield SessionEvidence(number * world.days, tuple(_sets(lifter, world, number, rng)))


def _sets(lifter: Lifter, world: World, number: int, rng: Random) -> Iterator[SetEvidence]:
    day = rng.gauss(0.0, world.day_sd)
    by_side: dict[Side, float] = {
        "left": rng.gauss(0.0, world.side_day_sd),
        "right": rng.gauss(0.0, world.side_day_sd),
    }
    order: tuple[Side, Side] = ("right", "left") if number % 2 == 0 else ("left", "right")
    middle = 0.5 * sum(lifter.ln_strength.values())
    ease = log_ratio(lifter.family, lifter.target + 2.0, lifter.endurance["left"])
    load = max(world.step_kg, round(math.exp(middle - ease) / world.step_kg) * world.step_kg)
    check = world.check_every > 0 and number % world.check_every == world.check_every - 1
    for turn in range(world.sets):
        done: int | None = None
        for side in order:
            u = lifter.ln_strength[side] + day + by_side[side] - world.tiring * turn
            n = repetitions(
                lifter.family, u + rng.gauss(0.0, world.set_sd) - math.log(load), lifter.endurance[side]
            )
            free = not world.copies or done is None or (check and turn == world.sets - 1)
            reps = max(1, min(int(n), _planned(n, rng) if free else done or 1))
            told = _report(n - reps, lifter, rng) if free or world.tells_second else None
            logged = load * 10.0 if rng.random() < world.slips else load
            yield SetEvidence(LIFT, logged, reps, told, side=side, purpose="work")
            done = reps


def _planned(n: float, rng: Random) -> int:
    return int(n - rng.choice((0.5, 1.0, 1.5, 2.0, 2.5)))


def _report(reserve: float, lifter: Lifter, rng: Random) -> float:
    mean = reserve + lifter.bias * (1.0 - math.exp(-0.5 * reserve))
    return float(max(0, round(rng.gauss(mean, math.sqrt(0.3 + (0.28 * reserve) ** 2)))))


def folded(lifter: Lifter, world: World, sessions: int, rng: Random) -> AthleteState:
    """Return what the filter believes after some sessions."""
    return fold(begin("trained"), list(train(lifter, world, sessions, rng)), MODEL)


def reading(state: AthleteState, sessions: int, *, effort_known: bool = True, key: str = LIFT) -> SideReading:
    """Return what the sets say of the gap, without a prior."""
    found = forecast(state, LIFT, (state.newest_day or 0.0) + 1.0, "both", MODEL)
    assert found is not None
    gap = strength_gap(found, PRIOR)
    assert gap is not None
    told = reading_of(key, gap, sessions, state.newest_day, effort_known=effort_known)
    return replace(told, key=key)


def judged(world: World, sessions: int, rng: Random) -> tuple[SidePosterior, float]:
    """Return what is said of one lifter's gap, and its truth."""
    lifter = drawn(world, rng)
    state = folded(lifter, world, sessions, rng)
    return side_posterior([reading(state, sessions)]), lifter.true_gap()
