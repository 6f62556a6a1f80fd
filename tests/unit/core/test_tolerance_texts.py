"""Every sentence the service can say: complete, short, and fit to be said (claims: `unit/catalogue`)."""

import ast
import json
import re
from pathlib import Path

import pytest

from service.catalogue.texts import load_texts
from service.core.estimates import Caution, Reason
from service.core.recovery import (
    FatigueBelief,
    MuscleSession,
    TrunkToll,
    readiness,
    trunk_limits,
    why_not_learned,
)
from service.core.symmetry.decisions import side_posterior
from service.core.symmetry.posterior import SideReading
from service.core.tolerance.cautions import Person, limits_of_person
from service.core.tolerance.flags import FLAGS, decide_flags
from service.core.tolerance.joint_tests import read_retest
from service.core.tolerance.pain import PainReport
from service.core.tolerance.pain_course import decide_pain
from service.core.tolerance.screening import Screening, open_gate
from service.core.tolerance.session_load import describe_week
from service.core.volume.hard_sets import drop_set, hard_set
from service.core.volume.thresholds import thresholds_prior
from service.core.volume.weekly_dose import Involvement, SetContribution, add_up

pytestmark = pytest.mark.quick

ROOT = Path(__file__).parents[3]
TEXTS = ROOT / "service/catalogue/data/texts/en"
SPOKEN = ["volume", "tolerance", "recovery", "symmetry"]
OWN = re.compile(r"^(volume|sides|closing|recovery|tolerance)\.[a-z_]+$")


def sentences() -> list[tuple[str, str, str]]:
    files = sorted(TEXTS.glob("*.json"))
    return [(f.name, code, text) for f in files for code, text in json.loads(f.read_text("utf-8")).items()]


def emitted_codes() -> set[str]:
    """Collect the codes in the sources: literal first arguments, and literals of these areas."""
    found: set[str] = set()
    paths = [
        p
        for name in SPOKEN
        for p in (
            [ROOT / "service/core" / name]
            if name.endswith(".py")
            else (ROOT / "service/core" / name).glob("*.py")
        )
    ]
    for path in paths:
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and OWN.match(node.value):
                found.add(node.value)
            named = isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
            if named and node.func.id in ("Reason", "Caution") and isinstance(node.args[0], ast.Constant):
                found.add(node.args[0].value)
    found |= {f"flag_{code}" for code in FLAGS}
    states = ("right_ahead", "left_ahead", "too_small_to_matter", "not_decided", "undetermined")
    return found | {f"sides.{state}" for state in states}


def test_every_code_that_is_emitted_has_a_sentence() -> None:
    spoken = {code for _, code, _ in sentences()}
    assert len(emitted_codes()) > 60
    assert emitted_codes() <= spoken


def test_no_sentence_of_these_areas_is_left_over() -> None:
    areas = ("volume.json", "sides.json", "closing.json", "recovery.json", "tolerance.json", "cautions.json")
    assert {code for name, code, _ in sentences() if name in areas} <= emitted_codes() | {
        "training_guidance",
        "alone_without_bars",
        "spotter_or_bars",
    }


def test_every_emergency_says_stop_and_call_first() -> None:
    texts = {code: text for _, code, text in sentences()}
    for flag in FLAGS.values():
        opening = texts[f"flag_{flag.code}"].split(". ")[:2]
        if flag.urgency == "emergency":
            assert opening == ["Stop", "Call your local emergency services"]
        else:
            assert opening[0].startswith("Stop")


def test_sentences_are_short_and_whole() -> None:
    for name, code, text in sentences():
        assert text[0].isupper() or text[0] == "{", (name, code)
        # What frames a whole sentence ends with it.
        assert text.rstrip().endswith((".", "!", "?", "{told}")), (name, code)
        assert len(text) <= 240, (name, code)


def spoken_answers() -> list[Reason | Caution]:
    """Gather what real answers say, so that every parameter a sentence names is seen to be given."""
    row = Involvement("lats", 1.0), Involvement("elbow-flexors", 0.5)
    week = [
        SetContribution("a", "s", 0.0, "row", "both", hard_set(8, 2), row),
        SetContribution("b", "s", 0.0, "row", "unspecified", hard_set(8), row),
        SetContribution("c", "s", 0.0, "row", "left", hard_set(8), row),
        SetContribution("d", "s", 0.0, "row", "left", drop_set(None, 2), row, incomplete_stage=True),
    ]
    counted = [c.reason for dose in add_up(week).values() for c in dose.counted]
    sides = [
        side_posterior([SideReading("press", "strength", t, 4e-4, 3, effort_known=known)])
        for t, known in ((0.15, True), (-0.15, True), (0.0, True), (0.03, True), (0.1, False))
    ]
    pains = [
        decide_pain([PainReport(**facts)] * times)  # type: ignore[arg-type]
        for facts, times in (
            ({"during": 1, "next_morning": 0}, 1),
            ({"during": 1}, 1),
            ({"during": 4, "painful_from_deg": 70}, 1),
            ({"during": 4, "painful_from_deg": 20}, 1),
            ({"during": 8}, 1),
            ({"during": 1, "next_morning": 4}, 1),
            ({"during": 1, "next_morning": 4}, 2),
            ({"during": 1, "next_morning": 7}, 1),
            ({"during": 4, "phase": "lowering"}, 1),
            ({"during": 4, "painful_from_deg": 0, "painful_to_deg": 20, "range_to_deg": 90}, 1),
            ({"number_missing": True}, 1),
            ({"next_morning": 4}, 1),
            ({"next_morning": 2}, 1),
            ({"during": 2, "next_morning": 3, "before": 3}, 1),
        )
    ]
    pains.append(decide_pain([PainReport(during=4, load_kg=80.0)], last_load_kg=60.0))
    gates = [open_gate(Screening(state), 100.0) for state in ("none", "clear", "referred", "cleared")]
    ready = [readiness([MuscleSession(20, 9, share, share)], 6) for share in (0.0, 1.0)]
    ready.append(readiness([]))
    learned = FatigueBelief(observation_count=20, prior_share=0.5)
    ready.append(readiness([MuscleSession(20, 4)], belief=learned))
    trunk = trunk_limits(TrunkToll(10, 4, 0.3, 0.8))
    unlearned = [why_not_learned(FatigueBelief(observation_count=n)) for n in (2, 20)]
    loads = [
        describe_week(week, untold, over=over)
        for week, untold, over in (
            ((420.0, 0, 420.0, 0, 420.0, 0, 0), 0, True), ((420.0,) * 7, 0, True), ((0.0,) * 7, 0, True),
            ((420.0,) * 7, 2, True), ((420.0,) * 7, 0, False),
        )
    ]  # fmt: skip
    loads.append(describe_week((0.0,) * 7, 2, any_told=False))
    pains.append(decide_pain([PainReport(during=8), PainReport(number_missing=True)]))
    rising = decide_pain([PainReport(1, 0, 0, day=0.0), PainReport(4, 0, 0, day=8.0)])
    flags = decide_flags([*FLAGS, "invented_sign"])
    people = limits_of_person(Person(70.0, frozenset({"pregnancy", "invented"})))
    said: list[Reason | Caution] = [*counted, *(r for t in thresholds_prior() for r in t.reasons)]
    said += [r for a in (*sides, *pains, *gates, *ready, flags) for r in a.reasons]
    joints = [
        read_retest(*told).reason
        for told in (
            ("modified-thomas", 40.0, None), ("modified-thomas", 40.0, 10.0), ("modified-thomas", 10.0, 40.0),
            ("modified-thomas", 12.0, 10.0), ("invented", 12.0, 10.0),
        )
    ]  # fmt: skip
    said += [*trunk, *unlearned, *joints, *(r for a in (*loads, rising) for r in a.reasons)]
    said += [c for a in (*sides, *pains, *gates, flags, people) for c in a.cautions]
    return said


def test_every_answer_can_be_said_with_the_parameters_it_carries() -> None:
    texts = load_texts("en")
    said = spoken_answers()
    assert len({one.code for one in said}) > 60
    for one in said:
        sentence = texts.render(one.code, one.params)
        assert "None" not in sentence
        assert "{" not in sentence
