"""The command line without a database: help, what is missing, what a demo remembers."""

import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from service.cli import app
from service.demo import listening
from service.demo.remembering import Memory, memory_file, recall, remember

pytestmark = pytest.mark.quick
WITHOUT_SERVER = """
import sys
sys.modules["uvicorn"] = None
sys.argv = ["steelyard", "serve"]
from service.__main__ import main
main()
"""


@pytest.mark.parametrize(
    "command", ["serve", "migrate", "demo", "doctor", "backtest", "openapi", "tenant", "key"]
)
def test_every_command_explains_itself(command: str) -> None:
    told = CliRunner().invoke(app, [command, "--help"])
    assert told.exit_code == 0
    assert "Usage" in told.output


def test_without_the_server_packages_it_says_what_to_install() -> None:
    ran = subprocess.run(
        [sys.executable, "-c", WITHOUT_SERVER],
        capture_output=True,
        text=True,
        check=False,
        cwd=Path(__file__).parents[3],
    )
    assert ran.returncode == 1
    assert "pip install 'steelyard[server]'" in ran.stderr
    assert "Traceback" not in ran.stderr


def test_a_database_that_is_not_there_is_said_in_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DATABASE_URL", "postgresql://127.0.0.1:1/nowhere")
    told = CliRunner().invoke(app, ["migrate"])
    assert told.exit_code == 1
    assert told.stderr.startswith("The database cannot be used: ")


def test_a_memory_comes_back_and_nobody_else_may_read_it(tmp_path: Path) -> None:
    file = memory_file(tmp_path, None)
    kept = Memory("01937b5c-7a00-7000-8000-000000000001", "2026-11-25", {"admin": "secret"}, loaded=True)
    remember(file, kept)
    assert recall(file) == kept
    assert file.stat().st_mode & 0o077 == 0


@pytest.mark.parametrize(
    "text", ["", "{", "{}", "[]", '{"tenant_id": "x", "first_day": "y", "scenario": "0"}']
)
def test_what_cannot_be_remembered_is_forgotten(tmp_path: Path, text: str) -> None:
    file = tmp_path / "demo.json"
    file.write_text(text)
    assert recall(file) is None


def test_each_database_has_a_memory_of_its_own(tmp_path: Path) -> None:
    files = {memory_file(tmp_path, url) for url in (None, "postgresql://one", "postgresql://two")}
    assert len(files) == 3


def test_a_taken_port_is_passed_over() -> None:
    with listening.free_socket(18421) as first, listening.free_socket(18421) as second:
        assert first.getsockname()[1] != second.getsockname()[1]
        assert second.getsockname()[0] == "127.0.0.1"
