"""What pain decides."""

from dataclasses import replace

import pytest

from service.core.errors import OutsideValidity, TooFewObservations
from service.core.tolerance.pain import PainReport, morning_got_worse, needs_morning, zone_of
from service.core.tolerance.pain_course import LOAD_LEFT_TO_RESTART, decide_pain

pytestmark = pytest.mark.quick

QUIET = PainReport(during=1.0, after=1.0, next_morning=0.0)
WORSE = PainReport(during=2.0, after=2.0, next_morning=4.0, before=1.0)


@pytest.mark.parametrize(
    ("pain", "zone"),
    [
        (0, "go"),
        (2, "go"),
        (2.5, "reduce_and_watch"),
        (3, "reduce_and_watch"),
        (5, "reduce_and_watch"),
        (5.5, "stop"),
    ],
)
def test_the_zones_meet_at_two_and_at_five(pain: float, zone: str) -> None:
    assert zone_of(pain) == zone


def test_quiet_pain_with_a_quiet_morning_may_rise() -> None:
    found = decide_pain([QUIET])
    assert (found.action, found.load_factor, found.set_factor, found.increase_allowed) == (
        "continue",
        1.0,
        1.0,
        True,
    )


def test_a_missing_morning_allows_no_increase() -> None:
    found = decide_pain([PainReport(during=1.0)])
    assert (found.action, found.increase_allowed) == ("hold", False)
    assert [r.code for r in found.reasons] == ["tolerance.pain_morning_unknown"]


def test_a_pain_of_0_told_each_time_holds_nothing() -> None:
    told = [PainReport(during=0.0, day=3.0 * n) for n in range(7)]
    for count in (1, 7):
        found = decide_pain(told[:count])
        assert (found.action, found.increase_allowed) == ("continue", True)
        assert [r.code for r in found.reasons] == ["tolerance.pain_go"]


@pytest.mark.parametrize(
    "hurt",
    [
        PainReport(during=4.0, day=0.0),
        PainReport(during=0.0, next_morning=1.0, day=0.0),
        PainReport(during=0.0, worse_next_morning=True, day=0.0),
    ],
)
def test_after_pain_a_0_holds_until_a_later_session_has_told_the_same(hurt: PainReport) -> None:
    free = [PainReport(during=0.0, day=day) for day in (3.0, 4.0, 5.0)]
    assert [decide_pain([hurt, *free[:count]]).action for count in (1, 2, 3)] == ["hold", "hold", "continue"]
    undated = [replace(one, day=None) for one in free]
    assert decide_pain([hurt, *undated]).action == "hold"


def test_after_a_morning_with_pain_a_0_holds_too() -> None:
    assert decide_pain([PainReport(during=0.0, before=1.0, day=3.0)]).action == "hold"


def test_four_out_of_ten_in_a_painful_arc_works_below_it_with_three_quarters_of_the_load() -> None:
    found = decide_pain([PainReport(during=4.0, painful_from_deg=70.0, painful_to_deg=110.0)])
    assert found.action == "reduce"
    assert found.range_end_deg == 60.0
    assert 12.0 * found.load_factor <= 9.0 + 1e-9
    assert "watch_next_morning" in {c.code for c in found.cautions}


def test_an_arc_that_begins_early_leaves_no_range_to_train_in() -> None:
    assert decide_pain([PainReport(during=4.0, painful_from_deg=25.0)]).action == "swap"


def test_more_than_five_ends_the_movement_with_no_sets_left() -> None:
    found = decide_pain([QUIET, PainReport(during=7.0)])
    assert (found.action, found.load_factor, found.set_factor) == ("stop_movement", 0.0, 0.0)


def test_one_worse_morning_takes_load_or_sets_and_two_swap() -> None:
    once, twice = decide_pain([QUIET, WORSE]), decide_pain([WORSE, WORSE])
    assert once.action == "reduce"
    assert 0.8 <= once.load_factor <= 0.9
    assert once.instead_set_factor == pytest.approx(2 / 3)
    assert twice.action == "swap"


def test_a_good_morning_between_starts_the_count_again() -> None:
    assert decide_pain([WORSE, QUIET, WORSE]).action == "reduce"


def test_a_morning_above_five_swaps_at_once() -> None:
    assert decide_pain([PainReport(during=2.0, next_morning=6.0, before=6.0)]).action == "swap"


def test_worse_means_more_than_the_scales_error_or_the_athletes_word() -> None:
    assert morning_got_worse(PainReport(next_morning=2.0, before=1.0)) is False
    assert morning_got_worse(PainReport(next_morning=2.0, before=0.0)) is True
    assert morning_got_worse(PainReport(next_morning=3.0, before=2.0)) is True
    assert morning_got_worse(PainReport(next_morning=1.0, worse_next_morning=True)) is True
    assert morning_got_worse(PainReport(during=4.0)) is None


def test_a_morning_is_held_against_the_one_before_and_else_against_the_session() -> None:
    assert morning_got_worse(PainReport(during=0.0, next_morning=4.0, before=4.0)) is False
    assert morning_got_worse(PainReport(during=4.0, next_morning=4.0)) is False
    assert morning_got_worse(PainReport(during=1.0, next_morning=4.0)) is True
    assert morning_got_worse(PainReport(next_morning=4.0)) is None
    assert morning_got_worse(PainReport(next_morning=1.0)) is False


def test_falling_mornings_swap_nothing_and_a_worse_one_that_comes_again_does() -> None:
    falling = [PainReport(2, None, 5), PainReport(2, None, 4, 5), PainReport(2, None, 3.5, 4)]
    assert decide_pain(falling).action == "hold"
    assert decide_pain([PainReport(1, None, 4), PainReport(1, None, 4, 4)]).action == "swap"
    assert decide_pain([PainReport(1, None, 4), PainReport(1, None, 4, 1)]).action == "swap"
    assert decide_pain([PainReport(2, None, 3, 3), PainReport(2, None, 3, 3)]).action == "hold"


def test_a_morning_above_the_first_zone_raises_nothing() -> None:
    found = decide_pain([PainReport(1, None, 3, 3)])
    assert (found.action, found.load_factor, found.increase_allowed) == ("hold", 1.0, False)
    assert decide_pain([PainReport(1, None, 2, 2)]).increase_allowed


def test_where_only_the_morning_was_told_its_zone_is_the_zone() -> None:
    for morning, zone, action in (
        (1, "go", "continue"),
        (2, "go", "hold"),
        (4, "reduce_and_watch", "reduce"),
    ):
        found = decide_pain([PainReport(next_morning=morning)])
        assert (found.zone, found.action) == (zone, action)
    assert decide_pain([PainReport(next_morning=1)]).reasons[0].params == {"pain": 1}


def test_mornings_that_rise_from_week_to_week_raise_nothing() -> None:
    mornings = [PainReport(1, None, 0, 0, day=0.0), PainReport(1, None, 2, 1, day=8.0)]
    assert decide_pain(mornings).action == "hold"
    untold = [PainReport(next_morning=0, day=0.0), PainReport(2, None, 0, day=8.0)]
    assert decide_pain(untold).action == "continue"


def test_load_comes_off_the_load_at_which_it_hurt_and_only_once() -> None:
    hurt = [PainReport(during=4.0, next_morning=0.0, load_kg=80.0)]
    heavy, light = decide_pain(hurt, 80.0), decide_pain(hurt, 60.0)
    assert (heavy.action, heavy.hurt_at_kg, heavy.heaviest_kg(80.0)) == ("reduce", 80.0, 60.0)
    assert (light.action, light.load_factor, light.heaviest_kg(60.0)) == ("hold", 0.75, 60.0)
    assert not light.increase_allowed
    assert decide_pain(hurt, 60.1).action == "reduce"
    assert decide_pain(hurt).action == "reduce"


def test_where_the_load_of_the_middle_zone_cannot_fall_sets_do() -> None:
    for during in (2.5, 3.0, 5.0):
        found = decide_pain([PainReport(during=during, day=4.0)])
        assert (found.action, found.told_day) == ("reduce", 4.0)
        assert found.instead_set_factor == pytest.approx(2 / 3)
    assert decide_pain([PainReport(during=2.0)]).instead_set_factor is None


def test_without_a_last_load_the_load_that_hurt_is_the_measure() -> None:
    hurt = decide_pain([PainReport(during=4.0, load_kg=80.0)])
    assert hurt.heaviest_kg(None) == pytest.approx(60.0)
    assert decide_pain([PainReport(during=4.0)]).heaviest_kg(None) is None
    assert decide_pain([QUIET]).heaviest_kg(None) is None


@pytest.mark.parametrize(
    ("band", "lift", "start", "end", "action"),
    [
        ((0, 20), (0, 90), 30, None, "reduce"),
        ((0, 60), (0, 90), None, None, "swap"),
        ((0, 20), (None, None), None, None, "swap"),
        ((70, 110), (0, 180), None, 60, "reduce"),
        ((70, 110), (45, 110), None, None, "swap"),
        ((20, None), (0, 90), None, None, "swap"),
    ],
)
def test_the_range_above_an_early_arc_is_used_where_the_lift_is_known_to_go_there(
    band: tuple[float, float | None],
    lift: tuple[float | None, float | None],
    start: float | None,
    end: float | None,
    action: str,
) -> None:
    report = PainReport(
        during=4.0,
        painful_from_deg=band[0],
        painful_to_deg=band[1],
        range_from_deg=lift[0],
        range_to_deg=lift[1],
    )
    found = decide_pain([report])
    assert (found.range_start_deg, found.range_end_deg, found.action) == (start, end, action)


def test_pain_outside_the_scale_and_no_report_are_refused() -> None:
    for wrong in (PainReport(during=11.0), PainReport(during=3.0, after=-1.0), PainReport(next_morning=-2.0)):
        with pytest.raises(OutsideValidity):
            decide_pain([wrong])
    with pytest.raises(TooFewObservations):
        decide_pain([])


APART = PainReport(during=0.0, next_morning=0.0, before=0.0, told_apart=True)


def test_a_stop_ends_in_a_careful_restart_once_no_pain_is_told_apart_from_sessions() -> None:
    ended = PainReport(during=7.0, load_kg=80.0)
    found = decide_pain([ended, APART], 80.0)
    assert (found.action, found.load_factor, found.increase_allowed) == (
        "reduce",
        LOAD_LEFT_TO_RESTART,
        False,
    )
    assert found.heaviest_kg(80.0) == pytest.approx(56.0)
    assert decide_pain([ended, APART, APART], 80.0).heaviest_kg(80.0) == pytest.approx(56.0)
    begun = decide_pain([ended, APART], 56.0, silent_sessions=3)
    assert (begun.action, begun.increase_allowed, begun.heaviest_kg(56.0)) == ("hold", False, 56.0)
    swapped = decide_pain([WORSE, WORSE, APART])
    assert (swapped.action, swapped.load_factor) == ("reduce", LOAD_LEFT_TO_RESTART)
    trained = decide_pain([ended, replace(APART, told_apart=False)])
    assert (trained.action, trained.increase_allowed) == ("continue", True)


def test_no_movement_begins_again_on_the_day_it_ended() -> None:
    ended = PainReport(during=7.0, day=10.0, told_apart=True)
    for day, action in ((10.2, "stop_movement"), (11.5, "stop_movement"), (12.0, "reduce")):
        assert decide_pain([ended, replace(APART, day=day)]).action == action


def test_pain_of_the_middle_zone_told_apart_lets_nothing_begin_again() -> None:
    for pain in (3.0, 5.0):
        found = decide_pain([PainReport(during=7.0), replace(APART, during=pain)])
        assert (found.action, found.reasons[0].params) == ("stop_movement", {"pain": 7.0})
    assert decide_pain([PainReport(during=4.0), replace(APART, during=3.0)]).action == "reduce"


def test_little_pain_holds_nothing_after_sessions_without_a_word_of_it() -> None:
    for told in (PainReport(during=1.0), PainReport(during=2.0), PainReport(next_morning=2.0)):
        before = decide_pain([told])
        assert not before.increase_allowed
        after = decide_pain([told], silent_sessions=1)
        if before.action == "hold":
            assert (after.action, after.increase_allowed) == ("continue", True)
    for told in (PainReport(during=3.0), PainReport(during=7.0), PainReport(2.0, None, 3.0, 3.0)):
        assert decide_pain([told], silent_sessions=6) == decide_pain([told])
        assert not decide_pain([told], silent_sessions=6).increase_allowed


NAMED = PainReport(number_missing=True, told_apart=True)


@pytest.mark.parametrize(
    "named", [PainReport(), PainReport(number_missing=True), PainReport(1.0, number_missing=True)]
)
def test_pain_without_a_number_is_no_pain_of_0_and_counts_as_the_middle_zone(named: PainReport) -> None:
    found = decide_pain([replace(named, load_kg=80.0)], 80.0)
    assert (found.zone, found.action, found.increase_allowed) == ("reduce_and_watch", "reduce", False)
    assert found.heaviest_kg(80.0) == pytest.approx(0.7 * 80.0)
    assert [r.code for r in found.reasons] == ["tolerance.pain_number_missing"]
    assert "watch_next_morning" in {c.code for c in found.cautions}
    assert not decide_pain([named], silent_sessions=9).increase_allowed
    assert needs_morning([named])


def test_pain_without_a_number_lets_no_movement_begin_again() -> None:
    ended = PainReport(during=7.0, load_kg=80.0, day=0.0)
    for named in (replace(NAMED, day=3.0), PainReport(number_missing=True, day=3.0)):
        held = decide_pain([ended, named], 80.0)
        assert (held.action, held.load_factor) == ("stop_movement", 0.0)
        assert [r.code for r in held.reasons] == [
            "tolerance.pain_above_five",
            "tolerance.pain_number_missing_holds",
        ]
        assert decide_pain([ended, named, replace(named, day=5.0)]).action == "stop_movement"
        begun = decide_pain([ended, named, replace(APART, day=6.0)], 80.0)
        assert (begun.action, begun.heaviest_kg(80.0)) == ("reduce", pytest.approx(56.0))
    assert decide_pain([WORSE, WORSE, NAMED]).action == "swap"


def test_pain_without_a_number_takes_back_nothing_that_stood_and_hides_no_worse_morning() -> None:
    reduced = PainReport(during=4.0, next_morning=1.0, load_kg=80.0)
    assert decide_pain([reduced, replace(NAMED, load_kg=80.0)], 80.0).heaviest_kg(80.0) == pytest.approx(56.0)
    stood = decide_pain([replace(reduced, load_kg=40.0), replace(NAMED, load_kg=80.0)], 80.0)
    assert stood.heaviest_kg(80.0) == pytest.approx(30.0)
    assert stood.reasons[-1].code == "tolerance.pain_number_missing_holds"
    assert decide_pain([WORSE, NAMED, WORSE]).action == "swap"
    assert decide_pain([NAMED, QUIET]).increase_allowed


def test_pain_that_ends_a_movement_ends_it_beside_pain_without_a_number() -> None:
    assert decide_pain([PainReport(during=7.0, number_missing=True)]).action == "stop_movement"
    early = PainReport(painful_from_deg=20.0, painful_to_deg=40.0)
    assert decide_pain([early]).action == "swap"


def test_a_number_of_the_middle_zone_stands_where_pain_is_named_again_without_one() -> None:
    found = decide_pain([PainReport(during=4.0, number_missing=True, load_kg=80.0)], 80.0)
    assert (found.action, found.heaviest_kg(80.0)) == ("reduce", 60.0)
    assert [r.code for r in found.reasons] == [
        "tolerance.pain_middle_zone",
        "tolerance.pain_number_missing_holds",
    ]
    twice = decide_pain([QUIET, PainReport(during=4.0, number_missing=True, load_kg=80.0)], 80.0)
    assert twice.heaviest_kg(80.0) == 60.0
