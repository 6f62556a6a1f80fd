"""What the newest sessions showed keeps a forecast that lags behind a fall from raising the load."""

from dataclasses import replace
from typing import Any

import pytest

from service.core.capability import CapabilityForecast
from service.core.progression import Choice, EndedBreak, ProgressionContext, Shown
from tests.unit.core.test_progression import SIX_TO_TEN, SURE, USUAL, chosen, codes, forecast

pytestmark = pytest.mark.quick


def strong() -> CapabilityForecast:
    """Return a lift of which 100 kg were done for 10 with 3 left, session after session: more is due."""
    return forecast(100.0, 10, 3.0)


def told(*sessions: tuple[float, float], **more: Any) -> ProgressionContext:
    """Return a past of sessions as load [kg] and repetitions to failure, oldest first; eight were done in each."""
    shown = tuple((Shown(load, reps, max(reps - 8.0, 0.0)),) for load, reps in sessions)
    context = replace(USUAL, last_load_kg=sessions[-1][0], last_reps=8, shown=shown)
    return replace(context, **more)


def asked(context: ProgressionContext) -> Choice:
    return chosen(strong(), context, too_hard=SURE)


def test_a_load_that_is_due_rises_where_the_last_sets_show_it() -> None:
    steady = asked(told((100.0, 13.0), (100.0, 13.0), (100.0, 13.0)))
    assert steady.load_kg > 100.0
    assert "progression.top_of_range" in codes(steady)
    assert steady.load_kg == asked(replace(USUAL, last_reps=8)).load_kg


@pytest.mark.parametrize(
    "sessions",
    [
        [(110.0, 10.0), (105.0, 10.0), (100.0, 9.0)],
        [(100.0, 13.0), (100.0, 12.0), (100.0, 10.0)],
        [(104.0, 10.0), (104.0, 9.0), (100.0, 10.0), (100.0, 10.0)],
        [(108.0, 9.0), (104.0, 9.0), (102.0, 9.0), (100.0, 9.0)],
    ],
)
def test_nothing_rises_while_load_and_repetitions_fall(sessions: list[tuple[float, float]]) -> None:
    held = asked(told(*sessions))
    assert held.load_kg == sessions[-1][0]
    assert held.policy == "hold_load"
    assert "progression.sessions_fell" in codes(held)
    assert held.reps + SIX_TO_TEN.reserve_low <= sessions[-1][1] + 0.5


def test_a_fall_that_has_ended_lets_the_load_rise_again() -> None:
    again = asked(told((105.0, 11.0), (100.0, 12.0), (100.0, 12.0), (100.0, 12.0)))
    assert again.load_kg > 100.0


@pytest.mark.parametrize("reserve", [4.0, 8.0, 20.0])
def test_an_easy_session_by_plan_is_no_fall(reserve: float) -> None:
    # Somewhat lighter, with the same eight repetitions and more left; and far lighter, whatever is told.
    easier = asked(told((108.0, 10.0), (108.0, 10.0), (100.0, 8.0 + reserve)))
    assert easier.load_kg > 100.0
    much_easier = asked(told((130.0, 10.0), (130.0, 10.0), (100.0, 8.0 + reserve)))
    assert much_easier.load_kg > 100.0


def test_the_way_back_from_a_break_stays_open_where_the_reserve_shows_it() -> None:
    ended = EndedBreak(14.0, 7.0, 120.0)
    back = asked(told((100.0, 12.0), ended_break=ended))
    assert 100.0 < back.load_kg <= 110.0 * (1.0 + 1e-5)


def test_a_session_that_shows_too_little_for_the_next_load_keeps_this_one() -> None:
    held = asked(told((100.0, 6.0)))
    assert held.load_kg == 100.0
    assert held.reps <= 6
    assert {"progression.shown_too_little"} <= codes(held)


def test_a_heavier_load_asks_for_no_more_repetitions_than_were_shown() -> None:
    free, bound = asked(told((100.0, 13.0))), asked(told((100.0, 9.0)))
    assert bound.load_kg > 100.0
    assert bound.reps + SIX_TO_TEN.reserve_low <= 9.0 + 0.5
    assert bound.reps < free.reps


def test_the_strongest_set_of_a_session_tells_and_not_the_tired_last() -> None:
    tired = (Shown(100.0, 13.0), Shown(100.0, 10.0), Shown(100.0, 7.0), Shown(60.0, 12.0))
    fresh = asked(told((100.0, 13.0)))
    assert asked(replace(USUAL, last_reps=8, shown=(tired,))).load_kg == fresh.load_kg


def test_a_session_that_told_no_reserve_holds_nothing_back() -> None:
    silent = asked(replace(USUAL, last_reps=8, shown=()))
    assert silent.load_kg > 100.0
    assert not {"progression.sessions_fell", "progression.shown_too_little"} & codes(silent)


def test_no_repetitions_are_added_while_sessions_fall() -> None:
    # Not strong enough for a heavier load, but for more repetitions by a forecast that lags.
    able, context = forecast(100.0, 9, 2.0), told((105.0, 9.0), (102.5, 9.0), (100.0, 9.0), last_reps=6)
    free = chosen(able, replace(context, shown=()), too_hard=SURE)
    held = chosen(able, context, too_hard=SURE)
    assert "progression.add_repetitions" in codes(free)
    assert "progression.sessions_fell" in codes(held)
    assert held.load_kg == free.load_kg
    assert held.reps < free.reps


def test_a_load_a_tenth_lighter_by_plan_is_no_fall_though_no_more_is_left() -> None:
    eased = asked(told((115.0, 12.0), (115.0, 12.0), (100.0, 12.0)))
    assert eased.load_kg > 100.0


def test_a_session_that_holds_against_the_one_before_it_is_no_fall() -> None:
    falling = asked(told((104.0, 12.0), (101.0, 11.0), (100.0, 10.0)))
    holding = asked(told((104.0, 12.0), (101.0, 9.0), (100.0, 10.0)))
    assert "progression.sessions_fell" in codes(falling)
    assert "progression.sessions_fell" not in codes(holding)


@pytest.mark.parametrize(
    ("sessions", "rests_on_the_line"),
    [
        ([(110.0, 10.0), (105.0, 10.0), (100.0, 9.0)], True),  # held: it fell
        ([(100.0, 6.0)], True),  # held: too little was shown
        ([(100.0, 9.0)], True),  # raised, with no more repetitions than were shown
        ([(100.0, 13.0)], False),  # raised as far as the forecast goes
    ],
)
def test_a_choice_names_the_work_behind_the_line_where_it_is_bound_by_it(
    sessions: list[tuple[float, float]], rests_on_the_line: bool
) -> None:
    assert ("Epley1985" in asked(told(*sessions)).source_keys) == rests_on_the_line


def test_a_choice_that_sessions_say_nothing_of_does_not_rest_on_the_line() -> None:
    assert asked(replace(USUAL, last_reps=8, shown=())).source_keys == ()


def hard(*sessions: tuple[float, float], left: float = 2.0, **more: Any) -> ProgressionContext:
    """Return a past in which so many were left in every set, each session as load [kg] and repetitions to failure."""
    shown = tuple((Shown(load, reps, left),) for load, reps in sessions)
    load, reps = sessions[-1]
    context = replace(USUAL, last_load_kg=load, last_reps=int(reps - left), shown=shown)
    return replace(context, **more)


#: What the forecast of `strong` was told, and a session a tenth below it.
STEADY, OFF = (100.0, 13.0), (90.0, 12.0)
LESS = "progression.shown_less_than_expected"


@pytest.mark.parametrize("before", [1, 2, 3])
@pytest.mark.parametrize("off", [OFF, (100.0, 9.0), (105.0, 7.0)])
def test_nothing_rises_after_a_session_that_showed_less_than_expected(
    before: int, off: tuple[float, float]
) -> None:
    held = asked(hard(*[STEADY] * before, off))
    assert held.load_kg == off[0]
    assert held.reps <= off[1] - 2.0
    assert held.policy == "hold_load"
    assert {LESS, "progression.sessions_fell", "progression.shown_too_little"} & codes(held)


def test_a_session_far_below_the_others_is_no_lighter_one_by_plan_where_no_more_was_left() -> None:
    held = asked(hard(STEADY, STEADY, STEADY, OFF))
    assert LESS in codes(held)
    assert "Epley1985" in held.source_keys


def test_a_fall_holds_for_as_long_as_it_is_not_believed() -> None:
    # Three sessions alike after the fall: against their mean the last one is no fall any more.
    lower = (92.5, 13.0)
    held = asked(hard(STEADY, lower, lower, lower))
    assert held.load_kg == 92.5
    assert LESS in codes(held)


def test_the_next_usual_session_lifts_what_a_bad_day_held() -> None:
    again = asked(hard(STEADY, STEADY, OFF, STEADY))
    assert again.load_kg > 100.0
    assert LESS not in codes(again)


@pytest.mark.parametrize("sessions", [[STEADY] * 4, [(100.0, 12.5)] * 4, [STEADY, STEADY, (100.0, 12.5)]])
def test_a_session_as_expected_changes_nothing(sessions: list[tuple[float, float]]) -> None:
    context = hard(*sessions)
    assert asked(context).load_kg > 100.0
    assert LESS not in codes(asked(context))


def test_what_is_believed_no_more_holds_nothing() -> None:
    # The forecast has followed: what was shown is what it believes.
    able = forecast(90.0, 10, 2.0)
    followed = chosen(able, hard(STEADY, STEADY, (90.0, 12.0)), too_hard=SURE)
    assert LESS not in codes(followed)


def test_a_set_that_pain_ended_is_no_session_that_was_off() -> None:
    context = hard(STEADY, STEADY, OFF)
    ended = (*context.shown[:-1], (replace(context.shown[-1][0], cut_short=True),))
    assert LESS in codes(asked(context))
    assert LESS not in codes(asked(replace(context, shown=ended)))


def test_a_load_that_the_site_makes_lighter_still_says_that_nothing_rises() -> None:
    held = asked(hard(STEADY, STEADY, STEADY, (89.0, 12.0)))
    assert held.load_kg == 87.5
    assert [reason.code for reason in held.reasons][:2] == ["progression.nearest_below_last", LESS]
    assert held.reps <= 12.0 - 1.0


def test_a_load_that_comes_down_asks_for_no_more_than_was_shown() -> None:
    able = forecast(100.0, 8, 0.0)
    context = hard((100.0, 8.0), (100.0, 8.0), (110.0, 2.0), left=0.0)
    free = chosen(able, replace(context, shown=()), too_hard=SURE)
    bound = chosen(able, context, too_hard=SURE)
    assert free.policy == bound.policy == "reduce_load"
    assert bound.load_kg <= free.load_kg < 110.0
    assert bound.reps < free.reps
    assert LESS not in codes(bound)


def test_the_first_time_of_a_side_starts_no_heavier_than_the_other_has_just_shown() -> None:
    context = replace(USUAL, last_load_kg=None, last_reps=None, days_since_last=None, first_time=True)
    free = asked(context)
    usual, off = (hard(*[STEADY] * 3, last).shown for last in (STEADY, (60.0, 12.0)))
    assert asked(replace(context, shown=usual)).load_kg == free.load_kg > 60.0
    bound = asked(replace(context, shown=off))
    assert bound.load_kg <= 60.0
    assert LESS in codes(bound)
    assert "Epley1985" in bound.source_keys
    easy = hard(*[STEADY] * 3, (60.0, 13.0), left=5.0).shown
    assert asked(replace(context, shown=easy)).load_kg == free.load_kg
    # And with no more load than few repetitions showed, however heavy they were.
    few = replace(context, shown=hard(*[STEADY] * 3, (100.0, 3.0), left=0.0).shown)
    assert asked(few).load_kg <= 100.0 * (1.0 + 3.5 / 30.0) / (1.0 + 10.0 / 30.0) < free.load_kg
