"""Gaps over time, by quality, and of joints' motion."""

from math import log, sqrt

import numpy as np
import pytest

from service.core.capability import SeriesPrior, SessionEvidence, SetEvidence, begin, fold, forecast
from service.core.capability.sets import AthleteModel
from service.core.curve import CURVE_PRIORS
from service.core.errors import MixedInputs, TooFewObservations
from service.core.symmetry.decisions import side_posterior
from service.core.symmetry.following import FilterStep, join_visits, look_back, smooth_steps
from service.core.symmetry.joint_motion import (
    MOTION_PRIOR,
    SMALLEST_WORTHWHILE_MOTION,
    MotionVisit,
    motion_readings,
)
from service.core.symmetry.mixture import Mixture, gaussian
from service.core.symmetry.posterior import SidePrior, SideReading
from service.core.symmetry.qualities import (
    QualityGap,
    endurance_gap,
    reading_of,
    repetitions_more,
    strength_gap,
)

pytestmark = pytest.mark.quick
PRIOR = SeriesPrior(CURVE_PRIORS["upper_press"], one_sided=True)
MODEL = AthleteModel(lambda _: PRIOR, lambda _, __: 0.0, "trained")


def size(t: float, day: float, sd: float = 0.02) -> SideReading:
    return SideReading("arm", "size", t, sd**2, 1, day, visit_variance=sd**2)


def test_the_walk_between_visits_agrees_with_one_big_gaussian() -> None:
    """A random walk seen with noise on four days, solved by inverting one matrix."""
    days, seen, walk = np.array([0.0, 10.0, 30.0, 31.0]), np.array([0.04, 0.01, 0.05, 0.02]), 0.02
    told = np.array([0.0, 10.0, 20.0, 30.0, 31.0, 45.0])
    prior = SidePrior(sd=3.0)
    covariance = prior.sd**2 + walk**2 * np.minimum.outer(told, told) / 7.0
    pick = np.array([np.flatnonzero(told == day)[0] for day in days])
    gain = covariance[:, pick] @ np.linalg.inv(covariance[np.ix_(pick, pick)] + 0.02**2 * np.eye(4))
    mean, spread = gain @ seen, covariance - gain @ covariance[pick]
    readings = [size(float(t), float(day)) for t, day in zip(seen, days, strict=True)]
    points = look_back(readings, list(told), prior, walk)
    np.testing.assert_allclose([p.mean for p in points], mean, atol=1e-5)
    np.testing.assert_allclose([p.variance for p in points], np.diag(spread), rtol=1e-3)
    now = join_visits(readings, 45.0, walk)
    assert now.t == pytest.approx(mean[-1], abs=1e-5)
    assert now.variance == pytest.approx(spread[-1, -1], rel=1e-3)


def test_a_day_before_the_first_visit_is_left_out_and_nothing_is_refused() -> None:
    assert [p.day for p in look_back([size(0.1, 5.0)], [0.0, 6.0], SidePrior(), 0.01)] == [6.0]
    assert look_back([], [1.0], SidePrior(), 0.01) == ()
    with pytest.raises(TooFewObservations):
        join_visits([], 0.0, 0.0)
    with pytest.raises(MixedInputs):
        join_visits([size(0.1, 0.0), SideReading("thigh", "size", 0.1, 1e-4, 1)], 0.0, 0.0)


def test_the_smoother_agrees_with_one_big_gaussian() -> None:
    """A level at 0 +- 0.06 that walks 0.01 a step, seen with noise 0.03 at each of five steps."""
    rng, walk, noise, first = np.random.default_rng(1), 0.01, 0.03, 0.06
    seen = rng.normal(0.03, 0.04, 5)
    steps, mean, variance = [], 0.0, first**2
    for number, y in enumerate(seen):
        expected = (mean, variance + (walk**2 if number else 0.0))
        share = expected[1] / (expected[1] + noise**2)
        mean, variance = expected[0] + share * (y - expected[0]), expected[1] * (1 - share)
        steps.append(FilterStep(7.0 * number, expected, (mean, variance)))
    level = first**2 + walk**2 * np.minimum.outer(np.arange(5.0), np.arange(5.0))
    gain = level @ np.linalg.inv(level + noise**2 * np.eye(5))
    points = smooth_steps(steps)
    np.testing.assert_allclose([p.mean for p in points], gain @ seen, atol=1e-12)
    np.testing.assert_allclose([p.variance for p in points], np.diag(level - gain @ level), atol=1e-12)


def trained(right_kg: float, left_kg: float, right_reps: int, left_reps: int, sessions: int = 8) -> float:
    """Return the gap at the trained repetitions after sessions of sets to failure on both sides."""
    log_kept = [
        SessionEvidence(
            3.5 * n,
            tuple(
                SetEvidence("press", kg, reps, to_failure=True, side=side, purpose="work")  # type: ignore[arg-type]
                for side, kg, reps in (("right", right_kg, right_reps), ("left", left_kg, left_reps)) * 2
            ),
        )
        for n in range(sessions)
    ]
    found = forecast(fold(begin("trained"), log_kept, MODEL), "press", 3.5 * sessions, "both", MODEL)
    assert found is not None
    gap = strength_gap(found, PRIOR)
    assert gap is not None
    assert gap.repetitions == pytest.approx(found.trained_repetitions)
    return gap.mean


def test_a_side_that_lifts_a_tenth_more_for_the_same_repetitions_is_ahead_by_that() -> None:
    assert trained(22.0, 20.0, 10, 10) == pytest.approx(log(1.1), abs=0.02)
    assert trained(20.0, 22.0, 10, 10) == pytest.approx(-log(1.1), abs=0.02)


def test_strength_is_compared_at_the_trained_repetitions_and_not_at_one() -> None:
    state = fold(
        begin("trained"),
        [
            SessionEvidence(
                3.5 * n,
                tuple(
                    SetEvidence("press", 20.0, reps, to_failure=True, side=side, purpose="work")  # type: ignore[arg-type]
                    for side, reps in (("right", 14), ("left", 10))
                ),
            )
            for n in range(10)
        ],
        MODEL,
    )
    found = forecast(state, "press", 40.0, "both", MODEL)
    assert found is not None
    trained_gap, single = strength_gap(found, PRIOR), strength_gap(found, PRIOR, 1.0)
    assert trained_gap is not None
    assert single is not None
    assert trained_gap.mean > single.mean > 0.0
    assert trained_gap.variance < single.variance


def test_a_two_sided_lift_has_no_gap() -> None:
    both = SeriesPrior(CURVE_PRIORS["bench"])
    model = AthleteModel(lambda _: both, lambda _, __: 0.0)
    state = fold(begin(), [SessionEvidence(0.0, (SetEvidence("bench", 80.0, 8, 2.0),))], model)
    found = forecast(state, "bench", 1.0, "both", model)
    assert found is not None
    assert strength_gap(found, both) is None
    assert endurance_gap(found) is None


def test_a_gap_that_nothing_was_learned_of_reads_as_the_prior() -> None:
    silent = reading_of(
        "press", QualityGap("strength", 0.0, 0.07**2, SidePrior(sd=0.06), 8.0), 3, 1.0, effort_known=True
    )
    said = side_posterior([silent])
    assert said.basis.prior_share == pytest.approx(1.0, abs=1e-3)
    assert said.state == "not_decided"


def test_what_was_hardly_measured_is_not_called_small() -> None:
    narrow = side_posterior(
        [SideReading("press", "endurance", 0.0, 9.0, 3)], prior=SidePrior(sd=0.03), smallest_worthwhile=0.1
    )
    assert narrow.p_beyond < 0.01
    assert narrow.state == "not_decided"


def test_more_endurance_is_more_repetitions_at_the_same_share() -> None:
    more = repetitions_more(gaussian(log(1.1), 0.02), 11.0, 0.8)
    assert more.value == pytest.approx(1.0)
    assert more.interval.lower < 1.0 < more.interval.upper


def test_a_mixtures_quantiles_hold_their_probabilities() -> None:
    mixed = Mixture((0.3, 0.7), (-0.05, 0.04), (0.02, 0.03))
    for p in (0.1, 0.5, 0.9):
        assert mixed.below(mixed.quantile(p)) == pytest.approx(p, abs=1e-9)
    assert mixed.mirrored.lower(0.1) == -mixed.upper(0.1)


def test_a_joints_motion_is_compared_in_degrees() -> None:
    visits = [MotionVisit(7.0 * n, {"right": (40.0, 42.0), "left": (65.0, 64.0)}) for n in range(2)]
    readings = motion_readings("wrist-extension", visits)
    assert [r.t for r in readings] == [-23.5, -23.5]
    found = side_posterior(
        [join_visits(readings, 7.0, 0.5)],
        prior=MOTION_PRIOR,
        smallest_worthwhile=SMALLEST_WORTHWHILE_MOTION,
        unit="deg",
    )
    assert found.state == "left_ahead"
    assert found.t.unit == "deg"
    assert -23.5 < found.t.value < -15.0


def test_motion_measured_on_one_side_is_refused_and_never_mixed_with_size() -> None:
    with pytest.raises(TooFewObservations):
        motion_readings("lunge", [MotionVisit(0.0, {"right": (40.0,), "left": ()})])
    with pytest.raises(MixedInputs):
        side_posterior([size(0.1, 0.0), SideReading("lunge", "joint_motion", 4.0, 9.0, 1)])


def test_scattered_angles_widen_the_error() -> None:
    def variance(spread: float) -> float:
        angles = (40.0 - spread, 40.0, 40.0 + spread)
        return motion_readings("lunge", [MotionVisit(0.0, {"right": angles, "left": angles})] * 4)[0].variance

    assert variance(8.0) > variance(0.0)
    assert sqrt(variance(0.0)) > 2.0


def test_weights_that_round_to_more_than_one_make_no_chance_of_it() -> None:
    weights = tuple(part / 28.0 for part in (9, 18, 1))
    assert sum(weights) > 1.0
    far = Mixture(weights, (0.3, 0.3, 0.3), (0.01, 0.01, 0.01))
    assert (far.above(0.0), far.mirrored.below(0.0), far.beyond(0.0)) == (1.0, 1.0, 1.0)
