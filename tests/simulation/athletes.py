"""True athletes: what they can do, how it changes, and how they log it."""

import math
from dataclasses import dataclass, field
from random import Random

from tests.simulation.constants import Constants
from tests.simulation.exercises import LIFTS, Lift
from tests.simulation.families import DRAWN

POUND = 0.45359237


@dataclass(slots=True)
class Habit:
    """How this athlete trains and logs; drawn once."""

    stop: str
    reserve: str
    says_failure: float
    halves: bool
    reserve_cap: int
    report_share: float
    report_offset: float
    matches_sides: bool
    second_side_unstated: bool
    first_side: str
    warm_ups: str
    drops: bool
    copies: float
    remembered_step_kg: float
    pounds: bool
    rest_s: float
    logs_rest: bool
    logs_purpose: bool
    logs_body_mass: bool
    one_clock: bool
    body_mass_kg: float


@dataclass(slots=True)
class LiftTruth:
    """One athlete's lift now; ln kilograms."""

    lift: Lift
    base: float
    gain: float
    half_gap: float
    ln_endurance: float
    half_endurance_gap: float
    walk: float = 0.0
    guess: float = 0.0
    """What the athlete believes the maximum is (by a formula of their own), ln kg."""
    target: int = 8
    sessions: int = 0


@dataclass(slots=True)
class Episode:
    lift: str
    start: float
    end: float
    range: str = ""
    shift: float = 0.0
    pain: int = 0


@dataclass(slots=True)
class Athlete:
    name: str
    kind: str
    family: str
    weeks: int
    days_a_week: int
    lifts: list[LiftTruth]
    habit: Habit
    drift: float
    half_life: float
    break_loss: float
    regain_weeks: float
    breaks: list[tuple[float, float]]
    episodes: list[Episode]
    fatigue_quick: float
    fatigue_lasting: float
    drop_share: float
    walk: float = 0.0
    loss: float = 0.0
    trained_weeks: float = 0.0
    endurance_walk: float = field(default=0.0)


def _kind(rng: Random, c: Constants) -> str:
    draw = rng.random()
    if draw < c.novices:
        return "novice"
    return "returner" if draw < c.novices + c.returners else "trained"


def _pick(rng: Random, weights: dict[str, float]) -> str:
    return rng.choices(list(weights), list(weights.values()))[0]


def _habit(rng: Random, c: Constants, kind: str) -> Habit:
    return Habit(
        stop=_pick(rng, c.stops),
        reserve=_pick(rng, c.states),
        says_failure=rng.choice((0.9, 0.7, 0.2)),
        halves=rng.random() < c.report.halves,
        reserve_cap=rng.choice((4, 5, 6, 8, 10)),
        report_share=rng.gauss(*c.report.share)
        + (0.08 if kind == "novice" and not c.report.saturating else 0.0),
        report_offset=rng.gauss(*c.report.offset),
        matches_sides=rng.random() < 0.55,
        second_side_unstated=rng.random() < 0.6,
        first_side=rng.choice(("left", "right", "right")),
        warm_ups=_pick(rng, {"none": 0.6, "flagged": 0.18, "unflagged": 0.22}),
        drops=rng.random() < 0.25,
        copies=0.5 if rng.random() < 0.1 else 0.0,
        remembered_step_kg=rng.choice((2.5, 5 * POUND)) if rng.random() < 0.1 else 0.0,
        pounds=rng.random() < 0.25,
        rest_s=rng.choice((75, 100, 120, 150, 200)),
        logs_rest=rng.random() < 0.3,
        logs_purpose=rng.random() < 0.4,
        logs_body_mass=rng.random() < 0.3,
        one_clock=rng.random() < 0.15,
        body_mass_kg=max(48.0, rng.gauss(76, 12)),
    )


def _lifts(rng: Random, c: Constants, kind: str, gain: float) -> list[LiftTruth]:
    person = rng.gauss(-0.35 if kind == "novice" else 0.0, c.strength_person)
    endurance = rng.gauss(0.0, c.endurance_person)
    chosen = rng.sample(LIFTS, rng.randint(4, 8))
    if not any(lift.sided for lift in chosen):
        chosen[-1] = rng.choice([lift for lift in LIFTS if lift.sided])
    chosen.sort(key=lambda lift: (lift.sided, -lift.one_rep_max_kg))
    truths = []
    for lift in chosen:
        base = math.log(lift.one_rep_max_kg) + person + rng.gauss(0.0, c.strength_exercise)
        truth = LiftTruth(
            lift=lift,
            base=base,
            gain=gain * math.exp(rng.gauss(0.0, 0.3)),
            half_gap=rng.gauss(0.0, c.half_gap) if lift.sided and rng.random() < 0.8 else 0.0,
            ln_endurance=math.log(c.endurance[lift.endurance_class])
            + endurance
            + rng.gauss(0.0, c.endurance_exercise),
            half_endurance_gap=rng.gauss(0.0, c.endurance_side) if lift.sided else 0.0,
            target=rng.choice((5, 6, 8, 8, 10, 10, 12, 12, 15, 20)),
        )
        truth.guess = base - (0.9 * truth.gain if kind == "returner" else 0.0) + rng.gauss(-0.06, 0.12)
        truths.append(truth)
    return truths


def _gain(rng: Random, c: Constants, kind: str) -> tuple[float, float]:
    """Total ln gain to come and its half-life [weeks of training]."""
    if kind == "novice":
        return c.novice_gain[0] * math.exp(rng.gauss(0, c.novice_gain[1])), rng.uniform(*c.novice_half_life)
    if kind == "returner":
        return c.returner_deficit[0] * math.exp(rng.gauss(0, c.returner_deficit[1])), rng.uniform(
            *c.returner_half_life
        )
    return 0.0, 8.0


def _breaks(rng: Random, weeks: int) -> list[tuple[float, float]]:
    """One break of 1 to 5 weeks in about every five months."""
    found: list[tuple[float, float]] = []
    at = rng.expovariate(1 / 20.0) + 2
    while at < weeks - 2:
        length = float(rng.choice((1, 1, 2, 2, 3, 4, 5)))
        found.append((at, at + length))
        at += length + 3 + rng.expovariate(1 / 20.0)
    return found


def _episodes(rng: Random, weeks: int, lifts: list[LiftTruth]) -> list[Episode]:
    found: list[Episode] = []
    if rng.random() < 0.25:
        start = rng.uniform(1, weeks)
        kind = rng.choice(("bottom_half", "top_half"))
        shift = rng.gauss(0.05, 0.04) if kind == "bottom_half" else rng.gauss(0.20, 0.07)
        found.append(
            Episode(rng.choice(lifts).lift.name, start, start + rng.uniform(2, 6), range=kind, shift=shift)
        )
    if rng.random() < 0.3:
        start = rng.uniform(0, weeks)
        pain = rng.randint(3, 6)
        shift = -rng.uniform(0.005, 0.025) * pain
        found.append(
            Episode(rng.choice(lifts).lift.name, start, start + rng.uniform(1, 4), shift=shift, pain=pain)
        )
    return found


def draw_athlete(rng: Random, c: Constants, name: str, weeks: int | None = None) -> Athlete:
    """A true athlete; ``weeks`` is drawn from 12 to 52 when not given."""
    kind = _kind(rng, c)
    gain, half_life = _gain(rng, c, kind)
    lifts = _lifts(rng, c, kind, gain)
    weeks = weeks or rng.choice((12, 16, 20, 26, 26, 26, 39, 52))
    tiring = math.exp(rng.gauss(0.0, c.fatigue.person_ln_sd))
    return Athlete(
        name=name,
        kind=kind,
        family=rng.choice(DRAWN),
        weeks=weeks,
        days_a_week=rng.choice((2, 3, 3, 4)),
        lifts=lifts,
        habit=_habit(rng, c, kind),
        drift=rng.gauss(*c.trained_drift),
        half_life=half_life,
        break_loss=max(0.0, rng.gauss(*c.break_loss)),
        regain_weeks=rng.uniform(1.5, 4.0),
        breaks=_breaks(rng, weeks),
        episodes=_episodes(rng, weeks, lifts),
        fatigue_quick=c.fatigue.quick * tiring,
        fatigue_lasting=c.fatigue.lasting * tiring,
        drop_share=c.drop_share[0] * math.exp(rng.gauss(0.0, c.drop_share[1])),
    )
