"""Tape readings of the two sides."""

from math import log

import pytest

from service.core.errors import MixedInputs, TooFewObservations
from service.core.symmetry.girths import GirthReading, reading_from_girths

pytestmark = pytest.mark.quick


def tape(*readings: tuple[str, float], site: str = "upper-arm") -> list[GirthReading]:
    return [GirthReading(site, side, girth) for side, girth in readings]  # type: ignore[arg-type]


def test_area_goes_with_the_square_of_the_girth() -> None:
    found = reading_from_girths(tape(("left", 54.0), ("right", 55.0)))
    assert 100 * found.t == pytest.approx(3.669828, abs=5e-7)
    assert found.kind == "size"


def test_the_error_is_that_of_both_sides_and_falls_with_readings() -> None:
    one = reading_from_girths(tape(("left", 36.0), ("right", 36.0)))
    assert one.variance == pytest.approx(4 * 2 * 0.01**2)
    two = reading_from_girths(tape(("left", 36.0), ("right", 36.2), ("left", 36.0), ("right", 36.2)))
    assert two.variance < one.variance / 2


def test_scattered_repeats_widen_the_error() -> None:
    steady = reading_from_girths(tape(("left", 36.0), ("right", 36.5), ("left", 36.0), ("right", 36.5)))
    shaky = reading_from_girths(tape(("left", 35.0), ("right", 37.5), ("left", 37.0), ("right", 35.5)))
    assert shaky.variance > 3 * steady.variance
    assert shaky.t == pytest.approx(2 * (log(37.5 * 35.5) - log(35.0 * 37.0)) / 2)


def test_sides_measured_one_after_the_other_are_named() -> None:
    block = reading_from_girths(tape(("left", 36.0), ("left", 36.1), ("right", 36.4), ("right", 36.4)))
    turns = reading_from_girths(tape(("left", 36.0), ("right", 36.4), ("left", 36.1), ("right", 36.4)))
    assert [r.code for r in block.reasons] == ["sides.girths_not_interleaved"]
    assert turns.reasons == ()


def test_sites_are_not_mixed_and_both_sides_are_needed() -> None:
    with pytest.raises(MixedInputs):
        reading_from_girths([*tape(("left", 36.0)), *tape(("right", 36.4), site="thigh")])
    with pytest.raises(TooFewObservations):
        reading_from_girths(tape(("left", 36.0), ("left", 36.4)))
