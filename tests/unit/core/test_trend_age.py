"""How old a lift's log counts as: since its first session, or since a pause that made it young again."""

import numpy as np
import pytest

from service.core.trend import age_of_log, decide_trend, gaussian_change, settled
from service.core.trend.stretch import BREAK_DAYS, FORGETTING_DAYS, SETTLING_HALVES
from tests.unit.core.test_trend import BASIS

pytestmark = pytest.mark.quick

BEFORE = [float(day) for day in range(0, 92, 3)]


def back_after(pause: float, sessions: int = 3) -> list[float]:
    return [*BEFORE, *(BEFORE[-1] + pause + 2.0 * number for number in range(sessions))]


def test_a_log_without_a_pause_is_as_old_as_its_first_session() -> None:
    assert age_of_log(BEFORE, BEFORE, BEFORE[0]) == 0.0
    assert age_of_log(BEFORE, BEFORE, BEFORE[20]) == 60.0
    assert age_of_log(back_after(BREAK_DAYS), back_after(BREAK_DAYS), BEFORE[-1] + BREAK_DAYS) == 100.0


@pytest.mark.parametrize("pause", [FORGETTING_DAYS, 35.0, 100.0])
def test_who_comes_back_after_weeks_has_a_young_log(pause: float) -> None:
    days = back_after(pause)
    assert age_of_log(days, days, days[-3]) == 0.0
    assert age_of_log(days, days, days[-1]) == 4.0
    assert age_of_log(days, days, BEFORE[-1]) == BEFORE[-1]


def test_after_a_fortnight_two_thirds_of_the_doubt_are_back() -> None:
    days, none = back_after(14.0), gaussian_change(0.0, 0.0)
    known = settled(none, age_of_log(days, days, days[-3])).sd
    assert known == pytest.approx(settled(none, 0.0).sd * 14.0 / FORGETTING_DAYS)
    later = age_of_log(days, days, days[-3] + SETTLING_HALVES)
    assert settled(none, later).sd == pytest.approx(known / 2.0)


def test_the_more_is_away_the_younger_the_log() -> None:
    ages = [
        age_of_log(back_after(pause), back_after(pause), back_after(pause)[-3])
        for pause in (9, 12, 16, 20, 30)
    ]
    assert (np.diff(ages) < 0.0).all()


def test_a_lift_left_out_while_others_were_trained_is_young_again_too() -> None:
    lift, athlete = back_after(35.0), [float(day) for day in range(0, 140, 3)]
    assert age_of_log(lift, athlete, lift[-3]) == 0.0
    assert age_of_log(back_after(20.0), athlete, BEFORE[-1] + 20.0) == BEFORE[-1] + 20.0


def test_an_old_pause_weighs_no_more_than_what_was_logged_since() -> None:
    days = back_after(35.0, 30)
    assert age_of_log(days, days, days[-1]) == 58.0


@pytest.mark.parametrize("pause", [14.0, 21.0, 35.0])
def test_few_days_after_a_break_are_no_stall(pause: float) -> None:
    """The line of somebody who comes back hardly moves within days, whatever they regain in them."""
    days, change = back_after(pause), gaussian_change(0.003, 0.008)
    assert decide_trend(settled(change, BEFORE[-1]), 0.6, BASIS).state == "stall"
    assert decide_trend(settled(change, age_of_log(days, days, days[-3])), 0.6, BASIS).state == "not_decided"
