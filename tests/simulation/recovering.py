"""Invented athletes whose recovery is known: loss and decay time per muscle, logged through sets as practice logs them.

Other forms and constants than the estimator's: curves, days, walks and reports of their own, and a loss that grows with
the sets by another power.
"""

from dataclasses import dataclass, field
from math import exp, log

import numpy as np

from service.core.capability import AthleteModel, SeriesPrior, SessionEvidence, SetEvidence
from service.core.curve import CURVE_PRIORS
from service.core.recovery import Asked, MuscleSession, NextSeen, decay_factor, mean_loss, next_sessions

MUSCLES = ("chest", "lats", "quads", "hamstrings", "triceps", "biceps")
LIFTS: dict[str, dict[str, float]] = {
    "press": {"chest": 0.6, "triceps": 0.4},
    "row": {"lats": 0.7, "biceps": 0.3},
    "squat": {"quads": 1.0},
    "hinge": {"hamstrings": 1.0},
    "curl": {"biceps": 1.0},
    "extension": {"triceps": 1.0},
}
SINGLE_JOINT = frozenset({"curl", "extension"})
CLASSES = {"press": "bench", "row": "row_pull", "squat": "lower_compound", "hinge": "lower_compound"}
HOURS_A_DAY = 24.0
#: What lies longer ago has left nothing. [d]
LASTING_DAYS = 14.0


@dataclass(frozen=True)
class TrueRecovery:
    """What a muscle really loses, as a share of people's mean, and how fast that fades. [1], [h]"""

    loss: float
    tau_h: float

    def lost(self, session: MuscleSession, hours: float) -> float:
        """Return the repetitions still lost some hours after a session."""
        return self.loss * mean_loss(session) * exp(-hours / (self.tau_h * decay_factor(session)))

    def hours_until(self, session: MuscleSession, left: float = 1.0) -> float:
        """Return the hours after a session at which so many repetitions are still lost."""
        most = self.loss * mean_loss(session)
        return self.tau_h * decay_factor(session) * log(most / left) if most > left else 0.0


@dataclass
class Invented:
    """One athlete: the truth, what sessions asked, and what the next ones showed against the filter's forecast."""

    truth: dict[str, TrueRecovery]
    asked: list[Asked] = field(default_factory=list)
    seen: list[NextSeen] = field(default_factory=list)


def _kinship(one: str, other: str) -> float:
    worked, wanted = LIFTS[one], LIFTS[other]
    return sum(min(worked.get(muscle, 0.0), share) for muscle, share in wanted.items())


MODEL = AthleteModel(
    lambda series: SeriesPrior(CURVE_PRIORS[CLASSES.get(series, "single_joint")]),  # type: ignore[index]
    _kinship,
    "trained",
)


def people(rng: np.random.Generator) -> dict[str, TrueRecovery]:
    """Draw how an athlete's muscles recover, alike within the person."""
    loss, tau = rng.normal(-0.15, 0.35), rng.normal(log(28.0), 0.33)
    return {m: TrueRecovery(exp(loss + rng.normal(0, 0.2)), exp(tau + rng.normal(0, 0.2))) for m in MUSCLES}


def invent(
    rng: np.random.Generator, truth: dict[str, TrueRecovery], weeks: int = 26, *, alike: bool = False
) -> Invented:
    """Log an athlete's weeks; where ``alike``, every session is the same and so is the rest before it."""
    log_ = _Log(rng, Invented(truth), alike)
    day = 0.0
    while day < 7 * weeks:
        day += 2.0 if alike else float(rng.choice([1, 1, 2, 2, 3, 4]) + rng.normal(0, 0.05))
        log_.train(day)
    log_.athlete.seen.extend(next_sessions(log_.sessions, MODEL, LIFTS))
    return log_.athlete


class _Log:
    def __init__(self, rng: np.random.Generator, athlete: Invented, alike: bool) -> None:
        self.rng, self.athlete, self.alike = rng, athlete, alike
        self.sessions: list[SessionEvidence] = []
        self._work: list[tuple[str, float, MuscleSession, float]] = []
        self._strength = {lift: log(rng.uniform(40, 120)) for lift in LIFTS}
        self._slope = {lift: 36.0 * exp(rng.normal(0, 0.22)) for lift in LIFTS}
        self._bias = rng.normal(-0.8, 0.5)

    def train(self, day: float) -> None:
        """Do one session: lifts, sets, effort; then remember what it asked of each muscle."""
        rng, failure = self.rng, not self.alike and self.rng.random() < 0.3
        self._work = [one for one in self._work if day - one[1] < LASTING_DAYS]
        lifts = [lift for lift in LIFTS if self.alike or rng.random() < 0.6] or ["press"]
        today, sets = rng.normal(0, 0.03), list[SetEvidence]()
        done: dict[str, list[float]] = {}
        for lift in lifts:
            self._strength[lift] += rng.normal(0, 0.009)
            count = 3 if self.alike else int(rng.integers(2, 6))
            sets += self._sets(lift, day, today + rng.normal(0, 0.028), count, failure)
            for muscle, share in LIFTS[lift].items():
                dose = count * (1.0 if share > 0.5 else 0.5)
                amounts = done.setdefault(muscle, [0.0, 0.0])
                amounts[0] += dose
                amounts[1] += dose if lift in SINGLE_JOINT else 0.0
        self.sessions.append(SessionEvidence(day, tuple(sets)))
        for muscle, (dose, single) in done.items():
            self._remember(muscle, day, dose, single / dose, failure)

    def _remember(self, muscle: str, day: float, dose: float, single: float, failure: bool) -> None:
        session = MuscleSession(0.0, dose, 1.0 if failure else 0.0, single, None if failure else 2.0)
        # The body's own power of the sets is another than the root that the estimator takes.
        self._work.append((muscle, day, session, exp(self.rng.normal(0, 0.3)) * (dose / 4.0) ** 0.1))
        for side in ("left", "right"):
            self.athlete.asked.append(
                Asked(muscle, side, day, mean_loss(session), decay_factor(session))  # type: ignore[arg-type]
            )

    def _lost(self, lift: str, day: float) -> float:
        return sum(
            share * scale * self.athlete.truth[muscle].lost(session, (day - then) * HOURS_A_DAY)
            for muscle, share in LIFTS[lift].items()
            for worked, then, session, scale in self._work
            if worked == muscle
        )

    def _sets(self, lift: str, day: float, form: float, count: int, failure: bool) -> list[SetEvidence]:
        rng, slope, lost = self.rng, self._slope[lift], self._lost(lift, day)
        # A line in the log of the load: eight repetitions lie 7 / slope below the maximum.
        load = round(exp(self._strength[lift] - 8.0 / slope) * 4.0) / 4.0
        told = []
        for done in range(count):
            strength = self._strength[lift] + form - 0.026 * done + rng.normal(0, 0.02)
            possible = max(1.0 + slope * (strength - log(load)) - lost, 1.2)
            if failure:
                told.append(SetEvidence(lift, load, int(possible), to_failure=True, purpose="work"))
                continue
            reps = max(int(possible - rng.choice([1, 2, 3])), 1)
            left = possible - reps
            said = left + self._bias * (1.0 - exp(-left / 2.0)) + rng.normal(0, 0.4 + 0.25 * left)
            reserve = float(max(round(said), 0)) if rng.random() < 0.7 else None
            told.append(SetEvidence(lift, load, reps, reps_in_reserve=reserve, purpose="work"))
        return told
