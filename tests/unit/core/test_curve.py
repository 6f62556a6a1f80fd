"""The load-repetition curve: its inverse, its limits and its derivatives."""

from math import log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.curve import CURVE_PRIORS, curve_point, log_ratio_at, repetitions_at
from service.core.errors import OutsideValidity
from service.core.sources import SOURCES

pytestmark = pytest.mark.quick


@given(repetitions=st.floats(1.0, 60.0), k=st.floats(15.0, 110.0), bend=st.floats(-0.2, 1.5))
def test_the_inverse_curve_returns_the_repetitions(repetitions: float, k: float, bend: float) -> None:
    if bend * (repetitions - 1.0) / k > -0.9:
        z = log_ratio_at(repetitions, log(k), bend)
        assert repetitions_at(z, log(k), bend) == pytest.approx(repetitions, abs=1e-7)


def test_one_repetition_is_the_maximum_itself() -> None:
    assert log_ratio_at(1.0, log(32.0), 0.7) == 0.0


def test_a_bend_of_one_is_a_straight_line_in_the_load_ratio() -> None:
    # Epley's line 1 + r / 30 (form as reproduced in secondary pages), shifted so that one repetition is the maximum.
    for ratio in (1.1, 1.3, 1.5):
        assert repetitions_at(log(ratio), log(30.0), 1.0) == pytest.approx(1.0 + 30.0 * (ratio - 1.0))


def test_a_bend_of_nothing_is_log_linear() -> None:
    assert repetitions_at(0.25, log(40.0), 0.0) == pytest.approx(11.0)
    assert repetitions_at(0.25, log(40.0), 1e-7) == pytest.approx(11.0, abs=1e-5)


@pytest.mark.parametrize("bend", [0.0, 0.3, 0.7, 1.2])
@pytest.mark.parametrize("repetitions", [0.5, 3.0, 12.0, 30.0])
def test_derivatives_agree_with_central_differences(bend: float, repetitions: float) -> None:
    ln_k, step = log(36.0), 1e-5
    point = curve_point(repetitions, ln_k, bend)

    def slope(high: float, low: float) -> float:
        return (high - low) / (2.0 * step)

    by_repetition = slope(
        log_ratio_at(repetitions + step, ln_k, bend), log_ratio_at(repetitions - step, ln_k, bend)
    )
    by_ln_k = slope(
        log_ratio_at(repetitions, ln_k + step, bend), log_ratio_at(repetitions, ln_k - step, bend)
    )
    by_bend = slope(
        log_ratio_at(repetitions, ln_k, bend + step), log_ratio_at(repetitions, ln_k, bend - step)
    )
    assert point.by_repetition == pytest.approx(by_repetition, abs=1e-6)
    assert point.by_ln_k == pytest.approx(by_ln_k, abs=1e-6)
    assert point.by_bend == pytest.approx(by_bend, abs=2e-5)


def test_repetitions_that_no_load_gives_are_refused() -> None:
    with pytest.raises(OutsideValidity):
        log_ratio_at(-60.0, log(30.0), 0.7)


def test_every_prior_names_its_sources_or_says_judgement() -> None:
    for prior in CURVE_PRIORS.values():
        assert prior.basis
        assert all(key == "judgement" or key in SOURCES for key in prior.basis)
