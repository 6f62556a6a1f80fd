"""Where sets do nothing at all: intervals still hold that, and nothing is called learned that is not.

Beside it, that the same intervals hold what they say where people answer as people do, and end at nothing no longer than they
must: an interval that always held it would be of no use.
"""

from functools import cache

import numpy as np
import pytest
from scipy.special import ndtr, ndtri

from service.core.volume.growth import (
    HORIZON_WEEKS,
    effect_is_told,
    growth_at,
    growth_interval,
    slope_interval,
)
from service.core.volume.growth_series import evidence_of
from service.core.volume.nodes import ROOT_TO_HOLD, ROOT_TO_HOLD_LOG_SD, SIZE_SHARE, SIZE_SHARE_LOG_SD
from service.core.volume.response import (
    STEADY_DRIFT,
    Response,
    respond,
    slope_prior_from,
)
from service.core.volume.thresholds import Wanted, thresholds_of
from tests.oracles.test_girths_against_grid import measured, read, sets_of
from tests.oracles.test_growth_against_grid import Truth, doses_of, seen, slope_at

DOSES = (1.0, 3.0, 6.0, 10.0, 20.0, 40.0)
MASSES = (0.5, 0.8, 0.95)
World = tuple[Truth, Response]
quick = pytest.mark.quick


@cache
def worlds(
    people: int, stretches: int, lifts: int, elsewhere: int = 0, slope: float | None = None
) -> tuple[World, ...]:
    """Invented people whose lifts drift and walk together; with no slope named each has one of the prior's."""
    rng, found = np.random.default_rng([31, stretches, lifts, elsewhere]), []
    for _ in range(people):
        own = float(slope_at(rng.normal()))
        truth = Truth(
            own if slope is None else slope,
            ROOT_TO_HOLD * float(np.exp(ROOT_TO_HOLD_LOG_SD * rng.normal())),
            SIZE_SHARE["unknown"] * float(np.exp(SIZE_SHARE_LOG_SD * rng.normal())),
            drift=STEADY_DRIFT["unknown"][1] * float(rng.normal()),
        )
        common = rng.normal(size=stretches)
        told = []
        for count in (lifts, elsewhere):
            weekly = doses_of(rng, stretches)
            told.append([seen(truth, rng, stretches, common=common, weekly=weekly) for _ in range(count)])
        prior = slope_prior_from(evidence_of(told[1]), "unknown")
        found.append((truth, respond(evidence_of(told[0]), "unknown", prior)))
    return tuple(found)


def held(world: World, sets: float | None, mass: float) -> bool:
    """Whether the interval of the slope (of no sets named), or of the growth at some, holds the truth."""
    truth, found = world
    if sets is None:
        interval, true = slope_interval(found, mass), truth.slope
    else:
        interval = growth_interval(sets, found, mass)
        true = HORIZON_WEEKS * truth.slope * (np.sqrt(sets) - truth.root)
    return interval.lower <= true <= interval.upper


NO_EFFECT = [
    pytest.param((120, 6, 2, 0), marks=quick),
    (400, 6, 2, 0),
    (300, 18, 2, 0),
    (200, 24, 6, 0),
    (300, 6, 1, 3),
]


@pytest.mark.parametrize("mass", MASSES)
@pytest.mark.parametrize("log", NO_EFFECT)
def test_where_sets_do_nothing_slope_and_growth_at_every_dose_are_held(
    log: tuple[int, int, int, int], mass: float
) -> None:
    """With equal tails of a slope cut off at zero none of these slopes, and no growth from 10 sets on, was ever held."""
    people = worlds(*log, slope=0.0)
    for sets in (None, *DOSES):
        assert np.mean([held(one, sets, mass) for one in people]) >= mass


@pytest.mark.parametrize("mass", MASSES)
@pytest.mark.parametrize("log", [pytest.param((150, 6, 2, 0), marks=quick), (800, 6, 2, 0), (600, 18, 2, 0)])
def test_where_people_answer_as_people_do_the_same_intervals_hold_what_they_say(
    log: tuple[int, int, int, int], mass: float
) -> None:
    people = worlds(*log)
    # Three standard errors of so many people. An interval that has to hold the mean has more than its mass: of 800 people
    # 94.3 to 95.8 % are held where 95 are told, by dose.
    margin = 3.0 * np.sqrt(mass * (1.0 - mass) / len(people))
    for sets in (None, *DOSES):
        inside = np.mean([held(one, sets, mass) for one in people])
        assert mass - margin - 0.005 <= inside <= mass + margin + 0.05


@quick
def test_girths_of_muscles_that_sets_do_nothing_for_are_held_too() -> None:
    rng, found = np.random.default_rng(32), []
    for _ in range(120):
        sets = sets_of(rng, 6)
        visits = measured(rng, np.zeros(2), sets)
        found.append((Truth(0.0), respond(evidence_of([read(visits, sets).series]), "unknown")))
    for mass in MASSES:
        for sets_a_week in (None, *DOSES):
            assert np.mean([held(one, sets_a_week, mass) for one in found]) >= mass


@quick
def test_the_factor_against_no_effect_keeps_its_bound_and_finds_effects() -> None:
    """Its inverse is an expectation of one where sets do nothing: above 1 / k in no more than k of these worlds."""
    nothing = [found for _, found in worlds(120, 6, 2, slope=0.0)]
    assert np.mean([1.0 / one.no_effect for one in nothing]) <= 1.2
    for mass in MASSES:
        assert np.mean([effect_is_told(one, mass) for one in nothing]) <= 1.0 - mass
    answering = [found for _, found in worlds(60, 24, 4, slope=0.0025)]
    assert np.mean([effect_is_told(one, 0.95) for one in answering]) > 0.9


@quick
def test_a_landmark_of_sets_that_do_nothing_is_not_told_as_if_it_were_known() -> None:
    """Nearly all such logs reach a detectable gain by what is believed beforehand, and have to say so."""
    found = [thresholds_of(one) for _, one in worlds(120, 6, 2, slope=0.0)]
    reached = [threshold for told in found for threshold in told[1:] if threshold.reached]
    unsure = [
        "volume.threshold_effect_not_told" in [reason.code for reason in one.reasons] for one in reached
    ]
    assert len(reached) > 60
    assert np.mean(unsure) >= 0.8
    answering = [thresholds_of(one) for _, one in worlds(60, 24, 4, slope=0.0025)]
    codes = [reason.code for told in answering for threshold in told[1:] for reason in threshold.reasons]
    assert codes.count("volume.threshold_effect_not_told") < 0.2 * len(codes)


@quick
@pytest.mark.parametrize("mass", MASSES)
@pytest.mark.parametrize("slope", [0.0, 0.0011, 0.0025])
def test_intervals_have_the_mass_that_they_tell(mass: float, slope: float) -> None:
    """By draws of what is believed: no end that is moved to nothing takes mass off, or adds any."""
    rng = np.random.default_rng(33)
    for _, one in worlds(60, 6, 2, slope=slope)[:4]:
        nodes = rng.choice(len(one.weights), 60_000, p=one.weights)
        lowest = -one.centres[nodes] / one.spreads[nodes]
        # Normals cut off at zero by the inverse of what lies above it.
        slopes = one.centres[nodes] - one.spreads[nodes] * ndtri(ndtr(-lowest) * rng.random(len(nodes)))
        for sets in DOSES:
            growth = HORIZON_WEEKS * slopes * (np.sqrt(sets) - one.roots[nodes] - one.falls[nodes] * sets)
            told = growth_interval(sets, one, mass)
            inside = np.mean((growth >= told.lower) & (growth <= told.upper))
            # An end goes further only to hold the mean.
            assert inside >= mass - 0.01
            if told.lower < growth_at(sets, one)[0] < told.upper:
                assert inside <= mass + 0.015


@quick
def test_an_end_leaves_nothing_bit_by_bit_as_evidence_grows() -> None:
    rng = np.random.default_rng(34)
    truth, weekly = Truth(0.0025), doses_of(rng, 24)
    series = [seen(truth, rng, 24, weekly=weekly) for _ in range(4)]
    found = [respond(evidence_of(series[:count]), "unknown") for count in range(5)]
    assert slope_interval(found[0], 0.8).lower == 0.0
    assert [one.no_effect for one in found] == sorted((one.no_effect for one in found), reverse=True)
    assert slope_interval(found[-1], 0.8).lower > 0.0
    for one in found:
        for mass in MASSES:
            assert (slope_interval(one, mass).lower > 0.0) == effect_is_told(one, mass)


@quick
def test_a_newcomer_is_not_told_that_a_log_left_anything_open() -> None:
    nothing = respond(evidence_of([]), "unknown")
    assert nothing.no_effect == pytest.approx(1.0)
    codes = [reason.code for one in thresholds_of(nothing, "unknown", Wanted()) for reason in one.reasons]
    assert "volume.threshold_effect_not_told" not in codes
