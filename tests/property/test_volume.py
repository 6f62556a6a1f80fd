"""Laws of the weekly dose and its landmarks, for any log."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.core.volume.hard_sets import HardSet, drop_set, hard_set
from service.core.volume.thresholds import LARGEST_STUDIED, Wanted, thresholds_prior
from service.core.volume.weekly_dose import Involvement, SetContribution, add_up

pytestmark = pytest.mark.quick

reserves = st.none() | st.floats(0.0, 15.0)
counted = st.builds(
    hard_set,
    st.floats(1.0, 40.0),
    reserves,
    st.booleans(),
    st.none() | st.floats(0.01, 1.0),
    p_warm_up=st.floats(0.0, 1.0),
)
involvements = st.lists(
    st.builds(
        Involvement, st.sampled_from(["lats", "pecs", "vasti"]), st.floats(0.0, 1.0), st.floats(0.0, 0.3)
    ),
    max_size=3,
    unique_by=lambda i: i.muscle_id,
)
contributions = st.lists(
    st.builds(
        SetContribution,
        set_id=st.uuids().map(str),
        session_id=st.sampled_from(["monday", "thursday"]),
        day=st.floats(0.0, 6.9),
        exercise_id=st.sampled_from(["lift-a", "lift-b"]),
        side=st.sampled_from(["left", "right", "both", "unspecified"]),
        hard_set=counted,
        involvement=involvements,
    ),
    max_size=8,
)
MIRROR = {"left": "right", "right": "left", "both": "both", "unspecified": "unspecified"}


def mirrored(contribution: SetContribution) -> SetContribution:
    side = MIRROR[contribution.side]
    return SetContribution(
        contribution.set_id,
        contribution.session_id,
        contribution.day,
        contribution.exercise_id,
        side,  # type: ignore[arg-type]
        contribution.hard_set,
        contribution.involvement,
    )


@given(counted)
def test_a_set_counts_between_nothing_and_one(found: HardSet) -> None:
    assert 0.0 <= found.value <= 1.0
    assert 0.0 <= found.sd <= 0.5 + 1e-9


@given(counted, st.integers(0, 12))
def test_a_cluster_never_counts_less_than_its_first_load_nor_more_than_two_and_a_half(
    first: HardSet, drops: int
) -> None:
    assert first.value <= drop_set(first, drops).value <= 2.5 + 1e-9
    assert drop_set(first, drops, "strength") == first


@given(contributions)
def test_the_athletes_dose_is_the_mean_of_the_sides(week: list[SetContribution]) -> None:
    dose = add_up(week)
    for muscle, side in dose:
        if side == "both":
            sides = [dose[muscle, s].value.value if (muscle, s) in dose else 0.0 for s in ("left", "right")]
            assert dose[muscle, side].value.value == pytest.approx(sum(sides) / 2)


@given(contributions)
def test_swapping_left_and_right_swaps_their_doses(week: list[SetContribution]) -> None:
    dose, other = add_up(week), add_up(map(mirrored, week))
    for (muscle, side), found in dose.items():
        assert other[muscle, MIRROR[side]].value == found.value  # type: ignore[index]


@given(contributions)
def test_the_parts_of_a_dose_add_up_to_it(week: list[SetContribution]) -> None:
    for found in add_up(week).values():
        assert found.direct + found.indirect == pytest.approx(found.value.value)
        assert sum(c.dose for c in found.counted) == pytest.approx(found.value.value)
        assert found.per_session_max <= found.value.value + 1e-9
        assert 0.0 <= found.assumed_share <= 1.0 + 1e-9


@given(
    st.sampled_from(["novice", "trained", "unknown"]),
    st.none() | st.floats(10.0, 90.0),
    st.none() | st.floats(0.0, 40.0),
    st.floats(1e-4, 0.1),
    st.floats(1e-4, 0.1),
)
def test_landmarks_stay_ordered_whatever_is_asked(
    training: str, age: float | None, building: float | None, gain: float, worth: float
) -> None:
    found = thresholds_prior(
        training,  # type: ignore[arg-type]
        Wanted(age_years=age, building_dose=building, detectable_gain=gain, next_gain=worth),
    )
    values = [t.weekly_hard_sets.value for t in found if t.reached]
    assert values == sorted(values)
    assert all(t.weekly_hard_sets.value == LARGEST_STUDIED for t in found if not t.reached)
    assert all(t.weekly_hard_sets.interval.lower <= t.weekly_hard_sets.value for t in found)
    assert all(t.weekly_hard_sets.value <= t.weekly_hard_sets.interval.upper for t in found)
