"""A load that could not be moved once says that strength lies below it, and nothing more."""

from functools import cache

import pytest

from service.core.capability import (
    AthleteModel,
    CapabilityForecast,
    SeriesPrior,
    SessionEvidence,
    SetEvidence,
    begin,
    fold,
    forecast,
)
from service.core.curve import CURVE_PRIORS

pytestmark = pytest.mark.quick

MODEL = AthleteModel(lambda _: SeriesPrior(CURVE_PRIORS["bench"]), lambda _, __: 0.0)
PRESS = "press"


def missed(load_kg: float) -> SetEvidence:
    return SetEvidence(PRESS, load_kg, 0, to_failure=True)


@cache
def known(*misses: float) -> CapabilityForecast:
    """Six sessions of 100 kg for 8 to failure, and one of misses."""
    done = [SessionEvidence(3.0 * day, (SetEvidence(PRESS, 100.0, 8, to_failure=True),)) for day in range(6)]
    if misses:
        done.append(SessionEvidence(20.0, tuple(missed(load) for load in misses)))
    found = forecast(fold(begin(), done, MODEL), PRESS, 22.0, "both", MODEL)
    assert found is not None
    return found


@pytest.mark.parametrize("load_kg", [105.0, 115.0, 120.0, 130.0, 150.0, 200.0])
def test_a_miss_never_raises_what_is_believed(load_kg: float) -> None:
    assert known(load_kg).one_rep_max().value <= known().one_rep_max().value * (1 + 1e-9)


def test_the_lighter_the_missed_load_the_more_it_says() -> None:
    told = [known(load).one_rep_max().value for load in (118.0, 124.0, 130.0, 160.0)]
    assert told == sorted(told)
    assert told[0] < 0.99 * known().one_rep_max().value


def test_a_load_far_above_ones_strength_says_nothing_by_being_missed() -> None:
    assert known(200.0).one_rep_max().value == pytest.approx(known().one_rep_max().value, rel=1e-3)


def test_misses_in_a_row_lower_it_further() -> None:
    assert (
        known(115.0, 115.0, 115.0).one_rep_max().value
        < known(115.0).one_rep_max().value
        < known().one_rep_max().value
    )


def test_a_lift_does_not_begin_with_a_miss() -> None:
    state = fold(begin(), [SessionEvidence(0.0, (missed(80.0),))], MODEL)
    assert forecast(state, PRESS, 1.0, "both", MODEL) is None
