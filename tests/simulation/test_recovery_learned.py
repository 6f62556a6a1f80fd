"""Recovery learned through the filter from invented logs: nearer to the truth than people in general, and not too sure."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from math import log

import numpy as np
import pytest
from scipy.stats import norm

from service.core.estimates import Reason
from service.core.recovery import (
    PRIOR_BELIEF,
    FatigueBelief,
    MuscleSession,
    SetsReady,
    is_learned,
    learn,
    p_ready_in,
    readiness,
    sets_ready_by_next,
)
from tests.simulation.recovering import MUSCLES, Invented, TrueRecovery, invent, people

pytestmark = pytest.mark.quick
USUAL = MuscleSession(0.0, 4.0, 0.3, 0.0, 1.5)
SPREAD = 0.3
"""Log-sd of a loss from session to session, the truth's own."""


def slow(rng: np.random.Generator) -> dict[str, TrueRecovery]:
    return {muscle: TrueRecovery(0.9, 48.0 * float(np.exp(rng.normal(0, 0.1)))) for muscle in MUSCLES}


def _none(_: np.random.Generator) -> dict[str, TrueRecovery]:
    return {muscle: TrueRecovery(1e-9, 28.0) for muscle in MUSCLES}


@dataclass(frozen=True)
class Case:
    """One muscle of one athlete: the truth, what was learned, and a draw of the luck of its next session."""

    truth: TrueRecovery
    belief: FatigueBelief
    luck: float


@cache
def cases(
    world: Callable[[np.random.Generator], dict[str, TrueRecovery]], count: int, alike: bool = False
) -> tuple[Case, ...]:
    rng = np.random.default_rng(17)
    return tuple(_cases(rng, [invent(rng, world(rng), alike=alike) for _ in range(count)]))


def _cases(rng: np.random.Generator, athletes: list[Invented]) -> Iterator[Case]:
    for athlete in athletes:
        beliefs = learn(athlete.asked, athlete.seen, MUSCLES)
        for muscle in MUSCLES:
            yield Case(athlete.truth[muscle], beliefs[muscle], float(rng.normal(0, SPREAD)))


def _error(found: tuple[Case, ...], belief_of: Callable[[Case], FatigueBelief]) -> float:
    """Return the mean squared distance between told and true chance of being ready, a day and two days on."""
    squares = []
    for case in found:
        for hours in (24.0, 48.0):
            session = MuscleSession(hours, 6.0, 0.3, 0.0, 1.5)
            lost = case.truth.lost(session, hours)
            told = p_ready_in([session], 0.0, None, belief_of(case))
            squares.append((told - norm.cdf(-log(max(lost, 1e-12)) / SPREAD)) ** 2)
    return float(np.mean(squares))


def _people_in_general(_: Case) -> FatigueBelief:
    return PRIOR_BELIEF


def _learned(case: Case) -> FatigueBelief:
    return case.belief


@pytest.mark.parametrize(
    ("world", "count", "of_prior"), [(people, 24, 0.75), (slow, 8, 0.5), (_none, 8, 0.5)]
)
def test_what_is_learned_is_nearer_to_the_truth_than_people_in_general(
    world: Callable[[np.random.Generator], dict[str, TrueRecovery]], count: int, of_prior: float
) -> None:
    found = cases(world, count)
    assert _error(found, _learned) < of_prior * _error(found, _people_in_general)


def test_intervals_of_hours_and_of_the_decay_time_hold_the_truth() -> None:
    session = MuscleSession(24.0, 6.0, 0.3, 0.0, 1.5)
    hours, taus = [], []
    for case in cases(people, 24):
        interval = readiness([session], None, 0.8, case.belief).hours_until_ready.interval
        lucky = TrueRecovery(case.truth.loss * float(np.exp(case.luck)), case.truth.tau_h)
        true = max(lucky.hours_until(session) - session.hours_ago, 0.0)
        hours.append(interval.lower <= true <= interval.upper)
        taus.append(abs(log(case.truth.tau_h) - case.belief.ln_tau) < 1.2816 * case.belief.tau_sd)
    assert 0.75 <= np.mean(hours) <= 0.97
    assert 0.70 <= np.mean(taus) <= 0.95


def test_the_sets_that_are_called_ready_are_ready_about_as_often_as_said() -> None:
    ready = []
    for case in cases(people, 24):
        found = sets_ready_by_next(USUAL, 48.0, case.belief, 8.0)
        assert isinstance(found, SetsReady)
        done = MuscleSession(0.0, max(found.hard_sets, 1e-9), 0.3, 0.0, 1.5)
        ready.append(norm.cdf(-log(case.truth.lost(done, 48.0)) / SPREAD))
    assert 0.72 <= np.mean(ready) <= 0.93


def test_athletes_whom_nothing_tires_are_told_that_they_are_ready() -> None:
    session = MuscleSession(24.0, 6.0, 0.3, 0.0, 1.5)
    told = [readiness([session], None, 0.8, case.belief) for case in cases(_none, 8)]
    assert np.mean([one.p_ready for one in told]) > 2 * readiness([session]).p_ready
    # Of eight athletes one has the luck of a slope of two standard errors, and its six muscles share it.
    assert np.mean([one.hours_until_ready.interval.lower == 0.0 for one in told]) >= 0.9


def test_nothing_is_called_learned_from_sessions_that_are_all_alike() -> None:
    found = cases(people, 10, alike=True)
    assert np.mean([is_learned(case.belief) for case in found]) <= 0.05
    taus = [abs(log(case.truth.tau_h) - case.belief.ln_tau) < 1.2816 * case.belief.tau_sd for case in found]
    assert 0.6 <= np.mean(taus) <= 0.97
    for case in found:
        if not is_learned(case.belief):
            assert isinstance(sets_ready_by_next(USUAL, 48.0, case.belief, 8.0), Reason)


def test_a_few_next_sessions_are_not_called_learned() -> None:
    rng = np.random.default_rng(5)
    for _ in range(6):
        athlete = invent(rng, people(rng), weeks=1)
        beliefs = learn(athlete.asked, athlete.seen, MUSCLES)
        assert not any(is_learned(beliefs[muscle]) for muscle in MUSCLES)
