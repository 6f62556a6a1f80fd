"""Which side is ahead: the posterior of t = ln(right/left)."""

from math import log, sqrt

import numpy as np
import pytest
from scipy import integrate, stats

from service.core.errors import MixedInputs, OutsideValidity, TooFewObservations
from service.core.symmetry.decisions import side_posterior
from service.core.symmetry.following import join_visits
from service.core.symmetry.posterior import (
    AFTER_INJURY,
    BETWEEN_EXERCISES_SCALE,
    POPULATION,
    SidePrior,
    SideReading,
    condition,
    reading_from_posterior,
)

pytestmark = pytest.mark.quick


def reading(t: float, sd: float, key: str = "invented-press", visits: int = 6, **more: object) -> SideReading:
    return SideReading(key, "strength", t, sd**2, visits, **more)  # type: ignore[arg-type]


def test_the_posterior_of_one_exercise_agrees_with_quadrature() -> None:
    t, v, prior = 0.08, 0.03**2, SidePrior(0.01, 0.05)

    def density(x: float) -> float:
        return float(stats.norm.pdf(t, x, sqrt(v)) * stats.norm.pdf(x, prior.mean, prior.sd))

    whole = integrate.quad(density, -0.5, 0.5, points=[t], epsabs=1e-13)[0]
    mean = integrate.quad(lambda x: x * density(x), -0.5, 0.5, points=[t], epsabs=1e-13)[0] / whole
    beyond = 1.0 - integrate.quad(density, -0.05, 0.05, epsabs=1e-13)[0] / whole
    right = integrate.quad(density, 0.0, 0.5, points=[t], epsabs=1e-13)[0] / whole
    found = side_posterior([reading(t, sqrt(v))], prior=prior)
    assert found.t.value == pytest.approx(mean, abs=1e-9)
    assert found.p_beyond == pytest.approx(beyond, abs=1e-9)
    assert found.p_right_ahead == pytest.approx(right, abs=1e-9)


def test_a_pooled_posterior_agrees_with_a_brute_force_grid() -> None:
    readings = [reading(0.09, 0.03, "a"), reading(0.02, 0.025, "b"), reading(0.06, 0.05, "c")]
    t = np.linspace(-0.3, 0.3, 2401)[:, None]
    spread = np.linspace(1e-5, 6 * BETWEEN_EXERCISES_SCALE, 1200)[None, :]
    density = stats.norm.pdf(t, 0.0, POPULATION.sd) * stats.halfnorm.pdf(
        spread, scale=BETWEEN_EXERCISES_SCALE
    )
    for r in readings:
        density = density * stats.norm.pdf(r.t, t, np.sqrt(r.variance + spread**2))
    marginal = density.sum(axis=1) / density.sum()
    mean = float((marginal * t[:, 0]).sum())
    sd = float(np.sqrt((marginal * (t[:, 0] - mean) ** 2).sum()))
    found = side_posterior(readings)
    assert found.t.value == pytest.approx(mean, abs=2e-4)
    assert found.t.sd == pytest.approx(sd, abs=2e-4)
    assert found.p_right_ahead == pytest.approx(float(marginal[t[:, 0] > 0].sum()), abs=2e-3)


def test_a_large_and_well_measured_gap_is_called() -> None:
    assert side_posterior([reading(0.12, 0.02)]).state == "right_ahead"
    assert side_posterior([reading(-0.12, 0.02)]).state == "left_ahead"
    assert side_posterior([reading(0.004, 0.015)]).state == "too_small_to_matter"
    assert side_posterior([reading(0.03, 0.03)]).state == "not_decided"


def test_equal_sides_are_rarely_called_unequal() -> None:
    rng = np.random.default_rng(3)
    called = 0
    for t in rng.normal(0.0, 0.02, 2000):
        called += side_posterior([reading(float(t), 0.02)]).state in ("right_ahead", "left_ahead")
    assert called / 2000 <= 0.04


def test_missing_effort_of_one_side_leaves_it_undetermined_however_large_the_gap() -> None:
    found = side_posterior([reading(0.2, 0.01, effort_known=False)])
    assert found.state == "undetermined"
    assert found.visits_needed is None
    assert {"sides.effort_missing", "sides.undetermined"} <= {r.code for r in found.reasons}


def test_every_answer_says_that_a_gap_is_a_measurement() -> None:
    codes = {c.code for c in side_posterior([reading(0.1, 0.02)]).cautions}
    assert codes == {"imbalance_is_measurement_not_risk"}


def test_an_extreme_reading_is_expected_to_shrink_without_training() -> None:
    found = side_posterior([reading(0.12, POPULATION.sd, visits=1)])
    assert found.expected_next_reading.value == pytest.approx(0.06)
    assert found.expected_next_reading.interval.kind == "prediction"
    assert found.expected_next_reading.sd > found.t.sd


def test_after_an_injury_the_prior_is_wider_and_shrinks_less() -> None:
    usual, hurt = (side_posterior([reading(-0.3, 0.06)], prior=p) for p in (POPULATION, AFTER_INJURY))
    assert hurt.t.value < usual.t.value < 0.0
    assert hurt.basis.prior_share < usual.basis.prior_share


def test_the_minimal_detectable_change_is_that_of_two_visits() -> None:
    found = side_posterior([reading(0.03, 0.02, visits=1)])
    assert found.minimal_detectable_change == pytest.approx(1.96 * sqrt(2.0) * 0.02)


def test_more_visits_are_needed_for_a_noisier_lift_and_the_estimate_has_an_interval() -> None:
    quiet, noisy = (side_posterior([reading(0.03, sd, visits=2)]).visits_needed for sd in (0.03, 0.06))
    assert quiet is not None
    assert noisy is not None
    assert quiet.value < noisy.value
    assert 1.0 <= quiet.interval.lower <= quiet.value <= quiet.interval.upper <= 60.0


def test_a_filters_posterior_gives_back_the_reading_that_made_it() -> None:
    mean, variance = condition(0.07, 0.02**2)
    found = reading_from_posterior("invented-press", mean, variance, 5)
    assert (found.t, found.variance) == (pytest.approx(0.07), pytest.approx(0.02**2))
    with pytest.raises(TooFewObservations):
        reading_from_posterior("invented-press", 0.0, POPULATION.sd**2, 5)


def test_visits_of_one_exercise_are_joined_by_precision() -> None:
    visits = [reading(0.04, 0.02, visits=1), reading(0.10, 0.04, visits=1, newest_day=9.0)]
    joined = join_visits(visits, 9.0, 0.0)
    assert joined.t == pytest.approx((0.04 * 4 + 0.10) / 5)
    assert joined.variance == pytest.approx(1.0 / (1.0 / 0.02**2 + 1.0 / 0.04**2))
    assert (joined.visit_count, joined.newest_day) == (2, 9.0)
    with pytest.raises(MixedInputs):
        join_visits([reading(0.1, 0.1, "a"), reading(0.1, 0.1, "b")], 9.0, 0.0)


def test_strength_and_size_and_two_girth_sites_are_never_mixed() -> None:
    arm = SideReading("upper-arm-relaxed", "size", 0.02, 1e-4, 1)
    with pytest.raises(MixedInputs):
        side_posterior([reading(0.1, 0.02), arm])
    with pytest.raises(MixedInputs):
        side_posterior([arm, SideReading("upper-arm-flexed", "size", 0.03, 1e-4, 1)])


def test_nothing_measured_and_impossible_variances_are_refused() -> None:
    with pytest.raises(TooFewObservations):
        side_posterior([])
    with pytest.raises(OutsideValidity):
        condition(0.1, 0.0)


def test_a_right_arm_that_is_bigger_and_a_left_press_that_is_stronger_stay_two_gaps() -> None:
    size = side_posterior([SideReading("upper-arm", "size", 2 * log(36.4 / 35.9), 4 * 2 * 0.01**2 / 3, 3)])
    press = side_posterior([reading(-0.12, 0.03)])
    assert 0.01 <= size.t.value <= 0.035
    assert -0.12 <= press.t.value <= -0.07


def test_the_visits_needed_agree_with_adding_one_visit_at_a_time() -> None:
    """Draw the truth from the posterior, add visits until the posterior's sd decides, and take the median."""
    mean, variance = condition(0.03, 0.05**2 / 2)
    ahead, small = stats.norm.ppf(0.99), stats.norm.ppf(0.95)
    counts = []
    for t in np.random.default_rng(7).normal(mean, sqrt(variance), 1500):
        visits = 3
        while visits < 62:
            sd = sqrt(condition(0.0, 0.05**2 / visits)[1])
            if abs(t) >= ahead * sd or 0.05 - abs(t) >= small * sd:
                break
            visits += 1
        counts.append(min(60, visits - 2))
    needed = side_posterior([reading(0.03, 0.05 / sqrt(2), visits=2)]).visits_needed
    assert needed is not None
    assert needed.value == pytest.approx(np.median(counts), abs=1.5)


def test_a_spread_between_lifts_is_not_averaged_away_by_visits() -> None:
    split = [reading(0.15, 0.005, "a", 20), reading(-0.12, 0.005, "b", 20)]
    needed = side_posterior(split).visits_needed
    assert needed is not None
    assert needed.interval.upper == 60.0
