"""What a replay answers for logs as people write them: help, many repetitions, copies, and missing columns."""

import pytest

from service.catalogue import load_catalogue
from service.usecases.backtest.lifts import LiftBook
from service.usecases.backtest.log_reading import read_log
from service.usecases.backtest.predictions import Prediction
from service.usecases.backtest.replaying import Replay, replay
from service.usecases.backtest.tables import CAPABILITY_COLUMNS, capability_rows

pytestmark = pytest.mark.quick


def _replay(header: str, *lines: str) -> Replay:
    return replay(read_log(f"{line}\n" for line in (header, *lines)).rows, LiftBook(load_catalogue()))


def _told(replayed: Replay, index: int) -> Prediction:
    told = replayed.predictions[index]
    assert told is not None
    return told


def _capability(replayed: Replay) -> list[dict[str, str]]:
    return [dict(zip(CAPABILITY_COLUMNS, row, strict=True)) for row in capability_rows(replayed)]


def test_the_ends_of_help_are_in_order() -> None:
    replayed = _replay(
        "performed_at,exercise,load,reps,reps_in_reserve,body_mass",
        *(f"2026-03-0{day},assisted pull-up,{30 - day},8,2,80" for day in range(1, 6)),
    )
    (row,) = _capability(replayed)
    for what in ("1rm", "load_5", "load_10", "load_20"):
        low, middle, high = (float(row[f"{what}_{q}"]) for q in ("q10", "q50", "q90"))
        assert low < middle < high
    # Who wants twenty repetitions needs more help than who wants one.
    assert float(row["load_20_q50"]) > float(row["1rm_q50"])


def test_help_written_with_a_minus_is_help() -> None:
    header = "performed_at,exercise,load,reps,to_failure,body_mass"
    days = range(1, 6)
    minus, machine = (
        _replay(header, *(f"2026-03-0{day},{name},{load},8,true,80" for day in days))
        for name, load in (("pull-up", "-30"), ("assisted pull-up", "30"))
    )
    assert minus.predictions == machine.predictions
    plain = _replay(header, *(f"2026-03-0{day},pull-up,,8,true,80" for day in days))
    assert float(_capability(minus)[0]["1rm_q50"]) < float(_capability(plain)[0]["1rm_q50"]) - 20.0


def test_a_set_whose_help_is_not_told_is_foretold_widely_and_teaches_nothing() -> None:
    header = "performed_at,exercise,load,reps,to_failure,body_mass"
    before = [f"2026-03-0{day},assisted pull-up,30,8,true,80" for day in range(1, 5)]
    after = "2026-03-08,assisted pull-up,30,8,true,80"
    told, blank = (
        _replay(header, *before, f"2026-03-06,assisted pull-up,{load},12,true,80", after)
        for load in ("30", "")
    )
    assert _told(blank, 4).sd > 2.0 * _told(told, 4).sd
    assert _told(blank, 5).q50 == pytest.approx(_told(_replay(header, *before, after), 4).q50, abs=0.3)
    assert _told(told, 5).q50 > _told(blank, 5).q50 + 0.5


def test_many_repetitions_are_evidence_that_so_many_are_possible() -> None:
    replayed = _replay(
        "performed_at,exercise,reps,body_mass",
        *(f"2026-03-0{day},push-up,70,80" for day in range(1, 5)),
        "2026-03-06,push-up,50,80",
    )
    assert replayed.predictions[0] is None
    for index in range(1, 5):
        assert _told(replayed, index).q90 > 60.0


def test_a_row_written_twice_changes_nothing_but_its_own_line() -> None:
    header = "performed_at,session,ordinal,exercise,side,load,reps,reps_in_reserve"
    once = [
        f"2026-03-{day:02d},s{day},{number},one-arm dumbbell row,{side},{20 + day % 3},{8 + day % 2},{reserve}"
        for day in range(1, 13)
        for number, (side, reserve) in enumerate(
            (("right", "2"), ("left", ""), ("right", "1"), ("left", ""), ("right", "1"), ("left", ""))
        )
    ]
    twice = [line for line in once for _ in range(2)]
    plain, doubled = _replay(header, *once), _replay(header, *twice)
    for index in range(1, len(once)):
        assert doubled.predictions[2 * index] == plain.predictions[index]
    assert _capability(doubled) == _capability(plain)


def test_without_repetitions_no_set_is_predicted_and_nothing_breaks() -> None:
    replayed = _replay("performed_at,exercise,load", "2026-03-02,bench press,60", "2026-03-03,bench press,60")
    assert list(replayed.predictions.values()) == [None, None]
    assert (_capability(replayed), replayed.uncomputed) == ([], ())


def test_an_unknown_lift_without_loads_is_predicted_and_has_no_load_to_answer() -> None:
    replayed = _replay(
        "performed_at,exercise,reps,to_failure", *(f"2026-03-0{day},moon walk,12,true" for day in range(1, 7))
    )
    assert 10.0 < _told(replayed, 5).q50 < 15.0
    assert _capability(replayed) == []


def test_a_partial_range_leaves_what_the_whole_one_allows() -> None:
    header = "performed_at,exercise,load,reps,to_failure,range"
    full = [f"2026-03-0{day},back squat,100,8,true," for day in range(1, 5)]
    for word in ("half", "most of it"):
        partial = [f"2026-03-0{day},back squat,130,10,true,{word}" for day in range(5, 9)]
        replayed = _replay(header, *full, *partial, "2026-03-09,back squat,100,8,true,")
        assert 7.0 < _told(replayed, 8).q50 < 11.0, word
