"""A next session as a table in a terminal: what to do first, then why and what to heed."""

from collections.abc import Iterator
from itertools import groupby
from typing import Any

from rich.console import Console
from rich.table import Table

Document = dict[str, Any]
_MOST_REASONS = 3


def print_plan(console: Console, title: str, plan: Document) -> None:
    """Print a plan as the API answers it: a table, its reasons (at most three), its cautions."""
    table = Table(title=title, title_justify="left", title_style="bold", header_style="bold", expand=False)
    for heading in ("exercise", "sets", "side", "load", "made of", "reps", "reserve", "chance"):
        table.add_column(heading, justify="left" if heading in ("exercise", "side", "made of") else "right")
    for item in plan["items"]:
        for number, row in enumerate(_rows(item)):
            last = number == len(list(_rows(item))) - 1
            table.add_row(item["exercise_name"] if number == 0 else "", *row, end_section=last)
    console.print(table)
    console.print(
        "reserve: repetitions to leave undone; chance: that the set ends with the wanted effort", style="dim"
    )
    _print_notes(console, plan)


def _print_notes(console: Console, plan: Document) -> None:
    if plan.get("action"):
        console.print(f"Do: {plan['action']}", style="bold")
    own = [
        (reason["text"], item["exercise_name"])
        for item in plan["items"]
        for reason in item.get("reasons", [])
    ]
    texts = [reason["text"] for reason in plan.get("reasons", [])] + [f"{name}: {text}" for text, name in own]
    for text in list(dict.fromkeys(texts))[:_MOST_REASONS]:
        console.print(f"Why: {text}")
    heeded = [*plan.get("cautions", []), *(one for item in plan["items"] for one in item.get("cautions", []))]
    for text in dict.fromkeys(caution["text"] for caution in heeded):
        console.print(f"Heed: {text}")
    if plan.get("ask"):
        console.print(f"Ask: {plan['ask']['text']}")


def _rows(item: Document) -> Iterator[tuple[str, ...]]:
    """Return equal sets in a row as one row."""
    for look, sets in groupby(item["sets"], key=_look):
        yield (str(len(list(sets))), *look)


def _look(one: Document) -> tuple[str, ...]:
    side = one["side"] if one["side"] != "unspecified" else ""
    return (
        side + (" (warm-up)" if one.get("ramp") else ""),
        _load(one),
        _made_of(one.get("made_of", [])),
        _work(one),
        "" if one.get("reps_in_reserve") is None or one.get("ramp") else f"{one['reps_in_reserve']:g}",
        "" if one.get("p_wanted") is None else f"{one['p_wanted']:.0%}",
    )


def _load(one: Document) -> str:
    if one.get("level"):
        return f"level {one['level']}"
    load = one.get("load")
    return "" if load is None else f"{load['value']:g} {load['unit']}"


def _made_of(pieces: list[str]) -> str:
    """Count equal pieces: two plates of a kind are said once."""
    counted = [(piece, len(list(same))) for piece, same in groupby(pieces)]
    return " + ".join(piece if count == 1 else f"{count} x {piece}" for piece, count in counted)


def _work(one: Document) -> str:
    if one.get("hold_s") is not None:
        return f"{one['hold_s']:g} s"
    if one.get("distance_m") is not None:
        return f"{one['distance_m']:g} m"
    low, high = one.get("reps_low"), one.get("reps_high")
    if low is None:
        return ""
    return f"{low}" if high in (None, low) else f"{low}-{high}"
