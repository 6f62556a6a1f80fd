"""Left and right swapped everywhere: every t is negated and every plan swapped, to the last bit.

Through the whole of it: logged sets, the capability fold, readings, pooling, decisions, history, forecast and plan; and
through girths and joint motion.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, cast

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.core.capability import (
    AthleteModel,
    SeriesPrior,
    SessionEvidence,
    SetEvidence,
    Side,
    begin,
    fold,
    forecast,
)
from service.core.curve import CURVE_PRIORS
from service.core.estimates import Reason
from service.core.symmetry.closing import (
    ClosingLift,
    ClosingPlan,
    GapToClose,
    LimbSide,
    RegionDose,
    Surgery,
    close_gap,
)
from service.core.symmetry.closing_forecast import forecast_without_plan
from service.core.symmetry.decisions import SidePosterior, SideState, side_posterior
from service.core.symmetry.following import FilterStep, join_visits, look_back, smooth_steps
from service.core.symmetry.girths import (
    GirthReading,
    GirthVisit,
    Limb,
    learn_error,
    readings_of_visits,
)
from service.core.symmetry.joint_motion import MotionVisit, motion_readings
from service.core.symmetry.posterior import SidePrior, SideReading
from service.core.symmetry.qualities import endurance_gap, reading_of, strength_gap

pytestmark = pytest.mark.quick
SWAPPED: dict[Side, Side] = {"left": "right", "right": "left", "both": "both", "unspecified": "unspecified"}
OTHER: dict[LimbSide, LimbSide] = {"left": "right", "right": "left"}
STATES: dict[SideState, SideState] = {
    "right_ahead": "left_ahead", "left_ahead": "right_ahead", "not_decided": "not_decided",
    "too_small_to_matter": "too_small_to_matter", "undetermined": "undetermined",
}  # fmt: skip
LIFTS = {
    "press": SeriesPrior(CURVE_PRIORS["upper_press"], one_sided=True),
    "raise": SeriesPrior(CURVE_PRIORS["single_joint"], one_sided=True, half_gap_sd=0.1),
    "bench": SeriesPrior(CURVE_PRIORS["bench"]),
}
MODEL = AthleteModel(LIFTS.__getitem__, lambda _, __: 0.4)
FEW = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
Log = list[SessionEvidence]


#: What was told of the effort: reserve and whether to failure.
_efforts = st.one_of(
    st.tuples(st.none(), st.booleans()), st.tuples(st.integers(0, 4).map(float), st.just(False))
)
_sets = st.builds(
    lambda told, *others, side: SetEvidence(*others, told[0], to_failure=told[1], side=side, purpose="work"),
    _efforts,
    st.sampled_from(sorted(LIFTS)),
    st.floats(15.0, 40.0),
    st.integers(3, 15),
    side=st.sampled_from(sorted(SWAPPED)),
)


def _dated(visits: list[tuple[float, list[SetEvidence]]]) -> Log:
    days = np.cumsum([gap for gap, _ in visits])
    return [SessionEvidence(float(day), tuple(done)) for day, (_, done) in zip(days, visits, strict=True)]


logged = st.lists(
    st.tuples(st.floats(0.5, 20.0), st.lists(_sets, min_size=2, max_size=6)), min_size=2, max_size=5
).map(_dated)


def mirrored_log(kept: Log) -> Log:
    return [replace(v, sets=tuple(replace(s, side=SWAPPED[s.side]) for s in v.sets)) for v in kept]


def readings_of(kept: Log) -> list[SideReading]:
    """Return the strength and endurance readings of every one-sided lift that the log knows."""
    state, found = fold(begin(), kept, MODEL), []
    day = kept[-1].day + 1.0
    for name in ("press", "raise"):
        told = forecast(state, name, day, "both", MODEL) if name in state.series() else None
        for gap in (strength_gap(told, LIFTS[name]), endurance_gap(told)) if told is not None else ():
            assert gap is not None
            found.append(reading_of(name, gap, 3, day, effort_known=True))
    return found


def assert_mirrored(here: SidePosterior, there: SidePosterior) -> None:
    assert there.t.value == -here.t.value
    assert there.t.sd == here.t.sd
    assert (there.t.interval.lower, there.t.interval.upper) == (
        -here.t.interval.upper,
        -here.t.interval.lower,
    )
    assert (there.p_right_ahead, there.p_left_ahead) == (here.p_left_ahead, here.p_right_ahead)
    assert abs(there.p_beyond - here.p_beyond) <= 1e-16
    assert there.minimal_detectable_change == here.minimal_detectable_change
    assert there.visits_needed == here.visits_needed
    assert there.expected_next_reading.value == -here.expected_next_reading.value
    assert there.between_exercises_sd == here.between_exercises_sd
    assert there.state == STATES[here.state]
    assert there.basis == here.basis


@FEW
@given(kept=logged)
def test_a_mirrored_log_gives_mirrored_gaps_in_every_quality(kept: Log) -> None:
    here, there = readings_of(kept), readings_of(mirrored_log(kept))
    assert [(r.key, r.kind, -r.t, r.variance) for r in here] == [
        (r.key, r.kind, r.t, r.variance) for r in there
    ]
    for kind in ("strength", "endurance"):
        one, other = ([r for r in found if r.kind == kind] for found in (here, there))
        for pooled, turned in [*zip([[r] for r in one], [[r] for r in other], strict=True), (one, other)]:
            if pooled:
                assert_mirrored(side_posterior(pooled), side_posterior(turned))


def seen(t: float, variance: float, day: float = 0.0, key: str = "press") -> SideReading:
    return SideReading(key, "size", t, variance, 1, day)


readings = st.builds(seen, st.floats(-0.4, 0.4), st.floats(1e-5, 1e-2), st.floats(0.0, 80.0))
limbs = st.sampled_from(("left", "right"))
shares = st.dictionaries(st.sampled_from("abc"), st.floats(0.0, 1.0), min_size=1)
lifts = st.builds(
    ClosingLift,
    st.sampled_from(("press", "raise", "fly")),
    st.floats(0.0, 18.0),
    st.floats(0.0, 18.0),
    shares,
    st.sampled_from((None, None, Reason("held"))),
    st.sampled_from((None, 0.0, 3.0)),
)
gaps = st.builds(
    GapToClose,
    quality=st.sampled_from(("strength", "endurance", "size")),
    posterior=st.builds(
        lambda t, sd, known: side_posterior(
            [SideReading("press", "strength", t, sd**2, 6, effort_known=known)], prior=SidePrior(sd=0.3)
        ),
        st.floats(-0.4, 0.4),
        st.floats(0.005, 0.05),
        st.booleans(),
    ),
    lifts=st.lists(lifts, max_size=3, unique_by=lambda lift: lift.exercise_id).map(tuple),
    dose=st.builds(RegionDose, st.floats(0.0, 20.0), st.floats(0.0, 20.0), st.floats(1.0, 8.0)),
    ahead=st.frozensets(st.tuples(st.sampled_from("abc"), limbs), max_size=3),
    surgery=st.one_of(st.none(), st.builds(Surgery, limbs, st.one_of(st.none(), st.floats(0.7, 1.0)))),
    closed_by_gate=st.booleans(),
)


def mirrored_gap(gap: GapToClose) -> GapToClose:
    now = gap.posterior
    return replace(
        gap,
        posterior=mirrored_posterior(now),
        lifts=tuple(replace(one, left_sets=one.right_sets, right_sets=one.left_sets) for one in gap.lifts),
        dose=RegionDose(gap.dose.right, gap.dose.left, gap.dose.keeps_size),
        ahead=frozenset((muscle, OTHER[side]) for muscle, side in gap.ahead),
        surgery=None if gap.surgery is None else replace(gap.surgery, side=OTHER[gap.surgery.side]),
    )


def mirrored_posterior(now: SidePosterior) -> SidePosterior:
    interval = replace(now.t.interval, lower=-now.t.interval.upper, upper=-now.t.interval.lower)
    return replace(
        now,
        distribution=now.distribution.mirrored,
        t=replace(now.t, value=-now.t.value, interval=interval),
        p_right_ahead=now.p_left_ahead,
        p_left_ahead=now.p_right_ahead,
        state=STATES[now.state],
    )


def turned(params: object) -> dict[str, Any]:
    said = dict(cast(dict[str, Any], params))
    return {
        name: OTHER.get(value, value) if isinstance(value, str) else value for name, value in said.items()
    }


@settings(max_examples=400, deadline=None)
@given(gap=gaps)
def test_a_mirrored_gap_gets_the_mirrored_plan(gap: GapToClose) -> None:
    here, there = close_gap(gap), close_gap(mirrored_gap(gap))
    if isinstance(here, Reason):
        assert there == replace(here, params=turned(here.params))
        return
    assert isinstance(there, ClosingPlan)
    assert there.lagging_side == OTHER[here.lagging_side]
    assert [(p.exercise_id, p.right_sets, p.left_sets) for p in there.lifts] == [
        (p.exercise_id, p.left_sets, p.right_sets) for p in here.lifts
    ]
    assert (there.forecast.value, there.forecast.sd) == (-here.forecast.value, here.forecast.sd)
    assert there.target == -here.target
    assert there.extra_sets == here.extra_sets
    assert [(r.code, dict(r.params)) for r in there.reasons] == [
        (r.code, turned(r.params)) for r in here.reasons
    ]


@settings(max_examples=400, deadline=None)
@given(gap=gaps)
def test_a_plan_feeds_no_opposite_gap_and_starves_no_leading_side(gap: GapToClose) -> None:
    plan = close_gap(gap)
    if isinstance(plan, Reason):
        return
    by_id = {lift.exercise_id: lift for lift in gap.lifts}
    assert all(by_id[one.exercise_id].held is None for one in plan.lifts)
    first = plan.lifts[0]
    for muscle, share in by_id[first.exercise_id].involvement.items():
        assert share <= 0.25 or (muscle, plan.lagging_side) not in gap.ahead
    behind, ahead = (
        (first.left_sets, first.right_sets)
        if plan.lagging_side == "left"
        else (first.right_sets, first.left_sets)
    )
    assert behind >= ahead
    before = by_id[first.exercise_id]
    dose, had = (
        (gap.dose.right, before.right_sets)
        if plan.lagging_side == "left"
        else (gap.dose.left, before.left_sets)
    )
    worth = max(0.1, *before.involvement.values())
    assert dose + (ahead - had) * worth >= min(dose, gap.dose.keeps_size) - 1e-9
    assert gap.surgery is None or gap.surgery.target is not None


@given(st.lists(readings, min_size=1, max_size=5), st.lists(st.floats(0.0, 90.0), max_size=4))
def test_history_and_the_joined_visits_mirror(visits: Sequence[SideReading], days: Sequence[float]) -> None:
    turned_visits = [replace(one, t=-one.t) for one in visits]
    here, there = (join_visits(found, 90.0, 0.004) for found in (visits, turned_visits))
    assert (there.t, there.variance) == (-here.t, here.variance)
    past, other = (look_back(found, days, SidePrior(), 0.004) for found in (visits, turned_visits))
    assert [(p.day, -p.mean, p.variance) for p in past] == [(p.day, p.mean, p.variance) for p in other]


@given(st.lists(st.tuples(st.floats(-0.3, 0.3), st.floats(1e-4, 1e-2)), min_size=1, max_size=6))
def test_the_smoothed_history_mirrors(told: Sequence[tuple[float, float]]) -> None:
    def steps(sign: float) -> list[FilterStep]:
        return [
            FilterStep(7.0 * n, (sign * 0.9 * t, v * 1.1), (sign * t, v)) for n, (t, v) in enumerate(told)
        ]

    assert [(p.mean, p.variance) for p in smooth_steps(steps(-1.0))] == [
        (-p.mean, p.variance) for p in smooth_steps(steps(1.0))
    ]


girths = st.lists(st.tuples(limbs, st.floats(30.0, 42.0)), min_size=2, max_size=7)
tapes = st.lists(st.tuples(girths, st.floats(0.3, 2.0), st.floats(0.3, 2.0)), min_size=1, max_size=4)


def visits_of(told: Sequence[Any], turn: Callable[[Limb], Limb]) -> list[GirthVisit]:
    return [
        GirthVisit(
            7.0 * n,
            tuple(GirthReading("upper-arm", turn(side), value) for side, value in values),
            {turn("left"): left, turn("right"): right},
        )
        for n, (values, left, right) in enumerate(told)
    ]


@given(told=tapes, corrected=st.booleans())
def test_mirrored_girths_give_mirrored_readings(told: Sequence[Any], corrected: bool) -> None:
    found = []
    for turn in (lambda side: side, OTHER.__getitem__):
        visits = visits_of(told, turn)
        error = learn_error({"upper-arm": visits}, {"upper-arm": "arm"})["upper-arm"]
        found.append((error, readings_of_visits(visits, error, corrected=corrected)))
    (error, here), (other, there) = found
    assert error == other
    assert [(-r.t, r.variance, r.reasons) for r in here] == [(r.t, r.variance, r.reasons) for r in there]


angles = st.lists(st.floats(-10.0, 120.0), max_size=3).map(tuple)


@given(st.lists(st.tuples(angles, angles), min_size=1, max_size=4))
def test_mirrored_angles_give_mirrored_differences(told: Sequence[Any]) -> None:
    if not any(right and left for right, left in told):
        return
    here = motion_readings(
        "lunge", [MotionVisit(n, {"right": r, "left": f}) for n, (r, f) in enumerate(told)]
    )
    there = motion_readings(
        "lunge", [MotionVisit(n, {"right": f, "left": r}) for n, (r, f) in enumerate(told)]
    )
    assert [(-r.t, r.variance) for r in here] == [(r.t, r.variance) for r in there]


@given(st.floats(-0.3, 0.3), st.floats(0.005, 0.1))
def test_what_is_expected_without_a_plan_mirrors(t: float, sd: float) -> None:
    here, there = (side_posterior([seen(sign * t, sd**2)]) for sign in (1.0, -1.0))
    assert forecast_without_plan(there, "size").value == -forecast_without_plan(here, "size").value
