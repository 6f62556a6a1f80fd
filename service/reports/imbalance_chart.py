"""The chart of an athlete's sides, drawn from the answer as it is told."""

from datetime import datetime
from typing import Any, Final

from service.reports.charts import Beam, Frame, Mark, balance_beam, number
from service.usecases.documents import Document

_MOST_BEAMS: Final = 60
_NAMED_BY: Final = ("exercise_id", "muscle_id", "site", "joint", "region")
_TOLD: Final = (
    "A balance beam for each comparison: left side left, right side right, the pivot at equality. A bar holds the value "
    "with a probability of {mass}, the notch is the estimate. A difference is a measurement with uncertainty; it does not "
    "say that anyone will get hurt."
)


def draw_imbalance(answer: Document) -> str:
    """Return the balance beams of an answer's items as SVG: each kind by itself, the largest difference first."""
    compared = [item for item in answer["items"] if "t" in item]
    items = sorted(compared, key=lambda item: -abs(item["t"]["value"]))
    kinds = list(dict.fromkeys(item["kind"] for item in compared))
    items.sort(key=lambda item: kinds.index(item["kind"]))
    told = _TOLD.format(mass=number(items[0]["t"]["interval"]["mass"]) if items else "0.8")
    if len(items) > _MOST_BEAMS:
        told += f" The answer has {len(items)} comparisons, {_MOST_BEAMS} are drawn."
    frame = Frame(
        "How the sides compare",
        "ln(right / left); at 0.05 the right side is about 5 % ahead",
        source_of(answer),
        told,
    )
    sizes = sorted({item["smallest_worthwhile"] for item in items if "smallest_worthwhile" in item})
    marks = [Mark(size, "smallest worthwhile difference") for size in sizes]
    return balance_beam(
        frame, [_beam(item) for item in items[:_MOST_BEAMS]], marks, none="Nothing can be compared yet."
    )


def plain_words(code: str) -> str:
    """Return a code or id as words."""
    return code.replace("-", " ").replace("_", " ")


def source_of(answer: Document) -> str:
    """Return what made an answer, and as of when."""
    as_of = answer["as_of"]
    instant = as_of.isoformat(timespec="seconds") if isinstance(as_of, datetime) else str(as_of)
    return f"own log, model {answer['model_version']}, as of {instant}"


def _beam(item: Any) -> Beam:
    place = next((str(item[name]) for name in _NAMED_BY if name in item), str(item["scope"]))
    label = f"{plain_words(place)}, {plain_words(item['kind'])}"
    t = item["t"]
    return Beam(label, t["value"], t["interval"]["lower"], t["interval"]["upper"], plain_words(item["state"]))
