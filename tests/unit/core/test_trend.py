"""What is compared, what a change allows to say, and when fewer sets may pay."""

from math import log

import numpy as np
import pytest

from service.core.errors import OutsideValidity
from service.core.estimates import Basis
from service.core.trend import (
    Change,
    Strain,
    Visited,
    common_change,
    comparable_stretch,
    decide_trend,
    gaussian_change,
    of_one_side,
    on_levels,
    settled,
    strangers,
    suggest_easier_week,
    where_both_were,
)
from service.core.trend.easing import p_short_too_often, weeks_in_a_row
from service.core.trend.stretch import break_limit

pytestmark = pytest.mark.quick

BASIS = Basis(20, 100.0, 0.2)


def visits(days: list[float], depth: str = "full", station: str = "any") -> list[Visited]:
    return [Visited(day, frozenset({depth}), frozenset({station})) for day in days]


def codes(reasons: object) -> list[str]:
    return [one.code for one in reasons]  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("mean", "sd", "state"),
    [
        (0.06, 0.02, "progress"),
        (-0.06, 0.02, "regression"),
        (0.0, 0.012, "stall"),
        (0.0, 0.03, "not_decided"),
        (0.02, 0.02, "not_decided"),
        (-0.03, 0.03, "not_decided"),
    ],
)
def test_a_state_needs_evidence_of_its_own(mean: float, sd: float, state: str) -> None:
    found = decide_trend(gaussian_change(mean, sd), 8.0, BASIS)
    assert found.state == state
    assert found.p_progress + found.p_regression + found.p_stall == pytest.approx(1.0)
    assert found.reasons[0].code == f"trend.{state}"


def test_no_change_that_is_unsure_is_no_plateau() -> None:
    """The absence of a record decides nothing, however wide the interval grows."""
    for sd in (0.02, 0.05, 0.2, 1.0):
        assert decide_trend(gaussian_change(0.0, sd), 8.0, BASIS).state == "not_decided"


def test_a_change_is_told_in_per_cent_and_compounded_by_the_week() -> None:
    found = decide_trend(gaussian_change(log(1.10), 0.02), 8.0, BASIS)
    assert found.change.value == pytest.approx(10.0)
    assert (1.0 + found.weekly.value / 100.0) ** 8 == pytest.approx(1.10)
    ends = found.change.interval
    assert ends.lower == pytest.approx(100.0 * (1.10 * np.exp(-1.2815516 * 0.02) - 1.0), abs=1e-6)


def test_a_beginners_gain_is_called_learning() -> None:
    learning = decide_trend(gaussian_change(0.1, 0.02), 4.0, BASIS, novice=0.9)
    assert "trend.mostly_learning" in codes(learning.reasons)
    stalling = decide_trend(gaussian_change(0.0, 0.01), 4.0, BASIS, novice=0.9)
    assert "trend.mostly_learning" not in codes(stalling.reasons)


def test_levels_tell_a_direction_and_no_per_cent() -> None:
    change = on_levels(gaussian_change(log(1.5), 0.05))
    assert change.mean == pytest.approx(log(1.5))
    assert change.sd > 0.15
    found = decide_trend(change, 8.0, BASIS, measured="level")
    assert (found.state, found.change, found.weekly) == ("progress", None, None)
    assert found.reasons[0].code == "trend.level_progress"
    assert set(found.reasons[0].params) == {"weeks", "chance"}
    assert found.p_progress + found.p_regression + found.p_stall == pytest.approx(1.0)


def test_no_change_on_levels_gains_no_doubt() -> None:
    change = gaussian_change(0.0, 0.012)
    assert on_levels(change).sd == pytest.approx(change.sd)
    assert decide_trend(on_levels(change), 8.0, BASIS, measured="level").state == "stall"


def test_two_hypotheses_make_a_mixture() -> None:
    none = np.zeros((2, 0)), np.zeros((2, 0, 0))
    change = Change(np.array([0.5, 0.5]), np.array([0.0, 0.1]), np.array([1e-6, 1e-6]), *none)
    assert change.mean == pytest.approx(0.05)
    assert change.sd == pytest.approx(0.05, rel=1e-3)
    assert change.probability_above(0.05) == pytest.approx(0.5)
    assert change.quantile(0.25) == pytest.approx(0.0, abs=2e-3)


def test_a_young_log_adds_a_doubt_that_fades() -> None:
    change = gaussian_change(0.05, 0.01)
    fresh, later, old = (settled(change, age) for age in (0.0, 28.0, 200.0))
    assert fresh.sd > later.sd > old.sd > change.sd
    assert old.sd == pytest.approx(change.sd, rel=0.01)
    assert fresh.mean == change.mean


def test_a_change_of_negative_variance_or_of_nothing_is_refused() -> None:
    with pytest.raises(OutsideValidity):
        Change(np.ones(1), np.zeros(1), -np.ones(1), np.zeros((1, 0)), np.zeros((1, 0, 0)))
    with pytest.raises(OutsideValidity):
        gaussian_change(float("nan"), 0.1)
    with pytest.raises(OutsideValidity):
        common_change([], 0.01)


def test_lifts_that_err_together_are_worth_less_than_independent_ones() -> None:
    def lift(shared: float) -> Change:
        return Change(
            np.ones(1), np.array([0.04]), np.array([4e-4]), np.array([[shared]]), np.ones((1, 1, 1))
        )

    apart = common_change([lift(0.0)] * 4, 0.0)
    together = common_change([lift(0.018)] * 4, 0.0)
    assert apart.sd == pytest.approx(0.01, rel=1e-3)
    assert together.sd > 1.5 * apart.sd


def test_sessions_before_a_break_are_not_joined() -> None:
    before, after = [0.0, 3.0, 7.0, 10.0], [30.0, 33.0, 36.0, 40.0]
    found = comparable_stretch(visits(before + after), before + after, 0.0, 41.0)
    assert found.days == tuple(after)
    assert codes(found.reasons) == ["trend.break"]
    assert found.reasons[0].params["days"] == 20.0
    assert found.enough


@pytest.mark.parametrize("since", [10.5, 20.0, 29.9, 30.0])
def test_a_break_in_which_the_window_began_is_named_and_changes_no_session(since: float) -> None:
    before, after = [0.0, 3.0, 7.0, 10.0], [30.0, 33.0, 36.0, 40.0]
    found = comparable_stretch(visits(before + after), before + after, since, 41.0)
    assert found.days == tuple(after)
    assert [(one.code, one.params) for one in found.reasons] == [("trend.break", {"days": 20.0})]
    assert found.enough
    # One that was over before the window began is none of it.
    later = comparable_stretch(visits(before + after), before + after, 31.0, 41.0)
    assert (later.days, later.reasons) == (tuple(after[1:]), ())


def test_a_lift_left_out_as_the_window_began_is_named_too() -> None:
    lift, others = [0.0, 4.0, 40.0, 44.0, 48.0], [float(day) for day in range(0, 50, 4)]
    found = comparable_stretch(visits(lift), others, 20.0, 50.0)
    assert [(one.code, one.params) for one in found.reasons] == [("trend.lift_paused", {"days": 36.0})]


def test_a_session_or_two_after_a_break_are_too_few() -> None:
    days = [0.0, 3.0, 7.0, 10.0, 30.0]
    found = comparable_stretch(visits(days), days, 0.0, 31.0)
    assert not found.enough
    assert codes(found.reasons) == ["trend.break", "trend.too_few"]


def test_another_depth_and_another_station_are_left_out_and_told() -> None:
    days = [0.0, 3.0, 7.0, 10.0, 14.0, 17.0, 21.0, 24.0]
    mixed = [
        *visits(days[:2], station="other"),
        *visits(days[2:5], depth="top_half"),
        *visits(days[5:]),
    ]
    found = comparable_stretch(mixed, days, 0.0, 25.0)
    assert found.days == tuple(days[5:])
    assert codes(found.reasons) == ["trend.new_station", "trend.depth_changed"]


def test_what_is_followed_decides_which_range_and_station_are_compared() -> None:
    days = [0.0, 3.0, 7.0, 10.0]
    mixed = [*visits(days[:3]), Visited(10.0, frozenset({"full", "top_half"}), frozenset({"any"}))]
    like = Visited(10.0, frozenset({"top_half"}), frozenset({"any"}))
    assert comparable_stretch(mixed, days, 0.0, 11.0).days == tuple(days)
    found = comparable_stretch(mixed, days, 0.0, 11.0, like)
    assert found.days == (10.0,)
    assert codes(found.reasons) == ["trend.depth_changed", "trend.too_few"]


def test_a_tested_maximum_stands_with_any_range_and_station() -> None:
    days = [0.0, 3.0, 7.0, 10.0]
    tested = [*visits(days[:3]), Visited(10.0, frozenset(), frozenset())]
    found = comparable_stretch(tested, days, 0.0, 11.0)
    assert found.days == tuple(days)
    assert not found.reasons


def test_a_lift_left_out_while_others_are_trained_begins_anew() -> None:
    daily = [float(day) for day in range(0, 70, 2)]
    lift = [0.0, 4.0, 8.0, 50.0, 54.0, 58.0]
    found = comparable_stretch(visits(lift), daily, 0.0, 70.0)
    assert found.days == (50.0, 54.0, 58.0)
    assert codes(found.reasons) == ["trend.lift_paused"]


def test_tests_weeks_apart_are_too_rare_and_no_breaks() -> None:
    days = [0.0, 35.0, 70.0]
    found = comparable_stretch(visits(days), days, 0.0, 71.0)
    assert not found.enough
    assert codes(found.reasons) == ["trend.too_rare"]
    assert found.reasons[-1].params["days"] == 35.0


def test_whoever_trains_once_a_week_may_miss_one() -> None:
    days = [0.0, 7.0, 14.0, 28.0, 35.0, 42.0]
    assert break_limit(days) == 17.5
    found = comparable_stretch(visits(days), days, 0.0, 43.0)
    assert found.days == tuple(days)
    assert found.enough


def test_both_together_are_told_between_the_sessions_that_both_had() -> None:
    days = [0.0, 3.0, 7.0, 10.0, 14.0, 17.0]
    found = comparable_stretch(visits(days), days, 0.0, 18.0)
    told = where_both_were(found, {"left": set(days), "right": {3.0, 7.0, 14.0}})
    assert told.days == (3.0, 7.0, 10.0, 14.0)
    assert told.enough
    assert told.reasons == found.reasons


def test_one_side_alone_does_not_tell_what_both_do() -> None:
    days = [0.0, 3.0, 7.0, 10.0]
    found = comparable_stretch(visits(days), days, 0.0, 11.0)
    told = where_both_were(found, {"left": set(days), "right": {3.0, 7.0}})
    assert not told.enough
    assert codes(told.reasons) == ["trend.side_not_told"]
    assert told.reasons[0].params == {"side": "right", "sessions": 2}


def test_sides_trained_one_after_the_other_have_nothing_in_common() -> None:
    days = [0.0, 3.0, 7.0, 10.0, 14.0, 17.0]
    found = comparable_stretch(visits(days), days, 0.0, 18.0)
    told = where_both_were(found, {"left": set(days[:3]), "right": set(days[3:])})
    assert not told.enough
    assert codes(told.reasons) == ["trend.too_few"]


def test_a_side_without_sessions_of_its_own_says_so() -> None:
    days = [0.0, 3.0]
    few = comparable_stretch(visits(days), days, 0.0, 11.0)
    told = of_one_side(few, "right", 2, 8)
    assert not told.enough
    assert codes(told.reasons) == ["trend.side_not_told"]
    assert of_one_side(few, "right", 2, 2) == few


def test_nothing_in_the_window_is_too_few() -> None:
    found = comparable_stretch(visits([0.0]), [0.0], 10.0, 20.0)
    assert (found.days, found.enough, codes(found.reasons)) == ((), False, ["trend.too_few"])


def test_an_easier_week_is_suggested_where_strength_falls() -> None:
    calm = suggest_easier_week(Strain(0.05, 30, 2, [12.0] * 3))
    falling = suggest_easier_week(Strain(0.7, 30, 2, [12.0] * 3))
    assert (calm.suggestion, falling.suggestion) == ("no_need", "consider_now")
    assert falling.in_weeks is not None
    assert falling.in_weeks.interval.upper == 1.0
    assert "trend.strength_falls" in codes(falling.reasons)
    assert "trend.strength_falls" not in codes(calm.reasons)


def test_an_easier_week_is_suggested_where_sets_keep_ending_short() -> None:
    found = suggest_easier_week(Strain(0.1, 24, 12, [12.0] * 3))
    assert found.suggestion == "consider_now"
    assert "trend.sets_fall_short" in codes(found.reasons)


@pytest.mark.common_practice
@pytest.mark.from_memory
def test_many_weeks_in_a_row_alone_only_ask_to_watch() -> None:
    """Every 5.6 (2.3) weeks, as recalled from a survey of coaches; it is no sign of anything by itself."""
    found = suggest_easier_week(Strain(0.05, 30, 1, [12.0] * 12))
    assert found.suggestion == "watch"
    assert found.in_weeks is not None
    assert found.in_weeks.value == 0.0
    assert found.weeks_in_a_row == 12


def test_an_easier_week_keeps_the_load_and_about_half_the_sets() -> None:
    found = suggest_easier_week(Strain(0.7, 30, 2, [12.0] * 3))
    ends = found.sets_share.interval
    assert 0.0 < ends.lower < found.sets_share.value < ends.upper < 1.0
    assert found.lasts.interval.lower < 7.0 < found.lasts.interval.upper


def test_without_anything_known_nothing_is_suggested() -> None:
    found = suggest_easier_week(Strain(None, 0, 0, []))
    assert (found.suggestion, found.p_tired, found.in_weeks) == ("not_decided", None, None)


def test_the_chance_of_falling_short_is_that_of_the_conjugate_count() -> None:
    from scipy.stats import beta

    for short, told in ((0, 5), (3, 12), (10, 30)):
        expected = float(beta.sf(0.2, 1.0 + short, 9.0 + told - short))
        assert p_short_too_often(short, told) == pytest.approx(expected, abs=2e-3)


def test_weeks_that_were_not_all_counted_are_told_as_at_least() -> None:
    for weekly, before, code in (
        ([12.0] * 16, True, "trend.weeks_in_a_row_or_more"),
        ([12.0] * 16, False, "trend.weeks_in_a_row"),
        ([12.0] * 8 + [3.0] + [12.0] * 7, True, "trend.weeks_in_a_row"),
    ):
        found = suggest_easier_week(Strain(0.05, 30, 1, weekly, weeks_before=before))
        assert [one for one in codes(found.reasons) if one.startswith("trend.weeks")] == [code]


def test_holds_are_told_as_holds() -> None:
    found = decide_trend(gaussian_change(0.1, 0.02), 8.0, BASIS, measured="length")
    assert found.reasons[0].code == "trend.length_progress"
    assert found.change is not None


def test_weeks_in_a_row_end_at_an_easier_one() -> None:
    assert weeks_in_a_row([12.0, 11.0, 5.0, 12.0, 13.0]) == 2
    assert weeks_in_a_row([12.0, 11.0, 12.0]) == 3
    assert weeks_in_a_row([12.0, 0.0]) == 0
    assert weeks_in_a_row([]) == 0


def test_lifts_that_were_looked_back_on_alone_are_pooled_whatever_hypotheses_they_stand_under() -> None:
    def lift(hypotheses: int, mean: float) -> Change:
        shared = np.full((hypotheses, 1), 0.01), np.ones((hypotheses, 1, 1))
        return Change(
            np.full(hypotheses, 1.0 / hypotheses),
            np.full(hypotheses, mean),
            np.full(hypotheses, 4e-4),
            *shared,
        )

    few, many = lift(2, 0.02), lift(3, 0.06)
    with pytest.raises(OutsideValidity):
        common_change([few, many], 0.0)
    pooled = common_change(strangers([few, many]), 0.0)
    assert pooled.mean == pytest.approx(0.04)
    assert pooled.sd == pytest.approx(0.02 / 2.0**0.5, rel=1e-3)
    assert strangers([few]) == [few]
