"""Laws of the posterior of t, for any readings."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.symmetry.decisions import side_posterior
from service.core.symmetry.posterior import SideReading, condition

pytestmark = pytest.mark.quick

values = st.floats(-0.3, 0.3)
variances = st.floats(1e-5, 1e-2)
readings = st.lists(
    st.builds(
        SideReading,
        key=st.sampled_from(["a", "b", "c", "d"]),
        kind=st.just("strength"),
        t=values,
        variance=variances,
        visit_count=st.integers(1, 20),
        effort_known=st.booleans(),
    ),
    min_size=1,
    max_size=4,
    unique_by=lambda r: r.key,
)


def mirrored(r: SideReading) -> SideReading:
    return SideReading(r.key, r.kind, -r.t, r.variance, r.visit_count, r.newest_day, r.effort_known)


@given(readings)
def test_swapping_left_and_right_negates_t(given_readings: list[SideReading]) -> None:
    found, other = side_posterior(given_readings), side_posterior([mirrored(r) for r in given_readings])
    assert other.t.value == pytest.approx(-found.t.value, abs=1e-12)
    assert other.t.interval.lower == pytest.approx(-found.t.interval.upper, abs=1e-9)
    assert other.p_right_ahead == pytest.approx(1.0 - found.p_right_ahead, abs=1e-12)
    assert other.p_beyond == pytest.approx(found.p_beyond, abs=1e-12)


@given(values, variances, values, variances)
def test_another_reading_never_widens_a_gaussian_posterior(t: float, v: float, u: float, w: float) -> None:
    _, one = condition(t, v)
    joined = 1.0 / (1.0 / v + 1.0 / w)
    _, two = condition((t / v + u / w) * joined, joined)
    assert two <= one


@given(values, variances)
def test_the_posterior_lies_between_the_prior_and_the_reading(t: float, v: float) -> None:
    mean, _ = condition(t, v)
    assert min(0.0, t) <= mean <= max(0.0, t)


@given(readings)
def test_an_interval_holds_the_value_and_chances_are_chances(given_readings: list[SideReading]) -> None:
    found = side_posterior(given_readings)
    assert found.t.interval.lower < found.t.value < found.t.interval.upper
    assert 0.0 <= found.p_right_ahead <= 1.0
    assert -1e-12 <= found.p_beyond <= 1.0 + 1e-12
    assert (found.visits_needed is not None) == (found.state == "not_decided")


@given(readings)
def test_missing_effort_on_any_lift_leaves_a_muscle_undetermined(given_readings: list[SideReading]) -> None:
    if not all(r.effort_known for r in given_readings):
        assert side_posterior(given_readings).state == "undetermined"
