"""Estimates, what they rest on, and why: the shapes in which the core speaks of uncertain things.

No estimate leaves the core as a bare float. Texts are rendered outside the core from ``code`` and ``params``.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

IntervalKind = Literal["credible", "prediction"]
Statistic = Literal["mean", "median", "mode", "criterion"]
Param = str | float | int | bool | None

#: Mass of an interval unless the caller asks for another (the service's convention).
DEFAULT_MASS = 0.8


@dataclass(frozen=True, slots=True)
class Interval:
    """An interval that holds the quantity with probability ``mass``; equal tails unless said otherwise."""

    lower: float
    upper: float
    mass: float = DEFAULT_MASS
    kind: IntervalKind = "credible"


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with its uncertainty. ``unit`` is a UCUM code, ``1`` for dimensionless, or ``{reps}``/``{sets}``.

    ``statistic`` says which summary of the distribution ``value`` is; ``criterion`` is the value at which a stated criterion is
    met, whatever the distribution's middle.
    """

    value: float
    unit: str
    sd: float
    interval: Interval
    statistic: Statistic = "median"


@dataclass(frozen=True, slots=True)
class Basis:
    """What an answer rests on.

    ``newest_day`` is the day of the newest observation on the caller's axis of elapsed days, ``prior_share`` the share
    (0 to 1) of the answer's precision that is owed to the prior and not to this athlete's own observations.
    """

    observation_count: int
    newest_day: float | None
    prior_share: float


@dataclass(frozen=True, slots=True)
class Reason:
    """Why an answer is what it is: a stable code and the numbers behind it."""

    code: str
    params: Mapping[str, Param] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Caution:
    """What the athlete must heed. ``urgency`` orders the texts; ``emergency`` always comes first."""

    code: str
    urgency: Literal["emergency", "same_day", "soon", "heed"] = "heed"
    params: Mapping[str, Param] = field(default_factory=dict)
