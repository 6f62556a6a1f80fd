"""The built wheel alone migrates and serves: migrations, reference data and texts are inside it."""

import os
import re
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from uuid import uuid4

import httpx
import pytest

from tests.databases import Databases

ROOT = Path(__file__).parent.parent.parent
PORT_SAID = re.compile(r"Uvicorn running on http://127\.0\.0\.1:(\d+)")


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built from the checkout and unpacked by pip into a folder of its own."""
    built, target = tmp_path_factory.mktemp("wheel"), tmp_path_factory.mktemp("installed")
    pip = [sys.executable, "-m", "pip", "--disable-pip-version-check", "-q"]
    subprocess.run(
        [*pip, "wheel", "--no-deps", "--no-build-isolation", "-w", built, ROOT], check=True, cwd=built
    )
    (wheel,) = built.glob("steelyard-*.whl")
    subprocess.run([*pip, "install", "--no-deps", "--target", target, wheel], check=True, cwd=built)
    return target


@pytest.fixture
def empty_database(databases: Databases) -> Iterator[str]:
    """A database with nothing in it."""
    name = f"w{uuid4().hex[:12]}"
    yield databases.create(name)
    databases.drop(name)


def _environment(installed: Path, url: str) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    return {**kept, "PYTHONPATH": str(installed), "PYTHONUNBUFFERED": "1", "DATABASE_URL": url}


def _printed(command: list[str], environment: dict[str, str], cwd: Path) -> str:
    ran = subprocess.run(command, env=environment, cwd=cwd, check=False, capture_output=True, text=True)
    assert ran.returncode == 0, ran.stderr
    return ran.stdout.strip()


def _port_of(log: Path, process: subprocess.Popen[bytes], deadline_s: float = 60) -> int:
    until = time.monotonic() + deadline_s
    while process.poll() is None and time.monotonic() < until:
        if said := PORT_SAID.search(log.read_text()):
            return int(said[1])
        time.sleep(0.1)
    raise AssertionError(f"it does not serve:\n{log.read_text()}")


def test_the_wheel_alone_migrates_and_serves_outside_the_checkout(
    installed: Path, empty_database: str, tmp_path: Path
) -> None:
    environment = _environment(installed, empty_database)
    steelyard = [sys.executable, "-m", "service"]
    where = [sys.executable, "-c", "import service; print(service.__file__)"]
    assert Path(_printed(where, environment, tmp_path)).is_relative_to(installed)
    assert "revision" in _printed([*steelyard, "migrate"], environment, tmp_path)
    tenant = _printed([*steelyard, "tenant", "create", "invented tenant"], environment, tmp_path)
    log = tmp_path / "serve.log"
    with log.open("wb") as output:
        serve = subprocess.Popen(
            [*steelyard, "serve", "--port", "0"], env=environment, cwd=tmp_path, stdout=output, stderr=output
        )
    try:
        url = f"http://127.0.0.1:{_port_of(log, serve)}"
        ready = httpx.get(f"{url}/readyz", trust_env=False, timeout=30)
        assert (ready.status_code, ready.json()["ready"]) == (200, True), ready.text
        key = _printed([*steelyard, "key", "create", "--tenant", tenant], environment, tmp_path)
        bearer = {"Authorization": f"Bearer {key}"}
        exercises = httpx.get(f"{url}/v1/exercises", headers=bearer, trust_env=False, timeout=30)
        assert "back-squat" in exercises.text
        assert httpx.get(f"{url}/reference/swagger-ui.css", trust_env=False, timeout=30).status_code == 200
    finally:
        serve.terminate()
        serve.wait(30)
