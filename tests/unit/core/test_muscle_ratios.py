"""The ratio of opposing muscles: its distribution, and what must be alike."""

from math import exp, log

import numpy as np
import pytest

from service.core.errors import MixedInputs, OutsideValidity
from service.core.symmetry.ratios import OPPOSING, HowLoaded, ratio_of, refuse_unlike

pytestmark = pytest.mark.quick


def test_the_interval_agrees_with_simulated_values() -> None:
    rng = np.random.default_rng(4)
    over, under = (rng.lognormal(log(middle), sd, 400_000) for middle, sd in ((60, 0.08), (100, 0.05)))
    ratio = ratio_of((log(60), 0.08), (log(100), 0.05), 0.9)
    low, middle, high = np.quantile(over / under, (0.05, 0.5, 0.95))
    assert ratio.value == pytest.approx(middle, rel=0.003)
    assert (ratio.interval.lower, ratio.interval.upper) == pytest.approx((low, high), rel=0.005)
    assert ratio.sd == pytest.approx((over / under).std(), rel=0.01)


def test_turned_round_it_is_its_inverse() -> None:
    one, other = ratio_of((4.0, 0.1), (4.5, 0.2)), ratio_of((4.5, 0.2), (4.0, 0.1))
    assert one.value * other.value == pytest.approx(1.0, rel=1e-12)
    assert one.interval.lower * other.interval.upper == pytest.approx(1.0, rel=1e-12)


def test_known_values_have_no_spread() -> None:
    ratio = ratio_of((4.0, 0.0), (4.5, 0.0))
    assert ratio.interval.lower == ratio.value == ratio.interval.upper == pytest.approx(exp(-0.5))
    with pytest.raises(OutsideValidity):
        ratio_of((4.0, -0.1), (4.5, 0.0))


@pytest.mark.parametrize(
    ("other", "code"),
    [
        (HowLoaded("sled", "one limb", "left", 8), "mixed_devices"),
        (HowLoaded("cable", "both limbs", "left", 8), "mixed_modes"),
        (HowLoaded("cable", "one limb", "right", 8), "mixed_sides"),
        (HowLoaded("cable", "one limb", "left", 5), "mixed_repetitions"),
    ],
)
def test_unlike_values_are_refused_with_what_differs(other: HowLoaded, code: str) -> None:
    one = HowLoaded("cable", "one limb", "left", 8)
    with pytest.raises(MixedInputs) as refused:
        refuse_unlike(one, other)
    assert refused.value.facts["mixed"] == (code,)
    refuse_unlike(one, one)


def test_no_action_stands_on_both_sides_of_a_line_and_no_pair_twice() -> None:
    assert len({pair.id for pair in OPPOSING}) == len(OPPOSING)
    actions = [action for pair in OPPOSING for action in (pair.over, pair.under)]
    assert len(set(actions)) == len(actions)
