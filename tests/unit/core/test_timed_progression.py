"""The next hold or carry, and holds as evidence of strength."""

from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.catalogue.texts import load_texts
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
from service.core.curve import CURVE_PRIORS, TIMED_PRIOR, pieces_of_hold
from service.core.errors import NothingLoadable
from service.core.progression import LoadOption
from service.core.progression.breaks import EndedBreak
from service.core.progression.timed import CARRY, HOLD, TimedChoice, TimedPast, choose_timed, expected_length

pytestmark = pytest.mark.quick
LIFT = "hold"
MODEL = AthleteModel({LIFT: SeriesPrior(TIMED_PRIOR)}.__getitem__, lambda *_: 0.0)
OPTIONS = tuple(LoadOption(load, index) for index, load in enumerate((40.0, 42.5, 45.0, 50.0)))


@cache
def known(*seconds: float, load: float = 40.0, failed: bool = True) -> CapabilityForecast:
    visits = [
        SessionEvidence(
            3.0 * number,
            (SetEvidence(LIFT, load, pieces_of_hold(length), to_failure=failed, ln_load_sd=0.04),),
        )
        for number, length in enumerate(seconds)
    ]
    answer = forecast(fold(begin("trained"), visits, MODEL), LIFT, 3.0 * len(seconds))
    assert answer is not None
    return answer


def chosen(
    answer: CapabilityForecast, options: tuple[LoadOption, ...] = OPTIONS, **past: object
) -> TimedChoice:
    return choose_timed(answer, options, HOLD, 20.0, TimedPast(**past))  # type: ignore[arg-type]


def test_what_was_held_to_failure_is_expected_again() -> None:
    told = expected_length(known(45.0, 45.0, 45.0, 45.0), 40.0, HOLD)
    assert told.value == pytest.approx(45.0, abs=3.0)
    assert told.interval.lower < 45.0 < told.interval.upper
    assert expected_length(known(45.0, 45.0), 40.0, CARRY).value == pytest.approx(
        1.2 * expected_length(known(45.0, 45.0), 40.0, HOLD).value
    )


def test_a_hold_grows_while_it_is_likely() -> None:
    choice = chosen(known(60.0, 60.0, 60.0), load_kg=40.0, length=40.0, days_ago=3.0)
    assert (choice.option.load_kg, choice.length, choice.code) == (40.0, 45.0, "add_length")


def test_a_hold_stays_where_more_is_not_likely() -> None:
    choice = chosen(known(46.0, 46.0, 46.0), load_kg=40.0, length=45.0, days_ago=3.0)
    assert (choice.length, choice.code) == (45.0, "repeat")


def test_a_hold_is_shorter_where_the_last_was_beyond_reach() -> None:
    choice = chosen(known(38.0, 38.0, 38.0), load_kg=40.0, length=60.0, days_ago=3.0)
    assert choice.length < 38.0
    assert choice.code == "less_length"


def test_the_load_rises_after_a_minute() -> None:
    choice = chosen(known(75.0, 75.0, 75.0), load_kg=40.0, length=60.0, days_ago=3.0)
    assert (choice.option.load_kg, choice.code) == (42.5, "raise_load")
    assert 20.0 <= choice.length < 60.0
    assert choice.p_reached >= 0.6


def test_the_load_stays_where_the_next_one_is_too_heavy() -> None:
    far = (LoadOption(40.0, 0), LoadOption(90.0, 1))
    choice = chosen(known(75.0, 75.0, 75.0), far, load_kg=40.0, length=60.0, days_ago=3.0)
    assert (choice.option.load_kg, choice.length, choice.code) == (40.0, 60.0, "repeat")


def test_a_lighter_load_comes_where_this_one_is_hardly_held() -> None:
    choice = chosen(known(12.0, 12.0, 12.0, load=50.0), load_kg=50.0, length=12.0, days_ago=3.0)
    assert choice.option.load_kg <= 50.0
    heavy = chosen(known(12.0, 12.0, 12.0, load=50.0), load_kg=50.0, length=30.0, days_ago=3.0)
    assert (heavy.option.load_kg, heavy.code) == (45.0, "reduce_load")


def test_nothing_rises_while_something_hurts() -> None:
    held = chosen(known(60.0, 60.0), load_kg=40.0, length=40.0, days_ago=3.0, may_rise=False)
    assert (held.length, held.policy) == (40.0, "hold_load")
    less = chosen(known(60.0, 60.0), load_kg=45.0, length=40.0, days_ago=3.0, load_share=0.9)
    assert (less.option.load_kg, less.policy) == (40.0, "reduce_load")


def test_long_holds_are_cut_short_and_nothing_rises_for_whom_they_are_not() -> None:
    for length in (15.0, 20.0, 60.0):
        choice = chosen(known(75.0, 75.0, 75.0), load_kg=40.0, length=length, days_ago=3.0, most=20.0)
        assert choice.option.load_kg == 40.0
        assert choice.length == min(length, 20.0)
        assert choice.policy == "hold_load"
    assert chosen(known(75.0, 75.0, 75.0), most=10.0).length == 10.0


def test_a_break_asks_for_less_and_fewer() -> None:
    choice = chosen(known(60.0, 60.0), load_kg=40.0, length=55.0, days_ago=30.0)
    assert choice.policy == "return_after_break"
    assert choice.length < 55.0
    assert choice.sets_share == 0.5


def test_the_careful_weeks_after_a_break_keep_to_fewer_sets_with_something_left() -> None:
    before = EndedBreak(30.0, 4.0, 40.0)
    usual = chosen(known(60.0, 60.0, 60.0), load_kg=40.0, length=40.0, days_ago=3.0)
    choice = chosen(known(60.0, 60.0, 60.0), load_kg=40.0, length=40.0, days_ago=3.0, ended_break=before)
    assert (usual.sets_share, choice.sets_share) == (1.0, 0.5)
    assert choice.p_reached < usual.p_reached
    assert "timed.still_returning" in {reason.code for reason in choice.reasons}
    over = EndedBreak(30.0, 15.0, 40.0)
    assert chosen(known(60.0, 60.0, 60.0), load_kg=40.0, length=40.0, days_ago=3.0, ended_break=over) == usual


def test_a_first_time_starts_with_the_lightest_and_a_site_without_loads_says_so() -> None:
    choice = chosen(known(90.0, 90.0))
    assert (choice.option.load_kg, choice.length, choice.code) == (40.0, 20.0, "start_low")
    with pytest.raises(NothingLoadable):
        chosen(known(90.0), ())


def test_every_text_is_used_and_can_be_rendered() -> None:
    long, short = known(75.0, 75.0, 75.0), known(38.0, 38.0, 38.0)
    weak = known(12.0, 12.0, 12.0, load=50.0)
    told = [
        chosen(long),
        chosen(long, load_kg=40.0, length=60.0, days_ago=3.0),
        chosen(long, OPTIONS[:1], load_kg=40.0, length=60.0, days_ago=3.0),
        chosen(long, load_kg=40.0, length=40.0, days_ago=3.0),
        chosen(long, load_kg=40.0, length=40.0, days_ago=3.0, may_rise=False, least_reserve=2.0),
        chosen(long, load_kg=40.0, length=40.0, days_ago=30.0),
        chosen(long, load_kg=40.0, length=40.0, days_ago=3.0, ended_break=EndedBreak(30.0, 4.0, 40.0)),
        chosen(short, load_kg=40.0, length=60.0, days_ago=3.0),
        chosen(short, load_kg=40.0, length=37.0, days_ago=3.0),
        chosen(weak, load_kg=50.0, length=30.0, days_ago=3.0),
        chosen(long, load_kg=40.0, length=40.0, days_ago=3.0, most=20.0),
    ]
    texts = load_texts("en")
    reasons = [reason for choice in told for reason in choice.reasons]
    assert all(texts.render(one.code, one.params) for one in reasons)
    assert {one.code for one in reasons} == {code for code in texts.templates if code.startswith("timed.")}


def test_odd_holds_say_nothing_of_the_endurance_that_repetitions_share() -> None:
    def press(held: float | None) -> tuple[float, float]:
        model = AthleteModel(
            {LIFT: SeriesPrior(TIMED_PRIOR), "press": SeriesPrior(CURVE_PRIORS["bench"])}.__getitem__,
            lambda *_: 0.0,
        )
        visits = []
        for number in range(20):
            sets = [SetEvidence("press", 80.0, 8, 2.0)]
            if held is not None:
                sets += [
                    SetEvidence(LIFT, load, pieces_of_hold(seconds), to_failure=True, timed=True)
                    for load, seconds in ((42.0, 60.0), (62.0, held))
                ]
            visits.append(SessionEvidence(3.5 * number, tuple(sets)))
        answer = forecast(fold(begin("trained"), visits, model), "press", 70.0)
        assert answer is not None
        return answer.load_for(1.0).value, answer.load_for(15.0).value

    for held in (40.0, 15.0):
        assert press(held) == pytest.approx(press(None), rel=0.01)


@given(st.floats(5.0, 120.0), st.floats(1.02, 1.5))
def test_a_heavier_hold_of_the_same_length_never_means_less(seconds: float, factor: float) -> None:
    light, heavy = (known(seconds, load=load).ln_load_for(8.0)[0] for load in (40.0, 40.0 * factor))
    assert heavy >= light


@given(st.floats(6.0, 100.0), st.floats(1.0, 60.0))
def test_a_longer_hold_of_the_same_load_never_means_less(seconds: float, more: float) -> None:
    short, long = (known(length).ln_load_for(8.0)[0] for length in (seconds, seconds + more))
    assert long >= short - 1e-9
