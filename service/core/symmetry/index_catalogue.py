"""The published indices of side-to-side difference, each with its reference limb and its sign convention.

Forms as catalogued by [Bishop2016]_ and [Parkinson2021]_, mostly seen in secondary sources: ``form_seen`` says which
were read where they were printed. Names collide in print: "symmetry index" stands for three formulas and "limb
symmetry index" for five, so each has its own id here.
"""

from collections.abc import Callable
from dataclasses import dataclass
from math import atan, exp, inf, pi, tanh
from typing import Literal

from service.core.units import LogRatio

Side = Literal["left", "right"]
#: What a caller must say before an index has a meaning.
Needs = Literal["none", "dominance", "involved_side"]
#: Which limb stands over which in the log ratio that an index is a function of.
Orientation = Literal[
    "right_to_left", "left_to_right", "stronger_to_weaker", "dominant_to_other", "uninvolved_to_involved"
]
#: How the form came to us: read in print, seen in another work that repeats it, or recalled.
FormSeen = Literal["read", "secondary_source", "from_memory"]


@dataclass(frozen=True, slots=True)
class Index:
    """One published index.

    ``shape`` maps the log ratio in the ``orientation`` named to the index, and never falls and rises both. ``source``
    is where the index comes from, ``form_seen`` how its form came to us, ``also_printed`` other forms with the same value.
    """

    id: str
    title: str
    expression: str
    source: str
    reference_limb: str
    sign_convention: str
    orientation: Orientation
    shape: Callable[[LogRatio], float]
    also_printed: tuple[str, ...] = ()
    unit: str = "%"
    form_seen: FormSeen = "secondary_source"

    @property
    def needs(self) -> Needs:
        """What must be known about the two sides besides their values."""
        if self.orientation == "dominant_to_other":
            return "dominance"
        return "involved_side" if self.orientation == "uninvolved_to_involved" else "none"


def _exp(exponent: float) -> float:
    return exp(exponent) if exponent < 700 else inf


def _share(u: LogRatio) -> float:
    return 100 * _exp(-u)


def _inverse_share(u: LogRatio) -> float:
    return 100 * _exp(u)


def _deficit(u: LogRatio) -> float:
    return 100 * (1 - _exp(-u))


def _negative_deficit(u: LogRatio) -> float:
    return 100 * (_exp(-u) - 1)


def _excess(u: LogRatio) -> float:
    return 100 * (_exp(u) - 1)


def _of_sum(u: LogRatio) -> float:
    return 100 * tanh(u / 2)


def _of_mean(u: LogRatio) -> float:
    return 200 * tanh(u / 2)


def _angle(u: LogRatio) -> float:
    return 200 / pi * atan(tanh(u / 2))


def _log(u: LogRatio) -> float:
    return 100 * u


def _fraction_of_sum(u: LogRatio) -> float:
    return tanh(u / 2)


def _fraction_of_mean(u: LogRatio) -> float:
    return 2 * tanh(u / 2)


_BY_DOMINANCE = "positive where the dominant limb is stronger"
_RIGHT = "positive where the right limb is stronger"
_LEFT = "positive where the left limb is stronger"
_UNSIGNED = "never negative; the side is not told"

_CATALOGUE = (
    Index(
        id="limb_symmetry_of_dominant",
        title="Limb symmetry index, non-dominant over dominant",
        expression="100 non-dominant / dominant",
        source="Bishop2016",
        reference_limb="dominant",
        sign_convention="100 is equality, less where the dominant limb is stronger",
        orientation="dominant_to_other",
        shape=_share,
    ),
    Index(
        id="limb_symmetry_deficit",
        title="Limb symmetry index, deficit of the non-dominant limb",
        expression="100 (1 - non-dominant / dominant)",
        source="Bishop2016",
        reference_limb="dominant",
        sign_convention=_BY_DOMINANCE,
        orientation="dominant_to_other",
        shape=_deficit,
        also_printed=("100 - 100 non-dominant / dominant",),
    ),
    Index(
        id="limb_symmetry_right_left",
        title="Limb symmetry index, right less left over the mean",
        expression="100 (right - left) / ((right + left) / 2)",
        source="Bishop2016",
        reference_limb="mean of both",
        sign_convention=_RIGHT,
        orientation="right_to_left",
        shape=_of_mean,
    ),
    Index(
        id="limb_symmetry_of_nondominant",
        title="Limb symmetry index, dominant over non-dominant",
        expression="100 dominant / non-dominant",
        source="Bishop2016",
        reference_limb="non-dominant",
        sign_convention="100 is equality, more where the dominant limb is stronger",
        orientation="dominant_to_other",
        shape=_inverse_share,
    ),
    Index(
        id="limb_symmetry_of_uninvolved",
        title="Limb symmetry index, involved over uninvolved",
        expression="100 involved / uninvolved",
        source="Parkinson2021",
        reference_limb="uninvolved",
        sign_convention="100 is equality, less where the uninvolved limb is stronger",
        orientation="uninvolved_to_involved",
        shape=_share,
    ),
    Index(
        id="bilateral_strength_asymmetry",
        title="Bilateral strength asymmetry",
        expression="100 (stronger - weaker) / stronger",
        source="Impellizzeri2007",
        reference_limb="stronger",
        sign_convention=_UNSIGNED,
        orientation="stronger_to_weaker",
        shape=_deficit,
        also_printed=("100 - 100 weaker / stronger", "(100 / stronger) weaker (-1) + 100"),
    ),
    Index(
        id="bilateral_strength_deficit",
        title="Bilateral strength asymmetry, weaker less stronger",
        expression="100 (weaker - stronger) / stronger",
        source="Bishop2016",
        reference_limb="stronger",
        sign_convention="never positive; the side is not told",
        orientation="stronger_to_weaker",
        shape=_negative_deficit,
    ),
    Index(
        id="bilateral_asymmetry_of_sum",
        title="Bilateral asymmetry index over the sum",
        expression="100 (dominant - non-dominant) / (dominant + non-dominant)",
        source="Bishop2016",
        reference_limb="sum of both",
        sign_convention=_BY_DOMINANCE,
        orientation="dominant_to_other",
        shape=_of_sum,
    ),
    Index(
        id="bilateral_asymmetry_of_mean",
        title="Bilateral asymmetry index over the mean",
        expression="200 (dominant - non-dominant) / (dominant + non-dominant)",
        source="Bishop2016",
        reference_limb="mean of both",
        sign_convention=_BY_DOMINANCE,
        orientation="dominant_to_other",
        shape=_of_mean,
    ),
    Index(
        id="asymmetry_by_dominance",
        title="Asymmetry index",
        expression="100 (dominant - non-dominant) / ((dominant + non-dominant) / 2)",
        source="Robinson1987",
        reference_limb="mean of both",
        sign_convention=_BY_DOMINANCE,
        orientation="dominant_to_other",
        shape=_of_mean,
    ),
    Index(
        id="symmetry_right_left",
        title="Symmetry index, right less left over the mean",
        expression="100 (right - left) / (0.5 (right + left))",
        source="Robinson1987",
        reference_limb="mean of both",
        sign_convention=_RIGHT,
        orientation="right_to_left",
        shape=_of_mean,
    ),
    Index(
        id="symmetry_of_sum",
        title="Symmetry index over the sum",
        expression="100 (higher - lower) / (higher + lower)",
        source="Bishop2016",
        reference_limb="sum of both",
        sign_convention=_UNSIGNED,
        orientation="stronger_to_weaker",
        shape=_of_sum,
    ),
    Index(
        id="symmetry_left_right_of_sum",
        title="Symmetry index over the sum, left less right",
        expression="100 (left - right) / (left + right)",
        source="Bishop2016",
        reference_limb="sum of both",
        sign_convention=_LEFT,
        orientation="left_to_right",
        shape=_of_sum,
    ),
    Index(
        id="symmetry_angle",
        title="Symmetry angle",
        expression="100 (45 deg - atan(left / right)) / 90 deg",
        source="Zifchock2008",
        reference_limb="none",
        sign_convention=_RIGHT,
        orientation="right_to_left",
        shape=_angle,
    ),
    Index(
        id="standard_percentage_difference",
        title="Standard percentage difference",
        expression="100 - 100 / higher * lower",
        source="Bishop2016",
        reference_limb="stronger",
        sign_convention=_UNSIGNED,
        orientation="stronger_to_weaker",
        shape=_deficit,
    ),
    Index(
        id="larger_over_smaller",
        title="Larger over smaller, less one",
        expression="100 (larger / smaller - 1)",
        source="MedicalAlgorithms2026",
        reference_limb="weaker",
        sign_convention=_UNSIGNED,
        orientation="stronger_to_weaker",
        shape=_excess,
        form_seen="read",
    ),
    Index(
        id="log_ratio_right_left",
        title="Log ratio, right over left",
        expression="100 ln(right / left)",
        source="Bishop2016",
        reference_limb="none",
        sign_convention=f"{_RIGHT}; printed the other way round, turned by us",
        orientation="right_to_left",
        shape=_log,
    ),
    Index(
        id="log_ratio_left_right",
        title="Log ratio, left over right",
        expression="100 ln(left / right)",
        source="Bishop2016",
        reference_limb="none",
        sign_convention=_LEFT,
        orientation="left_to_right",
        shape=_log,
    ),
    Index(
        id="relative_asymmetry_left_right",
        title="Relative asymmetry, left less right over the sum",
        expression="(left - right) / (left + right)",
        source="Ymisc2026",
        reference_limb="sum of both",
        sign_convention=_LEFT,
        orientation="left_to_right",
        shape=_fraction_of_sum,
        unit="1",
        form_seen="read",
    ),
    Index(
        id="asymmetry_of_mean",
        title="Asymmetry index over the mean, without a side",
        expression="2 |left - right| / (left + right)",
        source="Subtyper2026",
        reference_limb="mean of both",
        sign_convention=_UNSIGNED,
        orientation="stronger_to_weaker",
        shape=_fraction_of_mean,
        unit="1",
        form_seen="read",
    ),
)

#: All indices by id.
INDICES: dict[str, Index] = {index.id: index for index in _CATALOGUE}
