"""Warning signs, screening, and the cautions of people, lifts and plans."""

import pytest

from service.core.estimates import Caution
from service.core.tolerance.cautions import (
    LiftSituation,
    Person,
    cautions_of_plan,
    limits_of_lift,
    limits_of_person,
    narrowest,
)
from service.core.tolerance.flags import FLAGS, decide_flags
from service.core.tolerance.screening import Clearance, Screening, open_gate

pytestmark = pytest.mark.quick

TODAY = 200.0


def codes(cautions: tuple[Caution, ...]) -> list[str]:
    return [c.code for c in cautions]


@pytest.mark.parametrize(
    "code", ["chest_pain", "fainting", "saddle_numbness", "dark_urine", "rapid_weakness"]
)
def test_an_emergency_stops_all_training(code: str) -> None:
    found = decide_flags([code])
    assert found.stops_all_training
    assert found.cautions[0] == Caution(f"flag_{code}", "emergency")


def test_locking_refers_and_stops_only_its_region() -> None:
    found = decide_flags(["locking"])
    assert (found.stops_all_training, found.stops_region) == (False, True)
    assert found.cautions[0].urgency == "soon"


def test_emergencies_come_first_whatever_the_order() -> None:
    found = decide_flags(["giving_way", "hot_joint", "chest_pain"])
    assert [c.urgency for c in found.cautions] == ["emergency", "same_day", "soon", "heed"]


def test_an_unknown_sign_is_referred_and_none_closes_nothing() -> None:
    assert "flag_not_known" in codes(decide_flags(["invented_sign"]).cautions)
    assert decide_flags(["invented_sign"]).stops_region
    assert decide_flags([]).cautions == ()
    assert not decide_flags([]).stops_region


def test_every_flag_has_an_urgency_that_orders_it() -> None:
    assert all(FLAGS[code].code == code for code in FLAGS)
    assert {f.urgency for f in FLAGS.values()} == {"emergency", "same_day", "soon"}


def test_an_unscreened_athlete_is_kept_gentle() -> None:
    gate = open_gate(Screening("none"), TODAY)
    assert (gate.open, gate.min_reserve, gate.tests_allowed, gate.drops_allowed) == (True, 3.0, False, False)


def test_a_clear_screening_opens_everything() -> None:
    gate = open_gate(Screening("clear"), TODAY)
    assert (gate.open, gate.min_reserve, gate.tests_allowed, gate.drops_allowed) == (True, 0.0, True, True)


CLEARED = Clearance(
    190.0, "clinician", review_day=220.0, min_reserve=4.0, joint_from_deg=0.0, joint_to_deg=90.0
)


def test_a_recent_operation_closes_until_a_clinician_clears_and_then_opens_inside_the_limits() -> None:
    closed = open_gate(Screening("clear", surgery_day=TODAY - 42), TODAY)
    assert not closed.open
    assert closed.reasons[0].code == "tolerance.gate_recent_surgery"
    opened = open_gate(Screening("cleared", CLEARED, surgery_day=TODAY - 42), TODAY)
    assert opened.open
    assert opened.min_reserve == 4.0
    assert opened.clearance == CLEARED
    assert not opened.tests_allowed
    assert not opened.drops_allowed


def test_an_operation_twelve_weeks_ago_no_longer_closes_by_itself() -> None:
    assert open_gate(Screening("clear", surgery_day=TODAY - 84), TODAY).open
    assert not open_gate(Screening("clear", surgery_day=TODAY - 83.9), TODAY).open


@pytest.mark.parametrize(
    ("clearance", "code"),
    [
        (None, "tolerance.gate_clearance_missing"),
        (Clearance(190.0, "coach"), "tolerance.gate_clearance_not_by_clinician"),
        (Clearance(190.0, "athlete"), "tolerance.gate_clearance_not_by_clinician"),
        (Clearance(100.0, "clinician", review_day=199.0), "tolerance.gate_clearance_expired"),
        (Clearance(201.0, "clinician"), "tolerance.gate_clearance_missing"),
    ],
)
def test_only_a_clinicians_standing_clearance_opens(clearance: Clearance | None, code: str) -> None:
    gate = open_gate(Screening("cleared", clearance), TODAY)
    assert not gate.open
    assert gate.reasons[0].code == code


def test_a_clearance_older_than_the_operation_does_not_open() -> None:
    gate = open_gate(Screening("cleared", CLEARED, surgery_day=195.0), TODAY)
    assert gate.reasons[0].code == "tolerance.gate_clearance_before_surgery"


def test_a_referral_and_a_clinicians_hold_close_even_with_a_clearance() -> None:
    assert not open_gate(Screening("referred", CLEARED), TODAY).open
    assert not open_gate(Screening("cleared", CLEARED, clinician_hold=True), TODAY).open


@pytest.mark.parametrize(
    "condition", ["hypertension", "eye_surgery", "hernia_surgery", "pregnancy", "cardiac_history"]
)
def test_breath_holding_is_warned_of_and_tests_are_closed(condition: str) -> None:
    limits = limits_of_person(Person(40.0, frozenset({condition})))
    assert "breath_holding" in codes(limits.cautions)
    assert not limits.tests_allowed


def test_age_brings_its_cautions() -> None:
    assert codes(limits_of_person(Person(17.9)).cautions) == ["minor_supervised"]
    assert not limits_of_person(Person(17.9)).tests_allowed
    assert codes(limits_of_person(Person(60.0)).cautions) == ["balance_support"]
    assert codes(limits_of_person(Person(30.0)).cautions) == []


def test_novices_get_no_drop_sets_and_unknown_conditions_no_tests() -> None:
    assert not limits_of_person(Person(30.0, novice=True)).drops_allowed
    assert not limits_of_person(Person(30.0, frozenset({"invented_condition"}))).tests_allowed


@pytest.mark.parametrize(
    "lift",
    [
        LiftSituation(1.0, failure_exit=3, catchers=True),
        LiftSituation(1.0, p_fail=0.11),
        LiftSituation(1.0, maximal=True),
    ],
)
def test_lifts_that_may_fail_ask_for_a_spotter(lift: LiftSituation) -> None:
    assert "spotter_or_bars" in codes(limits_of_lift(lift).cautions)


def test_alone_without_bars_two_repetitions_are_kept() -> None:
    limits = limits_of_lift(LiftSituation(1.0, failure_exit=3, alone=True))
    assert limits.min_reserve == 2.0
    assert codes(limits.cautions) == ["alone_without_bars"]


def test_the_first_time_and_after_a_gap_three_are_kept_with_no_tests_and_no_drops() -> None:
    for lift in (LiftSituation(None), LiftSituation(1.0, new_range=True), LiftSituation(10.0)):
        limits = limits_of_lift(lift)
        assert (limits.min_reserve, limits.tests_allowed, limits.drops_allowed) == (3.0, False, False)
    assert limits_of_lift(LiftSituation(9.9)).min_reserve == 0.0


def test_every_plan_carries_the_full_text_once_and_then_the_short_one() -> None:
    assert codes(cautions_of_plan())[0] == "training_guidance"
    assert codes(cautions_of_plan(told_before=True))[0] == "guidance_not_diagnosis"
    first = cautions_of_plan([Caution("flag_chest_pain", "emergency")])
    assert first[0].urgency == "emergency"


def test_the_narrowest_of_all_limits_holds() -> None:
    gate = open_gate(Screening("clear"), TODAY)
    person, lift = limits_of_person(Person(65.0)), limits_of_lift(LiftSituation(None))
    joined = narrowest(gate, person, lift)
    assert (joined.min_reserve, joined.tests_allowed, joined.drops_allowed) == (3.0, False, False)
    assert codes(joined.cautions) == ["balance_support", "first_time"]
    assert narrowest(gate, person).tests_allowed
    assert not narrowest(open_gate(Screening("none"), TODAY), person).tests_allowed
