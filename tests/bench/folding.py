"""The filter in one core: the bare kernel, the fold around it, and a refold of a long log in memory."""

from typing import Any

import numpy as np

from service.core.capability import begin, engine, fold
from tests.bench.__main__ import compare, show, show_ratio, spread
from tests.bench.logs import model, sessions_of

SETS = 15_000


def run() -> None:
    """Print sets a second and what the fold costs around its kernel."""
    sessions, athlete = sessions_of(SETS), model()
    fold(begin("unknown"), sessions[:2], athlete)
    told = _arguments(sessions, athlete)

    def kernel() -> None:
        engine.run(*[np.copy(one) if isinstance(one, np.ndarray) else one for one in told])

    whole, bare = compare(lambda: fold(begin("unknown"), sessions, athlete), kernel)
    show("kernel alone, one core [sets/s]", spread([SETS / one for one in bare]))
    show("fold() of evidence, one core [sets/s]", spread([SETS / one for one in whole]))
    show_ratio("fold() / kernel [times]", whole, bare)
    show(f"refold of {SETS:,} sets in memory [ms]", spread([1000 * one for one in whole]))
    state = fold(begin("unknown"), sessions, athlete)
    show(f"packed state of {len(state.series())} series [bytes]", str(len(state.pack())))


def _arguments(sessions: Any, athlete: Any) -> list[Any]:
    """Return what the fold gives to its kernel for a whole log, as it was before the kernel wrote into it."""
    seen: list[Any] = []
    kernel = engine.run

    def look(*told: Any) -> None:
        seen.extend(np.copy(one) if isinstance(one, np.ndarray) else one for one in told)
        kernel(*told)

    engine.run = look  # type: ignore[assignment]
    try:
        fold(begin("unknown"), sessions, athlete)
    finally:
        engine.run = kernel
    return seen
