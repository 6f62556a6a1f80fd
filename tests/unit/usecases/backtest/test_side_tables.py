"""The table of sides: the columns that a reader relies on, names as the log has them, and the mirror."""

from collections.abc import Iterable
from statistics import NormalDist

import pytest

from service.catalogue import load_catalogue
from service.usecases.backtest import tables
from service.usecases.backtest.lifts import LiftBook
from service.usecases.backtest.log_reading import read_log
from service.usecases.backtest.replaying import replay
from service.usecases.backtest.tables import SIDE_COLUMNS, side_rows

pytestmark = pytest.mark.quick
_HEADER = "athlete,performed_at,ordinal,exercise,side,load,reps,reps_in_reserve"
Table = list[dict[str, str]]


def _table(lines: Iterable[str]) -> Table:
    catalogue = load_catalogue()
    read = read_log(line + "\n" for line in (_HEADER, *lines))
    rows = side_rows(replay(read.rows, LiftBook(catalogue)), catalogue)
    return [dict(zip(SIDE_COLUMNS, row, strict=True)) for row in rows]


def _curls(athlete: str = "A", name: str = "1-arm DB curl", days: int = 6, extra: int = 3) -> list[str]:
    """The right arm does three repetitions more at the same reserve, day after day."""
    return [
        f"{athlete},2026-03-{1 + 4 * day:02d},{ordinal},{name},{side},12,{10 + (extra if side == 'right' else 0)},2"
        for day in range(days)
        for ordinal, side in enumerate(("left", "right"))
    ]


def _turned(lines: list[str]) -> list[str]:
    swap = {"left": "right", "right": "left"}
    return [",".join(swap.get(cell, cell) for cell in line.split(",")) for line in lines]


def test_the_columns_are_those_that_readers_were_told() -> None:
    assert SIDE_COLUMNS == (
        "athlete", "exercise", "muscle", "t", "sd", "q025", "q10", "q90", "q975", "p_right_ahead", "p_beyond_5pct",
    )  # fmt: skip


def test_a_lift_stands_as_each_athletes_own_log_spells_it() -> None:
    table = _table([*_curls("A", "1-arm DB curl"), *_curls("B", "one-arm dumbbell curl")])
    assert [(row["athlete"], row["exercise"], row["muscle"]) for row in table] == [
        ("A", "1-arm DB curl", ""), ("B", "one-arm dumbbell curl", ""),
    ]  # fmt: skip
    one, other = ({name: row[name] for name in SIDE_COLUMNS[3:]} for row in table)
    assert one == other


def test_the_row_of_a_lift_is_one_normal_distribution() -> None:
    (row,) = _table(_curls())
    told = {name: float(row[name]) for name in SIDE_COLUMNS[3:]}
    normal = NormalDist(told["t"], told["sd"])
    for name, p in (("q025", 0.025), ("q10", 0.1), ("q90", 0.9), ("q975", 0.975)):
        assert told[name] == pytest.approx(normal.inv_cdf(p), abs=3e-5)
    assert told["p_right_ahead"] == pytest.approx(1 - normal.cdf(0), abs=2e-3)
    assert told["p_beyond_5pct"] == pytest.approx(1 - normal.cdf(0.05) + normal.cdf(-0.05), abs=2e-3)
    assert told["t"] > 0.02
    assert told["p_right_ahead"] > 0.9


def test_muscle_rows_have_no_exercise_and_pool_two_lifts() -> None:
    lines = [*_curls(), *_curls(name="one-arm cable curl")]
    table = _table(lines)
    lifts = [row for row in table if row["exercise"]]
    muscles = [row for row in table if row["muscle"]]
    assert len(lifts) == 2
    assert "biceps-brachii" in {row["muscle"] for row in muscles}
    assert {row["exercise"] for row in muscles} == {""}
    assert {row["muscle"] for row in lifts} == {""}
    pooled = next(row for row in muscles if row["muscle"] == "biceps-brachii")
    # The muscle's own gap is not that of any one lift: the spread between lifts stays in it, so that it need not be narrower.
    assert 0.0 < float(pooled["t"]) <= 1.05 * max(float(row["t"]) for row in lifts)
    assert float(pooled["q10"]) < float(pooled["t"]) < float(pooled["q90"])


def test_one_lift_alone_makes_no_muscle_row() -> None:
    assert [row["muscle"] for row in _table(_curls())] == [""]


def test_sides_trained_on_different_days_have_a_row() -> None:
    lines = [
        line.replace(f"-{1 + 4 * day:02d},", f"-{2 + 4 * day:02d},") if ",right," in line else line
        for day in range(6)
        for line in _curls()[2 * day : 2 * day + 2]
    ]
    (row,) = _table(lines)
    assert row["exercise"] == "1-arm DB curl"
    assert float(row["t"]) > 0.0


def test_one_side_alone_and_lifts_of_both_have_no_row() -> None:
    left = [line for line in _curls() if ",left," in line]
    assert _table([*left, *[line.replace("1-arm DB curl,left", "bench press,") for line in left]]) == []


def test_a_log_in_the_mirror_negates_every_t_and_turns_every_quantile() -> None:
    lines = [*_curls(), *_curls(name="one-arm cable curl", extra=1)]
    # The order of a day's sets is part of the log and stays.
    table, mirror = _table(lines), _table(_turned(lines))
    assert len(table) == len(mirror) > 2
    turned = {"t": "t", "q025": "q975", "q10": "q90", "q90": "q10", "q975": "q025"}
    for row, other in zip(table, mirror, strict=True):
        assert (row["exercise"], row["muscle"], row["sd"]) == (
            other["exercise"],
            other["muscle"],
            other["sd"],
        )
        for name, place in turned.items():
            assert float(other[place]) == pytest.approx(-float(row[name]), abs=1.1e-5)
        assert float(other["p_right_ahead"]) == pytest.approx(1 - float(row["p_right_ahead"]), abs=1.1e-5)
        assert other["p_beyond_5pct"] == row["p_beyond_5pct"]


def test_two_forms_of_one_lift_have_one_row_however_their_days_fall() -> None:
    """Assisted and plain pull-ups are one line of strength; left and right never share a day here."""
    table = _table(
        f"A,2026-03-{1 + day:02d},1,{('pull-up', 'assisted pull-up')[day % 2]},{side},{(0, 20)[day % 2]},8,2"
        for day, side in enumerate(("left", "left", "right", "right"))
    )
    assert [row["exercise"] for row in table] == ["pull-up"]


def test_p_beyond_5pct_means_five_percent_whatever_is_worthwhile(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("service.core.symmetry.decisions.SMALLEST_WORTHWHILE", 0.2)
    monkeypatch.setattr(tables, "SMALLEST_WORTHWHILE", 0.2, raising=False)
    (row,) = _table(_curls())
    normal = NormalDist(float(row["t"]), float(row["sd"]))
    assert float(row["p_beyond_5pct"]) == pytest.approx(1 - normal.cdf(0.05) + normal.cdf(-0.05), abs=2e-3)
