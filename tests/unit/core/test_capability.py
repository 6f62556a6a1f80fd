"""The capability filter on logs that were made up to show one thing each."""

from collections.abc import Sequence
from itertools import pairwise
from math import log

import numpy as np
import pytest

from service.core.capability.former import (
    CapabilityForecast,
    CapabilityPrior,
    SetEvidence,
    Side,
    Training,
    fold,
    infer_warm_up,
    predict,
)
from service.core.curve import CURVE_PRIORS, CurveClass
from service.core.errors import OutsideValidity
from service.core.sources import SOURCES

pytestmark = pytest.mark.quick


def prior(curve: CurveClass = "bench", training: Training = "trained") -> CapabilityPrior:
    return CapabilityPrior(CURVE_PRIORS[curve], training)


def forecast(
    sets: Sequence[SetEvidence], day: float, of: CapabilityPrior | None = None, side: Side = "both"
) -> CapabilityForecast:
    state = fold(sets, of or prior())
    assert state is not None
    return predict(state, day, side)


def sessions(
    count: int, load_kg: float, reps: int, reserve: float | None, sets: int = 3
) -> list[SetEvidence]:
    return [
        SetEvidence(3.5 * s, s, load_kg, reps, reps_in_reserve=reserve, hard_sets_before=float(i))
        for s in range(count)
        for i in range(sets)
    ]


def test_nothing_logged_and_nothing_known_gives_no_state() -> None:
    assert fold([], prior()) is None


def test_warm_ups_alone_give_no_state() -> None:
    assert fold([SetEvidence(0.0, 0, 40.0, 10, kind="warm_up")], prior()) is None


def test_a_maximum_known_from_elsewhere_gives_a_forecast_that_is_all_prior() -> None:
    known = CapabilityPrior(CURVE_PRIORS["bench"], "trained", ln_one_rep_max=(log(90.0), 0.15))
    answer = forecast([], 0.0, known)
    assert answer.one_rep_max().value == pytest.approx(90.0, rel=0.01)
    assert (answer.basis.observation_count, answer.basis.prior_share) == (0, 1.0)


def test_two_weeks_off_cost_at_most_three_percent() -> None:
    # Scenario: eight stable weeks of 100 kg x 8 with 2 in reserve, then 14 days off.
    log_kept = sessions(16, 100.0, 8, 2.0)
    last = log_kept[-1].day
    before, after = (forecast(log_kept, last + days).load_for(8.0).value for days in (3.5, 14.0))
    assert 0.97 <= after / before <= 1.0


def test_a_long_layoff_lowers_and_widens() -> None:
    log_kept = sessions(16, 100.0, 8, 2.0)
    last = log_kept[-1].day
    soon, late = (forecast(log_kept, last + days).load_for(8.0) for days in (3.5, 84.0))
    assert late.value < 0.95 * soon.value
    assert late.sd / late.value > 1.2 * soon.sd / soon.value


def test_unreported_effort_is_neither_read_as_failure_nor_as_certain() -> None:
    # Scenario: eight sessions of 60 kg x 10, effort never given.
    answer = forecast(sessions(8, 60.0, 10, None, sets=1), 28.0)
    load = answer.load_for(10.0)
    assert 60.0 < load.value < 68.0
    assert (load.interval.upper - load.interval.lower) / load.value >= 0.08
    assert "capability.effort_assumed" in {reason.code for reason in answer.reasons_for(10.0)}


def test_the_width_stays_when_silent_sets_are_copied_without_end() -> None:
    few, many = (forecast(sessions(n, 60.0, 10, None, sets=1), 3.5 * n).load_for(10.0) for n in (8, 40))
    assert many.sd / many.value > 0.7 * few.sd / few.value


@pytest.mark.parametrize("training", ["trained", "novice", "unknown"])
def test_silent_sets_still_lift_the_estimate_to_what_was_done(training: Training) -> None:
    rising = [SetEvidence(3.5 * s, s, 60.0 + 0.75 * s, 10) for s in range(16)]
    done = rising[-1].load_kg
    assert forecast(rising, rising[-1].day, prior(training=training)).load_for(10.0).value > 0.98 * done


def test_unflagged_warm_ups_do_not_poison_capability() -> None:
    # Scenario: 20 x 10, 60 x 5, 80 x 3 without a purpose, then 100 x 8 with 2 in reserve.
    loads, reps = [20.0, 60.0, 80.0, 100.0], [10, 5, 3, 8]
    warm = infer_warm_up(loads, [False] * 4)
    assert warm == (0.9, 0.9, 0.9, 0.0)
    ramped = [
        SetEvidence(0.0, 0, load, n, reps_in_reserve=2.0 if load == 100.0 else None, warm_up=w)
        for load, n, w in zip(loads, reps, warm, strict=True)
    ]
    assert forecast(ramped, 0.0).load_for(8.0).value == pytest.approx(
        forecast(ramped[-1:], 0.0).load_for(8.0).value, rel=0.02
    )


def test_a_stated_purpose_is_never_overruled() -> None:
    assert infer_warm_up([20.0, 100.0], [True, False]) == (0.0, 0.0)


def test_a_novice_trend_is_seen_within_four_weeks() -> None:
    # Scenario: leg press from 60 to 70 kg x 10 with 3 in reserve; trend 2 to 6 % a week.
    loads = [60.0, 63.0, 66.0, 70.0]
    log_kept = [
        SetEvidence(7.0 * week + day, 2 * week + (day > 0), load, 10, reps_in_reserve=3.0)
        for week, load in enumerate(loads)
        for day in (0.0, 3.5)
    ]
    state = fold(log_kept, prior("leg_press", "novice"))
    assert state is not None
    assert 0.02 <= state.mean[1] <= 0.06


def test_a_matched_second_side_is_a_bound_and_decides_nothing() -> None:
    # Scenario: right 20 kg x 10 with 1 in reserve, left stopped at 10, effort unstated, eight sessions.
    log_kept = [
        item
        for s in range(8)
        for item in (
            SetEvidence(7.0 * s, s, 20.0, 10, reps_in_reserve=1.0, side="right"),
            SetEvidence(7.0 * s, s, 20.0, 10, side="left", matched=True),
        )
    ]
    state = fold(log_kept, prior("single_joint"))
    assert state is not None
    ahead = 0.5 * (1.0 + np.tanh(-1.6 * state.mean[4] / np.sqrt(state.covariance[4, 4]) / 2.0))
    assert 0.5 <= ahead <= 0.9


def test_prediction_is_wider_than_capability_and_says_which_it_is() -> None:
    answer = forecast(sessions(8, 100.0, 8, 2.0), 28.0)
    capability, shown = answer.load_for(8.0), answer.load_for(8.0, of="next_set")
    assert (capability.interval.kind, shown.interval.kind) == ("credible", "prediction")
    assert shown.sd > capability.sd


def test_one_repetition_is_known_worse_than_the_repetitions_trained() -> None:
    answer = forecast(sessions(8, 80.0, 12, 1.0), 28.0)
    trained, single = answer.load_for(12.0), answer.one_rep_max()
    assert single.sd / single.value > 1.5 * trained.sd / trained.value
    assert "capability.extrapolated" in {reason.code for reason in answer.reasons_for(1.0)}


def test_repetitions_and_loads_tell_one_story() -> None:
    answer = forecast(sessions(8, 100.0, 8, 2.0), 28.0)
    load = answer.load_for(9.0, of="next_set").value
    at_load = answer.repetitions_at(load)
    assert at_load.probability_at_least(9.0) == pytest.approx(0.5)
    assert at_load.quantile(0.5) == pytest.approx(9.0, abs=1e-6)
    assert at_load.mean == pytest.approx(9.0, abs=0.3)
    assert at_load.interval(0.8).lower < at_load.interval(0.5).lower < 9.0


def test_chances_fall_from_one_to_nothing() -> None:
    at_load = forecast(sessions(2, 100.0, 8, None), 7.0).repetitions_at(100.0)
    chances = [at_load.probability_at_least(float(n)) for n in range(-2, 201)]
    # The curve is linearised at each n, which leaves ripples in the far tail.
    assert all(later <= earlier + 1e-4 for earlier, later in pairwise(chances))
    assert chances[0] > 0.99
    assert chances[-1] < 1e-3


def test_earlier_hard_sets_cost_repetitions_and_rest_gives_them_back() -> None:
    answer = forecast(sessions(8, 100.0, 8, 2.0), 28.0)
    fresh = answer.repetitions_at(100.0).median
    tired = answer.repetitions_at(100.0, hard_sets_before=2.0).median
    rested = answer.repetitions_at(100.0, hard_sets_before=2.0, rest_s=300.0).median
    assert tired < rested < fresh


def test_todays_sets_sharpen_the_next_set_of_today() -> None:
    log_kept = sessions(8, 100.0, 8, 2.0)
    strong = [*log_kept, SetEvidence(28.0, 8, 100.0, 13, to_failure=True)]
    state = fold(strong, prior())
    assert state is not None
    today, tomorrow = predict(state, 28.0, session=8), predict(state, 29.0)
    assert today.load_for(8.0, of="next_set").value > tomorrow.load_for(8.0, of="next_set").value
    assert today.load_for(8.0, of="next_set").sd < tomorrow.load_for(8.0, of="next_set").sd


def test_a_remembered_load_says_less() -> None:
    exact, remembered = (
        forecast([SetEvidence(0.0, 0, 100.0, 8, to_failure=True, ln_load_sd=sd)], 0.0).load_for(8.0)
        for sd in (0.0, 0.08)
    )
    assert remembered.sd > 1.5 * exact.sd


def test_days_that_run_backwards_are_refused() -> None:
    with pytest.raises(OutsideValidity):
        fold([SetEvidence(7.0, 0, 60.0, 8), SetEvidence(0.0, 1, 60.0, 8)], prior())
    state = fold([SetEvidence(7.0, 0, 60.0, 8)], prior())
    assert state is not None
    with pytest.raises(OutsideValidity):
        predict(state, 0.0)


@pytest.mark.parametrize(
    ("load", "reps"), [(0.0, 5), (-10.0, 5), (float("nan"), 5), (float("inf"), 5), (50.0, -1)]
)
def test_impossible_sets_are_refused(load: float, reps: int) -> None:
    with pytest.raises(OutsideValidity):
        SetEvidence(0.0, 0, load, reps)


def test_a_failed_first_repetition_lowers_the_maximum() -> None:
    log_kept = sessions(4, 100.0, 3, 1.0, sets=1)
    failed = [*log_kept, SetEvidence(14.0, 4, 110.0, 0, to_failure=True)]
    state = fold(failed, prior())
    assert state is not None
    assert predict(state, 14.0, session=4).load_for(1.0, of="next_set").value < 110.0
    assert forecast(failed, 14.0).one_rep_max().value < forecast(log_kept, 14.0).one_rep_max().value


def test_every_forecast_names_registered_works() -> None:
    assert set(forecast(sessions(1, 100.0, 8, 2.0), 1.0).source_keys) <= set(SOURCES)
