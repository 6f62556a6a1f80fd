"""One athlete whose numbers break costs nobody else a row."""

from collections.abc import Sequence
from math import inf, nan

import pytest

from service.catalogue import load_catalogue
from service.core.capability import AthleteModel, AthleteState, SessionEvidence
from service.core.capability import foresee_all as sound
from service.reports.backtest_page import render_backtest
from service.usecases.backtest import replaying, tables
from service.usecases.backtest.account import account_for
from service.usecases.backtest.lifts import LiftBook
from service.usecases.backtest.log_reading import ReadLog, read_log
from service.usecases.backtest.tables import capability_rows, prediction_rows, side_rows
from service.usecases.backtest.uncomputed import Uncomputed

pytestmark = pytest.mark.quick
#: The load by which the broken athlete's sessions are known.
BROKEN = 61.0


def _read() -> ReadLog:
    lines = ["athlete,performed_at,exercise,side,load,reps,reps_in_reserve"]
    for day in range(1, 4):
        for athlete, load in (("Aune", 60.0), ("Berit", BROKEN), ("Caj", 62.0)):
            lines += [
                f"{athlete},2026-03-0{day},one-arm dumbbell row,{side},{load},8,2"
                for side in ("left", "right")
            ]
    return read_log(f"{line}\n" for line in lines)


def _replay(read: ReadLog) -> replaying.Replay:
    return replaying.replay(read.rows, LiftBook(load_catalogue()))


def _is_broken(sessions: Sequence[SessionEvidence]) -> bool:
    return sessions[0].sets[0].load_kg == BROKEN


def test_arithmetic_that_raises_blanks_one_athlete_and_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    read = _read()
    before = list(prediction_rows(_replay(read), read.row_count))

    def breaking(state: AthleteState, sessions: Sequence[SessionEvidence], model: AthleteModel) -> object:
        if _is_broken(sessions):
            raise OverflowError("math range error")
        return sound(state, sessions, model)

    monkeypatch.setattr(replaying, "foresee_all", breaking)
    replayed = _replay(read)
    after = list(prediction_rows(replayed, read.row_count))
    broken = {row.index for row in read.rows if row.athlete == "Berit"}
    for index, (was, now) in enumerate(zip(before, after, strict=True)):
        assert now == ((str(index), *("",) * 7) if index in broken else was)
    assert {row[0] for row in capability_rows(replayed)} == {"Aune", "Caj"}
    (told,) = replayed.uncomputed
    assert str(told) == "athlete 'Berit': none of 6 sets could be predicted (math range error)"
    page = render_backtest(account_for(read, replayed, LiftBook(load_catalogue()), "log.csv"))
    assert "none of 6 sets could be predicted" in page


@pytest.mark.parametrize("value", [nan, inf])
def test_a_prediction_that_is_no_number_is_blank_and_told(
    value: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaking(state: AthleteState, sessions: Sequence[SessionEvidence], model: AthleteModel) -> object:
        after, foretold = sound(state, sessions, model)
        if _is_broken(sessions):
            foretold[-1] = value
        return after, foretold

    monkeypatch.setattr(replaying, "foresee_all", breaking)
    read = _read()
    replayed = _replay(read)
    newest = max(row.index for row in read.rows if row.athlete == "Berit")
    assert replayed.predictions[newest] is None
    assert sum(told is None for told in replayed.predictions.values()) == 4  # and each athlete's first
    assert [str(one) for one in replayed.uncomputed] == [
        "athlete 'Berit': 1 sets could not be predicted (no finite number)"
    ]


def test_a_lift_whose_loads_and_sides_break_keeps_its_row_with_blank_cells(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    read, catalogue = _read(), load_catalogue()
    replayed = _replay(read)
    broken = next(known.state for known in replayed.athletes if known.athlete == "Berit")
    before = [list(capability_rows(replayed)), list(side_rows(replayed, catalogue))]
    broken.offset[:] = nan
    failed: list[Uncomputed] = []
    after = [
        list(capability_rows(replayed, failed=failed.append)),
        list(side_rows(replayed, catalogue, failed.append)),
    ]
    for was, now in zip(before, after, strict=True):
        assert [row[:3] for row in now] == [row[:3] for row in was]
        assert [row for row in now if row[0] != "Berit"] == [row for row in was if row[0] != "Berit"]
        assert all(set(row[4:]) == {""} for row in now if row[0] == "Berit")
    assert len(failed) == 3
    assert {one.athlete for one in failed} == {"Berit"}

    def faulty(*_: object) -> None:
        raise KeyError("a fault of the program")

    monkeypatch.setattr(tables, "forecast", faulty)
    with pytest.raises(KeyError):
        list(capability_rows(replayed))
