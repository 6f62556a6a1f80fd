"""The compose file is well-formed, and starts things in the right order. It is not run here."""

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml

pytestmark = pytest.mark.quick
ROOT = Path(__file__).parent.parent.parent.parent
FILE = ROOT / "docker-compose.yml"


@pytest.fixture(scope="module")
def services() -> Any:
    return yaml.safe_load(FILE.read_text())["services"]


def test_the_compose_program_accepts_the_file(tmp_path: Path) -> None:
    compose = pytest.importorskip("compose")
    binary = Path(compose.__file__).parent / "docker-compose"
    ran = subprocess.run(
        [binary, "-f", FILE, "config", "-q"],
        capture_output=True,
        text=True,
        check=False,
        env={"HOME": str(tmp_path)},
    )
    assert ran.returncode == 0, ran.stderr


def test_the_file_follows_the_published_schema_of_compose_files() -> None:
    check = Path(sys.executable).parent / "check-jsonschema"
    ran = subprocess.run(
        [check, "--builtin-schema", "vendor.compose-spec", FILE], capture_output=True, text=True, check=False
    )
    assert ran.returncode == 0, ran.stdout


def test_the_api_waits_for_the_migrations_and_they_for_the_database(services: Any) -> None:
    assert services["migrate"]["depends_on"]["postgres"]["condition"] == "service_healthy"
    assert services["api"]["depends_on"]["migrate"]["condition"] == "service_completed_successfully"
    assert "pg_isready" in services["postgres"]["healthcheck"]["test"]
    assert "/readyz" in " ".join(services["api"]["healthcheck"]["test"])


def test_the_api_is_published_on_loopback_only(services: Any) -> None:
    assert all(port.startswith("127.0.0.1:") for port in services["api"]["ports"])


def test_the_worker_waits_for_the_migrations_and_publishes_nothing(services: Any) -> None:
    assert services["worker"]["depends_on"]["migrate"]["condition"] == "service_completed_successfully"
    assert services["worker"]["command"] == ["worker"]
    assert "ports" not in services["worker"]
