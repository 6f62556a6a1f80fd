"""What is left later of what was done before: exponential kernels, after the fitness-fatigue models."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def decayed_sums(amounts: Sequence[float] | Array, ages: Array, times: Array) -> Array:
    """Return what is left of all amounts together, each decaying exponentially with its age.

    ``ages`` holds one column an amount, ``times`` the decay times in the same unit, in any shape that lies
    beside ``ages`` under NumPy's rules. An amount of age 0 counts in full: what the day itself brings is in,
    which is the convention that reproduces the published fit of [Clarke2013]_.

    References
    ----------
    [Clarke2013]_, the sums of the impulse-response model.
    """
    return np.asarray((np.asarray(amounts, dtype=float) * np.exp(-ages / times)).sum(axis=-1))


def days_until_net_gain(gain: float, gain_days: float, loss: float, loss_days: float) -> float:
    """Return the days until one bout's lasting gain outweighs its passing loss. [d]

    ``gain`` and ``loss`` are what a bout leaves at once, each with its decay time; 0 where it never weighs less.

    References
    ----------
    [Clarke2013]_: where gain e^(-t/gain_days) equals loss e^(-t/loss_days).
    """
    if gain >= loss:
        return 0.0
    return float(np.log(loss / gain)) * gain_days * loss_days / (gain_days - loss_days)


def days_until_peak(gain: float, gain_days: float, loss: float, loss_days: float) -> float:
    """Return the days until one bout's net effect is largest. [d]

    References
    ----------
    [Clarke2013]_: where the derivative of the net effect is nought.
    """
    return days_until_net_gain(gain / gain_days, gain_days, loss / loss_days, loss_days)
