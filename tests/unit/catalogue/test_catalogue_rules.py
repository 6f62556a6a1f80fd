"""Each rule of the reference data, with a sample that breaks it and must be refused."""

from dataclasses import replace
from typing import Any

import pytest

from service.catalogue.loading import build_catalogue, read_exercise, read_muscle
from service.catalogue.records import Anchor, Exercise, Involvement, JointDemand, Muscle
from service.catalogue.rules import NUMBERED_FIELDS, BrokenCatalogue

pytestmark = pytest.mark.quick

THIGH = Muscle(muscle_id="thigh", name="Thigh", group="leg", actions=("knee extension",), basis="anatomy")
FRONT = replace(THIGH, muscle_id="thigh-front", name="Front of the thigh", part_of="thigh")
KICK = Exercise(
    exercise_id="kick",
    name="Kick",
    aliases=("leg kick",),
    pattern="knee_extension",
    laterality="one_sided",
    work="repetitions",
    load_basis="total",
    implement="stack",
    station="kicker",
    gear=(),
    body_share=0.0,
    curve_class="single_joint",
    compound=False,
    body_part="lower",
    free_weight=False,
    overhead=False,
    repetition_range=(8, 20),
    involvement=(Involvement(muscle_id="thigh-front", share=1.0, basis="judgement"),),
    joint_demands=(JointDemand(motion="knee_flexion", from_deg=0, to_deg=90, basis="judgement"),),
    position="seated",
    failure_exit=0,
    support=("seat",),
    balance=0,
    axial_load=0,
    trunk_moment=0,
    grip=0,
    breath_pressure=1,
    joint_stress=(("knee", 1),),
    skill=0,
    muscle_length="mid",
    anchor=None,
    basis=dict.fromkeys(NUMBERED_FIELDS, "judgement"),
)
SHARE = KICK.involvement[0]
DEMAND = KICK.joint_demands[0]
ANCHOR = Anchor(exercise_id="stamp", ratio=0.5, ln_sd=0.2, basis="judgement")
STAMP = replace(KICK, exercise_id="stamp", name="Stamp", aliases=())

BROKEN_EXERCISES = {
    "kick trains thigh, which is no muscle": {"involvement": (replace(SHARE, muscle_id="thigh"),)},
    "kick trains tail": {"involvement": (replace(SHARE, muscle_id="tail"),)},
    "the share 1.1": {"involvement": (replace(SHARE, share=1.1),)},
    "the share -0.1": {"involvement": (SHARE, replace(SHARE, share=-0.1))},
    r"1.0 \+- 0.0": {"involvement": (replace(SHARE, sd=0.0),)},
    "names a muscle twice": {"involvement": (SHARE, SHARE)},
    "trains no muscle": {"involvement": (replace(SHARE, share=0.0),)},
    "the unknown basis 'Nobody1999'": {"involvement": (replace(SHARE, basis="Nobody1999"),)},
    "the unknown basis ''": {"joint_demands": (replace(DEMAND, basis=""),)},
    "the unknown motion wiggling": {"joint_demands": (replace(DEMAND, motion="wiggling"),)},
    "knee_flexion from 90 to 0": {"joint_demands": (replace(DEMAND, from_deg=90, to_deg=0),)},
    "stresses tail by 1": {"joint_stress": (("tail", 1),)},
    "stresses knee by 4": {"joint_stress": (("knee", 4),)},
    "the repetition range 20 to 8": {"repetition_range": (20, 8)},
    "moves the share 1.2": {"body_share": 1.2},
    "has grip 4": {"grip": 4},
    "names no station": {"station": None},
    "no basis for grip": {"basis": dict.fromkeys(sorted(NUMBERED_FIELDS - {"grip"}), "judgement")},
    "a basis for colour": {"basis": dict.fromkeys(sorted({*NUMBERED_FIELDS, "colour"}), "judgement")},
    "the unknown basis 'hearsay'": {"basis": dict.fromkeys(sorted(NUMBERED_FIELDS), "hearsay")},
    "anchored to stamp, which does not exist": {"anchor": ANCHOR},
    "kick is anchored to itself": {"anchor": replace(ANCHOR, exercise_id="kick")},
    "'Not A Slug' is not a slug": {"exercise_id": "Not A Slug"},
}


def test_a_sound_sample_is_accepted() -> None:
    catalogue = build_catalogue([THIGH, FRONT], [replace(KICK, anchor=ANCHOR), STAMP])
    assert [exercise.exercise_id for exercise in catalogue] == ["kick", "stamp"]
    assert "kick" in catalogue


@pytest.mark.parametrize(("fault", "changes"), BROKEN_EXERCISES.items(), ids=str)
def test_a_broken_exercise_is_refused(fault: str, changes: dict[str, Any]) -> None:
    with pytest.raises(BrokenCatalogue, match=fault):
        build_catalogue([THIGH, FRONT], [replace(KICK, **changes)])


@pytest.mark.parametrize(
    ("fault", "muscles"),
    [
        ("thigh-front stands 2 times", [THIGH, FRONT, FRONT]),
        ("part of tail, which does not exist", [FRONT, replace(THIGH, part_of="tail")]),
        ("thigh is part of itself", [FRONT, replace(THIGH, part_of="thigh-front")]),
        ("unknown basis 'rumour'", [FRONT, replace(THIGH, basis="rumour")]),
        ("not positive or not cited", [FRONT, replace(THIGH, volume_cm3=100.0)]),
        ("not positive or not cited", [FRONT, replace(THIGH, volume_cm3=-1.0, basis="Rajagopal2016")]),
    ],
)
def test_a_broken_muscle_is_refused(fault: str, muscles: list[Muscle]) -> None:
    with pytest.raises(BrokenCatalogue, match=fault):
        build_catalogue(muscles, [KICK])


def test_two_exercises_of_one_id_are_refused() -> None:
    with pytest.raises(BrokenCatalogue, match="exercise id kick stands 2 times"):
        build_catalogue([THIGH, FRONT], [KICK, KICK])


@pytest.mark.parametrize("alias", ["Leg Kicks", "kick", "KICK!"])
def test_one_name_for_two_exercises_is_refused(alias: str) -> None:
    with pytest.raises(BrokenCatalogue, match="means both kick and stamp"):
        build_catalogue([THIGH, FRONT], [KICK, replace(STAMP, aliases=(alias,))])


def test_anchors_in_a_circle_are_refused() -> None:
    back = replace(ANCHOR, exercise_id="kick")
    with pytest.raises(BrokenCatalogue, match="anchored to itself"):
        build_catalogue([THIGH, FRONT], [replace(KICK, anchor=ANCHOR), replace(STAMP, anchor=back)])


@pytest.mark.parametrize("anchor", [replace(ANCHOR, ratio=0.0), replace(ANCHOR, ln_sd=0.0)])
def test_a_ratio_without_spread_or_size_is_refused(anchor: Anchor) -> None:
    with pytest.raises(BrokenCatalogue, match="has the ratio"):
        build_catalogue([THIGH, FRONT], [replace(KICK, anchor=anchor), STAMP])


def test_all_faults_are_listed_at_once() -> None:
    with pytest.raises(BrokenCatalogue) as refusal:
        build_catalogue([THIGH, FRONT], [replace(KICK, grip=9, balance=-1, station=None)])
    assert len(refusal.value.faults) == 3


def test_a_misspelt_field_in_a_file_is_refused() -> None:
    with pytest.raises(BrokenCatalogue, match="colour"):
        read_muscle(
            {"muscle_id": "thigh", "name": "Thigh", "group": "leg", "actions": [], "basis": "x", "colour": 1}
        )


def test_a_missing_field_in_a_file_is_refused() -> None:
    with pytest.raises(BrokenCatalogue, match="group"):
        read_muscle({"muscle_id": "thigh", "name": "Thigh", "actions": [], "basis": "anatomy"})


def test_a_share_without_a_basis_in_a_file_is_refused() -> None:
    with pytest.raises(BrokenCatalogue, match="kick"):
        read_exercise({"exercise_id": "kick", "involvement": {"thigh": {"share": 1.0}}})
