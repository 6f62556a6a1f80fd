"""Load of weeks: what is told, and what is left out with its reason."""

import pytest

from service.core.errors import OutsideValidity, TooFewObservations
from service.core.tolerance.session_load import describe_week, session_load, weighted_mean

pytestmark = pytest.mark.quick

WEEK = (420.0, 0.0, 420.0, 0.0, 420.0, 0.0, 0.0)


def codes_of(*arguments: object, **named: object) -> list[str]:
    found = describe_week(*arguments, **named)  # type: ignore[arg-type]
    if found.reasons[0].code != "tolerance.load_describes":
        assert found.monotony is None
        assert found.strain is None
    return [reason.code for reason in found.reasons]


def test_each_reason_for_leaving_monotony_out_is_named() -> None:
    assert codes_of(WEEK) == ["tolerance.load_describes"]
    assert codes_of(WEEK, 2) == ["tolerance.load_incomplete"]
    assert codes_of(WEEK, over=False) == ["tolerance.load_week_not_over"]
    assert codes_of((0.0,) * 7, 2, any_told=False) == ["tolerance.load_not_told"]
    assert describe_week((0.0,) * 7, 2, any_told=False).load is None
    assert describe_week((0.0,) * 7, 0, any_told=False).load == 0.0
    assert codes_of((100.0,) * 7) == ["tolerance.load_every_day_alike"]
    assert codes_of((0.0,) * 7) == ["tolerance.load_none"]


def test_the_convention_is_told_with_the_numbers() -> None:
    population, sample = describe_week(WEEK), describe_week(WEEK, sd_convention="sample")
    assert (population.sd_convention, sample.sd_convention) == ("population", "sample")
    assert population.monotony is not None
    assert sample.monotony is not None
    assert population.monotony / sample.monotony == pytest.approx((7 / 6) ** 0.5)


def test_monotony_does_not_change_with_the_unit_of_load_and_strain_does() -> None:
    one, two = describe_week(WEEK), describe_week([2.0 * load for load in WEEK])
    assert two.monotony == pytest.approx(one.monotony)
    assert two.strain == pytest.approx(2.0 * (one.strain or 0.0))


@pytest.mark.parametrize(("rpe", "minutes"), [(11, 60), (-1, 60), (5, -1)])
def test_an_impossible_session_is_refused(rpe: float, minutes: float) -> None:
    with pytest.raises(OutsideValidity):
        session_load(rpe, minutes)


def test_an_impossible_week_is_refused() -> None:
    for days in ((1.0,) * 6, (-1.0,) * 7):
        with pytest.raises(OutsideValidity):
            describe_week(days)
    with pytest.raises(TooFewObservations):
        weighted_mean([], 7.0)


def test_a_steady_load_is_its_own_weighted_mean() -> None:
    assert weighted_mean([60.0] * 40, 28.0) == pytest.approx(60.0)
