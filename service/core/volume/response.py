"""An athlete's own answer to weekly volume, learned from how strength and girths changed with the sets done.

A muscle grows by g(V) = s (sqrt V - r - d V / (2 sqrt P)) a week: s the slope, r the root of the weekly sets that hold
size, P the peak where there is a downturn (d = 1). No published group curve turns down [Pelland2025]_, so that d = 1 must
be earned. Given (r, P, d) and the share of a strength change that is size, all is linear in s: the posterior is a
mixture of Gaussians in s over fixed nodes, from ten sums that do not grow with the log. Sets do not shrink a muscle: s is
cut off at zero, so that where more went with less a downturn or noise has to explain it. Lifts walk partly together, and
so do girths, so that those of one muscle are weighed against their joint noise.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import log, sqrt
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from service.core.errors import OutsideValidity
from service.core.units import Share
from service.core.volume.hard_sets import TrainingAge
from service.core.volume.nodes import Nodes, nodes_of
from service.core.volume.truncated import ln_kept, moments

Array = NDArray[np.float64]
SeriesKind = Literal["strength", "girth"]

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
#: Size is taken as the square of a girth: two parts of it for one of the girth.
GIRTH_SHARE: Final = 2.0
#: What moves strength and girths besides growth (skill, sleep, water), a root week. (judgement) [1]
WALK: Final[dict[SeriesKind, float]] = {"strength": 0.008, "girth": 0.004}
#: Share of that walk's variance that all lifts of an athlete share, and all girths (sleep, food, water). (judgement)
SHARED_WALK: Final = 0.5
#: Strength that rises or falls with no regard to the sets done: steadily [1/week], and fading as a lift is learnt, halving
#: every eight weeks [1/week at the start]; mean and sd of each. All of an athlete's lifts share it. (judgement)
STEADY_DRIFT: Final[dict[TrainingAge, tuple[float, float]]] = {
    "novice": (0.0, 0.004), "unknown": (0.0, 0.005), "trained": (0.0, 0.0035),
}  # fmt: skip
LEARNING_DRIFT: Final[dict[TrainingAge, tuple[float, float]]] = {
    "novice": (0.02, 0.015), "unknown": (0.003, 0.006), "trained": (0.0, 0.001),
}  # fmt: skip
LEARNING_FADES_WEEKS: Final = 8.0
#: Tail of the steady drift: how many times as wide its sd is, and how often. Illness, a diet or misreported effort pull
#: strength down steadily: an end of the nodes must not be the likelier cause. (judgement)
STEADY_TAILS: tuple[tuple[float, Share], ...] = ((1.0, 0.95), (5.0, 0.05))
#: A steady drift so many times as wide may be anything: then only what sets differed in tells of them.
ANY_DRIFT: Final = 1000.0


@dataclass(frozen=True, slots=True)
class GrowthSeries:
    """Changes of one lift's ln strength or one ln girth over successive stretches, and the sets done in them.

    ``changes`` (k) [1] err with ``covariance`` (k, k); ``weeks`` (k) long [week], one after the other from ``start`` [week]
    on an axis that all series share; ``roots`` (k) are the sums of the roots of the muscle's weekly hard sets, ``doses`` (k)
    of the sets themselves. ``share`` is the part of what is measured that the muscle is [1]; ``beside`` (k) [root set week]
    is what else of it moves with the muscle's slope. ``heard`` (k) says which stretches count, None that all do
    (`plausible.set_aside`).

    Raises:
        OutsideValidity: lengths differ, a number is not finite, or a stretch has no length.
    """

    kind: SeriesKind
    changes: Array
    covariance: Array
    weeks: Array
    roots: Array
    doses: Array
    start: float = 0.0
    share: Share = 1.0
    beside: Array | None = None
    heard: NDArray[np.bool_] | None = None

    def __post_init__(self) -> None:
        k = len(self.changes)
        listed = (self.changes, self.weeks, self.roots, self.doses, self._beside)
        alike = all(len(one) == k for one in listed) and self.covariance.shape == (k, k)
        numbers = np.concatenate([*listed, self.covariance.ravel()])
        if not alike or not np.isfinite(numbers).all() or (self.weeks <= 0.0).any():
            raise OutsideValidity(stretches=k)

    @property
    def _beside(self) -> Array:
        return np.zeros(len(self.changes)) if self.beside is None else self.beside

    @property
    def counts(self) -> NDArray[np.bool_]:
        """Which stretches count; (k)."""
        return np.ones(len(self.changes), dtype=bool) if self.heard is None else self.heard

    @property
    def weeks_heard(self) -> float:
        """The length of the stretches that count. [week]"""
        return float(self.weeks[self.counts].sum())

    @property
    def ends(self) -> Array:
        """The k + 1 ends of the stretches. [week]"""
        return self.start + np.concatenate([[0.0], np.cumsum(self.weeks)])

    @property
    def design(self) -> Array:
        """What slope and drifts are multiplied with, over (roots, weeks, doses, learning); (k, 4)."""
        own = np.column_stack([self.roots, self.weeks, self.doses]) * self.share
        return np.column_stack([own[:, 0] + self._beside, own[:, 1:], learning_of(self.weeks)])


@dataclass(frozen=True, slots=True)
class GrowthSums:
    """What series of one kind say of growth: ``quadratic`` (4, 4) and ``linear`` (4) over (roots, weeks, doses, learning):
    the second and the last are also what the drifts of strength are multiplied with.

    ``weeks`` is their whole length, ``series`` how many they are.
    """

    quadratic: Array
    linear: Array
    weeks: float
    series: int


NOTHING: Final = GrowthSums(np.zeros((4, 4)), np.zeros(4), 0.0, 0)


def learning_of(weeks: Array) -> Array:
    """Return how much of a drift that fades from the first stretch on falls into each of them. [week]"""
    ends = np.concatenate([[0.0], np.cumsum(weeks)])
    faded: Array = LEARNING_FADES_WEEKS / log(2.0) * (1.0 - 2.0 ** (-ends / LEARNING_FADES_WEEKS))
    return np.diff(faded)


def sums_of(series: Sequence[GrowthSeries]) -> GrowthSums:
    """Return the sums of series of one kind: generalised least squares of their changes, shared walks and errors counted."""
    if not any(one.counts.any() for one in series):
        return NOTHING
    heard = np.concatenate([one.counts for one in series])
    design = np.concatenate([one.design for one in series])[heard]
    changes = np.concatenate([one.changes for one in series])[heard]
    weighed = np.linalg.solve(noise_of(series)[np.ix_(heard, heard)], design)
    weeks = sum(one.weeks_heard for one in series)
    count = sum(bool(one.counts.any()) for one in series)
    return GrowthSums(design.T @ weighed, weighed.T @ changes, weeks, count)


def noise_of(series: Sequence[GrowthSeries]) -> Array:
    """Return the covariance of all changes of some series of one kind: each one's errors and walk, and the shared walk."""
    walk = WALK[series[0].kind] ** 2
    begins, ends = (
        np.concatenate([one.ends[at] for one in series]) for at in (slice(None, -1), slice(1, None))
    )
    together = np.minimum.outer(ends, ends) - np.maximum.outer(begins, begins)
    noise: Array = walk * SHARED_WALK * np.maximum(together, 0.0)
    place = 0
    for one in series:
        here = slice(place, place + len(one.changes))
        noise[here, here] += one.covariance + walk * (1.0 - SHARED_WALK) * np.diag(one.weeks)
        place = here.stop
    return noise


@dataclass(frozen=True, slots=True)
class GrowthEvidence:
    """What is known of one muscle's growth: from strength, and from girths."""

    strength: GrowthSums = NOTHING
    girth: GrowthSums = NOTHING

    @property
    def weeks(self) -> float:
        """Series-weeks behind it. [week]"""
        return self.strength.weeks + self.girth.weeks

    @property
    def series(self) -> int:
        """Number of lifts and girths behind it."""
        return self.strength.series + self.girth.series

    @property
    def fell(self) -> bool:
        """Whether strength or girths fell on the whole: the sign of their steady change, by generalised least squares."""
        return bool(self.strength.linear[1] < 0.0 or self.girth.linear[1] < 0.0)


def evidence_of(series: Iterable[GrowthSeries]) -> GrowthEvidence:
    """Return the evidence of several lifts and girths of one muscle."""
    told = tuple(series)
    strength, girth = ([one for one in told if one.kind == kind] for kind in ("strength", "girth"))
    return GrowthEvidence(sums_of(strength), sums_of(girth))


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
    what was measured fell. ``prior`` is the slope's prior, ``weeks`` and ``series`` what was seen.
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
    weeks: float
    series: int

    @property
    def slope(self) -> tuple[float, float]:
        """Mean and sd of the slope. [1 / week / root set]"""
        return _of_mixture(self.weights, self.slopes, self.slope_sds)

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
        believed, evidence.weeks, evidence.series,
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
