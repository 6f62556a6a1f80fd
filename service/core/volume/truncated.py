"""Normal distributions of what cannot be below nothing, cut off at zero: moments and chances, exact far out in the tail."""

from dataclasses import dataclass
from functools import cached_property
from math import sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import erfcx, log_ndtr, ndtr

Array = NDArray[np.float64]
#: Beyond this the first term of the tail's series stands for the closed form, which loses its digits there. [sd]
_FAR: Final = -300.0
#: From here on nothing worth a digit is cut off, and the scaled function of errors would overflow. [sd]
_WHOLE: Final = 36.0
#: From here on the share that is left is no number near the least that there is. [sd]
_PLAIN: Final = -30.0


@dataclass(frozen=True)
class CutNormals:
    """Normals cut off below zero: before that, how many spreads ``at`` their centres lie [sd], and ``spreads`` in their unit.

    References:
        Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions 1 (1994), 10.1; Mills' ratio by erfcx.
    """

    at: Array
    spreads: Array

    @cached_property
    def centres(self) -> Array:
        """Means before they are cut off, in their unit."""
        return self.at * self.spreads

    @cached_property
    def kept_over_density(self) -> Array:
        """What lies above zero of each over the density there, in spreads, but for a factor that all share."""
        if self._whole:
            ln_share: Array = log_ndtr(self.at) + 0.5 * self.at**2
            return np.asarray(np.exp(ln_share - ln_share.max()))
        scaled: Array = erfcx(self.at * -sqrt(0.5))
        return scaled

    @cached_property
    def _shift(self) -> Array:
        """How far the mean lies above the centre, which is the density where it is cut off over what is left. [sd]"""
        scaled = erfcx(np.minimum(self.at, _WHOLE) * -sqrt(0.5)) if self._whole else self.kept_over_density
        shift: Array = sqrt(2.0 / np.pi) / scaled
        return shift

    @cached_property
    def _whole(self) -> bool:
        return bool(self.at.max() > _WHOLE)

    @cached_property
    def means(self) -> Array:
        """Means of what is left."""
        means = self.centres + self.spreads * self._shift
        return means if self._near else np.where(self.at > _FAR, means, -self.spreads / self.at)

    @cached_property
    def sds(self) -> Array:
        """Standard deviations of what is left."""
        variances = 1.0 - self._shift * (self.at + self._shift)
        if not self._near:
            variances = np.where(self.at > _FAR, variances, 1.0 / np.minimum(self.at, _FAR) ** 2)
        return self.spreads * np.sqrt(variances)

    @cached_property
    def _near(self) -> bool:
        return bool(self.at.min() > _FAR)

    @property
    def density_at_nothing(self) -> Array:
        """The density of each where it is cut off, in one over their unit."""
        return self._shift / self.spreads

    @cached_property
    def _kept(self) -> Array | None:
        """The share of each that lies above zero, None where it is too small to divide by."""
        return ndtr(self.at) if self.at.min() > _PLAIN else None

    @cached_property
    def _one_over_spreads(self) -> Array:
        return 1.0 / self.spreads

    def chance_above(self, at: Array) -> Array:
        """Return the chance that each lies above ``at``: 1 for all that is not above zero."""
        beyond: Array = np.maximum(at, 0.0) * self._one_over_spreads
        np.subtract(self.at, beyond, out=beyond)
        if self._kept is None:
            return np.asarray(np.exp(log_ndtr(beyond) - log_ndtr(self.at)))
        ndtr(beyond, out=beyond)
        beyond /= self._kept
        return beyond
