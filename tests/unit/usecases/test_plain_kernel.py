"""With the compiler switched off the whole service still answers: its examples are computed when it is imported."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.quick
ROOT = Path(__file__).parents[3]


def test_the_service_is_imported_and_answers_where_nothing_is_compiled() -> None:
    environment = {**os.environ, "NUMBA_DISABLE_JIT": "1", "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [sys.executable, "-c", "import service.app"],
        env=environment,
        check=False,
        capture_output=True,
        text=True,
        cwd=ROOT,
    )
    assert done.returncode == 0, done.stderr
