"""Volume landmarks from the population's prior."""

from itertools import pairwise

import numpy as np
import pytest

from service.core.errors import OutsideValidity
from service.core.volume.response import (
    DOWNTURN,
    PEAK,
    PEAK_LOG_SD,
    ROOT_TO_HOLD,
    ROOT_TO_HOLD_LOG_SD,
    SLOPE_CV,
    SLOPE_MEAN,
    GrowthEvidence,
    respond,
)
from service.core.volume.thresholds import (
    HORIZON_WEEKS,
    Threshold,
    Wanted,
    probability_of_gain,
    thresholds_prior,
)

pytestmark = pytest.mark.quick


def by_criterion(thresholds: tuple[Threshold, ...]) -> dict[str, Threshold]:
    return {t.criterion: t for t in thresholds}


def test_a_new_athletes_landmarks_are_the_populations_and_say_so() -> None:
    found = by_criterion(thresholds_prior())
    assert 3.0 <= found["detectable_gain"].weekly_hard_sets.value <= 6.0
    assert 8.0 <= found["small_next_gain"].weekly_hard_sets.value <= 25.0
    assert all(t.prior_share >= 0.9 for t in found.values())


@pytest.mark.parametrize("training", ["novice", "trained", "unknown"])
@pytest.mark.parametrize(("gain", "worth"), [(0.004, 0.002), (0.02, 0.02), (0.0005, 0.0001), (0.05, 0.5)])
def test_landmarks_are_ordered_and_never_null_whatever_is_asked(
    training: str, gain: float, worth: float
) -> None:
    found = thresholds_prior(training, Wanted(detectable_gain=gain, next_gain=worth))  # type: ignore[arg-type]
    estimates = [t.weekly_hard_sets for t in found]
    assert [t.criterion for t in found] == ["keeps_size", "detectable_gain", "small_next_gain"]
    for below, above in pairwise(estimates):
        assert below.value <= above.value
        assert below.interval.lower <= above.interval.lower
        assert below.interval.upper <= above.interval.upper
    assert all(e.interval.lower <= e.value <= e.interval.upper for e in estimates)


def test_a_threshold_that_is_raised_says_so_and_stands_as_surely_as_the_one_it_stands_on() -> None:
    asked = Wanted(detectable_gain=0.05, next_gain=0.5)
    _, detectable, small = thresholds_prior("unknown", asked)
    assert [reason.code for reason in small.reasons] == ["volume.threshold_raised_to_detectable_gain"]
    assert small.reasons[0].params["own_sets"] < small.weekly_hard_sets.value  # type: ignore[operator]
    assert small.weekly_hard_sets.value == detectable.weekly_hard_sets.value
    assert small.weekly_hard_sets.sd == pytest.approx(detectable.weekly_hard_sets.sd)
    assert small.prior_share == detectable.prior_share


def test_the_sd_of_a_threshold_is_that_of_its_interval_also_where_only_its_ends_are_raised() -> None:
    for gain, worth in ((0.004, 0.002), (0.004, 0.004), (0.008, 0.003), (0.02, 0.005)):
        for one in thresholds_prior(
            "unknown", Wanted(building_dose=60, detectable_gain=gain, next_gain=worth)
        )[1:]:
            told = one.weekly_hard_sets
            width = told.interval.upper - told.interval.lower
            assert told.sd == pytest.approx(width / (2.0 * 1.281552), rel=1e-5)


def test_thresholds_that_are_in_order_by_themselves_give_no_reason_for_it() -> None:
    codes = [reason.code for one in thresholds_prior() for reason in one.reasons]
    assert not any("raised" in code for code in codes)


def test_the_detectable_gain_meets_its_criterion_in_a_simulation() -> None:
    rng = np.random.default_rng(11)
    sets = by_criterion(thresholds_prior())["detectable_gain"].weekly_hard_sets.value
    slope = rng.normal(SLOPE_MEAN["unknown"], SLOPE_CV * SLOPE_MEAN["unknown"], 400_000)
    root = ROOT_TO_HOLD * np.exp(ROOT_TO_HOLD_LOG_SD * rng.normal(size=400_000))
    falls = np.where(
        rng.random(400_000) < DOWNTURN,
        0.5 / np.sqrt(PEAK * np.exp(PEAK_LOG_SD * rng.normal(size=400_000))),
        0.0,
    )
    gain = HORIZON_WEEKS * slope * (np.sqrt(sets) - root - falls * sets)
    assert np.mean(gain > 0.004) == pytest.approx(0.8, abs=0.003)


def test_more_sets_make_a_gain_likelier() -> None:
    chances = [
        probability_of_gain(sets, 0.004, respond(GrowthEvidence(), "unknown"))
        for sets in (1, 2, 4, 8, 16, 32)
    ]
    assert chances == sorted(chances)


def test_an_older_athlete_needs_a_third_of_the_building_dose_to_keep_size() -> None:
    young = by_criterion(thresholds_prior(wanted=Wanted(age_years=30, building_dose=27)))["keeps_size"]
    older = by_criterion(thresholds_prior(wanted=Wanted(age_years=64, building_dose=27)))["keeps_size"]
    assert young.weekly_hard_sets.value == pytest.approx(3.0)
    assert older.weekly_hard_sets.value == pytest.approx(9.0)


def test_size_is_kept_by_no_less_than_one_set() -> None:
    assert (
        by_criterion(thresholds_prior(wanted=Wanted(building_dose=2)))["keeps_size"].weekly_hard_sets.value
        == 1.0
    )


def test_a_gain_of_nothing_is_refused() -> None:
    with pytest.raises(OutsideValidity):
        Wanted(next_gain=0.0)
