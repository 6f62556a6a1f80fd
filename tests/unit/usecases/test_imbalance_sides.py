"""Regions and places as people name them, and what a clinician wants of an operated side."""

from datetime import date
from types import SimpleNamespace
from typing import Any

import pytest

from service.usecases.answers.imbalance_sides import (
    groups_under_tape,
    measured_part,
    operated_on_both,
    part_of_region,
    sides_of,
)
from service.usecases.records.people import Athlete, Clearance, Dominance, Procedure, Screening, SideTarget

pytestmark = pytest.mark.quick
OPERATED = date(2026, 10, 10)


def screening(*procedures: tuple[str, str], targets: tuple[tuple[str, str, float], ...] = ()) -> Screening:
    clearance = Clearance(
        by="An invented clinician",
        role="physician",
        given_on=OPERATED,
        side_targets=[SideTarget(region=r, side=s, percent_of_other_side=p) for r, s, p in targets],  # type: ignore[arg-type]
    )
    told = [Procedure(region=r, performed_on=OPERATED, side=s) for r, s in procedures]  # type: ignore[arg-type]
    return Screening(
        instrument="an invented form", instrument_version="1", performed_on=OPERATED, outcome="cleared",
        procedures=told, clearance=clearance,
    )  # fmt: skip


def situation(told: Screening | None = None, **dominance: Any) -> Any:
    athlete = Athlete(time_zone="UTC", dominance=Dominance(**dominance) if dominance else None)
    return SimpleNamespace(athlete=athlete, screening=told)


@pytest.mark.parametrize(
    ("region", "part"),
    [("knee", "lower"), ("Upper-arm", "upper"), ("left_shoulder", "upper"), ("lower back", None), ("", None)],
)
def test_a_region_lies_in_a_part_of_the_body(region: str, part: str | None) -> None:
    assert part_of_region(region) == part


def test_a_place_of_the_tape_is_a_part_of_a_limb_and_the_muscles_under_it() -> None:
    assert [measured_part(site) for site in ("upper-arm-relaxed", "forearm", "thigh-mid", "calf", "neck")] == [
        "arm", "other", "thigh", "calf", "other",
    ]  # fmt: skip
    assert groups_under_tape("upper-arm-flexed") == {"elbow flexors", "triceps"}
    assert groups_under_tape("forearm") == {"forearm"}
    assert groups_under_tape("chest") == frozenset()


def test_an_operated_side_is_involved_in_its_own_part_of_the_body_only() -> None:
    told = situation(screening(("knee", "right")))
    assert sides_of(told, "lower", None, None).involved == "right"
    assert sides_of(told, "upper", None, None).involved is None
    assert sides_of(told, "lower", None, "left").involved == "left"
    assert sides_of(told, "lower", None, None).prior.sd == 0.2


def test_both_sides_operated_are_no_involved_side() -> None:
    for told in (screening(("knee", "right"), ("hip", "left")), screening(("knee", "both"))):
        assert sides_of(situation(told), "lower", None, None).involved is None
        assert operated_on_both(told, "lower")
        assert not operated_on_both(told, "upper")
    assert not operated_on_both(screening(("knee", "right")), "lower")
    assert not operated_on_both(None, "lower")


def test_a_target_counts_only_if_every_operated_region_of_that_part_has_one() -> None:
    knee = ("knee", "right")
    one = sides_of(situation(screening(knee, targets=(("Knee", "right", 90.0),))), "lower", None, None)
    assert one.surgery is not None
    assert one.surgery.target == pytest.approx(0.9)
    for targets in ((), (("hip", "right", 90.0),), (("knee", "left", 90.0),)):
        found = sides_of(situation(screening(knee, targets=targets)), "lower", None, None).surgery
        assert found is not None
        assert found.target is None
    two = screening(knee, ("hip", "right"), targets=(("knee", "right", 90.0),))
    assert sides_of(situation(two), "lower", None, None).target is None


def test_a_side_told_as_hurt_without_an_operation_has_no_target() -> None:
    told = screening(("knee", "right"), targets=(("knee", "right", 90.0),))
    assert sides_of(situation(told), "upper", None, "right").target is None


def test_dominance_is_that_of_hand_or_leg_and_the_request_overrides() -> None:
    told = situation(hand="right", leg="left")
    assert sides_of(told, "upper", None, None).dominant == "right"
    assert sides_of(told, "lower", None, None).dominant == "left"
    assert sides_of(told, None, None, None).dominant is None
    assert sides_of(told, "lower", "right", None).dominant == "right"
    assert sides_of(situation(hand="mixed", leg="left"), "upper", None, None).dominant is None
