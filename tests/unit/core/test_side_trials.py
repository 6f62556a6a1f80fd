"""Trials of two sides: the estimate, its error, and which trial is refused and why."""

from math import exp, inf, log, sqrt

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import norm
from scipy.stats import t as student

from service.core.errors import MixedInputs, OutsideValidity, TooFewObservations
from service.core.symmetry.deficit import HowMeasured, bilateral_error, refuse_mixed, render_deficit
from service.core.symmetry.posterior import SidePrior
from service.core.symmetry.trials import (
    SideTrials,
    best_of_spread,
    central,
    compare_trials,
    detectable_change,
    faults_of,
    p_beyond,
    size_interval,
    spread_of,
    visits_needed,
    with_prior,
)

pytestmark = pytest.mark.quick
LEFT, RIGHT = SideTrials((38.0, 37.0, 39.5)), SideTrials((41.0, 42.5, 40.0, 42.0))


def test_without_pairs_t_is_students_with_the_pooled_spread() -> None:
    """The two-sample t interval of the logs, as any textbook has it."""
    found = compare_trials(LEFT, RIGHT)
    logs = [np.log(side.values) for side in (LEFT, RIGHT)]
    pooled = sum(((one - one.mean()) ** 2).sum() for one in logs) / 5
    error = sqrt(pooled * (1 / 3 + 1 / 4))
    assert found.t == pytest.approx(logs[1].mean() - logs[0].mean(), abs=1e-14)
    assert found.variance == pytest.approx(error**2, rel=1e-12)
    assert found.belief is not None
    assert found.degrees_of_freedom == 5
    assert central(found.belief, 0.9).lower == pytest.approx(found.t - student.ppf(0.95, 5) * error, rel=1e-9)
    assert found.belief.above(0.0) == pytest.approx(student.cdf(found.t / error, 5), rel=1e-9)


def test_pairs_use_the_spread_of_their_differences() -> None:
    left, right = SideTrials((30.0, 33.0, 36.0)), SideTrials((31.0, 34.5, 37.0))
    apart, paired = compare_trials(left, right), compare_trials(left, right, paired=True)
    differences = np.log(right.values) - np.log(left.values)
    assert paired.variance == pytest.approx(differences.var(ddof=1) / 3, rel=1e-12)
    assert paired.degrees_of_freedom == 2
    assert paired.pair_covariance == pytest.approx(np.cov(np.log(left.values), np.log(right.values))[0, 1])
    assert apart.variance is not None
    assert apart.variance > 20 * paired.variance


def test_a_known_covariance_takes_twice_itself_off() -> None:
    left, right = SideTrials((30.0, 31.0), 0.06), SideTrials((33.0, 32.0), 0.05)
    found = compare_trials(left, right, paired=True, trial_covariance=0.002, visit_sd=0.03)
    assert found.variance == pytest.approx((0.06**2 + 0.05**2 - 2 * 0.002) / 2 + 0.03**2, rel=1e-12)
    with pytest.raises(OutsideValidity):
        compare_trials(left, right, paired=True, trial_covariance=0.0031)


def test_one_trial_a_side_tells_no_error() -> None:
    found = compare_trials(SideTrials((30.0,)), SideTrials((33.0,)))
    assert found.t == pytest.approx(log(1.1))
    assert found.definition == "one_trial"
    assert (found.variance, found.belief) == (None, None)
    assert visits_needed(found, 0.05) is None
    with pytest.raises(TooFewObservations):
        detectable_change(found)


def test_equal_trials_tell_no_error_rather_than_a_perfect_one() -> None:
    assert compare_trials(SideTrials((30.0, 30.0)), SideTrials((33.0, 33.0))).belief is None


@pytest.mark.parametrize("count", [1, 2, 3, 5])
def test_the_spread_of_the_best_is_that_of_the_largest_of_normal_values(count: int) -> None:
    mean = quad(lambda x: x * count * norm.cdf(x) ** (count - 1) * norm.pdf(x), -9, 9)[0]
    square = quad(lambda x: x * x * count * norm.cdf(x) ** (count - 1) * norm.pdf(x), -9, 9)[0]
    assert best_of_spread(count) == pytest.approx(square - mean**2, abs=1e-6)


def test_each_summary_stands_for_the_sides_as_it_says() -> None:
    left, right = SideTrials((36.0, 38.0, 40.0)), SideTrials((41.0, 44.0, 42.0))
    best = compare_trials(left, right, summary="best_of_trials")
    means = compare_trials(left, right, summary="mean_of_trials")
    assert (best.left, best.right, best.definition) == (40.0, 44.0, "best_of_trials")
    assert means.t == pytest.approx(log(127 / 114), abs=1e-14)
    assert best.variance is not None
    assert means.variance is not None
    assert best.variance == pytest.approx(means.variance * 3 * best_of_spread(3), rel=1e-9)


def test_an_estimated_error_beside_a_known_one_agrees_with_quadrature() -> None:
    """P(t > 0) over the scaled inverse chi-square of the error; the grid of 64 equal shares is the only approximation."""
    found = compare_trials(LEFT, RIGHT, visit_sd=0.05)
    assert found.belief is not None
    assert found.t is not None
    df, scale = found.degrees_of_freedom, found.trial_variance

    def given(q: float) -> float:
        from scipy.stats import chi2

        return float(norm.cdf(found.t / sqrt(scale * df / chi2.ppf(q, df) + 0.05**2)))

    assert found.belief.above(0.0) == pytest.approx(quad(given, 0, 1)[0], abs=5e-4)


def test_the_interval_of_the_size_holds_its_mass_where_t_may_be_nought() -> None:
    found = compare_trials(SideTrials((30.0,), 0.05), SideTrials((30.3,), 0.05))
    assert found.belief is not None
    held = size_interval(found.belief, 0.8)
    assert held.lower == 0.0
    assert found.belief.above(-held.upper) - found.belief.above(held.upper) == pytest.approx(0.8, abs=1e-9)
    assert held.upper < max(abs(central(found.belief, 0.8).lower), central(found.belief, 0.8).upper)


@pytest.mark.parametrize(
    ("left", "right", "settings", "expected"),
    [
        ((30, 0, 31), (33, 32), {}, ("left", 1, "trial_of_nothing")),
        ((30, 31, 30.5), (33, 3.2, 33), {}, ("right", 1, "trial_far_off")),
        ((30, 310), (33, 32), {}, ("left", 1, "trial_far_off")),
        ((30, 31, 32), (33, 32), {"paired": True}, ("left", 2, "trial_without_pair")),
        ((30, 31), (33, 32, 31), {"summary": "best_of_trials"}, ("right", 2, "unequal_trials")),
    ],
)
def test_a_faulty_trial_is_named_by_side_and_place(left, right, settings, expected) -> None:
    settings = {"paired": False, "summary": "mean_of_trials", **settings}
    (fault,) = faults_of(SideTrials(left), SideTrials(right), **settings)
    assert (fault.side, fault.trial, fault.code) == expected
    with pytest.raises(OutsideValidity):
        compare_trials(SideTrials(left), SideTrials(right), **settings)


def test_a_limb_far_weaker_than_the_other_is_no_slip() -> None:
    assert compare_trials(SideTrials((9.0, 9.5)), SideTrials((60.0, 61.0))).t == pytest.approx(
        1.878, abs=0.01
    )


def test_visits_needed_fall_with_a_better_test_and_end_where_it_is_decided() -> None:
    def asked(sd: float):
        return visits_needed(compare_trials(SideTrials((30.0,), sd), SideTrials((31.5,), sd)), 0.05)

    rough, fine, sure = asked(0.08), asked(0.03), asked(0.005)
    assert rough is not None
    assert fine is not None
    assert 1.0 <= fine.value < rough.value <= 60.0
    assert sure is None


def test_that_many_visits_do_decide() -> None:
    """After the told number of visits, at the estimate itself, the side ahead is called as often as not."""
    one = compare_trials(SideTrials((30.0,), 0.05), SideTrials((33.0,), 0.05))
    needed = visits_needed(one, 0.05)
    assert needed is not None
    count = 1 + round(needed.value + 0.5)
    many = compare_trials(SideTrials((30.0,) * count, 0.05), SideTrials((33.0,) * count, 0.05))
    assert many.belief is not None
    assert many.belief.above(0.0) >= 0.98


def test_a_prior_draws_a_rough_reading_in_and_leaves_a_fine_one() -> None:
    rough = compare_trials(SideTrials((30.0,), 0.10), SideTrials((36.0,), 0.10))
    fine = compare_trials(SideTrials((30.0,), 0.005), SideTrials((36.0,), 0.005))
    assert with_prior(rough, SidePrior()).mean() < 0.04
    assert with_prior(fine, SidePrior()).mean() == pytest.approx(log(1.2), abs=0.006)


def test_values_that_were_not_measured_alike_are_refused_with_what_differs() -> None:
    one = HowMeasured("kg", "leg-press", "isotonic", 8)
    for other, code in (
        (HowMeasured("lb", "leg-press", "isotonic", 8), "mixed_units"),
        (HowMeasured("kg", "squat", "isotonic", 8), "mixed_exercises"),
        (HowMeasured("kg", "leg-press", "isometric", 8), "mixed_modes"),
        (HowMeasured("kg", "leg-press", "isotonic", 5), "mixed_repetitions"),
    ):
        with pytest.raises(MixedInputs) as refused:
            refuse_mixed(one, one, other)
        assert refused.value.facts["mixed"] == (code,)
    refuse_mixed(one, one, one)


def test_the_error_of_the_bilateral_index_agrees_with_simulated_trials() -> None:
    rng = np.random.default_rng(20261125)
    left, right, both = (
        rng.lognormal(log(m), sd, 400_000) for m, sd in ((95, 0.05), (100, 0.03), (180, 0.04))
    )
    seen = np.log(both / (left + right)).var()
    assert bilateral_error(95, 100, (0.04**2, 0.05**2, 0.03**2)) == pytest.approx(seen, rel=0.02)


def test_the_bilateral_index_carries_its_interval_in_both_conventions() -> None:
    deficit, of_hundred = render_deficit(180, 95, 100, variance=0.03**2)
    assert deficit.interval is not None
    assert of_hundred.interval is not None
    assert deficit.interval.lower == pytest.approx(
        100 * (180 / 195) * exp(-1.2815515655 * 0.03) - 100, abs=1e-6
    )
    assert of_hundred.interval.upper == pytest.approx(deficit.interval.upper + 100, abs=1e-9)
    assert render_deficit(180, 95, 100)[0].interval is None


def test_three_groups_pool_their_spread() -> None:
    groups = [SideTrials((180.0, 178.0)), SideTrials((95.0, 97.0)), SideTrials((100.0, 99.0, 102.0))]
    spread = spread_of(groups, "mean_of_trials")
    assert spread is not None
    assert spread.degrees_of_freedom == 4
    assert spread.variances[0] == pytest.approx(spread.variances[2] * 3 / 2)
    assert spread_of([SideTrials((1.0,))] * 3, "mean_of_trials") is None
    assert spread_of([SideTrials((1.0,), 0.05)] * 3, "mean_of_trials").degrees_of_freedom == inf


def test_a_difference_is_beyond_on_either_side() -> None:
    found = compare_trials(SideTrials((30.0,), 0.05), SideTrials((30.0,), 0.05))
    assert found.belief is not None
    assert p_beyond(found.belief, 0.05) == pytest.approx(2 * norm.sf(0.05 / (0.05 * sqrt(2))), rel=1e-9)
