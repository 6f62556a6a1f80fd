"""The ratio of opposing muscles: what one can do over what the other can, on one device and in one mode.

A ratio means something only where both were measured alike: device, mode, repetitions and side change it more than
people differ (the conventional ratio of knee flexors to extensors rises with velocity, and healthy groups lie at 0.47 to
0.60 by how it was measured, read). So a ratio is told with its interval and never judged by a cut.
"""

from dataclasses import dataclass
from math import exp, sqrt
from statistics import NormalDist
from typing import Final, Literal

from service.core.errors import MixedInputs, OutsideValidity
from service.core.estimates import DEFAULT_MASS, Estimate, Interval
from service.core.units import LogRatio, Repetitions, Share

Unlike = Literal["mixed_devices", "mixed_modes", "mixed_repetitions", "mixed_sides"]


@dataclass(frozen=True, slots=True)
class OpposingActions:
    """Two actions of one joint that oppose each other; ``over`` stands above the line."""

    id: str
    joint: str
    over: str
    under: str


#: The actions that ratios are told of, in the direction in which each is usually printed.
OPPOSING: Final[tuple[OpposingActions, ...]] = (
    OpposingActions("knee_flexion_extension", "knee", "knee_flexion", "knee_extension"),
    OpposingActions("hip_adduction_abduction", "hip", "hip_adduction", "hip_abduction"),
    OpposingActions("hip_flexion_extension", "hip", "hip_flexion", "hip_extension"),
    OpposingActions("ankle_dorsiflexion_plantarflexion", "ankle", "dorsiflexion", "plantarflexion"),
    OpposingActions("elbow_flexion_extension", "elbow", "elbow_flexion", "elbow_extension"),
    OpposingActions(
        "shoulder_external_internal_rotation", "shoulder", "shoulder_external_rotation", "shoulder_internal_rotation"
    ),
    OpposingActions(
        "shoulder_horizontal_abduction_adduction", "shoulder", "shoulder_horizontal_abduction",
        "shoulder_horizontal_adduction",
    ),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class HowLoaded:
    """What must be the same above and below the line."""

    device: str
    mode: str
    side: str
    repetitions: Repetitions | None = None


def unlike(over: HowLoaded, under: HowLoaded) -> tuple[Unlike, ...]:
    """Return in what two values differ that must be alike."""
    checks: tuple[tuple[Unlike, bool], ...] = (
        ("mixed_devices", over.device != under.device),
        ("mixed_modes", over.mode != under.mode),
        ("mixed_repetitions", over.repetitions != under.repetitions),
        ("mixed_sides", over.side != under.side),
    )
    return tuple(code for code, differs in checks if differs)


def refuse_unlike(over: HowLoaded, under: HowLoaded) -> None:
    """Raise MixedInputs where two values were not measured alike."""
    if differing := unlike(over, under):
        raise MixedInputs(mixed=differing)


def ratio_of(
    over: tuple[LogRatio, LogRatio], under: tuple[LogRatio, LogRatio], mass: Share = DEFAULT_MASS
) -> Estimate:
    """Return the ratio of two values of which mean and sd of the logarithm are known.

    The errors are taken as independent. What both share, such as the form of the day, is then counted twice: the interval is
    wider than need be, never narrower (judgement). The median is told, so that the ratio turned round is its inverse.

    Raises
    ------
    OutsideValidity
        For a negative sd.
    """
    if min(over[1], under[1]) < 0.0:
        raise OutsideValidity(over_sd=over[1], under_sd=under[1])
    mean, sd = over[0] - under[0], sqrt(over[1] ** 2 + under[1] ** 2)
    reach = NormalDist().inv_cdf(0.5 + 0.5 * mass) * sd
    spread = exp(mean + 0.5 * sd * sd) * sqrt(exp(sd * sd) - 1.0)
    return Estimate(exp(mean), "1", spread, Interval(exp(mean - reach), exp(mean + reach), mass), "median")
