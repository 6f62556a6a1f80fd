"""Every request in the README works against the demo, and every answer shown there has the members of a real one."""

import json
import re
import subprocess
from pathlib import Path
from typing import Any

import pytest

from tests.contract.conftest import ROOT, RunningDemo

README = (ROOT / "README.md").read_text("utf-8")
FENCED = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
BLOCKS = [(kind, text) for kind, text in FENCED.findall(README) if kind in ("bash", "json", "text")]
REQUESTS = [number for number, (kind, text) in enumerate(BLOCKS) if kind == "bash" and "curl" in text]


def _members(value: Any, at: str = "") -> set[str]:
    """Return the paths of all members; of a list its first item stands for the rest."""
    if isinstance(value, dict):
        own = {f"{at}/{name}" for name in value}
        return own.union(*(_members(member, f"{at}/{name}") for name, member in value.items()))
    return _members(value[0], f"{at}/0") if isinstance(value, list) and value else set()


def test_there_are_requests_to_try() -> None:
    assert len(REQUESTS) >= 4


@pytest.mark.parametrize("number", REQUESTS)
def test_a_request_of_the_readme_works_as_shown(
    number: int, running_demo: RunningDemo, tmp_path: Path
) -> None:
    script = BLOCKS[number][1]
    ran = subprocess.run(
        ["bash", "-euo", "pipefail", "-c", script],
        env=running_demo.environment, cwd=tmp_path, capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert "urn:steelyard:problem:" not in ran.stdout, ran.stdout
    following = BLOCKS[number + 1] if number + 1 < len(BLOCKS) else ("", "")
    if following[0] == "text":
        assert ran.stdout == following[1]
    if following[0] == "json":
        assert _members(json.loads(following[1])) <= _members(json.loads(ran.stdout)), ran.stdout[:3000]


def test_continuous_integration_runs_the_readmes_test_command() -> None:
    (command,) = [text.strip() for kind, text in BLOCKS if kind == "bash" and "python -m tests" in text]
    assert command in (ROOT / ".ci" / "run").read_text("utf-8").splitlines()


def test_every_setting_in_the_readme_is_one_that_the_code_reads() -> None:
    named = set(re.findall(r"^\| `([A-Z_]+)` \|", README, re.MULTILINE))
    code = "".join(path.read_text("utf-8") for path in (ROOT / "service").rglob("*.py"))
    read = set(re.findall(r"environ(?:\.get\(|\[)\"([A-Z_]+)\"", code))
    assert named == read


def test_every_setting_that_a_test_asks_for_is_in_the_developers_guide() -> None:
    tests = "".join(path.read_text("utf-8") for path in (ROOT / "tests").rglob("*.py"))
    asked = set(re.findall(r"environ(?:\.get\(|\[)\"(STEELYARD_[A-Z_]+)\"", tests))
    guide = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    assert "STEELYARD_FITNESS_FATIGUE_CSV" in asked
    assert {name for name in asked if f"{name}=" not in guide} == set()
