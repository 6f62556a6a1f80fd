"""When a lift shows another load or another number of repetitions at once and stays there."""

from math import log

import pytest

from service.core.curve import CURVE_PRIORS
from service.core.trend import (
    Shown,
    Step,
    Visited,
    comparable_stretch,
    moved_around,
    moved_between,
    sudden_steps,
)

pytestmark = pytest.mark.quick

CURVE = CURVE_PRIORS["bench"]


def shown(
    *sets: tuple[float, float], told: bool = True, pain: float = 0.0, apart: float = 3.5
) -> list[Shown]:
    return [Shown(apart * number, load, n, told, pain) for number, (load, n) in enumerate(sets)]


SAME = ((40.0, 10.0), (40.0, 11.0), (40.0, 10.0), (40.0, 10.0), (40.0, 11.0), (40.0, 10.0))


def test_another_load_at_the_same_repetitions_is_a_step() -> None:
    (step,) = sudden_steps(shown(*SAME, (56.0, 10.0), (56.0, 11.0), (56.0, 10.0)), CURVE)
    assert step.day == 21.0
    assert step.ln_change == pytest.approx(log(56.0 / 40.0))


def test_other_repetitions_at_the_same_load_are_a_step_as_far_as_the_curve_says() -> None:
    (step,) = sudden_steps(shown(*((40.0, 18.0),) * 6, *((40.0, 8.0),) * 3), CURVE)
    assert step.day == 21.0
    assert step.ln_change < -0.15


@pytest.mark.parametrize(
    "after",
    [
        ((43.0, 10.0), (43.0, 10.0), (43.0, 10.0)),  # 7 %: what a good block or a smaller plate gives
        ((56.0, 10.0), (56.0, 10.0)),  # two sessions: it has not been seen to stay
        ((56.0, 10.0), (56.0, 10.0), (40.0, 10.0)),  # nor here
        ((48.0, 10.0), (52.0, 10.0), (58.0, 10.0)),  # a rise that goes on
        ((56.0, 3.0), (56.0, 3.0), (56.0, 3.0)),  # heavier for fewer: the curve may say it all
    ],
)
def test_what_may_be_strength_is_no_step(after: tuple[tuple[float, float], ...]) -> None:
    assert sudden_steps(shown(*SAME, *after), CURVE) == ()


def test_one_weight_up_on_a_rack_is_no_step_however_far_it_is() -> None:
    assert sudden_steps(shown(*((12.0, 10.0),) * 6, *((16.0, 10.0),) * 3), CURVE) == ()


def test_a_lift_that_is_new_finds_its_load() -> None:
    assert sudden_steps(shown(*SAME[:5], *((60.0, 10.0),) * 3), CURVE) == ()


def test_where_the_effort_is_not_told_it_takes_a_longer_step() -> None:
    sets = (*SAME, *((47.5, 10.0),) * 3)
    assert sudden_steps(shown(*sets), CURVE)
    assert sudden_steps(shown(*sets, told=False), CURVE) == ()
    assert sudden_steps(shown(*SAME, *((56.0, 10.0),) * 3, told=False), CURVE)


def test_pain_and_pauses_need_no_other_explanation() -> None:
    sets = (*SAME, *((28.0, 10.0),) * 3)
    assert sudden_steps(shown(*sets), CURVE)
    assert sudden_steps(shown(*sets, pain=4.0), CURVE) == ()
    assert sudden_steps(shown(*sets, apart=15.0), CURVE) == ()


def test_a_lift_that_comes_back_has_not_moved() -> None:
    steps = (Step(10.0, -0.3), Step(20.0, 0.28))
    assert moved_between(5.0, 12.0, steps) == -0.3
    assert moved_between(5.0, 25.0, steps) == 0.0
    assert moved_between(12.0, 25.0, steps) == 0.28
    assert moved_between(10.0, 15.0, steps) == 0.0


def visits(*days: float) -> list[Visited]:
    return [Visited(day, frozenset({"full"}), frozenset({"any"})) for day in days]


def test_sessions_before_a_step_are_not_compared() -> None:
    days = [3.0 * number for number in range(9)]
    stretch = comparable_stretch(visits(*days), days, 0.0, 30.0, steps=(Step(15.0, -0.25),))
    assert stretch.days == (15.0, 18.0, 21.0, 24.0)
    reason, seen = stretch.reasons
    assert (reason.code, seen.code) == ("trend.sudden_fall", "trend.sudden_fall_seen")
    assert reason.params == {"sessions": 5, "percent": pytest.approx(22.1, abs=0.1)}
    up = comparable_stretch(visits(*days), days, 0.0, 30.0, steps=(Step(15.0, 0.25),))
    assert [reason.code for reason in up.reasons] == ["trend.sudden_rise"]


def test_easy_sessions_between_others_alike_are_left_out_alone() -> None:
    days = [3.0 * number for number in range(9)]
    stretch = comparable_stretch(visits(*days), days, 0.0, 30.0, steps=(Step(9.0, -0.3), Step(18.0, 0.3)))
    assert stretch.days == (0.0, 3.0, 6.0, 18.0, 21.0, 24.0)


def test_how_far_a_lift_moved_about_a_day_needs_no_standing_still() -> None:
    loads = ((40.0, 8.0), (42.0, 11.0), (38.0, 12.0), (40.0, 10.0), (32.0, 10.0), (30.0, 11.0), (34.0, 9.0))
    moved = moved_around(shown(*loads), 14.0, CURVE)
    assert moved == pytest.approx(log(32.0 / 40.0), abs=0.05)
    assert sudden_steps(shown(*loads), CURVE) == ()


@pytest.mark.parametrize("day", [0.0, 30.0, 60.0])
def test_a_lift_without_sessions_on_either_side_of_a_day_did_not_move_then(day: float) -> None:
    assert moved_around(shown(*SAME), day, CURVE) is None
