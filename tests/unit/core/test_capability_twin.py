"""The compiled kernel and its plain-Python twin give the same state and the same foresight.

The twin is the same code with the compiler switched off, run in a process of its own.
"""

import os
import subprocess
import sys
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from service.core.capability import (
    AthleteModel,
    AthleteState,
    SeriesPrior,
    SessionEvidence,
    SetEvidence,
    begin,
    foresee_all,
)
from service.core.capability.looping import run
from service.core.curve import CURVE_PRIORS

pytestmark = pytest.mark.quick

ROOT = Path(__file__).parents[3]
PRESS, CURL, LEG_PRESS, ROW = "bench press", "one-arm curl", "leg press@station 4", "one-arm row"
PRIORS = {
    PRESS: SeriesPrior(CURVE_PRIORS["bench"]),
    CURL: SeriesPrior(CURVE_PRIORS["single_joint"], one_sided=True),
    LEG_PRESS: SeriesPrior(CURVE_PRIORS["leg_press"], ln_one_rep_max=(5.0, 0.2)),
    ROW: SeriesPrior(CURVE_PRIORS["row_pull"], one_sided=True, half_gap_sd=0.1),
}
MODEL = AthleteModel(PRIORS.__getitem__, lambda one, other: 0.5 if {one, other} == {CURL, ROW} else 0.1)


def session(number: int) -> SessionEvidence:
    """Return one of an invented athlete's visits, together using every column of the kernel's table."""
    more = 1.0 + 0.01 * number
    day = 3.5 * number + (40.0 if number > 3 else 0.0)
    press = [
        SetEvidence(PRESS, 40.0, 10),
        SetEvidence(PRESS, 80.0 * more, 8, 2.0, rest_s=150.0),
        SetEvidence(PRESS, 80.0 * more, 8, 2.0, rest_s=60.0),
        SetEvidence(PRESS, 80.0 * more, 7, to_failure=True),
        SetEvidence(PRESS, 65.0 * more, 5, stage=1, to_failure=True),
        SetEvidence(PRESS, 50.0 * more, 6, 1.0, stage=2),
    ]
    sides = [
        SetEvidence(CURL, 12.0 * more, 11, 1.0, side="right"),
        SetEvidence(CURL, 12.0 * more, 11, side="left"),
        SetEvidence(CURL, 12.0 * more, 9, to_failure=True, side="left", pain=4.0),
        SetEvidence(ROW, 30.0, 10 + number, side="unspecified"),
        SetEvidence(ROW, 30.0, 9, 3.0, side="right", setup="bottom_half"),
        SetEvidence(ROW, 32.0, 12, side="left", purpose="bound"),
    ]
    legs = [
        SetEvidence(LEG_PRESS, 60.0, 12, purpose="warm_up"),
        SetEvidence(LEG_PRESS, 120.0, 15, ln_load_sd=0.05, setup="wide" if number % 2 else ""),
        SetEvidence(LEG_PRESS, 120.0, 3 if number == 2 else 16, purpose="test"),
    ]
    return SessionEvidence(day, tuple((press + sides + legs)[number % 2 :]))


def everything() -> dict[str, NDArray[np.float64]]:
    sessions = [session(number) for number in range(5)]
    state, foretold = foresee_all(begin("unknown"), sessions, MODEL)
    arrays = {name: getattr(state, name) for name in AthleteState.__dataclass_fields__ if name not in _WORDS}
    return {**arrays, "foretold": foretold}


_WORDS = {"training", "names", "setups"}


def plain_python() -> dict[str, NDArray[np.float64]]:
    environment = {**os.environ, "NUMBA_DISABLE_JIT": "1", "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [sys.executable, __file__], env=environment, capture_output=True, check=True, cwd=ROOT
    )
    with np.load(BytesIO(done.stdout)) as stored:
        return dict(stored)


def test_the_log_is_long_enough_to_matter() -> None:
    assert sum(len(session(number).sets) for number in range(5)) >= 60


def test_here_the_kernel_is_compiled_and_there_it_is_not() -> None:
    # The script below refuses to run unless the compiler is off.
    everything()
    assert getattr(run, "signatures", [])


def test_the_compiled_kernel_and_plain_python_agree() -> None:
    compiled, plain = everything(), plain_python()
    assert compiled.keys() == plain.keys()
    largest = {}
    for name, here in compiled.items():
        there = plain[name]
        np.testing.assert_allclose(there, here, rtol=1e-9, atol=1e-13, err_msg=name)
        scale = np.maximum(np.abs(here), 1e-4)
        known = np.isfinite(here)
        largest[name] = float((np.abs(there - here)[known] / scale[known]).max(initial=0.0))
    sys.stdout.write(f"largest relative difference: {max(largest.values())}\n")
    assert max(largest.values()) < 1e-9


if __name__ == "__main__":
    import numba

    assert numba.config.DISABLE_JIT == 1
    np.savez(sys.stdout.buffer, allow_pickle=False, **everything())
