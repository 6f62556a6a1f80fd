"""The plan of a session: vetoes win over any match, order and roles follow the trade, constraints are named."""

from dataclasses import replace

import pytest

from service.core.errors import Infeasible
from service.core.planning import (
    Allowance,
    Candidate,
    Demand,
    JointRange,
    MuscleSide,
    PlanRequest,
    RestingRegion,
    Restrictions,
    RuledOut,
    WantedWork,
    fits,
    open_sides,
    plan_session,
    vetoes,
)
from service.core.planning.timing import RAMP_S, SET_UP_S, seconds_of

pytestmark = pytest.mark.quick

PRESS = Candidate(
    exercise_id="press",
    involvement=(("chest", 1.0), ("triceps", 0.5)),
    skill=2,
    failure_exit=3,
    joint_stress=(("wrist", 1),),
    demands=(Demand("wrist_extension", 0.0, 40.0),),
)
NEUTRAL = replace(PRESS, exercise_id="neutral-press", joint_stress=(), demands=(), failure_exit=1)
SQUAT = Candidate(exercise_id="squat", involvement=(("thigh", 1.0),), skill=3, axial_load=3, failure_exit=3)
ROW = Candidate(exercise_id="row", involvement=(("back", 1.0),), limbs="one_sided")
CURL = Candidate(exercise_id="curl", involvement=(("arm", 1.0),), compound=False)
PLANK = Candidate(exercise_id="plank", involvement=(("trunk", 1.0),), trunk=True, ramped=False)
EVERYTHING = (PRESS, NEUTRAL, SQUAT, ROW, CURL, PLANK)
MUSCLES = tuple(
    MuscleSide(muscle, side, 1.0, 10.0)
    for muscle in ("chest", "triceps", "thigh", "back", "arm", "trunk")
    for side in ("left", "right")
)


def request(**changes: object) -> PlanRequest:
    return replace(PlanRequest(EVERYTHING, MUSCLES, allowance=Allowance(90.0)), **changes)


def chosen(asked: PlanRequest) -> list[str]:
    return [item.exercise_id for item in plan_session(asked).items]


def test_a_wrist_that_extends_40_degrees_vetoes_what_needs_more_with_its_spread() -> None:
    wrist = Restrictions(joint_ranges=(JointRange("wrist_extension", 0.0, 40.0),))
    assert [reason.code for reason in vetoes(PRESS, wrist, "left")] == ["planning.veto_joint_range"]
    assert open_sides(NEUTRAL, wrist) == ("left", "right")
    assert "press" not in chosen(request(restrictions=wrist))
    assert "neutral-press" in chosen(request(restrictions=wrist))


def test_a_limit_on_one_side_closes_lifts_of_both_limbs_and_one_side_of_the_others() -> None:
    left = Restrictions(joint_ranges=(JointRange("elbow_flexion", 0.0, 90.0, "left"),))
    demands = (Demand("elbow_flexion", 0.0, 120.0),)
    assert open_sides(replace(PRESS, demands=demands), left) == ()
    assert open_sides(replace(ROW, demands=demands), left) == ("right",)


@pytest.mark.parametrize("unknown", [{"demands": None}, {"demands": (), "joint_stress": (("wrist", 2),)}])
def test_what_is_not_known_of_a_lift_fails_a_veto(unknown: dict[str, object]) -> None:
    wrist = Restrictions(joint_ranges=(JointRange("wrist_extension", 0.0, 60.0),))
    found = vetoes(replace(NEUTRAL, **unknown), wrist, "left")
    assert [reason.code for reason in found] == ["planning.veto_unknown_demand"]


def test_a_range_from_rest_sets_no_lower_bound_but_a_raised_one_does() -> None:
    assert fits(Demand("knee_flexion", 0.0, 80.0), JointRange("knee_flexion", 0.0, 90.0))
    assert not fits(Demand("knee_flexion", 0.0, 81.0), JointRange("knee_flexion", 0.0, 90.0))
    assert not fits(Demand("knee_flexion", 20.0, 60.0), JointRange("knee_flexion", 15.0, 90.0))
    assert fits(Demand("knee_flexion", 25.0, 60.0), JointRange("knee_flexion", 15.0, 90.0))


def test_a_resting_region_closes_lifts_that_burden_it_and_those_of_unknown_stress() -> None:
    knee = Restrictions(resting_regions=(RestingRegion("knee", "planning.veto_pain"),))
    assert open_sides(replace(SQUAT, joint_stress=(("knee", 1),)), knee) == ()
    assert open_sides(replace(SQUAT, joint_stress=None), knee) == ()
    assert open_sides(replace(SQUAT, burdened=frozenset({"knee"})), knee) == ()
    assert open_sides(SQUAT, knee) == ("left", "right")


def test_heavy_compound_lifts_come_first_then_one_sided_then_single_joint_the_trunk_last() -> None:
    plan = plan_session(request(candidates=(PLANK, CURL, ROW, PRESS, SQUAT)))
    assert [item.exercise_id for item in plan.items] == ["squat", "press", "row", "curl", "plank"]
    assert [item.role for item in plan.items] == ["main", "second", "second", "accessory", "accessory"]


def test_a_lift_that_is_to_be_raised_comes_first_and_is_the_main_lift() -> None:
    aimed = replace(PRESS, aimed=True, serves=("lift press",))
    plan = plan_session(request(candidates=(aimed, SQUAT, CURL), works=(WantedWork("lift press", 3.0, 8.0),)))
    first = plan.items[0]
    assert (first.exercise_id, first.role, first.rounds) == ("press", "main", 4)
    assert first.reasons[0].code == "planning.aimed_lift"


def test_a_lagging_side_goes_first_and_gets_a_set_more_unless_it_was_operated_on() -> None:
    lagging = request(candidates=(replace(ROW, lagging="right", most_sets=3),))
    ahead = [replace(row, done_sets=9.0) if row.side == "left" else row for row in MUSCLES]
    item = plan_session(replace(lagging, muscles=tuple(ahead))).items[0]
    assert (item.first_side, item.sets_right - item.sets_left) == ("right", 1)
    operated = Restrictions(no_extra_sets=("right",))
    item = plan_session(replace(lagging, muscles=tuple(ahead), restrictions=operated)).items[0]
    assert item.sets_right == item.sets_left
    kept_down = replace(ROW, lagging="right", most_sets=3, without_extra="right")
    item = plan_session(request(candidates=(kept_down,), muscles=tuple(ahead))).items[0]
    assert item.sets_right == item.sets_left


def test_a_lift_that_closes_a_gap_begins_with_the_set_more() -> None:
    closing = replace(ROW, lagging="left", closing=True, most_sets=2)
    item = plan_session(request(candidates=(closing,), allowance=Allowance(14.0))).items[0]
    assert (item.sets_left, item.sets_right) == (3, 2)


def test_what_holds_one_side_leaves_the_other_its_sets_but_where_a_gap_is_to_be_closed() -> None:
    held = replace(ROW, most_sets=3, fewer_sets=(("left", 1),))
    item = plan_session(request(candidates=(held,))).items[0]
    assert (item.sets_left, item.sets_right) == (1, 3)
    (why,) = [reason for reason in item.reasons if reason.code == "planning.fewer_sets_one_side"]
    assert why.params["side"] == "left"
    behind = replace(held, lagging="left")
    item = plan_session(request(candidates=(behind,))).items[0]
    assert (item.sets_left, item.sets_right) == (1, 3), "a held side gets no set more for lagging"
    item = plan_session(request(candidates=(replace(behind, closing=True),))).items[0]
    assert (item.sets_left, item.sets_right) == (1, 1), "no work that widens the gap"
    ahead = replace(held, lagging="right", closing=True)
    item = plan_session(request(candidates=(ahead,))).items[0]
    assert item.sets_left == 1
    assert item.sets_right >= 3


def test_an_undecided_gap_gives_both_sides_the_same() -> None:
    ahead = tuple(replace(row, done_sets=9.0) if row.side == "left" else row for row in MUSCLES)
    item = plan_session(request(candidates=(ROW,), muscles=ahead)).items[0]
    assert item.sets_left == item.sets_right


def test_a_muscle_that_is_not_ready_is_left_alone() -> None:
    tired = tuple(replace(row, p_ready=0.3) if row.muscle_id == "thigh" else row for row in MUSCLES)
    plan = plan_session(request(muscles=tired))
    assert "squat" not in [item.exercise_id for item in plan.items]
    assert ("squat", "planning.not_ready") in [(key, reason.code) for key, reason in plan.left_out]


def test_a_lift_that_the_athlete_would_rather_not_do_gives_way_to_an_equal_one() -> None:
    pair = request(candidates=(replace(PRESS, unwanted=("left", "right")), replace(NEUTRAL, skill=2)))
    assert chosen(replace(pair, allowance=Allowance(12.0))) == ["neutral-press"]


def test_a_lift_of_one_limb_is_left_out_on_the_side_alone_on_which_it_is_unwanted() -> None:
    """Where nothing else serves that side it is done all the same: unwanted is no veto."""
    pull = replace(ROW, exercise_id="pull", skill=3, axial_load=2)
    pair = request(candidates=(replace(ROW, unwanted=("left",)), pull), allowance=Allowance(30.0))
    row, other = sorted(plan_session(pair).items, key=lambda item: item.exercise_id, reverse=True)
    assert (row.exercise_id, row.sets_left) == ("row", 0)
    assert row.sets_right >= 2
    assert other.sets_left >= 2
    (why,) = [reason for reason in row.reasons if reason.code.startswith("planning.one_side")]
    assert (why.code, why.params["side"]) == ("planning.one_side_unwanted", "right")
    few = tuple(row for row in MUSCLES if row.muscle_id == "back")
    alone = plan_session(request(candidates=(replace(ROW, unwanted=("left",)),), muscles=few)).items[0]
    assert alone.sets_left == alone.sets_right


def test_the_side_that_is_ahead_does_not_go_on_alone_where_a_gap_is_to_be_closed() -> None:
    closing = replace(ROW, unwanted=("left",), lagging="left", closing=True)
    few = tuple(row for row in MUSCLES if row.muscle_id in {"back", "chest"})
    for lift in (closing, replace(closing, unwanted=("left", "right"))):
        item = plan_session(request(candidates=(lift,), muscles=few)).items[0]
        assert item.sets_left >= item.sets_right


def test_a_lift_of_both_limbs_is_unwanted_on_any_side() -> None:
    pair = request(candidates=(replace(PRESS, unwanted=("left",)), replace(NEUTRAL, skill=2)))
    assert chosen(replace(pair, allowance=Allowance(12.0))) == ["neutral-press"]


def test_a_lift_begins_with_as_many_sets_as_repay_what_it_costs() -> None:
    """Two sets of a skilled lift that was never done are not worth it, four are: so there is an answer."""
    new = Candidate(exercise_id="new", involvement=(("chest", 1.0),), skill=3, familiar=False)
    rest = tuple(MuscleSide("thigh", side, 24.0, 10.0) for side in ("left", "right"))
    asked = request(candidates=(new,), muscles=(*MUSCLES[:2], *rest))
    assert constraint_of(replace(asked, candidates=(replace(new, most_sets=3),))) == "nothing_wanted"
    plan = plan_session(asked)
    assert (plan.items[0].sets_left, plan.items[0].sets_right) == (4, 4)
    assert plan.objective > 1e-3
    assert constraint_of(replace(asked, allowance=Allowance(12.0))) == "minutes_too_few"


def constraint_of(asked: PlanRequest) -> object:
    with pytest.raises(Infeasible) as none:
        plan_session(asked)
    return none.value.facts["constraint"]


def test_a_familiar_lift_is_kept_before_an_equal_new_one() -> None:
    pair = request(candidates=(replace(NEUTRAL, exercise_id="a-new-press", familiar=False), NEUTRAL))
    assert chosen(replace(pair, allowance=Allowance(12.0))) == ["neutral-press"]


def test_no_more_new_lifts_than_allowed() -> None:
    new = tuple(replace(one, familiar=False) for one in EVERYTHING)
    plan = plan_session(request(candidates=new, allowance=Allowance(90.0, first_times=2)))
    assert len(plan.items) == 2


def test_no_muscle_gets_more_sets_than_a_session_may_give_it() -> None:
    muscles = tuple(replace(row, target_sets=40.0) for row in MUSCLES if row.muscle_id == "arm")
    curls = tuple(replace(CURL, exercise_id=f"curl-{n}", most_sets=5) for n in range(4))
    plan = plan_session(request(candidates=curls, muscles=muscles, allowance=Allowance(120.0, muscle_sets=7)))
    assert sum(item.rounds for item in plan.items) == 7


@pytest.mark.parametrize(
    ("changes", "constraint"),
    [
        ({"muscles": tuple(replace(row, weight=0.0) for row in MUSCLES)}, "nothing_wanted"),
        ({"candidates": tuple(replace(one, available=False) for one in EVERYTHING)}, "nothing_at_site"),
        (
            {
                "restrictions": Restrictions(
                    ruled_out=tuple(RuledOut(one.exercise_id, "planning.veto_pain") for one in EVERYTHING)
                )
            },
            "no_safe_match",
        ),
        ({"muscles": tuple(replace(row, p_ready=0.1) for row in MUSCLES)}, "nothing_ready"),
        ({"muscles": tuple(replace(row, done_sets=12.0) for row in MUSCLES)}, "week_is_done"),
        ({"allowance": Allowance(4.0)}, "minutes_too_few"),
    ],
)
def test_a_question_without_an_answer_names_the_constraint_that_binds(
    changes: dict[str, object], constraint: str
) -> None:
    with pytest.raises(Infeasible) as nothing:
        plan_session(request(**changes))
    assert nothing.value.facts["constraint"] == constraint


def test_what_waits_for_teaching_is_not_counted_as_ruled_out_by_the_body() -> None:
    out = (
        RuledOut(PRESS.exercise_id, "planning.veto_needs_teaching"),
        RuledOut(ROW.exercise_id, "planning.veto_pain"),
    )
    plan = plan_session(request(restrictions=Restrictions(ruled_out=out)))
    told = {reason.code: reason.params.get("count") for reason in plan.reasons}
    assert (told["planning.not_yet"], told["planning.ruled_out"]) == (1, 1)


def test_time_is_set_up_ramp_work_and_rest() -> None:
    assert seconds_of(SQUAT, 3, 3) == SET_UP_S + RAMP_S + 3 * (40.0 + 120.0)
    assert seconds_of(CURL, 2, 2) == SET_UP_S + 2 * (40.0 + 120.0)
    assert seconds_of(ROW, 2, 2) == SET_UP_S + RAMP_S + 2 * (2 * 40.0 + 20.0 + 120.0)
    assert seconds_of(ROW, 0, 0) == 0.0


def test_every_plan_of_loaded_lifts_begins_with_a_ramp() -> None:
    plan = plan_session(request(candidates=(CURL, PLANK)))
    assert [item.ramped for item in plan.items] == [True, False]
    assert plan.minutes == pytest.approx(sum(item.minutes for item in plan.items))
