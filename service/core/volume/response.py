"""An athlete's own answer to weekly volume, learned from how strength and girths changed with the sets done.

A muscle grows by g(V) = s (sqrt V - r - d V / (2 sqrt P)) a week: s the slope, r the root of the weekly sets that hold
size, P the peak where there is a downturn (d = 1). No published group curve turns down [Pelland2025]_, so that d = 1 must
be earned. Given (r, P, d) and the share of a strength change that is size, all is linear in s: the posterior is a
mixture of Gaussians in s over fixed nodes, from ten sums that do not grow with the log. Sets do not shrink a muscle: s is
cut off at zero, so that where more went with less a downturn or noise has to explain it. Lifts walk partly together, and
so do girths, so that those of one muscle are weighed against their joint noise.
"""

from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from math import exp, log, sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray

from service.core.units import Share
from service.core.volume.growth_series import GIRTH_SHARE, GrowthEvidence, GrowthSums
from service.core.volume.hard_sets import TrainingAge
from service.core.volume.nodes import FINE, PAIRS, Nodes, nodes_of
from service.core.volume.truncated import CutNormals

Array = NDArray[np.float64]
Tails = tuple[tuple[float, Share], ...]

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
STEADY_TAILS: Tails = ((1.0, 0.95), (5.0, 0.05))
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
        return float(self._normal.means[0]), float(self._normal.sds[0])

    @property
    def density_at_nothing(self) -> float:
        """Density at zero of what is above it. [week root set]"""
        return float(self._normal.density_at_nothing[0])

    @property
    def _normal(self) -> CutNormals:
        return CutNormals(np.array([self.centre / self.spread]), np.array([self.spread]))


@lru_cache
def population_slope(training: TrainingAge) -> SlopePrior:
    """Return what is believed of the slope of somebody of whom nothing else is known."""
    mean = SLOPE_MEAN[training]
    return SlopePrior(SLOPE_CENTRE * mean, SLOPE_SPREAD * mean)


@dataclass(frozen=True)
class Response:
    """Posterior of one muscle's answer to volume: normals of the slope cut off at zero, over nodes of (root to hold, peak).

    ``normals`` are those of the slope; each of the ``nodes`` is told once for every tail of the drift. ``prior`` is the
    slope's prior, ``evidence`` what was seen. All else is worked out where it is asked for.
    """

    weights: Array
    normals: CutNormals
    nodes: Nodes
    evidence: GrowthEvidence
    training: TrainingAge
    prior: SlopePrior

    @property
    def centres(self) -> Array:
        """Means of the slope at each node before it is cut off at zero. [1 / week / root set]"""
        return self.normals.centres

    @property
    def spreads(self) -> Array:
        """Its sds before that. [1 / week / root set]"""
        return self.normals.spreads

    @property
    def slopes(self) -> Array:
        """Its means after that. [1 / week / root set]"""
        return self.normals.means

    @property
    def slope_sds(self) -> Array:
        """Its sds after that. [1 / week / root set]"""
        return self.normals.sds

    @cached_property
    def _places(self) -> tuple[Array, Array, Array]:
        return self.nodes.repeated(len(self.weights) // len(self.nodes.roots))

    @cached_property
    def finer(self) -> "Response":
        """The same over nodes that lie closer, for chances that rise with the root in a step."""
        fine = nodes_of(self.training, FINE)
        return self if self.nodes is fine else _posterior(self.evidence, self.training, self.prior, fine)

    @property
    def roots(self) -> Array:
        """Roots of the weekly sets that hold size, at each node. [root set]"""
        return self._places[0]

    @property
    def falls(self) -> Array:
        """1 / (2 sqrt P) at each node, 0 without a downturn. [1 / root set]"""
        return self._places[1]

    @property
    def peaks(self) -> Array:
        """The peak P at each node, infinite without a downturn. [hard sets]"""
        return self._places[2]

    @property
    def population(self) -> SlopePrior:
        """What was believed of the slope before any log."""
        return population_slope(self.training)

    @property
    def weeks(self) -> float:
        """Series-weeks behind it. [week]"""
        return self.evidence.weeks

    @property
    def series(self) -> int:
        """Number of lifts and girths behind it."""
        return self.evidence.series

    @property
    def fell(self) -> bool:
        """Whether what was measured fell."""
        return self.evidence.fell

    @cached_property
    def slope(self) -> tuple[float, float]:
        """Mean and sd of the slope. [1 / week / root set]"""
        return _of_mixture(self.weights, self.slopes, self.slope_sds)

    @cached_property
    def uncut(self) -> tuple[float, float]:
        """Mean and sd of the slope if it might be below zero: where that mean is, less came where sets were done, and the cut
        has put it down to noise or a downturn. [1 / week / root set]"""
        return uncut_slope(self.evidence, self.training, self.prior)

    @cached_property
    def apart(self) -> float:
        """Mean of the slope from what sets differed in alone, all that went on steadily left out: below zero, less came of more.
        [1 / week / root set]"""
        girth = self.evidence.girth
        steadied = replace(self.evidence, girth=_without_steady(girth) if girth.series else girth)
        return _uncut(steadied, self.training, self.prior, ((ANY_DRIFT, 1.0),))[0]

    @cached_property
    def no_effect(self) -> float:
        """How many times likelier what was seen is if sets do nothing than as anybody is believed to answer: a Bayes factor,
        the density of the slope at zero over what it was before any log."""
        return float(self.weights @ self.normals.density_at_nothing) / self.population.density_at_nothing

    @cached_property
    def p_downturn(self) -> Share:
        """How likely growth falls beyond some weekly sets. [1]"""
        return float(self.weights @ (self.falls > 0.0))


def respond(evidence: GrowthEvidence, training: TrainingAge, prior: SlopePrior | None = None) -> Response:
    """Return the posterior of a muscle's answer to volume.

    The prior is the population's unless one that the athlete's other muscles moved is given (`slope_prior_from`).

    References:
        Conjugate normal algebra for the slope, fixed nodes for the rest (`nodes`); priors as named above.
    """
    return _posterior(evidence, training, prior or population_slope(training), nodes_of(training))


def _posterior(
    evidence: GrowthEvidence, training: TrainingAge, believed: SlopePrior, nodes: Nodes
) -> Response:
    often, precision, linear = _seen(evidence, training, believed, STEADY_TAILS, nodes)
    spreads = 1.0 / np.sqrt(precision)
    normals = CutNormals(linear * spreads, spreads)
    # The evidence of a normal, exp(linear^2 / 2 precision), and the density where it is cut off take each other out.
    weights = often * normals.kept_over_density
    weights *= spreads
    weights /= weights.sum()
    return Response(weights, normals, nodes, evidence, training, believed)


def uncut_slope(evidence: GrowthEvidence, training: TrainingAge, prior: SlopePrior) -> tuple[float, float]:
    """Return mean and sd of the slope if it might be below zero. [1 / week / root set]"""
    return _uncut(evidence, training, prior, STEADY_TAILS)


def _uncut(
    evidence: GrowthEvidence, training: TrainingAge, believed: SlopePrior, tails: Tails
) -> tuple[float, float]:
    often, precision, linear = _seen(evidence, training, believed, tails, nodes_of(training))
    centres = linear / precision
    told = 0.5 * centres * linear
    spreads = 1.0 / np.sqrt(precision)
    weights = often * np.exp(told - told.max()) * spreads
    return _of_mixture(weights / weights.sum(), centres, spreads)


def _seen(
    evidence: GrowthEvidence, training: TrainingAge, believed: SlopePrior, tails: Tails, nodes: Nodes
) -> tuple[Array, Array, Array]:
    """Return how likely each node is in itself, and precision and linear term of the slope there: nodes are told once for
    every tail of the drift, one after the other, where there are lifts."""
    strength, girth = evidence.strength, evidence.girth
    usual = believed.spread**-2
    precision: Array | float = usual
    linear: Array | float = believed.centre * usual
    if girth.series:
        precision = usual + girth.quadratic[*PAIRS] / GIRTH_SHARE**2 @ nodes.pairs
        linear = linear + girth.linear[:3] / GIRTH_SHARE @ nodes.design
    if not strength.series:
        return nodes.weights, np.zeros(len(nodes.weights)) + precision, np.zeros(len(nodes.weights)) + linear
    pairs, lines, often = _freed(strength, training, tails)
    by_tail = np.array(pairs) @ nodes.scaled_pairs
    np.maximum(by_tail, 0.0, out=by_tail)
    by_tail += precision
    by_line = np.array(lines) @ nodes.scaled
    by_line += linear
    return np.multiply.outer(often, nodes.weights).ravel(), by_tail.ravel(), by_line.ravel()


def _without_steady(sums: GrowthSums) -> GrowthSums:
    """Return the sums with a steady change of any size taken out of them: a Schur complement on the weeks."""
    share = sums.quadratic[:, 1] / sums.quadratic[1, 1]
    quadratic = sums.quadratic - np.outer(share, sums.quadratic[1])
    return replace(sums, quadratic=quadratic, linear=sums.linear - share * sums.linear[1])


def _of_mixture(weights: Array, means: Array, sds: Array) -> tuple[float, float]:
    mean = float(weights @ means)
    return mean, sqrt(float(weights @ (sds**2 + (means - mean) ** 2)))


def _freed(
    sums: GrowthSums, training: TrainingAge, tails: Tails
) -> tuple[list[list[float]], list[list[float]], list[float]]:
    """Return what lifts say of the slope's columns with the drifts that they share integrated out: what rises anyway is no
    answer to sets. Quadratic terms by pairs and linear ones for each tail of the steady drift, and how likely the tail is.

    Schur complements in plain numbers: the drift of learning goes first, which all tails have alike.
    """
    (steady, steady_sd), (learning, learning_sd) = STEADY_DRIFT[training], LEARNING_DRIFT[training]
    held_learning = learning_sd**-2
    (rr, rw, rd, rl), (_, ww, wd, wl), (_, _, dd, dl), (*_, ll) = sums.quadratic.tolist()
    of_roots, of_weeks, of_doses, of_learning = sums.linear.tolist()
    known = ll + held_learning
    r, w, d, seen = rl / known, wl / known, dl / known, of_learning + held_learning * learning
    rr, rw, rd, ww, wd, dd = rr - r * rl, rw - r * wl, rd - r * dl, ww - w * wl, wd - w * dl, dd - d * dl
    of_roots, of_weeks, of_doses = of_roots - r * seen, of_weeks - w * seen, of_doses - d * seen
    pairs, lines, ln_told = [], [], []
    for times, share in tails:
        held = (times * steady_sd) ** -2
        known = ww + held
        r, w, d, seen = rw / known, ww / known, wd / known, of_weeks + held * steady
        pairs.append([rr - r * rw, rw - r * ww, rd - r * wd, ww - w * ww, wd - w * wd, dd - d * wd])
        lines.append([of_roots - r * seen, of_weeks - w * seen, of_doses - d * seen])
        ln_told.append(log(share) + 0.5 * (seen * seen / known - held * steady * steady + log(held / known)))
    most = max(ln_told)
    return pairs, lines, [exp(one - most) for one in ln_told]


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
