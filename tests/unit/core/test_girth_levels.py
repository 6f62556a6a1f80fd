"""What a visit's tape readings tell of one place's size: the mean of the sides, always of the same ones."""

from math import log, pi

import pytest

from service.core.errors import MixedInputs, OutsideValidity
from service.core.symmetry.girths import (
    SKINFOLD_ERROR,
    GirthReading,
    GirthVisit,
    Limb,
    TechnicalError,
    levels_of_visits,
)
from service.core.volume.girths import LEAST_SPAN, TapeVisits

pytestmark = pytest.mark.quick
ERROR = TechnicalError(0.01, 0)


def visit(
    day: float, site: str = "calf", fold: float | None = None, **girths: tuple[float, ...]
) -> GirthVisit:
    sides: tuple[Limb, ...] = ("left", "right")
    readings = tuple(GirthReading(site, side, value) for side in sides for value in girths.get(side, ()))
    folds = {side: fold for side in sides if fold is not None and side in girths}
    return GirthVisit(day, readings, folds)


def test_the_mean_of_both_sides_has_a_quarter_of_the_sum_of_their_variances() -> None:
    levels = levels_of_visits(
        [visit(0, left=(36.0, 36.2), right=(37.0,)), visit(30, left=(36.0,), right=(37.0,))], ERROR
    )
    assert [one.day for one in levels] == [0, 30]
    assert levels[0].ln_girth == pytest.approx(0.5 * (0.5 * (log(36.0) + log(36.2)) + log(37.0)))
    assert levels[0].variance == pytest.approx(0.25 * (1e-4 / 2 + 1e-4))


def test_sides_are_never_changed_on_the_way_for_they_differ() -> None:
    visits = [visit(0, left=(36.0,)), visit(30, left=(36.5,)), visit(60, right=(38.0,))]
    assert [one.day for one in levels_of_visits(visits, ERROR)] == [0, 30]
    assert {one.side for one in levels_of_visits(visits, ERROR)} == {"left"}
    both = [
        visit(0, left=(36.0,), right=(37.0,)),
        visit(30, left=(36.0,)),
        visit(60, left=(36.0,), right=(37.0,)),
    ]
    assert [(one.day, one.side) for one in levels_of_visits(both, ERROR)] == [(0, "both"), (60, "both")]


def test_swapping_the_sides_changes_nothing() -> None:
    there = levels_of_visits(
        [visit(0, left=(36.0,), right=(37.3,)), visit(30, left=(36.4,), right=(37.1,))], ERROR
    )
    back = levels_of_visits(
        [visit(0, right=(36.0,), left=(37.3,)), visit(30, right=(36.4,), left=(37.1,))], ERROR
    )
    assert there == back


def test_skin_and_fat_come_off_with_their_own_error() -> None:
    (level,) = levels_of_visits([visit(0, fold=1.0, left=(36.0,))], ERROR, corrected=True)
    lean = 36.0 - pi
    assert level.ln_girth == pytest.approx(log(lean))
    assert level.variance == pytest.approx((36.0 / lean) ** 2 * 1e-4 + (SKINFOLD_ERROR * pi / lean) ** 2)
    assert levels_of_visits([visit(0, left=(36.0,))], ERROR, corrected=True) == ()


def test_a_slip_of_the_pen_is_no_growth() -> None:
    visits = [visit(day, left=(36.0,)) for day in (0, 30)] + [visit(60, left=(63.0,))]
    assert [one.day for one in levels_of_visits(visits, ERROR)] == [0, 30]
    assert {one.side for one in levels_of_visits(visits, ERROR)} == {"left"}


def test_places_are_never_mixed() -> None:
    with pytest.raises(MixedInputs):
        levels_of_visits([visit(0, left=(36.0,)), visit(30, site="forearm", left=(28.0,))], ERROR)


def test_visits_must_rise_and_say_something_from_four_weeks_on() -> None:
    with pytest.raises(OutsideValidity):
        TapeVisits((30.0, 0.0), (3.5, 3.5), (1e-4, 1e-4), (None, None))
    with pytest.raises(OutsideValidity):
        TapeVisits((0.0, 30.0), (3.5,), (1e-4, 1e-4), (None, None))
    for last, enough in ((LEAST_SPAN - 1.0, False), (LEAST_SPAN, True)):
        assert TapeVisits((0.0, last), (3.5, 3.5), (1e-4, 1e-4), (None, None)).spans_enough is enough
    assert not TapeVisits((0.0,), (3.5,), (1e-4,), (None,)).spans_enough
