"""Whatever is logged, what is believed stays possible: no reserve below none, no repetitions without end."""

from math import isfinite, log

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
from service.core.capability.layout import BEND, HABIT, TIRING
from service.core.curve import CURVE_PRIORS, CurvePrior

pytestmark = pytest.mark.quick

MODEL = AthleteModel(lambda _: SeriesPrior(CURVE_PRIORS["row_pull"]), lambda _, __: 0.5)

odd_sets = st.builds(
    SetEvidence,
    series=st.sampled_from(["pull", "row"]),
    load_kg=st.sampled_from([0.5, 4.5, 40.0, 45.0, 45.0, 50.0, 55.0, 450.0]),
    reps=st.integers(0, 25),
    reps_in_reserve=st.none() | st.sampled_from([0.0, 1.0, 3.0, 8.0]),
    to_failure=st.booleans(),
    stage=st.sampled_from([0, 0, 0, 1]),
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.lists(odd_sets, min_size=1, max_size=6), min_size=1, max_size=40))
def test_no_log_however_odd_carries_the_filter_away(sessions: list[list[SetEvidence]]) -> None:
    told = [SessionEvidence(3.0 * number, tuple(sets)) for number, sets in enumerate(sessions)]
    state = fold(begin(), told, MODEL)
    for hypothesis in range(len(state.weights)):
        if state.weights[hypothesis] > 0.0:
            assert 0.0 <= state.globals_mean[hypothesis, HABIT] <= 10.0
            assert 0.0 <= state.globals_mean[hypothesis, TIRING] <= 5.0
    for series in state.series():
        found = forecast(state, series, 3.0 * len(told), "both", MODEL)
        assert found is not None
        assert isfinite(found.one_rep_max().value)
        assert found.one_rep_max().value > 0.0
        assert -1.0 <= found.joint.means[:, BEND].min() <= found.joint.means[:, BEND].max() <= 4.0
        at_load = found.repetitions_at(45.0)
        assert isfinite(at_load.mean)
        assert at_load.quantile(0.1) <= at_load.median <= at_load.quantile(0.9)


def test_a_silent_log_whose_repetitions_fall_and_rise_leaves_no_reserve_below_none() -> None:
    """Of a simulated athlete whose habit ran to minus 36 repetitions, and the forecasts with it."""
    done = [(45, (10, 10)), (45, (10, 10)), (40, (16, 13, 14, 14)), (45, (13, 13, 13)), (45, (8, 8, 10)),
            (45, (8, 11, 11, 10)), (50, (5, 6, 6)), (45, (17, 17, 12)), (50, (9, 5, 5, 5))]  # fmt: skip
    sessions = [
        SessionEvidence(2.0 * number, tuple(SetEvidence("pull", load, reps) for reps in counts))
        for number, (load, counts) in enumerate(done * 4)
    ]
    state = fold(begin(), sessions, MODEL)
    found = forecast(state, "pull", 80.0, "both", MODEL)
    assert found is not None
    assert 9.0 <= found.repetitions_at(45.0).median <= 25.0
    assert 52.0 <= found.one_rep_max().value <= 85.0


def test_more_repetitions_with_more_load_leave_a_belief() -> None:
    """Invented: nineteen sets in which heavier loads allow more, after which strength was once some 10^15 kg."""
    lifts: list[tuple[str, list[tuple[float, Side, int, float | None]]]] = [
        ("raise", [(61.0, "right", 7, 3), (56.5, "left", 11, 3), (63.0, "left", 15, 3)]),
        ("pulldown", [(61.5, "both", 13, 2), (53.5, "both", 8, 1), (51.0, "both", 7, 2)]),
        ("hinge", [(54.5, "both", 7, 3), (57.0, "both", 5, 2), (60.5, "both", 14, 1)]),
        ("extension", [(65.0, "both", 14, 1), (53.5, "both", 6, 1)]),
        ("extension", [(58.5, "both", 8, 2), (63.0, "both", 8, 2), (60.0, "both", 10, None), (71.5, "both", 13, 3)]),
        ("pressdown", [(59.5, "left", 6, 2), (62.0, "right", 9, 2), (69.0, "left", 14, 1), (58.0, "right", 15, 2)]),
    ]  # fmt: skip
    sided = AthleteModel(
        lambda name: SeriesPrior(CURVE_PRIORS["row_pull"], name in {"raise", "pressdown"}), lambda *_: 0.5
    )
    sessions = [
        SessionEvidence(day, tuple(SetEvidence(name, load, reps, told, side=side) for load, side, reps, told in sets))
        for day, (name, sets) in zip((0.0, 2.0, 2.0, 2.0, 3.0, 3.0), lifts, strict=True)
    ]  # fmt: skip
    state = fold(begin(), sessions, sided)
    for name in ("raise", "pulldown", "hinge", "extension", "pressdown"):
        found = forecast(state, name, 4.0, "both", sided)
        assert found is not None
        assert 50.0 <= found.one_rep_max().value <= 200.0
        assert np.linalg.eigvalsh(found.joint.covariances).min() > -1e-9


def test_more_repetitions_than_a_falling_curve_can_give_straighten_it() -> None:
    """A curve that ends at 22 repetitions, and sets of 33: no strength gives them, and none must be sought for."""
    steep = SeriesPrior(CurvePrior(log(18.0), 0.25, -0.85, 0.3, basis=("judgement",)))
    held = AthleteModel(lambda _: steep, lambda *_: 0.0)
    told = [[8, 8, 8], *([[33, 31, 30]] * 6)]
    sessions = [
        SessionEvidence(
            2.0 * number, tuple(SetEvidence("curl", 27.0, reps, 1.0, purpose="work") for reps in sets)
        )
        for number, sets in enumerate(told)
    ]
    for until in range(1, len(sessions) + 1):
        found = forecast(fold(begin("trained"), sessions[:until], held), "curl", 2.0 * until, "both", held)
        assert found is not None
        assert 27.0 <= found.one_rep_max().value <= 200.0
    assert found.repetitions_at(27.0).median > 24.0
