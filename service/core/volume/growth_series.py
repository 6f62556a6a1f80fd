"""How strength and girths changed over stretches of a log beside the sets done in them, and the sums that keep what they say."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import log
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from service.core.errors import OutsideValidity
from service.core.units import Share

Array = NDArray[np.float64]
SeriesKind = Literal["strength", "girth"]

#: Size is taken as the square of a girth: two parts of it for one of the girth.
GIRTH_SHARE: Final = 2.0
#: What moves strength and girths besides growth (skill, sleep, water), a root week. (judgement) [1]
WALK: Final[dict[SeriesKind, float]] = {"strength": 0.008, "girth": 0.004}
#: Share of that walk's variance that all lifts of an athlete share, and all girths (sleep, food, water). (judgement)
SHARED_WALK: Final = 0.5
#: A drift of strength fades as a lift is learnt: half of it in so many weeks (judgement). [week]
LEARNING_FADES_WEEKS: Final = 8.0


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
