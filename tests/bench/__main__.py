"""Figures as ratios within one run, by hand: ``python -m tests.bench``. Not a test: a noisy machine proves nothing.

Baseline and subject take turns (A B B A) for at least seven rounds; the ratio of each round is taken, and its median,
smallest and largest are printed.
"""

import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median

from service.kernel_cache import keep_kernels

keep_kernels()  # before anything imports the compiler

from service.store.embedded import EmbeddedServer, create_database, ensure_running, stop  # noqa: E402
from service.store.migrate import upgrade  # noqa: E402

ROUNDS = 7
Deed = Callable[[], object]


def timed(deed: Deed) -> float:
    """Return how long a deed took. [s]"""
    began = time.perf_counter()
    deed()
    return time.perf_counter() - began


def compare(subject: Deed, baseline: Deed, rounds: int = ROUNDS) -> tuple[list[float], list[float]]:
    """Return the times of subject and baseline, which take turns: A B B A. [s]"""
    subjects, baselines = [], []
    for _ in range(rounds):
        first = timed(subject)
        baselines.append(timed(baseline) + timed(baseline))
        subjects.append(first + timed(subject))
    return [one / 2 for one in subjects], [one / 2 for one in baselines]


def spread(values: list[float], form: str = ".3g") -> str:
    """Say median, smallest and largest."""
    return " / ".join(format(value, form) for value in (median(values), min(values), max(values)))


def show(name: str, text: str) -> None:
    """Print one figure."""
    print(f"{name:58} {text}", flush=True)


def show_ratio(name: str, subjects: list[float], baselines: list[float]) -> None:
    """Print the ratio of two times, round by round."""
    show(name, spread([one / other for one, other in zip(subjects, baselines, strict=True)]))


@contextmanager
def running_server() -> Iterator[EmbeddedServer]:
    """Run a Postgres of our own in a folder that goes away."""
    folder = Path(tempfile.mkdtemp(prefix="steelyard-bench-", dir="/tmp"))
    try:
        yield ensure_running(folder)
    finally:
        stop(folder, mode="immediate")
        shutil.rmtree(folder, ignore_errors=True)


def main() -> None:
    """Print every figure."""
    from tests.bench import folding, growth, requests, storing

    print(f"median / min / max of {ROUNDS} rounds, A B B A; Python {sys.version.split()[0]}")
    folding.run()
    growth.run()
    with running_server() as server:
        url = create_database(server, "bench")
        upgrade(url)
        storing.run(url)
        requests.run(url)


if __name__ == "__main__":
    main()
