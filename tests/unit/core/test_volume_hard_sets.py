"""How far a set counts."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy import integrate, stats

from service.core.curve import time_held
from service.core.errors import OutsideValidity
from service.core.volume.counting import DoneSet, count_set, why_not_counted
from service.core.volume.hard_sets import (
    NOT_COUNTED,
    HardSet,
    drop_set,
    hard_hold,
    hard_set,
    load_weight,
    missed_lift,
)

pytestmark = pytest.mark.quick


def expected_by_quadrature(mean: float, sd: float, power: int) -> float:
    """Integrate the weight over the truncated normal with SciPy: an independent way to the closed form."""

    def weight(reserve: float) -> float:
        return 1.0 if reserve <= 4.0 else float(np.exp(-0.5 * ((reserve - 4.0) / 2.0) ** 2))

    density = stats.truncnorm(-mean / sd, np.inf, mean, sd).pdf
    upper = mean + 12.0 * sd + 20.0
    area, _ = integrate.quad(lambda r: weight(r) ** power * density(r), 0.0, upper, points=[4.0], limit=200)
    return float(area)


@pytest.mark.parametrize(("mean", "sd"), [(2.5, 2.5), (4.0, 3.0), (0.0, 0.5), (9.0, 1.0), (1.0, 6.0)])
def test_the_closed_form_agrees_with_quadrature(mean: float, sd: float) -> None:
    counted = hard_set(10, expected_reserve=(mean, sd))
    first, second = expected_by_quadrature(mean, sd, 1), expected_by_quadrature(mean, sd, 2)
    assert counted.value == pytest.approx(first, abs=1e-9)
    assert counted.sd == pytest.approx(np.sqrt(second - first**2), abs=1e-6)


def test_a_set_to_failure_counts_in_full() -> None:
    assert hard_set(8, to_failure=True) == HardSet(1.0, 0.0, assumed_effort=False)


def test_two_in_reserve_count_nearly_in_full_and_nine_hardly() -> None:
    assert hard_set(8, 2).value > 0.98
    assert hard_set(8, 9).value < 0.25


def test_a_set_counts_less_the_further_from_failure() -> None:
    values = [hard_set(8, reserve).value for reserve in range(12)]
    assert values == sorted(values, reverse=True)


def test_missing_effort_is_an_expectation_that_says_so_and_is_never_failure() -> None:
    for training in ("novice", "trained", "unknown"):
        counted = hard_set(10, training=training)  # type: ignore[arg-type]
        assert counted.assumed_effort
        assert 0.6 <= counted.value <= 0.95
        assert counted.sd > 0.1


def test_a_novice_without_effort_counts_less_than_a_trained_lifter() -> None:
    assert hard_set(10, training="novice").value < hard_set(10, training="trained").value


def test_the_capability_models_expected_reserve_decides_where_none_is_reported() -> None:
    assert hard_set(3, expected_reserve=(15.0, 3.0)).value < 0.01


def test_a_probable_warm_up_counts_its_remaining_probability() -> None:
    assert hard_set(5, to_failure=True, p_warm_up=0.9).value == pytest.approx(0.1)
    assert hard_set(5, to_failure=True, p_warm_up=0.9).sd == pytest.approx(0.3)


def test_unflagged_warm_ups_before_one_work_set_make_about_one_hard_set() -> None:
    warm_ups = [
        hard_set(10, expected_reserve=(60.0, 8.0), fraction_of_1rm=0.16, p_warm_up=0.9),
        hard_set(5, expected_reserve=(22.0, 4.0), fraction_of_1rm=0.48, p_warm_up=0.9),
        hard_set(3, expected_reserve=(14.0, 3.0), fraction_of_1rm=0.64, p_warm_up=0.9),
    ]
    total = sum(counted.value for counted in warm_ups) + hard_set(8, 2, fraction_of_1rm=0.8).value
    assert 0.9 <= total <= 1.3


def test_a_set_of_no_repetitions_counts_nothing_and_a_counted_set_is_an_expectation() -> None:
    assert hard_set(0, to_failure=True) == NOT_COUNTED
    assert hard_set(None).assumed_effort


def test_light_loads_fade_smoothly_below_thirty_percent() -> None:
    assert load_weight(0.30) == load_weight(None) == 1.0
    assert 0.3 < load_weight(0.20) < 0.6
    assert load_weight(0.05) < 0.01


def test_a_drop_set_is_worth_more_for_size_and_one_set_for_strength() -> None:
    first = hard_set(12, to_failure=True)
    assert drop_set(first, 0).value == 1.0
    assert drop_set(first, 1).value == 1.5
    assert drop_set(first, 2).value == 2.0
    assert drop_set(first, 3).value == drop_set(first, 6).value == 2.5
    assert drop_set(first, 3, "strength") == first
    assert drop_set(first, 2).sd > first.sd


def test_drops_after_an_easy_set_add_as_little_as_it_counts() -> None:
    easy, hard = hard_set(10, 10), hard_set(10, to_failure=True)
    assert easy.value < 0.2
    for drops in (1, 2, 3, 6):
        share = drop_set(easy, drops).value / drop_set(hard, drops).value
        assert share == pytest.approx(easy.value / hard.value)
    assert drop_set(easy, 3).value < 0.5


def test_drops_whose_first_load_is_missing_wait_for_it() -> None:
    assert drop_set(None, 2).value == 0.0


def test_holds_and_carries_follow_the_same_rule_in_their_own_units() -> None:
    assert hard_hold(40, to_failure=True).value == 1.0
    assert hard_hold(6, to_failure=True).value == pytest.approx(0.5)
    assert hard_hold(45, reserve_s=60).value < hard_hold(45, reserve_s=8).value
    carried = DoneSet(distance_m=36, reps_in_reserve=1, work="distance")
    assert count_set(carried, "unknown").value == pytest.approx(hard_hold(30, 4).value)


@pytest.mark.parametrize(
    ("work", "hold_s", "distance_m", "seconds"),
    [
        ("hold", 20.0, 60.0, 20.0),
        ("hold", 0.0, 60.0, 50.0),
        ("distance", 20.0, 60.0, 50.0),
        ("distance", 20.0, 0.0, 20.0),
        ("distance", 20.0, None, 20.0),
        ("repetitions", 20.0, 60.0, 20.0),
        ("hold", None, 0.0, 0.0),
    ],
)
def test_what_was_held_or_carried_goes_by_its_own_measure_in_every_answer(
    work: Any, hold_s: float | None, distance_m: float | None, seconds: float
) -> None:
    assert time_held(work, hold_s, distance_m) == pytest.approx(seconds)
    done = DoneSet(hold_s=hold_s, distance_m=distance_m, work=work)
    expected = hard_hold(seconds) if seconds else NOT_COUNTED
    assert count_set(done, "unknown").value == pytest.approx(expected.value)


@pytest.mark.parametrize(
    "wrong", [{"reps": -1}, {"reps": 5, "reps_in_reserve": -2}, {"reps": 5, "p_warm_up": 1.2}]
)
def test_impossible_sets_are_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(OutsideValidity):
        hard_set(**wrong)  # type: ignore[arg-type]
    with pytest.raises(OutsideValidity):
        drop_set(None, -1)


def test_a_missed_lift_counts_for_anything_between_nothing_and_a_set_to_failure() -> None:
    missed = count_set(DoneSet(reps=0, to_failure=True, purpose="work", fraction_of_1rm=1.02), "trained")
    assert missed == missed_lift()
    assert missed.value == pytest.approx(stats.uniform.mean())
    assert missed.sd == pytest.approx(stats.uniform.std())
    assert not missed.assumed_effort


def test_a_light_load_that_would_not_move_counts_less_and_no_repetition_without_failure_nothing() -> None:
    assert missed_lift(0.15).value < 0.2
    untold = DoneSet(reps=0, purpose="work")
    assert count_set(untold, "trained") == NOT_COUNTED
    assert why_not_counted(untold) == "volume.not_counted_nothing_done"
    assert (
        why_not_counted(DoneSet(reps=0, to_failure=True, purpose="warm_up")) == "volume.not_counted_warm_up"
    )


@pytest.mark.parametrize(
    "work", [{"hold_s": 60.0}, {"distance_m": 40.0}, {"hold_s": 0.0, "distance_m": 40.0}, {"hold_s": 8.0}]
)
def test_no_repetitions_of_what_was_held_or_carried_are_none_told(work: dict[str, float]) -> None:
    for effort in ({"to_failure": True}, {"reps_in_reserve": 2.0}, {}):
        said = DoneSet(**work, **effort)  # type: ignore[arg-type]
        with_none = replace(said, reps=0)
        assert count_set(said, "trained").value > 0.0
        assert count_set(with_none, "trained") == count_set(said, "trained")
        assert why_not_counted(with_none) is None
        assert with_none.is_timed
        assert not with_none.is_missed


@pytest.mark.parametrize("work", [{"hold_s": 60.0}, {"distance_m": 40.0}, {"hold_s": 8.0}])
@pytest.mark.parametrize("reps", [1, 12, 60])
def test_a_lift_that_is_held_or_carried_counts_by_that_whatever_repetitions_say(
    work: dict[str, Any], reps: int
) -> None:
    efforts: list[dict[str, Any]] = [{"to_failure": True}, {"reps_in_reserve": 2.0}, {}]
    for effort in efforts:
        alone = DoneSet(**work, **effort, work="hold")
        assert count_set(replace(alone, reps=reps), "trained") == count_set(alone, "trained")
        # A lift of repetitions that was paused for some seconds stays one.
        paused = replace(alone, reps=reps, work="repetitions")
        bare = replace(paused, hold_s=None, distance_m=None)
        assert count_set(paused, "trained") == count_set(bare, "trained")


def test_repetitions_of_a_hold_of_no_time_are_nothing_done() -> None:
    assert why_not_counted(DoneSet(reps=5, hold_s=0.0, work="hold")) == "volume.not_counted_nothing_done"


def test_what_is_held_or_carried_has_no_repetition_to_miss() -> None:
    untold = DoneSet(reps=0, to_failure=True, work="hold")
    assert count_set(untold, "trained") == NOT_COUNTED
    assert why_not_counted(untold) == "volume.not_counted_nothing_done"
