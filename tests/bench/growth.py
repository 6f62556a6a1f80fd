"""The answer to volume: what a log's length costs once it is summed, and what the answer costs beside plain array arithmetic."""

from collections.abc import Callable

import numpy as np
from scipy.special import erfcx

from service.core.volume.growth_series import GrowthEvidence, GrowthSeries, evidence_of
from service.core.volume.nodes import nodes_of
from service.core.volume.response import STEADY_TAILS, respond
from service.core.volume.thresholds import thresholds_of
from tests.bench.__main__ import compare, show_ratio

_WEEKS = 4.0
_AT_ONCE = 200


def run() -> None:
    """Print what an answer costs after few and many weeks, and beside its yardstick."""
    few, many = (_log(weeks) for weeks in (20, 2000))
    respond(few, "unknown")
    show_ratio("answer to volume, 2,000 weeks / 20 weeks [times]", *compare(_answers(many), _answers(few)))
    nodes = len(nodes_of("unknown").weights) * len(STEADY_TAILS)
    numbers = np.random.default_rng(1).normal(size=nodes)

    def yardstick() -> None:
        for _ in range(_AT_ONCE):
            np.sqrt(1.0 / np.exp(numbers * numbers) + erfcx(numbers))

    show_ratio(
        f"answer / a root, exp and erfcx of {nodes} numbers [times]", *compare(_answers(few), yardstick)
    )
    # Of a new answer each time: the closer nodes of the sets of a gain are part of what they cost.
    show_ratio(
        "answer and its thresholds / answer [times]",
        *compare(lambda: [thresholds_of(respond(few, "unknown")) for _ in range(_AT_ONCE)], _answers(few)),
    )


def _answers(evidence: GrowthEvidence) -> Callable[[], object]:
    return lambda: [respond(evidence, "unknown").slope for _ in range(_AT_ONCE)]


def _log(weeks: int) -> GrowthEvidence:
    """Return the sums of two lifts of so many weeks."""
    rng, stretches = np.random.default_rng(2), int(weeks / _WEEKS)
    steps, long = np.diff(np.eye(stretches + 1), axis=0), np.full(stretches, _WEEKS)
    found = []
    for _ in range(2):
        sets = rng.uniform(2.0, 18.0, stretches)
        changes = 0.003 * _WEEKS * (np.sqrt(sets) - 0.76) + 0.02 * rng.normal(size=stretches)
        found.append(
            GrowthSeries(
                "strength", changes, 0.01**2 * steps @ steps.T, long, long * np.sqrt(sets), long * sets
            )
        )
    return evidence_of(found)
