"""An athlete's own answer to weekly volume, learned from how strength and girths changed with the sets done.

A muscle grows by g(V) = s (sqrt V - r - d V / (2 sqrt P)) a week: s the slope, r the root of the weekly sets that hold
size, P the peak where there is a downturn (d = 1). No published group curve turns down [Pelland2025]_, so that d = 1 must
be earned. Given (r, P, d) and the share of a strength change that is size, all is linear in s: the posterior is a
mixture of Gaussians in s over fixed nodes, from ten sums that do not grow with the log. Sets do not shrink a muscle: s is
cut off at zero, so that where more went with less a downturn or noise has to explain it. Lifts walk partly together, and
so do girths, so that those of one muscle are weighed against their joint noise.
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from math import log, sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray

from service.core.units import Share
from service.core.volume.growth_series import GIRTH_SHARE, GrowthEvidence, GrowthSums
from service.core.volume.hard_sets import TrainingAge
from service.core.volume.nodes import Nodes, nodes_of
from service.core.volume.truncated import density_at_nothing, ln_kept, moments

Array = NDArray[np.float64]

#: Slope a week and root weekly set, mean. 1.68 % over 12 weeks, from 0.24 % a set at 12.25 sets, gives 0.0014
#: ([Pelland2025]_, from memory); the linear 0.37 % a set of [Schoenfeld2017]_ is that curve's slope at 5.2 sets.
#: Trained lifters near 0.8 of it, and who is not known near them (judgement).
SLOPE_MEAN: Final[dict[TrainingAge, float]] = {"novice": 0.0014, "unknown": 0.00112, "trained": 0.00109}
#: Coefficient of variation between people. [Hubal2005]_ saw 0.48 and 0.51 of growth, error included; wider here since the
#: slope itself is recalled. With these means a detectable gain begins near the four weekly sets that [Pelland2025]_ is
#: reported with, and one more set adds little from eight on (judgement).
SLOPE_CV: Final = 0.66
#: Centre and spread, for one of the mean, of the normal that cut off at zero has that mean and variation.
SLOPE_CENTRE, SLOPE_SPREAD = 0.6378, 0.8932
#: Share of the slope's variance that is the person's, the same for every muscle (judgement).
PERSON_SHARE: Final = 0.6
#: How much of what lifts elsewhere say of the person is believed: they share drifts, walks and the part of strength that is
#: size with the muscle's own lifts, so that it comes twice. (judgement, by the intervals of invented athletes)
ELSEWHERE_TRUST: Final = 0.35
#: Strength that rises or falls with no regard to the sets done: steadily [1/week], and fading as a lift is learnt, halving
#: every eight weeks [1/week at the start]; mean and sd of each. All of an athlete's lifts share it. (judgement)
STEADY_DRIFT: Final[dict[TrainingAge, tuple[float, float]]] = {
    "novice": (0.0, 0.004), "unknown": (0.0, 0.005), "trained": (0.0, 0.0035),
}  # fmt: skip
LEARNING_DRIFT: Final[dict[TrainingAge, tuple[float, float]]] = {
    "novice": (0.02, 0.015), "unknown": (0.003, 0.006), "trained": (0.0, 0.001),
}  # fmt: skip
#: Tail of the steady drift: how many times as wide its sd is, and how often. Illness, a diet or misreported effort pull
#: strength down steadily: an end of the nodes must not be the likelier cause. (judgement)
STEADY_TAILS: tuple[tuple[float, Share], ...] = ((1.0, 0.95), (5.0, 0.05))
#: A steady drift so many times as wide may be anything: then only what sets differed in tells of them.
ANY_DRIFT: Final = 1000.0


@dataclass(frozen=True, slots=True)
class SlopePrior:
    """Prior of the slope: a normal cut off at zero, by its centre and spread before that. [1 / week / root set]"""

    centre: float
    spread: float

    @property
    def moments(self) -> tuple[float, float]:
        """Mean and sd of what is above zero. [1 / week / root set]"""
        mean, sd = moments(np.array(self.centre), np.array(self.spread))
        return float(mean), float(sd)


@lru_cache
def population_slope(training: TrainingAge) -> SlopePrior:
    """Return what is believed of the slope of somebody of whom nothing else is known."""
    mean = SLOPE_MEAN[training]
    return SlopePrior(SLOPE_CENTRE * mean, SLOPE_SPREAD * mean)


@dataclass(frozen=True, slots=True)
class Response:
    """Posterior of one muscle's answer to volume: normals of the slope cut off at zero, over nodes of (root to hold, peak).

    ``centres`` and ``spreads`` are the normals' before the cut, ``slopes`` and ``slope_sds`` means and sds after it.
    ``falls`` is 1 / (2 sqrt P), 0 without a downturn. ``uncut`` holds mean and sd of the slope if it might be below zero:
    where that mean is, less came where sets were done, and the cut has put it down to noise or a downturn. ``apart`` is that
    mean from what sets differed in alone, all that went on steadily left out: below zero, less came of more; ``fell`` whether
    what was measured fell. ``prior`` is the slope's prior, ``population`` anybody's, ``weeks`` and ``series`` what was seen.
    """

    weights: Array
    centres: Array
    spreads: Array
    slopes: Array
    slope_sds: Array
    roots: Array
    falls: Array
    peaks: Array
    uncut: tuple[float, float]
    apart: float
    fell: bool
    prior: SlopePrior
    population: SlopePrior
    weeks: float
    series: int

    @property
    def slope(self) -> tuple[float, float]:
        """Mean and sd of the slope. [1 / week / root set]"""
        return _of_mixture(self.weights, self.slopes, self.slope_sds)

    @property
    def no_effect(self) -> float:
        """How many times likelier what was seen is if sets do nothing than as anybody is believed to answer: a Bayes factor,
        the density of the slope at zero over what it was before any log."""
        usual = density_at_nothing(np.array(self.population.centre), np.array(self.population.spread))
        return float(self.weights @ density_at_nothing(self.centres, self.spreads) / usual)

    @property
    def p_downturn(self) -> Share:
        """How likely growth falls beyond some weekly sets. [1]"""
        return float(self.weights @ (self.falls > 0.0))


def respond(evidence: GrowthEvidence, training: TrainingAge, prior: SlopePrior | None = None) -> Response:
    """Return the posterior of a muscle's answer to volume.

    The prior is the population's unless one that the athlete's other muscles moved is given (`slope_prior_from`).

    References:
        Conjugate normal algebra for the slope, fixed Gauss-Hermite nodes for the rest; priors as named above.
    """
    believed = prior or population_slope(training)
    nodes = nodes_of(training)
    ln_evidence, centres, spreads = _uncut(evidence, training, believed)
    uncut = _of_mixture(_weights(ln_evidence), centres, spreads)
    slopes, slope_sds = moments(centres, spreads)
    # Each node as often as there are tails of the drift.
    roots, falls, peaks = (np.resize(one, len(centres)) for one in (nodes.roots, nodes.falls, nodes.peaks))
    weights, apart = _weights(ln_evidence + ln_kept(centres, spreads)), _apart(evidence, training, believed)
    return Response(
        weights, centres, spreads, slopes, slope_sds, roots, falls, peaks, uncut, apart, evidence.fell,
        believed, population_slope(training), evidence.weeks, evidence.series,
    )  # fmt: skip


def uncut_slope(evidence: GrowthEvidence, training: TrainingAge, prior: SlopePrior) -> tuple[float, float]:
    """Return mean and sd of the slope if it might be below zero. [1 / week / root set]"""
    ln_evidence, centres, spreads = _uncut(evidence, training, prior)
    return _of_mixture(_weights(ln_evidence), centres, spreads)


def _uncut(
    evidence: GrowthEvidence, training: TrainingAge, believed: SlopePrior
) -> tuple[Array, Array, Array]:
    """Return log evidence, centre and spread of the slope at each node, before it is cut off at zero; nodes are told once
    for every tail of the drift, where there are lifts."""
    nodes = nodes_of(training)
    precision: Array = np.full(len(nodes.roots), believed.spread**-2)
    linear, ln_weights = believed.centre * precision, nodes.ln_weights
    if evidence.girth.series:
        told = _of_girths(evidence.girth, nodes)
        precision, linear = precision + told[0], linear + told[1]
    if evidence.strength.series:
        by_tail = [_of_strength(evidence.strength, nodes, training, times) for times, _ in STEADY_TAILS]
        ln_weights = np.concatenate(
            [
                ln_weights + log(often) + told[2]
                for (_, often), told in zip(STEADY_TAILS, by_tail, strict=True)
            ]
        )
        precision, linear = (
            np.concatenate([usual + told[place] for told in by_tail])
            for place, usual in enumerate((precision, linear))
        )
    centres = linear / precision
    return ln_weights + 0.5 * (centres * linear - np.log(precision)), centres, precision**-0.5


def _apart(evidence: GrowthEvidence, training: TrainingAge, believed: SlopePrior) -> float:
    """Return the mean of the slope from what sets differed in alone, whatever went on steadily. [1 / week / root set]"""
    nodes = nodes_of(training)
    precision: Array = np.full(len(nodes.roots), believed.spread**-2)
    linear = believed.centre * precision
    if evidence.girth.series:
        told = _of_girths(_without_steady(evidence.girth), nodes)
        precision, linear = precision + told[0], linear + told[1]
    if evidence.strength.series:
        told = _of_strength(evidence.strength, nodes, training, ANY_DRIFT)[:2]
        precision, linear = precision + told[0], linear + told[1]
    centres = linear / precision
    weights = _weights(nodes.ln_weights + 0.5 * (centres * linear - np.log(precision)))
    return float(weights @ centres)


def _without_steady(sums: GrowthSums) -> GrowthSums:
    """Return the sums with a steady change of any size taken out of them: a Schur complement on the weeks."""
    share = sums.quadratic[:, 1] / sums.quadratic[1, 1]
    quadratic = sums.quadratic - np.outer(share, sums.quadratic[1])
    return replace(sums, quadratic=quadratic, linear=sums.linear - share * sums.linear[1])


def _weights(ln_evidence: Array) -> Array:
    weights = np.exp(ln_evidence - ln_evidence.max())
    normed: Array = weights / weights.sum()
    return normed


def _of_mixture(weights: Array, means: Array, sds: Array) -> tuple[float, float]:
    mean = float(weights @ means)
    return mean, sqrt(float(weights @ (sds**2 + (means - mean) ** 2)))


def _of_girths(sums: GrowthSums, nodes: Nodes) -> tuple[Array, Array]:
    """Return precision and linear term of the slope that girths add at each node."""
    across = nodes.design @ sums.quadratic[:3, :3]
    return (across * nodes.design).sum(axis=1) / GIRTH_SHARE**2, nodes.design @ sums.linear[:3] / GIRTH_SHARE


def _of_strength(
    sums: GrowthSums, nodes: Nodes, training: TrainingAge, times: float
) -> tuple[Array, Array, float]:
    """Return the same of lifts, with the drifts that they share integrated out: what rises anyway is no answer to sets.

    The steady one's sd is so many ``times`` the usual; the last number is the log evidence for that.
    """
    (steady, steady_sd), (learning, learning_sd) = STEADY_DRIFT[training], LEARNING_DRIFT[training]
    held, means = np.array([(times * steady_sd) ** -2, learning_sd**-2]), np.array([steady, learning])
    drifts = sums.quadratic[1::2, 1::2] + np.diag(held)
    freed = np.linalg.solve(drifts, sums.quadratic[1::2, :3])
    seen = sums.linear[1::2] + held * means
    # Precision and linear term of the slope's columns with the drifts integrated out: a Schur complement.
    quadratic = sums.quadratic[:3, :3] - sums.quadratic[:3, 1::2] @ freed
    precision = np.einsum("ni,ni->n", nodes.scaled @ quadratic, nodes.scaled)
    ln_told = 0.5 * (seen @ np.linalg.solve(drifts, seen) - held @ means**2)
    ln_told += 0.5 * float(np.log(held).sum() - np.linalg.slogdet(drifts)[1])
    return np.maximum(precision, 0.0), nodes.scaled @ (sums.linear[:3] - seen @ freed), float(ln_told)


def slope_prior_from(elsewhere: GrowthEvidence, training: TrainingAge) -> SlopePrior:
    """Return the prior of one muscle's slope from what lifts that do not train it say of the person, taken together.

    A muscle's slope is the person's plus its own, which have ``PERSON_SHARE`` of the variance and the rest. The lifts are
    one observation, not several: they share the size that is in strength, and drift; and only ``ELSEWHERE_TRUST`` of it. It
    says no less than that sets do nothing: what fell fell for other reasons.
    """
    usual = population_slope(training)
    own = (1.0 - PERSON_SHARE) * usual.spread**2
    precision = 1.0 / (PERSON_SHARE * usual.spread**2)
    weighed = usual.centre * precision
    mean, sd = uncut_slope(elsewhere, training, usual)
    gained = sd**-2 - usual.spread**-2
    if gained > 0.0:
        seen = max((mean * sd**-2 - usual.centre * usual.spread**-2) / gained, 0.0)
        weight = 1.0 / (1.0 / (ELSEWHERE_TRUST * gained) + own)
        precision += weight
        weighed += weight * seen
    return SlopePrior(weighed / precision, sqrt(1.0 / precision + own))
