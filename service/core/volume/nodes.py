"""What the slope of the answer to volume is conditioned on, over fixed Gauss-Hermite nodes: root to hold, share, peak."""

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from service.core.volume.hard_sets import TrainingAge

Array = NDArray[np.float64]
#: Root of the weekly sets that hold size: log-normal, median and log-sd (judgement after [Bickel2011]_).
ROOT_TO_HOLD, ROOT_TO_HOLD_LOG_SD = 0.76, 0.45
#: Where growth peaks if it has a peak: log-normal weekly sets (judgement), and how likely that is before any log.
PEAK, PEAK_LOG_SD, DOWNTURN = 22.0, 0.30, 0.05
#: Share of a change of strength at the trained repetitions that is size: log-normal. Gains in volume and in 1RM agreed
#: only with r = 0.48 between untrained men [Erskine2014]_. 4.8 % of size against 21.1 % of strength is 0.245 of it for
#: untrained people [Ahtiainen2016]_; more for the trained, who have learnt the lift (judgement).
SIZE_SHARE: Final[dict[TrainingAge, float]] = {"novice": 0.25, "unknown": 0.35, "trained": 0.40}
SIZE_SHARE_LOG_SD: Final = 0.5
#: First and second of each pair of (roots, weeks, doses).
PAIRS: Final = ((0, 0, 0, 1, 1, 2), (0, 1, 2, 1, 2, 2))
_ROOT_NODES, _PEAK_NODES, _SHARE_NODES = 9, 3, 13
#: Nodes of less weight than this say nothing.
_LEAST_WEIGHT: Final = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class Nodes:
    """Nodes of what the slope is conditioned on: weights, roots to hold, downturn per set, shares of size, peaks.

    ``design`` (3, n) is what the slope is multiplied with, over (roots, weeks, doses), and ``pairs`` (6, n) are the products of
    each two of these, of different ones twice; ``scaled`` and ``scaled_pairs`` are those for strength.
    """

    weights: Array
    roots: Array
    falls: Array
    shares: Array
    peaks: Array
    design: Array
    pairs: Array
    scaled: Array
    scaled_pairs: Array

    def repeated(self, times: int) -> tuple[Array, Array, Array]:
        """Return roots, falls and peaks, so many times one after the other."""
        return _repeated(self, times)


def _log_normal(median: float, log_sd: float, count: int) -> tuple[Array, Array]:
    nodes, weights = np.polynomial.hermite_e.hermegauss(count)
    return median * np.exp(log_sd * nodes), weights / weights.sum()


@lru_cache
def peak_ends() -> Array:
    """Return the ends of what the nodes of the peak stand for, as shares of its log-normal that lie below them."""
    return np.concatenate([[0.0], np.cumsum(_log_normal(1.0, 1.0, _PEAK_NODES)[1])])


@lru_cache
def nodes_of(training: TrainingAge) -> Nodes:
    """Return the nodes of an athlete of that training age."""
    roots, root_weights = _log_normal(ROOT_TO_HOLD, ROOT_TO_HOLD_LOG_SD, _ROOT_NODES)
    shares, share_weights = _log_normal(SIZE_SHARE[training], SIZE_SHARE_LOG_SD, _SHARE_NODES)
    peaks, peak_weights = _log_normal(PEAK, PEAK_LOG_SD, _PEAK_NODES)
    peaks = np.concatenate([[np.inf], peaks])
    peak_weights = np.concatenate([[1.0 - DOWNTURN], DOWNTURN * peak_weights])
    root, share, peak = (grid.ravel() for grid in np.meshgrid(roots, shares, peaks, indexing="ij"))
    weight = np.einsum("i,j,k->ijk", root_weights, share_weights, peak_weights).ravel()
    kept = weight > _LEAST_WEIGHT
    root, share, peak, weight = root[kept], share[kept], peak[kept], weight[kept]
    falls = 0.5 / np.sqrt(peak)
    design = np.vstack([np.ones_like(root), -root, -falls])
    pairs, scaled = _pairs_of(design), design / share
    return Nodes(weight, root, falls, share, peak, design, pairs, scaled, _pairs_of(scaled))


def _pairs_of(design: Array) -> Array:
    first, second = PAIRS
    twice = np.where(np.equal(first, second), 1.0, 2.0)
    pairs: Array = design[list(first)] * design[list(second)] * twice[:, None]
    return pairs


@lru_cache
def _repeated(nodes: Nodes, times: int) -> tuple[Array, Array, Array]:
    roots, falls, peaks = (np.tile(one, times) for one in (nodes.roots, nodes.falls, nodes.peaks))
    return roots, falls, peaks
