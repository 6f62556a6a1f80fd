"""The demo as a user starts it: a process of its own, and the environment that it prints. The application without data."""

import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from fastapi import FastAPI

_NOWHERE = "postgresql+psycopg://nobody@127.0.0.1:1/nothing"
ROOT = Path(__file__).parent.parent.parent
EXPORT = re.compile(r"^export (\w+)=(.*)$", re.MULTILINE)
#: The demo must show its table within a minute of the command; this machine may be busy with other tests.
DEADLINE_S = 120


@dataclass(frozen=True)
class RunningDemo:
    """A demo that serves: what it printed, and the environment for shells and further commands."""

    printed: str
    environment: dict[str, str]


def bare_environment(data_dir: Path) -> dict[str, str]:
    """Return an environment in which the demo keeps everything in one folder."""
    return {**os.environ, "STEELYARD_DATA_DIR": str(data_dir), "COLUMNS": "160", "PYTHONUNBUFFERED": "1"}


@pytest.fixture(scope="session")
def bare_app() -> "FastAPI":
    """An application whose database is nowhere: it tells its document, which is built once for all who ask."""
    # Importing it computes examples, for which those test processes need not wait that never ask for it.
    from service.app import create_app
    from service.settings import Settings

    return create_app(Settings(_NOWHERE, _NOWHERE))


@pytest.fixture(scope="session")
def demo_data_dir() -> Iterator[Path]:
    """A data folder of the demo's own, short enough for a socket's path."""
    folder = Path(tempfile.mkdtemp(prefix="steelyard-demo-", dir="/tmp"))
    yield folder
    shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def running_demo(demo_data_dir: Path) -> Iterator[RunningDemo]:
    """The demo, started for the first time and stopped as Ctrl-C would."""
    environment = bare_environment(demo_data_dir)
    log = demo_data_dir.with_suffix(".log")
    with log.open("wb") as output:
        command = [sys.executable, "-m", "service", "demo"]
        process = subprocess.Popen(command, cwd=ROOT, env=environment, stdout=output, stderr=output)
    try:
        printed = _when_serving(process, log)
        yield RunningDemo(printed, {**environment, **dict(EXPORT.findall(printed))})
    finally:
        process.terminate()
        assert process.wait(60) == 0
        log.unlink()


def _when_serving(process: subprocess.Popen[bytes], log: Path) -> str:
    until = time.monotonic() + DEADLINE_S
    while process.poll() is None and time.monotonic() < until:
        printed = log.read_text("utf-8")
        if "Serving on" in printed:
            return printed
        time.sleep(0.2)
    raise AssertionError(f"the demo does not serve:\n{log.read_text('utf-8')}")
