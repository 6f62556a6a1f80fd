"""The pinned versions cover every package that the project names, within the range that it asks for."""

import re
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

pytestmark = pytest.mark.quick
ROOT = Path(__file__).parent.parent.parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
NEEDED = {
    "server.txt": [*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["server"]],
    "test.txt": [
        *PROJECT["dependencies"],
        *(d for extra in PROJECT["optional-dependencies"].values() for d in extra),
    ],
}


def _pins(name: str) -> dict[str, str]:
    lines = (ROOT / ".requirements" / name).read_text("utf-8").splitlines()
    pinned = [match for line in lines if (match := re.fullmatch(r"([\w.-]+)==(\S+)", line))]
    return {canonicalize_name(match[1]): match[2] for match in pinned}


@pytest.mark.parametrize("name", NEEDED)
def test_every_named_package_is_pinned_within_its_range(name: str) -> None:
    pins = _pins(name)
    for wanted in map(Requirement, NEEDED[name]):
        if wanted.name != PROJECT["name"]:
            assert pins[canonicalize_name(wanted.name)] in wanted.specifier, wanted


def test_both_lists_agree() -> None:
    server, test = _pins("server.txt"), _pins("test.txt")
    assert {name: test[name] for name in server} == server
