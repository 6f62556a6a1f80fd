"""How rows become sessions of evidence: what ties them together, in which order, and what is left out."""

import pytest

from service.catalogue import load_catalogue
from service.usecases.backtest.lifts import LiftBook
from service.usecases.backtest.log_reading import read_log
from service.usecases.backtest.sessions import PlacedSession, by_athlete, sessions_of

pytestmark = pytest.mark.quick


def _sessions(
    *lines: str, header: str = "performed_at,session,ordinal,exercise,load,reps"
) -> list[PlacedSession]:
    rows = read_log(f"{line}\n" for line in (header, *lines)).rows
    (own,) = by_athlete(rows).values()
    return list(sessions_of(own, LiftBook(load_catalogue())))


def _indices(sessions: list[PlacedSession]) -> list[list[int]]:
    return [[row.index for row in one.rows] for one in sessions]


def test_rows_replay_by_instant_then_session_then_ordinal_by_size() -> None:
    lines = (
        "2026-03-02,2,10,bench press,60,5",
        "2026-03-02,2,9,bench press,60,5",
        "2026-03-02,10,1,bench press,60,5",
        "2026-03-01,7,1,bench press,60,5",
    )
    assert _indices(_sessions(*lines)) == [[3], [1, 0], [2]]


def test_without_a_session_the_local_day_ties_rows_together() -> None:
    lines = (
        "2026-03-02T23:30:00+02:00,,,bench press,60,5",
        "2026-03-02T23:50:00+02:00,,,bench press,60,5",
        "2026-03-03T00:10:00+02:00,,,bench press,60,5",
    )
    assert _indices(_sessions(*lines)) == [[0, 1], [2]]


def test_a_session_may_run_past_midnight_and_a_name_used_every_week_is_not_one_session() -> None:
    lines = (
        "2026-03-02T23:50:00Z,push,1,bench press,60,5",
        "2026-03-03T00:10:00Z,push,2,bench press,60,5",
        "2026-03-09T18:00:00Z,push,1,bench press,60,5",
    )
    assert _indices(_sessions(*lines)) == [[0, 1], [2]]


def test_a_row_written_twice_is_foretold_twice_and_counted_once() -> None:
    line = "2026-03-02T18:00:00Z,s,1,bench press,60,5"
    (session,) = _sessions(line, line, line.replace(",1,", ",2,"))
    assert [told.reps for told in session.evidence.sets] == [5, 0, 5]
    (without_ordinals,) = _sessions(*(["2026-03-02T18:00:00Z,s,,bench press,60,5"] * 2))
    assert [told.reps for told in without_ordinals.evidence.sets] == [5, 5]


def test_rows_without_a_load_are_left_out_unless_the_body_is_the_load() -> None:
    lines = ("2026-03-02,,,bench press,,5", "2026-03-02,,,pull-up,,5", "2026-03-02,,,bench press,60,5")
    assert _indices(_sessions(*lines)) == [[1, 2]]


def test_sides_set_ups_and_purposes_reach_the_engine() -> None:
    header = "performed_at,exercise,side,load,reps,range,purpose,stage"
    lines = (
        "2026-03-02,one-arm dumbbell row,,20,8,full,,",
        "2026-03-02,one-arm dumbbell row,R,20,8,bottom half,warm-up,",
        "2026-03-02,bench press,,60,8,0-60,rehab,",
        "2026-03-02,bench press,both,50,8,top_half,technique,1",
    )
    (session,) = _sessions(*lines, header=header)
    told = session.evidence.sets
    assert [one.side for one in told] == ["unspecified", "right", "both", "both"]
    assert [one.setup for one in told] == ["", "bottom_half", "range:0-60", "top_half"]
    assert [one.purpose for one in told] == ["unknown", "warm_up", "bound", "bound"]
    assert [one.stage for one in told] == [0, 0, 0, 1]


def test_counts_beyond_any_curve_are_foretold_and_say_nothing() -> None:
    (session,) = _sessions("2026-03-02,,,bench press,60,61", "2026-03-02,,,bench press,60,60")
    assert [told.reps for told in session.evidence.sets] == [0, 60]
