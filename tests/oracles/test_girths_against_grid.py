"""Girths as witnesses of growth: against a grid over every muscle under the tape, and on invented athletes."""

from math import exp, sqrt

import numpy as np
import pytest
from numpy.typing import NDArray

from service.core.volume.girths import (
    BONE_SHARE,
    MASS_ON_CORRECTED,
    MASS_ON_GIRTH,
    MASS_WALK,
    MOST_MASS_CHANGE,
    VISIT_SD,
    GirthReading,
    TapeVisits,
    UnderTape,
    growth_from_girths,
)
from service.core.volume.growth import slope_interval
from service.core.volume.growth_series import WALK, evidence_of
from service.core.volume.nodes import ROOT_TO_HOLD, ROOT_TO_HOLD_LOG_SD
from service.core.volume.response import (
    PERSON_SHARE,
    SlopePrior,
    population_slope,
    respond,
    uncut_slope,
)
from tests.oracles.test_growth_against_grid import USUAL_MEAN, USUAL_SD, slope_at

pytestmark = pytest.mark.quick
Array = NDArray[np.float64]
USUAL = population_slope("unknown")
ROOT = ROOT_TO_HOLD * exp(0.5 * ROOT_TO_HOLD_LOG_SD**2)
#: A place with two muscles, the half of a girth's square each, and some fat and bone.
SHARES, MUSCLE_SHARE, DOUBT, TAPE = (0.55, 0.44), 0.6, 0.25, 0.006


def slopes_of_a_person(rng: np.random.Generator, muscles: int = 2) -> Array:
    """Slopes that share what the person has in common: normal scores correlate, and each slope is the population's."""
    person = sqrt(PERSON_SHARE) * rng.normal()
    return slope_at(person + sqrt(1.0 - PERSON_SHARE) * rng.normal(size=muscles))


def sets_of(rng: np.random.Generator, stretches: int) -> Array:
    """Mean weekly hard sets of both muscles in each stretch (2, stretches)."""
    return rng.uniform(2.0, 22.0, (2, stretches))


def measured(
    rng: np.random.Generator,
    slopes: Array,
    sets: Array,
    *,
    roots: tuple[float, float] = (ROOT, ROOT),
    masses: Array | None = None,
    fat: float = 0.0,
    tape: float = TAPE,
) -> TapeVisits:
    """Visits every four weeks: muscles grow, fat comes with body mass, and the tape errs."""
    weeks = np.full(sets.shape[1], 4.0)
    grown = slopes[:, None] * (np.sqrt(sets) - np.array(roots)[:, None]) * weeks
    area = MUSCLE_SHARE * (np.array(SHARES) @ grown)
    told = 0.5 * np.concatenate([[0.0], np.cumsum(area)])
    told = told + np.concatenate([[0.0], np.cumsum(WALK["girth"] * 2.0 * rng.normal(size=len(weeks)))])
    if masses is not None:
        told = told + fat * (masses - masses[0])
    told = told + sqrt(tape**2 + VISIT_SD**2) * rng.normal(size=len(told))
    days = tuple(28.0 * at for at in range(len(told)))
    kept = [None] * len(told) if masses is None else [float(one) for one in masses]
    return TapeVisits(days, tuple(3.4 + told), (tape**2,) * len(told), tuple(kept))


def read(visits: TapeVisits, sets: Array, prior: SlopePrior = USUAL) -> GirthReading:
    """What the visits say of the first of the two muscles."""
    under = [UnderTape(share, 4.0 * np.sqrt(row), 4.0 * row) for share, row in zip(SHARES, sets, strict=True)]
    return growth_from_girths(visits, under[0], under[1:], MUSCLE_SHARE, DOUBT, prior, USUAL)


def by_grid(visits: TapeVisits, sets: Array) -> tuple[float, float]:
    """Mean and sd of the first slope, by sums over both slopes and the first one's root, mass and table's doubt apart."""
    scores = np.linspace(-5.0, 5.0, 121)
    first = slope_at(scores)
    roots = ROOT_TO_HOLD * np.exp(ROOT_TO_HOLD_LOG_SD * np.linspace(-3.5, 3.5, 29))
    root_weights = np.exp(-0.5 * np.linspace(-3.5, 3.5, 29) ** 2)
    weeks = np.diff(visits.days) / 7.0
    ends = np.diff(np.eye(len(visits.days)), axis=0)
    noise = ends @ np.diag(np.array(visits.variances) + VISIT_SD**2) @ ends.T + WALK["girth"] ** 2 * np.diag(
        weeks
    )
    half = 0.5 * MUSCLE_SHARE
    at_mean = [share * (np.sqrt(row) - ROOT) * weeks for share, row in zip(SHARES, sets, strict=True)]
    size = USUAL_MEAN**2 + USUAL_SD**2
    root_sd = ROOT * sqrt(exp(ROOT_TO_HOLD_LOG_SD**2) - 1.0)
    keeping = SHARES[1] * weeks
    noise = noise + half**2 * size * (
        DOUBT**2 * np.outer(sum(at_mean), sum(at_mean)) + root_sd**2 * np.outer(keeping, keeping)
    )
    noise = noise + np.diag(MASS_WALK**2 * weeks) * (MASS_ON_GIRTH[0] ** 2 + MASS_ON_GIRTH[1] ** 2)
    inverse = np.linalg.inv(noise)
    prior = np.linalg.inv(np.array([[1.0, PERSON_SHARE], [PERSON_SHARE, 1.0]]))
    off = np.stack(np.meshgrid(scores, scores, indexing="ij"), axis=-1)
    ln_prior = -0.5 * np.einsum("abi,ij,abj->ab", off, prior, off)
    density = np.zeros(len(first))
    changes = np.diff(visits.ln_girths)
    for root, weight in zip(roots, root_weights, strict=True):
        own = SHARES[0] * (np.sqrt(sets[0]) - root) * weeks
        told = changes - half * (first[:, None, None] * own + first[None, :, None] * at_mean[1])
        ln_seen = -0.5 * np.einsum("abi,ij,abj->ab", told, inverse, told)
        density += weight * np.exp(ln_prior + ln_seen).sum(axis=1)
    density /= density.sum()
    mean = float(density @ first)
    return mean, float(np.sqrt(density @ (first - mean) ** 2))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_one_girth_of_two_muscles_agrees_with_a_grid_over_both(seed: int) -> None:
    rng = np.random.default_rng(seed)
    sets = sets_of(rng, 6)
    visits = measured(rng, slopes_of_a_person(rng), sets)
    mean, sd = by_grid(visits, sets)
    found = respond(evidence_of([read(visits, sets).series]), "unknown").slope
    assert found[0] == pytest.approx(mean, abs=0.05 * sd)
    assert found[1] == pytest.approx(sd, rel=0.05)


@pytest.mark.parametrize("slope", [0.0, 0.0030])
def test_a_known_slope_is_approached_and_more_girths_come_nearer(slope: float) -> None:
    rng = np.random.default_rng(12)
    few, many = [], []
    for _ in range(200):
        sets = sets_of(rng, 6)
        slopes = np.array([slope, slope])
        readings = [read(measured(rng, slopes, sets), sets).series for _ in range(4)]
        few.append(respond(evidence_of(readings[:1]), "unknown").slope[0])
        many.append(respond(evidence_of(readings), "unknown").slope[0])
    assert abs(np.mean(many) - slope) < abs(np.mean(few) - slope) < abs(USUAL_MEAN - slope)


def test_where_sets_do_nothing_nothing_is_called_learned_that_is_not() -> None:
    rng = np.random.default_rng(13)
    found = []
    for _ in range(300):
        sets = sets_of(rng, 6)
        visits = measured(rng, np.zeros(2), sets)
        found.append(respond(evidence_of([read(visits, sets).series]), "unknown"))
    assert np.mean([slope_interval(one, 0.95).lower < 0.0002 for one in found]) > 0.9
    assert np.mean([one.slope[0] for one in found]) < USUAL_MEAN
    assert max(one.p_downturn for one in found) < 0.9


def test_a_muscle_that_is_little_of_the_place_learns_less_than_one_that_is_much() -> None:
    rng = np.random.default_rng(14)
    sets = sets_of(rng, 6)
    visits = measured(rng, slopes_of_a_person(rng), sets)
    much, little = (
        growth_from_girths(
            visits,
            UnderTape(share, 4.0 * np.sqrt(sets[0]), 4.0 * sets[0]),
            [UnderTape(0.99 - share, 4.0 * np.sqrt(sets[1]), 4.0 * sets[1])],
            MUSCLE_SHARE, DOUBT, USUAL, USUAL,
        ).series
        for share in (0.9, 0.1)
    )  # fmt: skip
    sds = [respond(evidence_of([one]), "unknown").slope[1] for one in (much, little)]
    assert sds[0] < sds[1] < USUAL_SD


def test_a_girth_that_grew_with_the_body_raises_less_than_one_that_grew_alone() -> None:
    rng = np.random.default_rng(15)
    sets = np.full((2, 6), 12.0)
    visits = measured(rng, np.full(2, 0.0025), sets)
    means, sds = [], []
    for gained in (0.0, 0.04):
        masses = tuple(4.4 + gained * at / 6.0 for at in range(7))
        told = TapeVisits(visits.days, visits.ln_girths, visits.variances, masses)
        seen_so = evidence_of([read(told, sets).series])
        means.append(respond(seen_so, "unknown").slope[0])
        # Before the cut at zero, which takes doubt off whatever lies near it.
        sds.append(uncut_slope(seen_so, "unknown", USUAL)[1])
    assert means[1] < means[0]
    assert sds[1] > sds[0]


def test_a_stretch_of_much_body_mass_says_nothing_unless_fat_was_taken_off() -> None:
    rng = np.random.default_rng(16)
    sets = sets_of(rng, 3)
    visits = measured(rng, slopes_of_a_person(rng), sets)
    jump = MOST_MASS_CHANGE + 0.01
    masses = (4.4, 4.4, 4.4 + jump, 4.4 + jump)
    found = [
        read(TapeVisits(visits.days, girths, visits.variances, masses), sets)
        for girths in (
            visits.ln_girths,
            tuple(one + (0.05 if at > 1 else 0.0) for at, one in enumerate(visits.ln_girths)),
        )
    ]
    assert [(one.left_out, one.weeks) for one in found] == [(1, 8.0)] * 2
    plain, swollen = (respond(evidence_of([one.series]), "unknown").slope[0] for one in found)
    assert swollen == pytest.approx(plain, abs=0.02 * USUAL_SD)
    corrected = TapeVisits(visits.days, visits.ln_girths, visits.variances, masses, corrected=True)
    assert read(corrected, sets).left_out == 0


def test_a_corrected_girth_is_nearly_all_muscle() -> None:
    rng = np.random.default_rng(17)
    sets = sets_of(rng, 4)
    visits = measured(rng, slopes_of_a_person(rng), sets)
    corrected = TapeVisits(visits.days, visits.ln_girths, visits.variances, visits.ln_masses, corrected=True)
    plain, lean = read(visits, sets).series, read(corrected, sets).series
    assert lean.share == pytest.approx((1.0 - BONE_SHARE) * SHARES[0])
    assert plain.share == pytest.approx(MUSCLE_SHARE * SHARES[0])
    assert MASS_ON_CORRECTED[0] < MASS_ON_GIRTH[0]


@pytest.mark.from_memory
def test_bone_is_a_tenth_of_what_is_left_of_an_arm_without_fat() -> None:
    """[Heymsfield1979], abstract: bone 6.3 cm2 in men and 4.7 in women, and area by tape and fold 15 to 25 % more than the
    muscle's; the girths of men and women are recalled."""
    for bone, girth, fold in ((6.3, 31.0, 1.2), (4.7, 28.0, 2.0)):
        lean = (girth - np.pi * fold) ** 2 / (4.0 * np.pi)
        assert bone / lean == pytest.approx(BONE_SHARE, abs=0.035)
