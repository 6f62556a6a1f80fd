"""The checked-in document is what the code says, and the command that makes it so works without a database."""

import json
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from service.cli.openapi import DOCUMENT, openapi

pytestmark = pytest.mark.quick
_CHECKOUT = Path(__file__).parents[2]
_RUN = CliRunner()


def _app() -> typer.Typer:
    app = typer.Typer()
    app.command()(openapi)
    return app


def test_the_checked_in_document_is_what_the_code_says() -> None:
    done = _RUN.invoke(_app(), ["--check", "--folder", str(_CHECKOUT)])
    assert done.exit_code == 0, done.stderr


def test_a_stale_document_is_refused_with_the_command_that_renews_it(tmp_path: Path) -> None:
    assert _RUN.invoke(_app(), ["--write", "--folder", str(tmp_path)]).exit_code == 0
    kept = tmp_path / DOCUMENT
    kept.write_text(kept.read_text().replace("putSet", "setSet"))
    done = _RUN.invoke(_app(), ["--check", "--folder", str(tmp_path)])
    assert done.exit_code == 1
    assert "steelyard openapi --write" in done.stderr


def test_a_missing_document_is_refused(tmp_path: Path) -> None:
    assert _RUN.invoke(_app(), ["--check", "--folder", str(tmp_path)]).exit_code == 1


def test_what_is_written_passes_the_check_and_breaks_nothing(tmp_path: Path) -> None:
    _RUN.invoke(_app(), ["--write", "--folder", str(tmp_path)])
    kept = tmp_path / DOCUMENT
    done = _RUN.invoke(_app(), ["--check", "--against", str(kept), "--folder", str(tmp_path)])
    assert done.exit_code == 0
    assert "0 changes, 0 of them breaking" in done.output


def test_a_breaking_change_fails_the_comparison(tmp_path: Path) -> None:
    _RUN.invoke(_app(), ["--write", "--folder", str(tmp_path)])
    kept = tmp_path / DOCUMENT
    older = json.loads(kept.read_text())
    older["paths"]["/v1/gone"] = older["paths"]["/healthz"]
    kept.write_text(json.dumps(older))
    done = _RUN.invoke(_app(), ["--against", str(kept)])
    assert done.exit_code == 1
    assert "BREAKING  GET /v1/gone: operation removed" in done.output


def test_without_options_the_document_is_printed() -> None:
    assert json.loads(_RUN.invoke(_app(), []).output)["openapi"] == "3.1.0"
