"""What must hold of the capability filter for any log."""

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from itertools import pairwise
from math import log
from struct import pack_into

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.core.capability import (
    AthleteModel,
    AthleteState,
    Foresight,
    SeriesPrior,
    SessionEvidence,
    SetEvidence,
    Side,
    UnreadableState,
    begin,
    fold,
    forecast,
    foresee,
    side_gap,
)
from service.core.capability.layout import HALF_GAP, HALF_LN_K, SIDE_DAY
from service.core.curve import CURVE_PRIORS
from service.core.units import KG_PER_LB

pytestmark = pytest.mark.quick

FEW = settings(max_examples=20, deadline=None)
PRESS, CURL, ROW = "press", "curl", "row"
PRIORS = {
    PRESS: SeriesPrior(CURVE_PRIORS["bench"]),
    CURL: SeriesPrior(CURVE_PRIORS["single_joint"], one_sided=True),
    ROW: SeriesPrior(CURVE_PRIORS["row_pull"], one_sided=True),
}


def kinship(one: str, other: str) -> float:
    return 0.3 if {one, other} == {CURL, ROW} else 0.1


MODEL = AthleteModel(PRIORS.__getitem__, kinship)
SWAPPED: dict[Side, Side] = {"left": "right", "right": "left", "both": "both", "unspecified": "unspecified"}
MIRRORED = (HALF_GAP, HALF_LN_K, SIDE_DAY)
Log = list[SessionEvidence]


#: What was told of the effort: reserve and whether to failure.
_EFFORTS = st.one_of(
    st.tuples(st.none(), st.booleans()), st.tuples(st.integers(0, 5).map(float), st.just(False))
)


@cache
def sets(setups: Sequence[str]) -> st.SearchStrategy[SetEvidence]:
    """Sets of all kinds; made once, as a strategy costs more than what it draws."""
    return st.builds(
        lambda told, **others: SetEvidence(reps_in_reserve=told[0], to_failure=told[1], **others),
        _EFFORTS,
        series=st.sampled_from(sorted(PRIORS)),
        load_kg=st.floats(21.0, 99.0),
        reps=st.integers(1, 20),
        side=st.sampled_from(sorted(SWAPPED)),
        purpose=st.sampled_from(["unknown", "unknown", "work", "test", "warm_up", "bound"]),
        setup=st.sampled_from(setups),
        stage=st.sampled_from([0, 0, 0, 1]),
        rest_s=st.one_of(st.none(), st.floats(20.0, 400.0)),
        pain=st.sampled_from([None, None, 5.0]),
    )


@cache
def logs(setups: Sequence[str] = ("",)) -> st.SearchStrategy[Log]:
    """Two to five sessions of one to five sets."""
    visits = st.tuples(st.floats(0.5, 60.0), st.lists(sets(setups), min_size=1, max_size=5))
    return st.lists(visits, min_size=2, max_size=5).map(_dated)


def _dated(visits: list[tuple[float, list[SetEvidence]]]) -> Log:
    days = np.cumsum([gap for gap, _ in visits])
    return [SessionEvidence(float(day), tuple(done)) for day, (_, done) in zip(days, visits, strict=True)]


def changed(log_kept: Log, **changes: object) -> Log:
    """Return the log with fields of every set replaced; a callable is given the set."""
    return [
        replace(
            visit,
            sets=tuple(
                replace(
                    item, **{name: make(item) if callable(make) else make for name, make in changes.items()}
                )
                for item in visit.sets
            ),
        )
        for visit in log_kept
    ]


def folded(log_kept: Log) -> AthleteState:
    return fold(begin(), log_kept, MODEL)


def same(one: AthleteState, other: AthleteState) -> bool:
    return one.pack() == other.pack()


@FEW
@given(log_kept=logs(("", "grip", "bottom_half")))
def test_folding_session_by_session_is_folding_at_once(log_kept: Log) -> None:
    state = begin()
    for visit in log_kept:
        state = fold(state, [visit], MODEL)
    assert same(state, folded(log_kept))


@FEW
@given(log_kept=logs(), cut=st.integers(0, 5))
def test_a_state_that_was_stored_goes_on_as_if_it_had_not_been(log_kept: Log, cut: int) -> None:
    state = AthleteState.unpack(folded(log_kept[:cut]).pack())
    assert same(fold(state, log_kept[cut:], MODEL), folded(log_kept))


@pytest.mark.parametrize("series", [PRESS, CURL])
def test_a_stored_state_goes_on_when_a_set_up_is_named_later(series: str) -> None:
    first = SessionEvidence(0.0, (SetEvidence(series, 60.0, 8, 2.0),))
    later = SessionEvidence(7.0, (SetEvidence(series, 60.0, 8, 2.0, setup="grip"),))
    state = folded([first])
    assert same(fold(AthleteState.unpack(state.pack()), [later], MODEL), fold(state, [later], MODEL))


@FEW
@given(log_kept=logs(("", "grip")))
def test_foreseeing_leaves_the_state_that_folding_leaves(log_kept: Log) -> None:
    state = begin()
    for visit in log_kept:
        state, foretold = foresee(state, visit, MODEL)
        assert len(foretold) == len(visit.sets)
    assert same(state, folded(log_kept))


@FEW
@given(log_kept=logs(("", "grip", "bottom_half")))
def test_packing_and_unpacking_is_the_identity(log_kept: Log) -> None:
    state = folded(log_kept)
    again = AthleteState.unpack(state.pack())
    assert again.pack() == state.pack()
    assert (again.names, again.setups, again.training) == (state.names, state.setups, state.training)
    assert again.series() == state.series()


def packed() -> bytes:
    visit = SessionEvidence(3.0, (SetEvidence(PRESS, 80.0, 8, 2.0), SetEvidence(CURL, 12.0, 9, side="left")))
    return folded([visit]).pack()


HEAD, CHECKSUM = 20, range(16, 20)


def damaged(whole: bytes, place: int) -> bytes:
    changed_bytes = bytearray(whole)
    changed_bytes[place] ^= 1
    return bytes(changed_bytes)


def test_no_byte_of_a_stored_body_can_change_unseen() -> None:
    whole = packed()
    for place in (*CHECKSUM, *range(HEAD, HEAD + 64), *range(HEAD + 64, len(whole), 97), len(whole) - 1):
        with pytest.raises(UnreadableState):
            AthleteState.unpack(damaged(whole, place))


@pytest.mark.parametrize("place", range(HEAD))
def test_no_byte_of_a_stored_head_can_change_unseen(place: int) -> None:
    with pytest.raises(UnreadableState):
        AthleteState.unpack(damaged(packed(), place))


def test_a_stored_state_that_was_cut_or_lengthened_is_refused() -> None:
    whole = packed()
    for broken in (b"", whole[:10], whole[:-1], whole[:-8], whole + b"\0" * 8):
        with pytest.raises(UnreadableState):
            AthleteState.unpack(broken)


def test_another_layout_is_refused() -> None:
    whole = bytearray(packed())
    pack_into("<H", whole, 4, 999)
    with pytest.raises(UnreadableState):
        AthleteState.unpack(bytes(whole))


def test_another_model_version_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    with monkeypatch.context() as patch:
        patch.setattr("service.core.capability.athlete.MODEL_VERSION", "capability/0")
        older = packed()
    with pytest.raises(UnreadableState):
        AthleteState.unpack(older)


@FEW
@given(log_kept=logs())
def test_swapping_the_sides_negates_the_gap_exactly_and_nothing_else(log_kept: Log) -> None:
    here, there = folded(log_kept), folded(changed(log_kept, side=lambda item: SWAPPED[item.side]))
    sign = np.ones(here.offset.shape[2])
    sign[list(MIRRORED)] = -1.0
    np.testing.assert_array_equal(there.offset, here.offset * sign)
    np.testing.assert_array_equal(there.slope, here.slope * sign[:, None])
    np.testing.assert_array_equal(there.spread, here.spread * np.outer(sign, sign))
    np.testing.assert_array_equal(there.globals_mean, here.globals_mean)
    np.testing.assert_array_equal(there.globals_covariance, here.globals_covariance)
    np.testing.assert_array_equal(there.weights, here.weights)


@FEW
@given(log_kept=logs())
def test_swapping_the_sides_swaps_their_forecasts(log_kept: Log) -> None:
    here, there = folded(log_kept), folded(changed(log_kept, side=lambda item: SWAPPED[item.side]))
    day = log_kept[-1].day + 2.0
    for series in here.series():
        gap, mirrored = side_gap(here, series, day), side_gap(there, series, day)
        assert mirrored == (-gap[0], gap[1])
        for side, other in SWAPPED.items():
            one, two = forecast(here, series, day, side), forecast(there, series, day, other)
            assert one is not None
            assert two is not None
            assert one.ln_load_for(8.0) == two.ln_load_for(8.0)


@FEW
@given(log_kept=logs(), factor=st.sampled_from([2.0, 0.5, 1.0 / KG_PER_LB]))
def test_another_unit_scales_loads_and_changes_nothing_else(log_kept: Log, factor: float) -> None:
    here, there = folded(log_kept), folded(changed(log_kept, load_kg=lambda item: item.load_kg * factor))
    np.testing.assert_allclose(there.globals_mean, here.globals_mean, rtol=1e-9, atol=1e-11)
    np.testing.assert_allclose(there.weights, here.weights, rtol=1e-9)
    moved = np.zeros(here.offset.shape)
    moved[:, :, 0] = log(factor) * (here.notes[:, 0] > 0.0)
    np.testing.assert_allclose(
        there.offset[here.weights > 0], (here.offset + moved)[here.weights > 0], atol=1e-9
    )
    np.testing.assert_allclose(there.spread, here.spread, rtol=1e-7, atol=1e-10)


@FEW
@given(log_kept=logs(), factor=st.sampled_from([2.0, 0.25]))
def test_another_unit_for_one_series_leaves_the_others_alone(log_kept: Log, factor: float) -> None:
    # A stack whose plates are numbered otherwise: the athlete's other lifts know nothing of it.
    scaled = changed(log_kept, load_kg=lambda item: item.load_kg * (factor if item.series == ROW else 1.0))
    here, there = folded(log_kept), folded(scaled)
    day = log_kept[-1].day + 1.0
    for series in here.series():
        one, two = forecast(here, series, day), forecast(there, series, day)
        assert one is not None
        assert two is not None
        shift = log(factor) if series == ROW else 0.0
        assert two.ln_load_for(8.0)[0] == pytest.approx(one.ln_load_for(8.0)[0] + shift, abs=1e-9)
        assert two.ln_load_for(8.0)[1] == pytest.approx(one.ln_load_for(8.0)[1], rel=1e-9)


@FEW
@given(log_kept=logs(), order=st.permutations(sorted(PRIORS)))
def test_the_order_in_which_lifts_were_first_named_hardly_matters(log_kept: Log, order: list[str]) -> None:
    # A visit of warm-ups only names the lifts and tells nothing of them.
    def after(names: Sequence[str]) -> AthleteState:
        named = SessionEvidence(0.0, tuple(SetEvidence(name, 20.0, 5, purpose="warm_up") for name in names))
        return folded([named, *log_kept])

    here, there = after(sorted(PRIORS)), after(order)
    day = log_kept[-1].day + 1.0
    assert set(here.series()) == set(there.series())
    for series in here.series():
        one, two = forecast(here, series, day), forecast(there, series, day)
        assert one is not None
        assert two is not None
        assert two.ln_load_for(8.0) == pytest.approx(one.ln_load_for(8.0), abs=1e-9)


def told(log_kept: Log, after: AthleteState | None = None) -> list[Foresight | None]:
    state, found = after or begin(), []
    for visit in log_kept:
        state, foretold = foresee(state, visit, MODEL)
        found += list(foretold)
    return found


@FEW
@given(log_kept=logs(("", "grip")), reps=st.integers(1, 25), told_reserve=st.one_of(st.none(), st.just(3.0)))
def test_what_was_expected_of_a_set_does_not_hang_on_what_came_of_it(
    log_kept: Log, reps: int, told_reserve: float | None
) -> None:
    *before, last = log_kept
    state = folded(before)
    usual = told([last], state)
    for number, item in enumerate(last.sets):
        if item.stage or usual[number] is None:
            continue
        other = replace(item, reps=reps, reps_in_reserve=told_reserve, to_failure=told_reserve is None)
        rest = (*last.sets[:number], other, *last.sets[number + 1 :])
        again = told([replace(last, sets=rest)], state)
        assert again[: number + 1] == usual[: number + 1]


@FEW
@given(log_kept=logs())
def test_what_was_expected_is_a_distribution(log_kept: Log) -> None:
    for item in told(log_kept):
        if item is not None:
            quantiles = [item.q025, item.q10, item.q50, item.q90, item.q975]
            assert all(low <= high for low, high in pairwise(quantiles))
            assert item.q10 <= item.mean <= item.q975 * (1.0 + 1e-9)
            assert 0.0 < item.sd < np.inf


@FEW
@given(log_kept=logs(("", "grip")))
def test_the_covariances_stay_covariances(log_kept: Log) -> None:
    state = folded(log_kept)
    assert np.isfinite(state.offset).all()
    for matrices in (state.globals_covariance, state.spread.reshape(-1, *state.spread.shape[2:])):
        for matrix in matrices:
            np.testing.assert_allclose(matrix, matrix.T, rtol=1e-12, atol=1e-18)
            assert np.linalg.eigvalsh(matrix).min() > -1e-9


@FEW
@given(load=st.floats(20.0, 200.0), reps=st.integers(3, 15), more=st.integers(1, 6))
def test_more_repetitions_with_a_load_never_mean_less_strength(load: float, reps: int, more: int) -> None:
    prior = SeriesPrior(CURVE_PRIORS["bench"], ln_one_rep_max=(log(load) + 0.3, 0.1))
    known = AthleteModel({PRESS: prior}.__getitem__, kinship)
    loads = []
    for count in (reps, reps + more):
        visit = SessionEvidence(0.0, (SetEvidence(PRESS, load, count, to_failure=True),))
        answer = forecast(fold(begin(), [visit], known), PRESS, 1.0)
        assert answer is not None
        loads.append(answer.load_for(5.0).value)
    assert loads[1] > loads[0]


@FEW
@given(log_kept=logs(), reps=st.integers(3, 12))
def test_a_measured_maximum_never_widens_what_is_known_of_it(log_kept: Log, reps: int) -> None:
    # A set to failure where it was expected: an update of a Gaussian from which only doubt can go.
    state, day = folded(log_kept), log_kept[-1].day + 1.0
    before = forecast(state, PRESS, day)
    if before is None:
        return
    load = before.load_for(reps + 0.5, of="next_set").value
    visit = SessionEvidence(day, (SetEvidence(PRESS, load, reps, to_failure=True),))
    after = forecast(fold(state, [visit], MODEL), PRESS, day, same_session=True)
    assert after is not None
    assert (
        after.ln_load_for(float(reps), "next_set")[1] < before.ln_load_for(float(reps), "next_set")[1] + 1e-9
    )
