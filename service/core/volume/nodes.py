"""What the slope of the answer to volume is conditioned on, over fixed nodes: root to hold, share, peak.

Roots and shares are a rank-1 lattice of the golden ratio rather than a product of one with the other: no two nodes have the same
root, nor the same share. Where much is known each node's slope is narrow, and a product's chances rise in as many steps as it has
roots or shares; a lattice of as many nodes has as many steps as nodes. For what is smooth both are exact to many digits.

References:
    Lattices: Sloan and Joe, Lattice Methods for Multiple Integration (1994); the trapezoidal rule for what falls off as a normal
    does: Trefethen and Weideman, SIAM Review 56 (2014), both from memory.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import sqrt
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
#: Nodes of the peak (Gauss-Hermite), and the golden ratio's share, of which no multiples lie close.
_PEAK_NODES: Final = 3
_GOLDEN: Final = 0.5 * (sqrt(5.0) - 1.0)


@dataclass(frozen=True, slots=True)
class Grid:
    """How far apart nodes of roots and shares lie without a downturn, and with one, and how far out they go. [sd]"""

    apart: float
    apart_with_downturn: float
    reach: float


#: For all that is told of the slope; and for the sets of a gain, which rise in a step of the root where the slope is known.
USUAL: Final = Grid(0.66, 1.3, 4.4)
FINE: Final = Grid(0.28, 0.8, 4.0)


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


@lru_cache
def peak_ends() -> Array:
    """Return the ends of what the nodes of the peak stand for, as shares of its log-normal that lie below them."""
    return np.concatenate([[0.0], np.cumsum(_peaks()[1])])


def _peaks() -> tuple[Array, Array]:
    """Return the nodes of the peak and their weights."""
    scores, weights = np.polynomial.hermite_e.hermegauss(_PEAK_NODES)
    return PEAK * np.exp(PEAK_LOG_SD * scores), weights / weights.sum()


def _lattice(apart: float, reach: float) -> tuple[Array, Array, Array]:
    """Return pairs of scores of two standard normals within a circle, and their weights."""
    count = round((2.0 * reach / apart) ** 2)
    places = np.arange(count) + 0.5
    scores: Array = reach * (2.0 * np.vstack([places / count, places * _GOLDEN % 1.0]) - 1.0)
    off = (scores**2).sum(axis=0)
    scores, off = scores[:, off < reach**2], off[off < reach**2]
    weights: Array = np.exp(-0.5 * off)
    return scores[0], scores[1], weights / weights.sum()


@lru_cache
def nodes_of(training: TrainingAge, grid: Grid = USUAL) -> Nodes:
    """Return the nodes of an athlete of that training age."""
    rising = _lattice(grid.apart, grid.reach)
    turning = _lattice(grid.apart_with_downturn, grid.reach)
    parts = [(np.inf, 1.0 - DOWNTURN, rising)]
    parts += [(peak, DOWNTURN * often, turning) for peak, often in zip(*_peaks(), strict=True)]
    at_root, at_share = (np.concatenate([scores[at] for *_, scores in parts]) for at in (0, 1))
    weight = np.concatenate([often * scores[2] for _, often, scores in parts])
    peak = np.concatenate([np.full(len(scores[2]), one) for one, _, scores in parts])
    root = ROOT_TO_HOLD * np.exp(ROOT_TO_HOLD_LOG_SD * at_root)
    share = SIZE_SHARE[training] * np.exp(SIZE_SHARE_LOG_SD * at_share)
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
