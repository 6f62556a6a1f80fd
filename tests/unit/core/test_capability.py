"""The capability filter on logs that were made up to show one thing each."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from math import log, sqrt
from statistics import NormalDist

import pytest

from service.core.capability import (
    AthleteModel,
    AthleteState,
    CapabilityForecast,
    SeriesPrior,
    SessionEvidence,
    SetEvidence,
    Side,
    Training,
    begin,
    fold,
    forecast,
    side_gap,
)
from service.core.capability.reading import infer_warm_ups, is_matched, warm_ups_of
from service.core.curve import CURVE_PRIORS, CurveClass
from service.core.errors import OutsideValidity
from service.core.sources import SOURCES

pytestmark = pytest.mark.quick

BENCH, PRESS, CURL, LEG_PRESS = "bench press", "overhead press", "one-arm curl", "leg press"
CLASSES: dict[str, CurveClass] = {
    BENCH: "bench", PRESS: "upper_press", CURL: "single_joint", LEG_PRESS: "leg_press",
}  # fmt: skip
Log = Sequence[SessionEvidence]


def prior_of(series: str) -> SeriesPrior:
    return SeriesPrior(CURVE_PRIORS[CLASSES[series]], one_sided=series == CURL)


def unrelated(one: str, other: str) -> float:
    return 0.0 if {one, other} - set(CLASSES) else 0.3


MODEL = AthleteModel(prior_of, unrelated, "trained")


def visit(day: float, *sets: SetEvidence) -> SessionEvidence:
    return SessionEvidence(day, sets)


def visits(
    count: int, load_kg: float, reps: int, reserve: float | None, sets: int = 3
) -> list[SessionEvidence]:
    return [visit(3.5 * s, *[SetEvidence(BENCH, load_kg, reps, reserve)] * sets) for s in range(count)]


def folded(log_kept: Log, training: Training = "trained") -> AthleteState:
    return fold(begin(training), log_kept, MODEL)


def known(
    log_kept: Log, day: float | None = None, *, series: str = BENCH, side: Side = "both", training: Training = "trained",
    same_session: bool = False,
) -> CapabilityForecast:  # fmt: skip
    at = log_kept[-1].day if day is None else day
    answer = forecast(folded(log_kept, training), series, at, side, MODEL, same_session=same_session)
    assert answer is not None
    return answer


def test_nothing_logged_and_nothing_known_gives_no_forecast() -> None:
    assert forecast(begin(), BENCH, 0.0, model=MODEL) is None
    assert begin().series() == ()


def test_warm_ups_alone_give_no_forecast() -> None:
    state = folded([visit(0.0, SetEvidence(BENCH, 40.0, 10, purpose="warm_up"))])
    assert forecast(state, BENCH, 1.0) is None
    assert state.series() == ()


def test_a_maximum_known_from_elsewhere_gives_a_forecast_that_is_all_prior() -> None:
    prior = replace(prior_of(BENCH), ln_one_rep_max=(log(90.0), 0.15))
    answer = forecast(begin(), BENCH, 0.0, model=AthleteModel({BENCH: prior}.__getitem__, unrelated))
    assert answer is not None
    assert answer.one_rep_max().value == pytest.approx(90.0, rel=0.01)
    assert (answer.basis.observation_count, answer.basis.prior_share) == (0, 1.0)


def test_two_weeks_off_cost_at_most_three_percent() -> None:
    # Scenario: eight stable weeks of 100 kg x 8 with 2 in reserve, then 14 days off.
    log_kept = visits(16, 100.0, 8, 2.0)
    last = log_kept[-1].day
    before, after = (known(log_kept, last + days).load_for(8.0).value for days in (3.5, 14.0))
    assert 0.97 <= after / before <= 1.0


def test_a_long_layoff_lowers_and_widens() -> None:
    log_kept = visits(16, 100.0, 8, 2.0)
    last = log_kept[-1].day
    soon, late = (known(log_kept, last + days).load_for(8.0) for days in (3.5, 84.0))
    assert late.value < 0.95 * soon.value
    assert late.sd / late.value > 1.2 * soon.sd / soon.value


def test_unreported_effort_is_neither_read_as_failure_nor_as_certain() -> None:
    # Scenario: eight sessions of 60 kg x 10, effort never given.
    answer = known(visits(8, 60.0, 10, None, sets=1), 28.0)
    load = answer.load_for(10.0)
    assert 60.0 < load.value < 68.0
    assert (load.interval.upper - load.interval.lower) / load.value >= 0.08
    assert "capability.effort_assumed" in {reason.code for reason in answer.reasons_for(10.0)}


def test_the_width_stays_when_silent_sets_are_copied_without_end() -> None:
    few, many = (known(visits(n, 60.0, 10, None, sets=1), 3.5 * n).load_for(10.0) for n in (8, 40))
    assert many.sd / many.value > 0.7 * few.sd / few.value


@pytest.mark.parametrize("training", ["trained", "novice", "unknown"])
def test_silent_sets_still_lift_the_estimate_to_what_was_done(training: Training) -> None:
    rising = [visit(3.5 * s, SetEvidence(BENCH, 60.0 + 0.75 * s, 10)) for s in range(16)]
    done = rising[-1].sets[0].load_kg
    assert known(rising, training=training).load_for(10.0).value > 0.98 * done


def ramp() -> SessionEvidence:
    loads, reps = [20.0, 60.0, 80.0, 100.0], [10, 5, 3, 8]
    sets = [SetEvidence(BENCH, load, n) for load, n in zip(loads, reps, strict=True)]
    return visit(0.0, *sets[:-1], replace(sets[-1], reps_in_reserve=2.0))


def test_unflagged_warm_ups_do_not_poison_capability() -> None:
    # Scenario: 20 x 10, 60 x 5, 80 x 3 without a purpose, then 100 x 8 with 2 in reserve.
    assert warm_ups_of(ramp().sets) == [0.9, 0.9, 0.9, 0.0]
    alone = visit(0.0, ramp().sets[-1])
    assert known([ramp()]).load_for(8.0).value == pytest.approx(known([alone]).load_for(8.0).value, rel=0.02)


def test_a_stated_purpose_is_never_overruled() -> None:
    assert infer_warm_ups([20.0, 100.0], [10, 8], [True, False]) == (0.0, 0.0)


def test_a_light_set_near_failure_is_no_warm_up() -> None:
    light = SetEvidence(BENCH, 60.0, 20, to_failure=True)
    assert warm_ups_of([light, SetEvidence(BENCH, 100.0, 5)]) == [0.0, 0.0]


def test_a_novice_is_seen_to_gain_within_four_weeks() -> None:
    # Scenario: leg press from 60 to 70 kg x 10 with 3 in reserve.
    log_kept = [
        visit(7.0 * week + day, SetEvidence(LEG_PRESS, load, 10, 3.0))
        for week, load in enumerate([60.0, 63.0, 66.0, 70.0])
        for day in (0.0, 3.5)
    ]
    now, next_week = (
        known(log_kept, log_kept[-1].day + days, series=LEG_PRESS, training="novice").load_for(10.0).value
        for days in (1.0, 8.0)
    )
    assert 1.005 < next_week / now < 1.06


def test_a_matched_second_side_is_a_bound_and_decides_nothing() -> None:
    # Scenario: right 20 kg x 10 with 1 in reserve, left stopped at 10, effort unstated, eight sessions.
    log_kept = [
        visit(
            7.0 * s, SetEvidence(CURL, 20.0, 10, 1.0, side="right"), SetEvidence(CURL, 20.0, 10, side="left")
        )
        for s in range(8)
    ]
    assert is_matched(1, log_kept[0].sets)
    mean, sd = side_gap(folded(log_kept), CURL, log_kept[-1].day)
    assert 0.4 <= NormalDist().cdf(mean / sd) <= 0.9


def test_sides_to_failure_show_which_is_ahead_and_by_about_how_much() -> None:
    # Right 12, left 9: about 6 to 9 % of the load on this class's curve; the prior of the gap holds some back.
    sets = (
        SetEvidence(CURL, 20.0, 12, to_failure=True, side="right"),
        SetEvidence(CURL, 20.0, 9, to_failure=True, side="left"),
    )
    log_kept = [visit(7.0 * s, *sets) for s in range(8)]
    mean, sd = side_gap(folded(log_kept), CURL, log_kept[-1].day)
    assert 0.03 < mean < 0.10
    assert mean > 2.0 * sd
    right, left = (known(log_kept, series=CURL, side=side).load_for(10.0).value for side in ("right", "left"))
    assert right > left


def test_a_lift_of_both_limbs_has_no_gap_whatever_its_set_up() -> None:
    for setup in ("", "grip"):
        log_kept = [visit(0.0, SetEvidence(BENCH, 80.0, 8, 2.0, setup=setup))]
        assert side_gap(folded(log_kept), BENCH, 1.0) == (0.0, 0.0)


def test_prediction_is_wider_than_capability_and_says_which_it_is() -> None:
    answer = known(visits(8, 100.0, 8, 2.0), 28.0)
    capability, shown = answer.load_for(8.0), answer.load_for(8.0, of="next_set")
    assert (capability.interval.kind, shown.interval.kind) == ("credible", "prediction")
    assert shown.sd > capability.sd


def test_one_repetition_is_known_worse_than_the_repetitions_trained() -> None:
    answer = known(visits(8, 80.0, 12, 1.0), 28.0)
    trained, single = answer.load_for(12.0), answer.one_rep_max()
    assert single.sd / single.value > 1.5 * trained.sd / trained.value
    assert "capability.extrapolated" in {reason.code for reason in answer.reasons_for(1.0)}


def test_repetitions_and_loads_tell_one_story() -> None:
    answer = known(visits(8, 100.0, 8, 2.0), 28.0)
    load = answer.load_for(9.0, of="next_set").value
    at_load = answer.repetitions_at(load)
    # The weights of what is believed of training age leave the two medians a little apart.
    assert at_load.probability_at_least(9.0) == pytest.approx(0.5, abs=0.02)
    assert at_load.quantile(0.5) == pytest.approx(9.0, abs=0.1)
    assert at_load.mean == pytest.approx(9.0, abs=0.3)
    assert at_load.interval(0.8).lower < at_load.interval(0.5).lower < 9.0


def test_chances_fall_from_one_to_nothing() -> None:
    at_load = known(visits(2, 100.0, 8, None), 7.0).repetitions_at(100.0)
    chances = [at_load.probability_at_least(float(n)) for n in range(-2, 201)]
    # The curve is linearised at each n, which leaves ripples in the far tail.
    assert all(later <= earlier + 1e-4 for earlier, later in pairwise(chances))
    assert chances[0] > 0.99
    # Two silent visits leave the curve in doubt: three chances in a thousand for 200 repetitions.
    assert chances[-1] < 5e-3


def test_earlier_hard_sets_cost_repetitions_and_rest_gives_them_back() -> None:
    answer = known(visits(8, 100.0, 8, 2.0), 28.0)
    fresh = answer.repetitions_at(100.0).median
    tired = answer.repetitions_at(100.0, hard_sets_before=2.0).median
    rested = answer.repetitions_at(100.0, hard_sets_before=2.0, rest_s=300.0).median
    assert tired < rested < fresh


def test_todays_sets_sharpen_the_next_set_of_today() -> None:
    strong = [*visits(8, 100.0, 8, 2.0), visit(28.0, SetEvidence(BENCH, 100.0, 13, to_failure=True))]
    today, tomorrow = known(strong, 28.0, same_session=True), known(strong, 29.0)
    assert today.load_for(8.0, of="next_set").value > tomorrow.load_for(8.0, of="next_set").value
    assert today.load_for(8.0, of="next_set").sd < tomorrow.load_for(8.0, of="next_set").sd


def test_a_strong_day_is_carried_to_the_days_other_lifts() -> None:
    usual = [
        visit(
            3.5 * s,
            SetEvidence(BENCH, 100.0, 9, to_failure=True),
            SetEvidence(PRESS, 60.0, 9, to_failure=True),
        )
        for s in range(12)
    ]
    expected = []
    for reps in (7, 11):
        today = visit(42.0, SetEvidence(BENCH, 100.0, reps, to_failure=True))
        answer = known([*usual, today], series=PRESS, same_session=True)
        expected.append(answer.load_for(8.0, of="next_set").value)
    assert expected[1] > 1.005 * expected[0]


def test_a_remembered_load_says_less() -> None:
    exact, remembered = (
        known([visit(0.0, SetEvidence(BENCH, 100.0, 8, to_failure=True, ln_load_sd=sd))]).load_for(8.0)
        for sd in (0.0, 0.08)
    )
    assert remembered.sd > 1.3 * exact.sd


@pytest.mark.parametrize("factor", [10.0, 0.1])
def test_a_slip_of_ten_times_the_load_barely_moves_capability(factor: float) -> None:
    # Measured: less than 1 % of the load.
    log_kept = visits(8, 80.0, 8, 2.0)
    slip = visit(28.0, SetEvidence(BENCH, 80.0 * factor, 8, 2.0))
    before, after = known(log_kept, 31.5).load_for(8.0), known([*log_kept, slip], 31.5).load_for(8.0)
    assert after.value == pytest.approx(before.value, rel=0.01)


def after_a_change(factor: float, effort: SetEvidence) -> float:
    """Return capability over the truth, eight visits after all loads became others for good."""
    changed = replace(effort, load_kg=80.0 * factor)
    log_kept = [*visits(8, 80.0, 8, 2.0), *[visit(28.0 + 3.5 * s, changed) for s in range(8)]]
    return known(log_kept).load_for(8.5).value / changed.load_kg


FAILED = SetEvidence(BENCH, 80.0, 8, to_failure=True)


@pytest.mark.parametrize("factor", [2.0, 1.3, 0.85, 0.5])
def test_a_change_that_stays_is_believed_in_the_end(factor: float) -> None:
    assert after_a_change(factor, FAILED) == pytest.approx(1.0, abs=0.10)


def test_a_bound_lifts_what_it_contradicts_and_nothing_else() -> None:
    log_kept = visits(4, 80.0, 8, 2.0)
    low, high = (visit(14.0, SetEvidence(BENCH, load, 8, purpose="bound")) for load in (50.0, 100.0))
    before = known(log_kept, 17.5).load_for(8.0).value
    assert known([*log_kept, low], 17.5).load_for(8.0).value == pytest.approx(before, rel=0.002)
    assert known([*log_kept, high], 17.5).load_for(8.0).value > 1.03 * before


def test_a_drop_says_nothing_of_fresh_strength() -> None:
    top = SetEvidence(BENCH, 80.0, 10, to_failure=True)
    stages = [
        SetEvidence(BENCH, load, reps, to_failure=True, stage=n)
        for n, load, reps in ((1, 64.0, 3), (2, 50.0, 3))
    ]
    plain, dropped = (known([visit(0.0, *sets)], 3.5).load_for(8.0) for sets in ((top,), (top, *stages)))
    assert dropped.value == pytest.approx(plain.value, rel=1e-9)


def test_days_that_run_backwards_are_refused() -> None:
    with pytest.raises(OutsideValidity):
        folded([visit(7.0, SetEvidence(BENCH, 60.0, 8)), visit(0.0, SetEvidence(BENCH, 60.0, 8))])
    state = folded([visit(7.0, SetEvidence(BENCH, 60.0, 8))])
    with pytest.raises(OutsideValidity):
        forecast(state, BENCH, 0.0)


@pytest.mark.parametrize(
    ("load", "reps"), [(0.0, 5), (-10.0, 5), (float("nan"), 5), (float("inf"), 5), (50.0, -1)]
)
def test_impossible_sets_are_refused(load: float, reps: int) -> None:
    with pytest.raises(OutsideValidity):
        SetEvidence(BENCH, load, reps)


@pytest.mark.parametrize("reserve", [-1.0, float("nan"), float("inf")])
def test_an_impossible_reserve_is_refused(reserve: float) -> None:
    with pytest.raises(OutsideValidity):
        SetEvidence(BENCH, 60.0, 8, reserve)


def test_a_failed_first_repetition_lowers_the_maximum() -> None:
    log_kept = visits(4, 100.0, 3, 1.0, sets=1)
    failed = [*log_kept, visit(14.0, SetEvidence(BENCH, 110.0, 0, to_failure=True))]
    assert known(failed, same_session=True).load_for(1.0, of="next_set").value < 110.0
    assert known(failed, 17.5).one_rep_max().value < known(log_kept, 17.5).one_rep_max().value


def test_reports_of_one_athlete_are_read_the_same_for_all_lifts() -> None:
    # Where reports on one lift prove too low again and again, a first report on another is read higher, too.
    def of_curl(failures: int) -> float:
        shown = [
            visit(
                3.5 * s, SetEvidence(BENCH, 80.0, 8, 1.0), SetEvidence(BENCH, 80.0, failures, to_failure=True)
            )
            for s in range(12)
        ]
        log_kept = [*shown, visit(42.0, SetEvidence(PRESS, 50.0, 8, 1.0))]
        return known(log_kept, series=PRESS).load_for(8.0).value

    assert of_curl(14) > of_curl(8)


def test_every_forecast_names_registered_works() -> None:
    assert set(known(visits(1, 100.0, 8, 2.0), 1.0).source_keys) <= set(SOURCES)


def test_doubt_falls_as_the_root_of_what_was_seen_at_most() -> None:
    one, many = (known(visits(n, 80.0, 8, 2.0, sets=1), 3.5 * n).load_for(8.0) for n in (1, 16))
    assert one.sd / one.value / sqrt(16.0) < many.sd / many.value < one.sd / one.value
