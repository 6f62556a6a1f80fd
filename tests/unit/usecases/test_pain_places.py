"""What pain asks for, place by place, from sets and check-ins of invented people; without a database."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from typing import Any
from uuid import UUID

import msgspec
import pytest

from service.catalogue.loading import load_catalogue
from service.usecases.answers.history import SeenSet
from service.usecases.answers.loads import EffectiveLoad
from service.usecases.answers.pain_asking import OpenMorning, missing_numbers, open_mornings
from service.usecases.answers.pain_places import PlacePain, pains_of, sessions_by_lift
from service.usecases.answers.pain_reports import NO_REGION
from service.usecases.answers.progression_case import pain_of, pain_of_lift
from service.usecases.answers.situation import day_of
from service.usecases.folding.evidence import worst_pain
from service.usecases.records.log import AngleBand, Checkin, LoggedSet, Pain

pytestmark = pytest.mark.quick

NOW = datetime(2026, 11, 27, 18, 20, tzinfo=UTC)
SQUAT, KNEE_EXTENSION = "back-squat", "knee-extension"
Told = dict[str, Any]


def knee(**said: Any) -> Pain:
    return Pain(**{"region": "knee", "side": "right", **said})


def done(days_ago: float, *pain: Pain, lift: str = SQUAT, load: float = 80.0, ordinal: int = 0) -> SeenSet:
    at = NOW - timedelta(days=days_ago)
    record = LoggedSet(exercise_id=lift, performed_at=at, reps=8, purpose="work", pain=list(pain))
    return SeenSet(
        UUID(int=ordinal), record, load_catalogue().exercises[lift], "both", round(days_ago * 100), "s", day_of(at),
        at.date(), EffectiveLoad(load, load, 0.0, "total"), 0.0, 0.0, False, lift,
    )  # fmt: skip


def checked_in(days_ago: float, *pain: Pain) -> Checkin:
    return Checkin(at=NOW - timedelta(days=days_ago), pain=list(pain))


def situation(*checkins: Checkin) -> Any:
    athlete = SimpleNamespace(time_zone="UTC", week_starts_on="monday")
    return SimpleNamespace(as_of=NOW, athlete=athlete, checkins=sorted(checkins, key=lambda one: one.at))


def places(sets: list[SeenSet], *checkins: Checkin) -> list[PlacePain]:
    now = situation(*checkins)
    return pains_of(sessions_by_lift(sets, now), now)


def the_place(sets: list[SeenSet], *checkins: Checkin) -> PlacePain:
    (only,) = places(sets, *checkins)
    return only


def asked(sets: list[SeenSet], *checkins: Checkin) -> list[OpenMorning]:
    return list(open_mornings(sets, situation(*checkins)))


def codes(found: PlacePain) -> list[str]:
    return [reason.code for reason in found.decision.reasons]


def test_mornings_that_get_better_swap_nothing_and_raise_nothing() -> None:
    told = ((9, 5), (7, 4), (5, 3.5), (3, 3))
    found = the_place([done(days, knee(during=2, next_morning=pain)) for days, pain in told])
    assert [one.before for one in found.reports] == [None, 5, 4, 3.5]
    assert (found.decision.action, found.decision.load_factor) == ("hold", 1.0)
    assert codes(found) == ["tolerance.pain_morning_not_settled"]


def test_a_morning_like_that_before_the_session_is_no_worse_one() -> None:
    sets = [done(days, knee(during=2, next_morning=3)) for days in (5, 2)]
    everyday = [checked_in(days + 0.4, knee(next_morning=3)) for days in range(6)]
    (lift,) = (one for one in places(sets, *everyday) if one.place.exercise_id == SQUAT)
    assert [one.before for one in lift.reports] == [3, 3]
    assert lift.decision.action == "hold"
    worse = [done(5, knee(during=2, next_morning=5)), done(2, knee(during=2, next_morning=5))]
    (lift,) = (one for one in places(worse, *everyday) if one.place.exercise_id == SQUAT)
    assert lift.decision.action == "swap"


def test_check_ins_that_tell_mornings_alone_are_held_against_each_other() -> None:
    first = the_place([], checked_in(1.4, knee(next_morning=3)))
    assert (first.decision.action, codes(first)) == ("reduce", ["tolerance.pain_morning_not_compared"])
    better = the_place([], checked_in(1.4, knee(next_morning=3)), checked_in(0.4, knee(next_morning=2)))
    assert better.decision.action == "continue"
    assert better.decision.reasons[0].params == {"pain": 2}
    alike = [checked_in(days + 0.4, knee(next_morning=3)) for days in range(4)]
    assert the_place([], *alike).decision.action == "hold"
    rising = [checked_in(days + 0.4, knee(next_morning=5 - days)) for days in range(3)]
    assert the_place([], *rising).decision.action == "swap"


def test_a_morning_told_long_before_a_session_is_no_measure_of_it() -> None:
    sets = [done(17, knee(during=1, next_morning=4)), done(3, knee(during=1, next_morning=4))]
    assert the_place(sets).reports[-1].before is None


def test_pain_told_some_hours_after_a_session_is_no_morning() -> None:
    sets = [done(days + 0.5) for days in (4, 2)]
    later = [checked_in(days + 0.2, knee(during=3, exercise_id=SQUAT)) for days in (4, 2)]
    with_sets = the_place([done(days + 0.5, knee(during=3)) for days in (4, 2)])
    by_checkin = the_place(sets, *later)
    assert [one.next_morning for one in by_checkin.reports] == [None, None]
    assert by_checkin.decision == with_sets.decision
    same_day = checked_in(2.2, knee(next_morning=0, exercise_id=SQUAT))
    assert the_place([*sets], *later, same_day).reports[-1].next_morning is None
    assert the_place([*sets], *later, same_day).reports[0].next_morning == 0


def test_a_check_in_speaks_of_the_last_session_before_it() -> None:
    sets = [done(days, knee(during=0, next_morning=0)) for days in (11, 9, 7, 5, 3)]
    found = the_place(sets, checked_in(2.9, knee(during=5, exercise_id=SQUAT)))
    assert [one.during for one in found.reports] == [0, 0, 0, 0, 5]


def test_a_check_in_does_not_hide_that_pain_rose() -> None:
    sets = [done(days, knee(during=0, next_morning=0)) for days in (9, 2)]
    found = the_place(sets, checked_in(1.9, knee(during=2, exercise_id=SQUAT)))
    assert (found.decision.action, found.decision.increase_allowed) == ("hold", False)
    assert "tolerance.pain_rises_by_week" in codes(found)


def test_a_check_in_that_tells_both_is_one_report() -> None:
    found = the_place([], checked_in(0.4, knee(during=4, next_morning=1)))
    assert [(one.during, one.next_morning) for one in found.reports] == [(4, 1)]
    assert found.decision.action == "reduce"


def test_a_morning_after_training_past_midnight_is_that_of_the_same_date() -> None:
    sets = [done(1 + 17 / 24, knee(during=1))]  # at 01:20
    assert (
        the_place(sets, checked_in(1 + 9 / 24, knee(next_morning=0, exercise_id=SQUAT)))
        .reports[0]
        .next_morning
        == 0
    )


def test_load_comes_off_the_load_that_hurt_once() -> None:
    hurt = done(9, knee(during=4, next_morning=1))
    assert the_place([hurt]).decision.action == "reduce"
    lighter = [done(days, load=60) for days in (6, 3)]
    found = the_place([hurt, *lighter])
    assert (found.decision.action, found.decision.load_factor) == ("hold", 0.75)
    assert found.hurt_at is hurt
    assert found.decision.heaviest_kg(60.0) == 60.0
    again = the_place([hurt, *lighter, done(1, load=75)])
    assert (again.decision.action, again.decision.heaviest_kg(75.0)) == ("reduce", 60.0)


def test_the_lightest_load_that_hurt_most_is_the_one_that_hurt() -> None:
    sets = [
        done(2, knee(during=2), load=90, ordinal=1), done(2, knee(during=4), load=80, ordinal=2),
        done(2, knee(during=4), load=70, ordinal=3), done(2, load=40, ordinal=4),
    ]  # fmt: skip
    found = the_place(sets)
    assert found.hurt_at is sets[2]
    unsaid = [
        replace(one, record=LoggedSet(exercise_id=SQUAT, performed_at=one.record.performed_at))
        for one in sets
    ]
    told = checked_in(1.9, knee(during=4, exercise_id=SQUAT))
    assert the_place(unsaid, told).decision.hurt_at_kg == 90


RAISE = "one-arm-lateral-raise"


def of_side(side: Any, days_ago: float, load: float, *pain: Pain) -> SeenSet:
    return replace(done(days_ago, *pain, lift=RAISE, load=load), side=side)


def test_the_load_of_the_other_side_is_neither_the_one_that_hurt_nor_the_last() -> None:
    both = [of_side("left", 6, 12.0), of_side("right", 6, 10.0)]
    told = checked_in(5.9, Pain(region="shoulder", side="right", during=4, exercise_id=RAISE))
    found = the_place(both, told)
    assert (found.decision.action, found.decision.hurt_at_kg) == ("reduce", 10.0)
    assert (
        the_place([*both, of_side("left", 3, 12.0), of_side("right", 3, 7.5)], told).decision.action == "hold"
    )


def test_a_next_load_counts_pain_of_no_side_with_that_of_one() -> None:
    sets = [done(5, knee(during=1, next_morning=4)), done(2, knee(side=None, during=1, next_morning=4))]
    history: Any = SimpleNamespace(exercise=sets[0].exercise, sets=sets)
    decided = pain_of(history, "both", situation())
    assert decided is not None
    assert decided.action == "swap"


def test_a_next_load_hangs_on_the_place_that_asks_for_most_care() -> None:
    sets = [done(2, knee(during=1, next_morning=0), Pain(region="hip", during=4, next_morning=0))]
    history: Any = SimpleNamespace(exercise=sets[0].exercise, sets=sets)
    decided = pain_of(history, "both", situation())
    assert decided is not None
    assert (decided.action, decided.load_factor) == ("reduce", 0.75)
    silent: Any = SimpleNamespace(exercise=sets[0].exercise, sets=[*sets, done(1)])
    assert pain_of(silent, "both", situation()) == decided


def test_a_silent_session_says_nothing_while_the_morning_is_still_to_be_told_of() -> None:
    sets = [done(1.5, knee(during=1)), done(0.5)]
    assert the_place(sets).decision.action == "hold"
    sets = [done(1.8, knee(during=1)), done(0.5)]
    assert the_place(sets).decision.action == "continue"


def test_a_late_check_in_stands_apart_from_the_last_session() -> None:
    sets = [done(9, knee(during=7)), done(5, load=100.0)]
    late = checked_in(2, knee(during=1, next_morning=1, exercise_id=SQUAT))
    found = the_place(sets, late)
    assert [(one.during, one.next_morning, one.told_apart) for one in found.reports] == [
        (7, None, False), (1, 1, True),
    ]  # fmt: skip
    assert (found.decision.action, found.decision.hurt_at_kg) == ("reduce", 80.0)
    assert found.hurt_at is not None
    assert found.hurt_at.load is not None
    assert found.hurt_at.load.kilograms == 80.0
    soon = the_place(sets[:1], checked_in(8, knee(during=0, next_morning=0, exercise_id=SQUAT)))
    assert (len(soon.reports), soon.decision.action) == (1, "stop_movement")


def test_an_arc_at_the_beginning_leaves_what_lies_above_it() -> None:
    arc = knee(during=4, angle_band=AngleBand(from_deg=0, to_deg=20))
    found = the_place([done(2, arc, lift=KNEE_EXTENSION)]).decision
    assert (found.action, found.range_start_deg, found.range_end_deg) == ("reduce", 30, None)
    elsewhere = knee(region="thigh", during=4, angle_band=AngleBand(from_deg=0, to_deg=20))
    assert the_place([done(2, elsewhere, lift=KNEE_EXTENSION)]).decision.action == "swap"


@pytest.mark.parametrize(
    ("hurt", "told", "still"),
    [
        ("right", "right", 0), ("right", "both", 0), ("right", None, 0), ("right", "left", 1),
        (None, "right", 0), (None, None, 0), ("both", "both", 0), ("both", "right", 1),
    ],
)  # fmt: skip
@pytest.mark.parametrize("lift", [None, SQUAT])
def test_a_morning_is_told_by_its_side_by_both_or_by_none(
    hurt: Any, told: Any, still: int, lift: str | None
) -> None:
    sets = [done(1.2, Pain(region="Lower back", side=hurt, during=1))]
    morning = checked_in(0.4, Pain(region="lower_back", side=told, next_morning=1, exercise_id=lift))
    assert len(asked(sets)) == 1
    assert len(asked(sets, morning)) == still


def test_half_a_morning_counts_only_where_it_is_bad() -> None:
    sets = [done(1.2, knee(side="both", during=1))]
    both = {
        (one.place.side, one.place.exercise_id): one
        for one in places(sets, checked_in(0.4, knee(next_morning=1)))
    }
    assert both["both", SQUAT].reports[-1].next_morning is None
    both = {
        (one.place.side, one.place.exercise_id): one
        for one in places(sets, checked_in(0.4, knee(next_morning=4)))
    }
    assert both["both", SQUAT].decision.action == "reduce"


def test_pain_that_a_check_in_tells_is_asked_for_too_and_once() -> None:
    told = checked_in(0.3, knee(during=4))
    (one,) = asked([], told)
    assert (one.place.exercise_id, one.pain, one.on) == (None, 4, NOW.date() + timedelta(days=1))
    assert [one.place.exercise_id for one in asked([done(0.4, knee(during=4))], told)] == [SQUAT]
    assert asked([], checked_in(2, knee(during=4))) == []


def test_no_morning_is_asked_for_after_a_pain_of_0_but_where_there_was_pain() -> None:
    assert asked([done(1.2, knee(during=0))]) == []
    (one,) = asked([done(4, knee(during=1)), done(1.2, knee(during=0))])
    assert one.pain == 0


@pytest.mark.parametrize("limited", [None, "pain"])
def test_pain_named_without_a_number_is_no_pain_of_0(limited: Any) -> None:
    named = done(0.4, knee(), load=80)
    named = replace(named, record=replace_record(named, limited_by=limited))
    for sets, told in (([named], []), ([done(0.4)], [checked_in(0.3, knee(exercise_id=SQUAT))])):
        found = the_place(sets, *told)
        assert (found.decision.action, found.decision.heaviest_kg(80.0)) == ("reduce", pytest.approx(56.0))
        (morning,) = asked(sets, *told)
        assert morning.pain is None
        (missing,) = missing_numbers(sets, situation(*told))
        assert (missing.place.region, missing.place.exercise_id) == ("knee", SQUAT)


def replace_record(seen: SeenSet, **said: Any) -> LoggedSet:
    return msgspec.structs.replace(seen.record, **said)


def test_a_number_told_later_answers_for_the_session_and_a_naming_without_one_takes_it_back() -> None:
    sets, numbered = [done(1.2, knee())], checked_in(1.1, knee(during=1, exercise_id=SQUAT))
    found = the_place(sets, numbered)
    assert (found.decision.action, found.reports[-1].during) == ("hold", 1)
    assert list(missing_numbers(sets, situation(numbered))) == []
    again = the_place(sets, numbered, checked_in(1.0, knee(exercise_id=SQUAT)))
    assert again.decision.action == "reduce"


def test_of_pain_without_a_number_the_load_at_which_it_was_named_is_the_one_that_hurt() -> None:
    sets = [done(2, load=90, ordinal=1), done(2, knee(), load=70, ordinal=2)]
    assert the_place(sets).hurt_at is sets[1]


def test_a_set_that_pain_ended_tells_of_pain_though_nothing_else_was_told() -> None:
    ended = done(0.4)
    sets = [done(3), replace(ended, record=replace_record(ended, limited_by="pain"))]
    found = the_place(sets)
    assert (found.place.region, found.decision.action) == (NO_REGION, "reduce")
    history: Any = SimpleNamespace(exercise=sets[0].exercise, sets=sets)
    decided = pain_of(history, "both", situation())
    assert decided is not None
    assert not decided.increase_allowed
    told = [checked_in(0.3, knee(during=2, exercise_id=SQUAT))]
    assert list(missing_numbers(sets, situation(*told))) == []
    morning = replace(ended, record=replace_record(ended, limited_by="pain", pain=[knee(next_morning=0)]))
    assert the_place([morning]).decision.action == "reduce"


def test_what_a_set_with_pain_of_no_number_shows_is_less_sure() -> None:
    told = [knee(during=1)], [knee()], [], [knee(next_morning=1)]
    records = [LoggedSet(exercise_id=SQUAT, performed_at=NOW, pain=pains) for pains in told]
    assert [worst_pain(one) for one in records] == [1, 5, None, None]
    ended = LoggedSet(exercise_id=SQUAT, performed_at=NOW, limited_by="pain")
    assert worst_pain(ended) == 5


def test_a_lift_that_was_never_done_begins_with_little_where_a_region_hurts_that_it_loads() -> None:
    squat, bench = (load_catalogue().exercises[one] for one in (SQUAT, "bench-press"))
    now = situation(checked_in(0.4, knee(during=4, side="left")))
    decided = pain_of_lift(squat, [], "both", now)
    assert decided is not None
    assert (decided.action, decided.region, decided.heaviest_kg(None)) == ("reduce", "knee", None)
    assert [one.code for one in decided.reasons] == [
        "tolerance.pain_of_region",
        "tolerance.pain_begin_with_little",
    ]
    assert pain_of_lift(squat, [], "right", now) is None
    assert pain_of_lift(bench, [], "both", now) is None
    other = situation(checked_in(0.4, knee(during=4, exercise_id=KNEE_EXTENSION)))
    assert pain_of_lift(squat, [], "both", other) is None


def test_pain_told_of_a_lift_long_not_done_holds_it_too() -> None:
    now = situation(checked_in(0.4, knee(during=7, exercise_id=SQUAT)))
    decided = pain_of_lift(load_catalogue().exercises[SQUAT], [done(40)], "both", now)
    assert decided is not None
    assert (decided.action, decided.region) == ("stop_movement", None)


def test_of_two_places_that_take_load_off_the_least_that_is_left_decides() -> None:
    sets = [done(9, load=100), done(6, knee(during=3), load=40)]
    now = situation(checked_in(8.5, Pain(region="hip", during=5)))
    decided = pain_of_lift(sets[0].exercise, sets, "both", now)
    assert decided is not None
    assert decided.heaviest_kg(40.0) == pytest.approx(32.0)


def test_of_a_lift_begun_after_its_region_was_told_of_load_comes_off_once() -> None:
    now, squat = situation(checked_in(9, knee(during=4))), load_catalogue().exercises[SQUAT]
    caps = []
    for sets in ([done(6, load=60)], [done(6, load=60), done(3, load=45)]):
        decided = pain_of_lift(squat, sets, "both", now)
        assert decided is not None
        caps.append(decided.heaviest_kg(sets[-1].load.kilograms if sets[-1].load else None))
    assert caps == [pytest.approx(45.0), pytest.approx(45.0)]
