"""A plan in a terminal: equal sets are one row, pieces are counted, three reasons at most."""

from io import StringIO
from typing import Any

import pytest
from rich.console import Console

from service.cli.plan_table import print_plan

pytestmark = pytest.mark.quick
WORK = {
    "side": "both", "load": {"value": 82.5, "unit": "kg"}, "made_of": ["long bar 20 kg", "20 kg", "10 kg", "1.25 kg"],
    "reps_low": 6, "reps_high": 8, "reps_in_reserve": 2.0, "p_wanted": 0.61,
}  # fmt: skip


def _printed(plan: dict[str, Any]) -> str:
    out = StringIO()
    print_plan(Console(file=out, width=200), "Next session", plan)
    return out.getvalue()


def _plan(*sets: dict[str, Any], reasons: int = 1) -> dict[str, Any]:
    texts = [{"code": f"r{number}", "text": f"because {number}"} for number in range(reasons)]
    item = {
        "exercise_name": "Bench press",
        "sets": list(sets),
        "cautions": [{"code": "c", "text": "use a spotter"}],
    }
    return {"items": [item], "reasons": texts, "cautions": [{"code": "c", "text": "use a spotter"}]}


def test_equal_sets_are_one_row_with_their_number() -> None:
    (row,) = [line for line in _printed(_plan(WORK, WORK, WORK)).splitlines() if "82.5 kg" in line]
    assert all(
        part in row for part in ("Bench press", " 3 ", "6-8", " 2 ", "61%", "long bar 20 kg: 20 kg + 10 kg")
    )


def test_warm_ups_are_told_apart_and_keep_their_reserve_to_themselves() -> None:
    ramp = {**WORK, "ramp": True, "load": {"value": 40, "unit": "kg"}, "p_wanted": None}
    (row,) = [line for line in _printed(_plan(ramp, WORK)).splitlines() if "40 kg" in line]
    assert "(warm-up)" in row


def test_sides_share_a_row_and_the_first_is_said_first() -> None:
    right, left = {**WORK, "side": "right"}, {**WORK, "side": "left", "p_wanted": None}
    assert "2 each, right first" in _printed(_plan(right, left, right, left))
    assert "1 right, 2 left" in _printed(_plan(right, left, left))


def test_equal_pieces_are_counted() -> None:
    assert "2 x 20 kg" in _printed(_plan({**WORK, "made_of": ["long bar 20 kg", "20 kg", "20 kg"]}))


def test_levels_holds_and_distances_are_said_in_their_own_words() -> None:
    printed = _printed(
        _plan(
            {"side": "both", "level": "7", "reps_low": 10, "reps_high": 10},
            {"side": "left", "hold_s": 45.0},
            {"side": "both", "distance_m": 20.0},
        )
    )
    assert all(text in printed for text in ("level 7", "45 s", "20 m"))


def test_no_more_than_three_reasons_and_each_caution_once() -> None:
    printed = _printed(_plan(WORK, reasons=5))
    assert printed.count("Why:") == 3
    assert printed.count("use a spotter") == 1


def test_a_chance_is_never_printed_as_certain() -> None:
    assert "over 99%" in _printed(_plan({**WORK, "p_wanted": 0.998}))
