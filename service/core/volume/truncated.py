"""Normal distributions of what cannot be below nothing, cut off at zero: moments and chances, exact far out in the tail."""

import numpy as np
from numpy.typing import NDArray
from scipy.special import erfcx, log_ndtr

Array = NDArray[np.float64]
#: Beyond this the first term of the tail's series stands for the closed form, which loses its digits there. [sd]
_FAR = -300.0


def moments(centres: Array, spreads: Array) -> tuple[Array, Array]:
    """Return means and sds of normals cut off below zero; ``centres`` and ``spreads`` are theirs before that, in their unit.

    References:
        Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions 1 (1994), 10.1; Mills' ratio by erfcx.
    """
    at = centres / spreads
    near, far = np.maximum(at, _FAR), np.minimum(at, _FAR)
    shift = np.sqrt(2.0 / np.pi) / erfcx(-near / np.sqrt(2.0))
    means = np.where(at > _FAR, centres + spreads * shift, -spreads / far)
    variances = np.where(at > _FAR, 1.0 - near * shift - shift**2, 1.0 / far**2)
    return means, spreads * np.sqrt(variances)


def ln_kept(centres: Array, spreads: Array) -> Array:
    """Return the logarithm of the share of each normal that lies above zero: what cutting it off leaves of its evidence."""
    kept: Array = log_ndtr(centres / spreads)
    return kept


def chance_above(at: Array, centres: Array, spreads: Array, ln_all: Array | None = None) -> Array:
    """Return the chance that each lies above ``at``: 1 for all that is not above zero.

    ``ln_all`` is what ``ln_kept`` says of them, where it is known already.
    """
    beyond = log_ndtr((centres - np.maximum(at, 0.0)) / spreads)
    chance: Array = np.exp(beyond - (ln_kept(centres, spreads) if ln_all is None else ln_all))
    return chance


def density_at_nothing(centres: Array, spreads: Array) -> Array:
    """Return the density of each cut normal where it is cut off, in one over their unit."""
    density: Array = np.sqrt(2.0 / np.pi) / erfcx(-centres / (np.sqrt(2.0) * spreads)) / spreads
    return density
