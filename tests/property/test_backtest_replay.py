"""Laws of the replay: no outcome of a row reaches its own prediction or an earlier one, and file order does not matter."""

import csv
import io
from dataclasses import replace
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.catalogue import load_catalogue
from service.usecases.backtest.lifts import LiftBook
from service.usecases.backtest.log_reading import UnreadableLog, read_log
from service.usecases.backtest.log_rows import LogRow
from service.usecases.backtest.predictions import Prediction
from service.usecases.backtest.replaying import replay
from service.usecases.backtest.tables import CAPABILITY_COLUMNS, capability_rows, prediction_rows, side_rows

pytestmark = pytest.mark.quick
LIFTS = ("bench press", "one-arm dumbbell row", "lat pulldown", "pull-up", "moon lift")


def _log(seed: int, sessions: int = 6) -> list[LogRow]:
    """An invented log with everything in it: sides, warm-ups, drops, partial ranges, pain, silence, two athletes."""
    rng, lines = Random(seed), [_HEADER]
    for session in range(sessions):
        for athlete in ("A", "B"):
            ordinal = 0
            for lift in rng.sample(LIFTS, 3):
                base = rng.choice((20.0, 40.0, 60.0)) if lift != "pull-up" else 5.0
                for number in range(rng.randint(1, 4)):
                    sides = ("left", "right") if lift.startswith("one-arm") else ("",)
                    for side in sides:
                        load = base * (0.6 if number == 0 and rng.random() < 0.5 else 1.0)
                        told = rng.choice(("2,", "0,", ",true", ",", "4,"))
                        drop, span = rng.choice(("", "", "1")), rng.choice(("", "", "bottom_half", "0-60"))
                        lines.append(
                            f"{athlete},2026-03-{1 + 3 * session:02d},s{session},{ordinal},{lift},{side},{drop},{load},"
                            f"{rng.randint(3, 15)},{told},{span},{rng.choice(('', '', '5'))},"
                            f"{rng.choice(('', 'work', 'technique'))},{rng.choice(('', '90'))}"
                        )
                        ordinal += 1
    return list(read_log(line + "\n" for line in lines).rows)


_HEADER = "athlete,performed_at,session,ordinal,exercise,side,stage,load,reps,reps_in_reserve,to_failure,range,pain,purpose,rest_s"


def _predicted(rows: list[LogRow]) -> dict[int, Prediction | None]:
    return replay(rows, LiftBook(load_catalogue())).predictions


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 400), data=st.data())
def test_a_rows_own_outcome_changes_neither_its_prediction_nor_an_earlier_one(
    seed: int, data: st.DataObject
) -> None:
    rows = _log(seed)
    place = data.draw(st.integers(0, len(rows) - 1))
    changed = replace(
        rows[place],
        reps=data.draw(st.sampled_from((None, 0, 1, 5, 12, 30, 200))),
        reps_in_reserve=data.draw(st.sampled_from((None, 0.0, 3.0, 10.0))),
        to_failure=data.draw(st.booleans()),
        pain=data.draw(st.sampled_from((None, 0.0, 8.0))),
    )
    before, after = _predicted(rows), _predicted([*rows[:place], changed, *rows[place + 1 :]])
    same_athlete = [row for row in rows if row.athlete == changed.athlete]
    for row in same_athlete:
        if (row.at, row.index) <= (changed.at, changed.index):
            assert before[row.index] == after[row.index], (row, changed)
    for row in rows:
        if row.athlete != changed.athlete:
            assert before[row.index] == after[row.index]


def test_an_outcome_does_reach_later_predictions() -> None:
    """The check above can fail: what was done changes what is expected next."""
    rows = _log(3)
    bench = [row for row in rows if row.exercise == "bench press" and row.athlete == "A"]
    first = replace(
        next(row for row in bench if row.stage == 0), reps=30, reps_in_reserve=None, to_failure=True
    )
    changed = [first if row.index == first.index else row for row in rows]
    before, after = _predicted(rows), _predicted(changed)
    assert any(before[row.index] != after[row.index] for row in bench if row.index > first.index)


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 400), shuffling=st.randoms(use_true_random=False))
def test_rows_may_stand_in_any_order_where_their_keys_differ(seed: int, shuffling: Random) -> None:
    rows = _log(seed)
    places = list(range(len(rows)))
    shuffling.shuffle(places)
    shuffled = [replace(rows[place], index=number) for number, place in enumerate(places)]
    book = LiftBook(load_catalogue())
    plain, mixed = replay(rows, book), replay(shuffled, book)
    told, again = list(prediction_rows(plain, len(rows))), list(prediction_rows(mixed, len(rows)))
    assert [told[place][1:] for place in places] == [line[1:] for line in again]
    assert sorted(capability_rows(plain)) == sorted(capability_rows(mixed))
    catalogue = load_catalogue()
    assert sorted(side_rows(plain, catalogue)) == sorted(side_rows(mixed, catalogue))


def test_rows_of_one_key_keep_the_order_of_the_file() -> None:
    lines = ["performed_at,exercise,load,reps,to_failure"]
    lines += [
        "2026-03-02,bench press,80,5,true",
        "2026-03-02,bench press,60,12,true",
        "2026-03-02,bench press,70,9,true",
    ]
    rows = list(read_log(line + "\n" for line in lines).rows)
    swapped = [rows[0], replace(rows[2], index=1), replace(rows[1], index=2)]
    assert _predicted(rows)[1] != _predicted(swapped)[1]
    assert _predicted(rows)[0] is None


def test_the_unit_of_a_log_changes_nothing() -> None:
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(("performed_at", "exercise", "load", "unit", "reps", "to_failure"))
    for day, load in enumerate((100.0, 102.5, 105.0, 110.0), start=1):
        writer.writerow((f"2026-03-{day:02d}", "bench press", repr(load / 0.45359237), "lb", 8, "true"))
    pounds = _predicted(list(read_log(text.getvalue().splitlines(keepends=True)).rows))
    kilograms = _predicted(
        list(read_log(text.getvalue().replace(",lb,", ",kg,").splitlines(keepends=True)).rows)
    )
    for row in range(1, 4):
        one, other = pounds[row], kilograms[row]
        assert one is not None
        assert other is not None
        assert one.q50 == pytest.approx(other.q50, rel=1e-6)


def test_a_column_of_something_else_is_refused() -> None:
    lines = [
        "performed_at,exercise,load,reps",
        *(f"2026-03-02,note {number} q,60,5" for number in range(401)),
    ]
    with pytest.raises(UnreadableLog, match="401 names that no exercise answers to"):
        _predicted(list(read_log(f"{line}\n" for line in lines).rows))


def test_a_lift_with_nothing_but_warm_ups_has_no_gap_and_breaks_nothing() -> None:
    lines = ["performed_at,exercise,side,load,reps,purpose"]
    lines += [f"2026-03-02,one-arm dumbbell row,{side},20,8,warm_up" for side in ("left", "right")]
    rows = list(read_log(f"{line}\n" for line in lines).rows)
    replayed = replay(rows, LiftBook(load_catalogue()))
    assert list(side_rows(replayed, load_catalogue())) == []
    assert [bool(cells[1]) for cells in prediction_rows(replayed, 2)] == [False, True]
    assert all(len(cells) == len(CAPABILITY_COLUMNS) for cells in capability_rows(replayed))


_OTHER = {"left": "right", "right": "left"}


@settings(max_examples=15, deadline=None)
@given(seed=st.integers(0, 400))
def test_sides_swapped_in_every_row_negate_every_gap_told(seed: int) -> None:
    rows, book = _log(seed), LiftBook(load_catalogue())
    turned = [replace(row, side=_OTHER.get(row.side, row.side)) for row in rows]
    here, there = (list(side_rows(replay(told, book), load_catalogue())) for told in (rows, turned))
    assert len(here) == len(there)
    for one, other in zip(here, there, strict=True):
        assert other[:3] == one[:3]
        t, sd, q025, q10, q90, q975, right, beyond = map(float, one[3:])
        mirrored = (-t, sd, -q975, -q90, -q10, -q025, 1.0 - right, beyond)
        assert tuple(map(float, other[3:])) == pytest.approx(mirrored, abs=1.5e-5)
