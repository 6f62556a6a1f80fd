"""Tape readings of the two sides, with skinfolds and with slips of the pen."""

from math import log, pi, sqrt

import pytest

from service.core.errors import MixedInputs, OutsideValidity, TooFewObservations
from service.core.symmetry.decisions import side_posterior
from service.core.symmetry.following import join_visits
from service.core.symmetry.girths import (
    ERROR_WEIGHT,
    GIRTH_ERRORS,
    GirthReading,
    GirthVisit,
    TechnicalError,
    corrected_girth,
    learn_error,
    reading_from_girths,
    readings_of_visits,
)

pytestmark = pytest.mark.quick
SITE = "upper-arm-relaxed"
SKILLED = TechnicalError(0.01, 0)


def tape(*readings: tuple[str, float], site: str = SITE) -> tuple[GirthReading, ...]:
    return tuple(GirthReading(site, side, girth) for side, girth in readings)  # type: ignore[arg-type]


def visit(
    left: list[float], right: list[float], day: float = 0.0, site: str = SITE, **more: object
) -> GirthVisit:
    turns = [
        one for pair in zip(left, right, strict=False) for one in (("left", pair[0]), ("right", pair[1]))
    ]
    rest = [("left", x) for x in left[len(right) :]] + [("right", x) for x in right[len(left) :]]
    return GirthVisit(day, tape(*turns, *rest, site=site), **more)  # type: ignore[arg-type]


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
    shaky = reading_from_girths(tape(("left", 35.4), ("right", 37.0), ("left", 36.6), ("right", 36.0)))
    assert shaky.variance > 1.5 * steady.variance
    assert shaky.t == pytest.approx(2 * (log(37.0 * 36.0) - log(35.4 * 36.6)) / 2)


def test_sides_measured_one_after_the_other_are_named() -> None:
    block = reading_from_girths(tape(("left", 36.0), ("left", 36.1), ("right", 36.4), ("right", 36.4)))
    turns = reading_from_girths(tape(("left", 36.0), ("right", 36.4), ("left", 36.1), ("right", 36.4)))
    assert [r.code for r in block.reasons] == ["sides.girths_not_interleaved"]
    assert turns.reasons == ()


def test_sites_are_not_mixed_and_both_sides_are_needed() -> None:
    with pytest.raises(MixedInputs):
        reading_from_girths([*tape(("left", 36.0)), *tape(("right", 36.4), site="thigh-mid")])
    with pytest.raises(TooFewObservations):
        reading_from_girths(tape(("left", 36.0), ("left", 36.4)))


@pytest.mark.parametrize("slip", [364.0, 3.64, 63.4, 46.3])
def test_a_slip_of_the_pen_is_left_out_and_told(slip: float) -> None:
    clean = readings_of_visits([visit([35.9, 36.0], [36.4, 36.5])], SKILLED)[0]
    (told,) = readings_of_visits([visit([35.9, 36.0, 35.95], [36.4, 36.5, slip])], SKILLED)
    assert told.t == pytest.approx(clean.t, abs=2e-3)
    assert told.variance > 0.9 * clean.variance * (1 / 2 + 1 / 3)
    (reason,) = [r for r in told.reasons if r.code == "sides.girth_slip"]
    assert reason.params["count"] == 1


def test_a_slip_among_two_readings_is_known_by_the_other_side() -> None:
    (told,) = readings_of_visits([visit([35.9, 36.0], [36.4, 364.0])], SKILLED)
    assert told.t == pytest.approx(2 * log(36.4 / sqrt(35.9 * 36.0)))
    assert "sides.girth_slip" in {r.code for r in told.reasons}


def test_two_readings_a_tenth_apart_count_as_they_scatter_and_ask_for_a_third() -> None:
    (told,) = readings_of_visits([visit([36.0, 36.0], [36.4, 40.0])], SKILLED)
    (clean,) = readings_of_visits([visit([36.0, 36.0], [36.4, 36.5])], SKILLED)
    assert "sides.girths_disagree" in {r.code for r in told.reasons}
    assert told.variance > 5 * clean.variance
    assert side_posterior([told]).state == "not_decided"


def test_one_reading_a_side_with_a_slip_says_nothing() -> None:
    assert readings_of_visits([visit([36.0], [3.64])], SKILLED) == ()
    assert readings_of_visits([visit([36.0], [46.3])], SKILLED) == ()


def test_a_slip_on_one_visit_leaves_the_others_as_they_are() -> None:
    good = [visit([35.9, 35.9], [36.4, 36.4], day) for day in (0.0, 28.0)]
    bad = visit([35.9, 35.9], [364.0, 364.0], 14.0)
    assert len(readings_of_visits([good[0], bad, good[1]], SKILLED)) == 2


def test_the_error_is_learned_from_the_athletes_own_repeats() -> None:
    """Twelve visits, three readings a side: a hand that errs by twice the published share is found out."""
    spread = 0.025
    steps = (-spread * sqrt(1.5), 0.0, spread * sqrt(1.5))
    visits = [
        visit([36.0 * (1 + s) for s in steps], [36.0 * (1 + s) for s in steps], 7.0 * n) for n in range(12)
    ]
    learned = learn_error({SITE: visits}, {SITE: "arm"})[SITE]
    freedom = 12 * 2 * 2
    expected = sqrt(
        (ERROR_WEIGHT * 0.0125**2 + freedom * 0.75 * (spread * sqrt(1.5)) ** 2 * 4 / 3)
        / (ERROR_WEIGHT + freedom)
    )
    assert learned.repeats == freedom
    assert learned.share == pytest.approx(expected, rel=0.03)
    assert learned.share > 1.6 * GIRTH_ERRORS["arm"]


def test_a_hand_that_is_learned_at_one_place_is_believed_at_another() -> None:
    steady = [visit([36.0, 36.0, 36.0], [36.0, 36.0, 36.0], 7.0 * n) for n in range(10)]
    fresh = [visit([58.0], [58.0], site="thigh-mid")]
    parts = {SITE: "arm", "thigh-mid": "thigh"}
    learned = learn_error({SITE: steady, "thigh-mid": fresh}, parts)  # type: ignore[arg-type]
    assert learned["thigh-mid"].share < 0.6 * GIRTH_ERRORS["thigh"]
    assert learn_error({"thigh-mid": fresh}, parts)["thigh-mid"].share == GIRTH_ERRORS["thigh"]  # type: ignore[arg-type]


def test_a_corrected_girth_loses_pi_times_the_fold() -> None:
    assert corrected_girth(36.0, 1.2) == pytest.approx(36.0 - pi * 1.2)
    with pytest.raises(OutsideValidity):
        corrected_girth(3.0, 1.0)


def test_corrected_girths_need_both_folds_and_are_another_key_with_a_wider_error() -> None:
    folds = {"left": 1.0, "right": 0.8}
    both = visit([36.0, 36.0], [36.0, 36.0], skinfolds_cm=folds)
    none = visit([36.0, 36.0], [36.0, 36.0], 7.0)
    (lean,) = readings_of_visits([both, none], SKILLED, corrected=True)
    plain = readings_of_visits([both, none], SKILLED)
    assert lean.t == pytest.approx(2 * log((36.0 - pi * 0.8) / (36.0 - pi * 1.0)))
    assert lean.key != plain[0].key
    assert lean.variance > plain[0].variance
    with pytest.raises(MixedInputs):
        join_visits([lean, plain[0]], 7.0, 0.0)
    with pytest.raises(MixedInputs):
        side_posterior([lean, plain[0]])


def test_a_tape_at_an_unknown_fold_is_told_on_one_side_only_as_plain() -> None:
    assert (
        readings_of_visits([visit([36.0], [36.0], skinfolds_cm={"left": 1.0})], SKILLED, corrected=True) == ()
    )


def test_a_fold_that_leaves_nothing_of_a_limb_is_no_fold() -> None:
    """Millimetres told as centimetres."""
    folds = {"left": 12.0, "right": 11.0}
    assert readings_of_visits([visit([36.0], [36.0], skinfolds_cm=folds)], SKILLED, corrected=True) == ()
    assert len(readings_of_visits([visit([36.0], [36.0], skinfolds_cm=folds)], SKILLED)) == 1
