"""What pain decides."""

import pytest

from service.core.errors import OutsideValidity, TooFewObservations
from service.core.tolerance.pain import PainReport, decide_pain, morning_got_worse, zone_of

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


def test_pain_outside_the_scale_and_no_report_are_refused() -> None:
    for wrong in (PainReport(during=11.0), PainReport(during=3.0, after=-1.0), PainReport(next_morning=-2.0)):
        with pytest.raises(OutsideValidity):
            decide_pain([wrong])
    with pytest.raises(TooFewObservations):
        decide_pain([])
