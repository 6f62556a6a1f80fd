"""A week's sets added up, per muscle and side."""

from dataclasses import replace

import pytest

from service.core.volume.hard_sets import HardSet, drop_set, hard_set
from service.core.volume.weekly_dose import Involvement, SetContribution, SetSide, add_up

pytestmark = pytest.mark.quick

FAILURE = hard_set(8, to_failure=True)


def one_set(
    number: int,
    side: SetSide = "both",
    counted: HardSet = FAILURE,
    exercise: str = "invented-row",
    session: str = "monday",
    day: float = 0.0,
    shares: tuple[tuple[str, float], ...] = (("lats", 1.0), ("elbow-flexors", 0.5)),
    sd: float = 0.15,
    incomplete: bool = False,
) -> SetContribution:
    muscles = tuple(Involvement(muscle, share, sd) for muscle, share in shares)
    return SetContribution(f"set-{number}", session, day, exercise, side, counted, muscles, incomplete)


def test_a_two_sided_set_is_one_set_for_the_left_and_one_for_the_right() -> None:
    dose = add_up([one_set(1), one_set(2), one_set(3)])
    assert dose["lats", "left"].value.value == dose["lats", "right"].value.value == 3.0
    assert dose["lats", "both"].value.value == 3.0


def test_one_set_a_side_is_one_set_for_the_athlete() -> None:
    dose = add_up([one_set(1, "left"), one_set(2, "right")])
    assert dose["lats", "left"].value.value == dose["lats", "right"].value.value == 1.0
    assert dose["lats", "both"].value.value == 1.0


def test_extra_sets_for_one_side_show_on_that_side_and_by_half_for_the_athlete() -> None:
    dose = add_up([one_set(1), one_set(2, "right"), one_set(3, "right")])
    assert dose["lats", "left"].value.value == 1.0
    assert dose["lats", "right"].value.value == 3.0
    assert dose["lats", "both"].value.value == 2.0


def test_a_set_without_a_side_is_halved_and_says_so() -> None:
    dose = add_up([one_set(1, "unspecified")])
    left = dose["lats", "left"]
    assert left.value.value == dose["lats", "right"].value.value == 0.5
    assert left.unspecified_share == 1.0
    assert left.counted[0].reason.code == "volume.side_unspecified"
    assert left.value.sd > dose["lats", "both"].value.sd


def test_direct_and_indirect_sets_are_kept_apart() -> None:
    dose = add_up([one_set(1), one_set(2, shares=(("elbow-flexors", 1.0),), exercise="invented-curl")])
    flexors = dose["elbow-flexors", "left"]
    assert (flexors.direct, flexors.indirect) == (1.0, 0.5)
    assert [c.reason.code for c in flexors.counted] == ["volume.indirect_set", "volume.direct_set"]


def test_sessions_are_counted_and_the_largest_is_named() -> None:
    sets = [one_set(n, session="monday") for n in range(4)]
    sets += [one_set(9, session="thursday", day=3.0)]
    lats = add_up(sets)["lats", "both"]
    assert (lats.session_count, lats.per_session_max, lats.newest_day) == (2, 4.0, 3.0)


def test_nine_sets_of_three_grips_count_as_nine() -> None:
    grips = [("wide", 0.9), ("medium", 1.0), ("narrow", 1.0)]
    sets = [one_set(n, exercise=f"pulldown-{g}", shares=(("lats", s),)) for n in range(3) for g, s in grips]
    assert len(add_up(sets)["lats", "left"].counted) == 9


def test_the_error_of_an_involvement_does_not_average_out_over_sets_of_one_lift() -> None:
    same = add_up([one_set(n) for n in range(9)])["lats", "left"].value
    other = add_up([one_set(n, exercise=f"lift-{n}") for n in range(9)])["lats", "left"].value
    assert same.sd == pytest.approx(9 * 0.15)
    assert other.sd == pytest.approx(3 * 0.15)


def test_assumed_effort_is_carried_into_the_dose_and_named() -> None:
    lats = add_up([one_set(1, counted=hard_set(10)), one_set(2)])["lats", "left"]
    assert 0.0 < lats.assumed_share < 0.5
    assert lats.counted[0].reason.code == "volume.effort_assumed"
    assert lats.value.interval.lower < lats.value.value < lats.value.interval.upper


def test_a_drop_set_cluster_adds_its_credit_and_orphaned_drops_are_named() -> None:
    lats = add_up(
        [one_set(1, counted=drop_set(FAILURE, 2)), one_set(2, counted=drop_set(None, 1), incomplete=True)]
    )
    assert lats["lats", "left"].value.value == 2.0
    assert lats["lats", "left"].counted[1].reason.code == "volume.incomplete_drop"


@pytest.mark.parametrize("count", [1, 2, 3, 4, 7])
@pytest.mark.parametrize("side", ["both", "left", "unspecified"])
def test_stages_of_a_cluster_add_up_to_what_it_counts_on_every_side(count: int, side: SetSide) -> None:
    drops = tuple(f"drop-{number}" for number in range(count))
    cluster = replace(one_set(1, side, drop_set(FAILURE, count)), drops=drops)
    for (muscle, _), dose in add_up([cluster]).items():
        (told,) = dose.counted
        assert [one.set_id for one in told.stages] == ["set-1", *drops]
        assert sum(one.dose for one in told.stages) == pytest.approx(told.dose)
        assert told.stages[0].dose == pytest.approx(told.dose / min(1.0 + 0.5 * count, 2.5))
        assert told.reason.params["first"] == pytest.approx(told.stages[0].dose)
        assert told.stages[0].reason.params["hard_set"] == pytest.approx(1.0)
        beyond = [one.reason.code for one in told.stages].count("volume.drop_beyond_most")
        assert beyond == max(count - 3, 0)
        assert muscle in {"lats", "elbow-flexors"}


def test_drops_that_wait_for_their_first_load_are_all_named() -> None:
    waiting = replace(one_set(2, counted=drop_set(None, 2), incomplete=True), drops=("drop-2",))
    (told,) = add_up([waiting])["lats", "left"].counted
    assert [(one.set_id, one.dose, one.reason.code) for one in told.stages] == [
        ("set-2", 0.0, "volume.incomplete_drop"),
        ("drop-2", 0.0, "volume.incomplete_drop"),
    ]


def test_a_muscle_without_dose_has_no_entry() -> None:
    assert add_up([]) == {}
    assert set(add_up([one_set(1, "left", shares=(("lats", 1.0),))])) == {("lats", "left"), ("lats", "both")}
