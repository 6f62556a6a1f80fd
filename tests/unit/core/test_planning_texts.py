"""Every reason that planning can give has a sentence, and every sentence is still given."""

import re
from pathlib import Path

import pytest

import service
from service.catalogue.texts import load_texts
from service.core.planning import Candidate, JointRange, Restrictions, vetoes

pytestmark = pytest.mark.quick

_SERVICE = Path(service.__file__).parent
_WRITTEN = re.compile(r'"(planning\.[a-z_]+)"')
_CONSTRAINTS = re.compile(r'(?:constraint=|return |else )"([a-z_]+)"')


def codes_in_source() -> set[str]:
    files = [
        *(_SERVICE / "core" / "planning").glob("*.py"),
        *(_SERVICE / "usecases" / "answers").glob("*.py"),
    ]
    found = {code for file in files for code in _WRITTEN.findall(file.read_text())}
    session = (_SERVICE / "core" / "planning" / "session.py").read_text()
    named = {f"planning.{name}" for name in _CONSTRAINTS.findall(session)} - {"planning.second"}
    return found | {code for code in named if not code.endswith(("accessory", "left", "right", "main"))}


def test_every_code_has_a_text_and_every_text_a_code() -> None:
    texts = {code for code in load_texts("en").templates if code.startswith("planning.")}
    assert codes_in_source() == texts


@pytest.mark.parametrize("demands", [None, ()])
def test_a_veto_about_an_unknown_joint_demand_can_be_said(demands: tuple[()] | None) -> None:
    candidate = Candidate(exercise_id="lift", involvement=(), demands=demands, joint_stress=None)
    knee = Restrictions(joint_ranges=(JointRange("knee_flexion", 0.0, 90.0),))
    found = vetoes(candidate, knee, "left")
    said = [load_texts("en").render(reason.code, reason.params) for reason in found]
    assert said == ["How much knee flexion it asks for is not known, and a limit is set there."]
