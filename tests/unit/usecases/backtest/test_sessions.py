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


def test_counts_beyond_any_curve_say_that_so_many_were_possible() -> None:
    header = "performed_at,exercise,load,reps,reps_in_reserve,to_failure"
    lines = (
        "2026-03-02,bench press,60,61,2,",
        "2026-03-02,bench press,60,61,,true",
        "2026-03-02,bench press,60,60,2,",
    )
    (session,) = _sessions(*lines, header=header)
    told = [(one.reps, one.purpose, one.reps_in_reserve, one.to_failure) for one in session.evidence.sets]
    assert told == [(60, "bound", None, False), (60, "bound", None, False), (60, "unknown", 2.0, False)]


def test_help_that_is_not_told_and_loads_that_cannot_be_read_are_foretold_and_not_learnt_from() -> None:
    lines = (
        "2026-03-02,,1,assisted pull-up,,8",
        "2026-03-02,,2,assisted pull-up,20,8",
        "2026-03-02,,3,assisted pull-up,,8",
        "2026-03-02,,4,pull-up,heavy,8",
        "2026-03-02,,5,pull-up,-30,8",
        "2026-03-02,,6,pull-up,,8",
    )
    (session,) = _sessions(*lines)
    share = 0.95 * 75.0  # of a body mass that was never told
    told = session.evidence.sets
    loads = (0.7 * share, share - 20.0, share - 20.0, share, share - 30.0, share)
    assert [one.load_kg for one in told] == pytest.approx(loads)
    assert [one.reps for one in told] == [0, 8, 0, 0, 8, 8]
    known, unknown = told[1].ln_load_sd, told[2].ln_load_sd
    assert unknown == pytest.approx((known**2 + 0.2**2) ** 0.5)


def test_a_lift_that_nobody_knows_and_no_row_loads_is_followed_by_its_repetitions() -> None:
    lines = (
        "2026-03-02,,1,moon walk,,8",
        "2026-03-04,,1,moon walk,,9",
        "2026-03-04,,2,sun walk,,9",
        "2026-03-05,,1,sun walk,5,9",
    )
    sessions = _sessions(*lines)
    assert _indices(sessions) == [[0], [1], [3]]
    first, second = (session.evidence.sets[0] for session in sessions[:2])
    assert (first.load_kg, first.reps, second.reps) == (second.load_kg, 8, 9)
