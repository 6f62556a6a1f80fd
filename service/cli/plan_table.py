"""A next session as a table in a terminal: what to do first, then why and what to heed."""

from collections import Counter
from collections.abc import Iterator
from itertools import groupby
from typing import Any

from rich.console import Console
from rich.table import Table

from service.catalogue.texts import spoken_chance

Document = dict[str, Any]
_MOST_REASONS = 3


def print_plan(console: Console, title: str, plan: Document) -> None:
    """Print a plan as the API answers it: a table, its reasons (at most three), its cautions."""
    table = Table(title=title, title_justify="left", title_style="bold", header_style="bold", expand=False)
    for heading in ("exercise", "sets", "load", "made of", "reps", "reserve", "chance"):
        table.add_column(heading, justify="left" if heading in ("exercise", "sets", "made of") else "right")
    for item in plan["items"]:
        rows = list(_rows(item))
        for number, row in enumerate(rows):
            table.add_row(
                item["exercise_name"] if number == 0 else "", *row, end_section=number == len(rows) - 1
            )
    console.print(table)
    console.print(
        "made of: of a bar, what goes on each side; reserve: repetitions to leave undone; "
        "chance: that the first set ends with the wanted effort",
        style="dim",
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
    """Return sets that differ in their side alone as one row; a chance is known for the first of them."""
    alike: dict[tuple[str, ...], list[Document]] = {}
    for one in item["sets"]:
        alike.setdefault(_look(one), []).append(one)
    for (ramp, *look), sets in alike.items():
        chances = [one["p_wanted"] for one in sets if one.get("p_wanted") is not None]
        yield (_count(sets) + ramp, *look, f"{spoken_chance(100.0 * chances[0])}%" if chances else "")


def _count(sets: list[Document]) -> str:
    """Say how many sets, and of which side where sides matter; the side that goes first is said first."""
    by_side = Counter(one["side"] for one in sets)
    if set(by_side) <= {"both", "unspecified"}:
        return str(len(sets))
    if len(by_side) == 2 and len(set(by_side.values())) == 1:
        return f"{by_side[next(iter(by_side))]} each, {next(iter(by_side))} first"
    return ", ".join(f"{count} {side}" for side, count in by_side.items())


def _look(one: Document) -> tuple[str, ...]:
    ramp = bool(one.get("ramp"))
    reserve = one.get("reps_in_reserve")
    return (
        " (warm-up)" if ramp else "",
        _load(one),
        _made_of(one.get("made_of", [])),
        _work(one),
        "" if reserve is None or ramp else f"{reserve:g}",
    )


def _load(one: Document) -> str:
    if one.get("level"):
        return f"level {one['level']}"
    load = one.get("load")
    return "" if load is None else f"{load['value']:.4g} {load['unit']}"


def _made_of(pieces: list[str]) -> str:
    """Say the implement, then what goes on it; equal plates are counted."""
    counted = [(piece, len(list(same))) for piece, same in groupby(pieces[1:])]
    laid = " + ".join(piece if count == 1 else f"{count} x {piece}" for piece, count in counted)
    return ": ".join(part for part in (*pieces[:1], laid) if part)


def _work(one: Document) -> str:
    if one.get("hold_s") is not None:
        return f"{one['hold_s']:g} s"
    if one.get("distance_m") is not None:
        return f"{one['distance_m']:g} m"
    low, high = one.get("reps_low"), one.get("reps_high")
    if low is None:
        return ""
    return f"{low}" if high in (None, low) else f"{low}-{high}"
