"""A slip of the pen where nothing is known yet, and loads beyond what a bent curve can give."""

from math import isfinite

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
from service.core.capability.layout import BEND, LN_K
from service.core.curve import CURVE_PRIORS

pytestmark = pytest.mark.quick

LIFT = "lift"
MODEL = AthleteModel({LIFT: SeriesPrior(CURVE_PRIORS["bench"], one_sided=True)}.__getitem__, lambda *_: 0.0)
GAP = 3.5


def known(visits: list[list[SetEvidence]]) -> CapabilityForecast:
    sessions = [SessionEvidence(GAP * number, tuple(sets)) for number, sets in enumerate(visits)]
    answer = forecast(fold(begin("unknown"), sessions, MODEL), LIFT, GAP * len(visits))
    assert answer is not None
    return answer


def sets(load: float, *told: float | None, reps: int = 12) -> list[SetEvidence]:
    return [SetEvidence(LIFT, load, reps, reserve) for reserve in told]


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        *((factor, (1.5, None, 2.0)) for factor in (10.0, 0.1, 2.2046, 4.0)),
        *((factor, (None, None, None)) for factor in (10.0, 0.1, 5.0)),
    ],
)
def test_a_first_set_with_a_slipped_load_is_forgotten_within_three_sessions(
    wrong: float, told: tuple[float | None, ...]
) -> None:
    right = [sets(20.0, *told) for _ in range(3)]
    slipped = known([[*sets(20.0 * wrong, None), *right[0]], *right[1:]])
    assert slipped.load_for(12.0).value == pytest.approx(known(right).load_for(12.0).value, rel=0.15)


def test_three_sets_that_agree_outweigh_a_year_at_another_load() -> None:
    year = [sets(20.0, 2.0, 2.0, 1.0) for _ in range(50)]
    other = known([*year, *(sets(50.0, 2.0, 2.0, 1.0) for _ in range(2))])
    assert 45.0 < other.load_for(13.5).value < 56.0


def test_one_slip_in_a_long_log_changes_little() -> None:
    year = [sets(20.0, 2.0, 2.0, 1.0) for _ in range(30)]
    slipped = known([*year, [*sets(200.0, 2.0), *year[0][1:]], *year[:2]])
    assert slipped.load_for(13.5).value == pytest.approx(known(year).load_for(13.5).value, rel=0.03)


@pytest.mark.parametrize("load", [48.0, 40.0, 36.0])
def test_a_light_week_is_no_slip(load: float) -> None:
    # Half of the usual load for a few repetitions, in silence: a planned easy week.
    hard = [sets(80.0, 2.0, 2.0, 1.0, reps=8) for _ in range(20)]
    easy = [sets(load, None, None, None, reps=6) for _ in range(2)]
    assert known([*hard, *easy]).load_for(9.0).value == pytest.approx(
        known(hard).load_for(9.0).value, rel=0.05
    )


def test_repetitions_beyond_the_most_that_a_bent_curve_gives_stay_finite_loads() -> None:
    answer = known([sets(20.0, 0.0, 0.0, reps=6) for _ in range(6)])
    for means in answer.joint.means:
        means[BEND], means[LN_K] = -0.9, 2.4
    loads = [answer.ln_load_for(count)[0] for count in (6.0, 12.0, 20.0, 30.0)]
    assert all(map(isfinite, loads))
    assert loads == sorted(loads, reverse=True)
    assert loads[-1] > loads[0] - 8.0


@pytest.mark.parametrize("wrong", [10.0, 2.2046, 0.1])
@pytest.mark.parametrize("before", [1, 2, 3])
def test_one_slip_on_a_young_lift_is_not_taken_for_what_is_so(before: int, wrong: float) -> None:
    right = [sets(60.0, 2.0, reps=8) for _ in range(before)]
    slipped = known([*right, sets(60.0 * wrong, 2.0, reps=8)])
    assert slipped.load_for(8.0).value == pytest.approx(known(right).load_for(8.0).value, rel=0.15)


@pytest.mark.parametrize("first", [sets(20.0, None, reps=15), sets(30.0, None, reps=15)])
def test_a_light_set_before_each_heavy_one_does_not_keep_the_first_guess(first: list[SetEvidence]) -> None:
    """What tells no effort is believed wherever it stops short: it must not take back what the heavy sets contradict."""
    found = known([[*first, *sets(80.0, 2.0, reps=8)] for _ in range(5)])
    assert 75.0 <= found.load_for(10.0).value <= 95.0
