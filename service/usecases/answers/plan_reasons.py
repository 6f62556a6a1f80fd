"""The reasons of a planned exercise: what both sides of a lift say alike is said once, what concerns one of them names it."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Final

import msgspec

from service.core.estimates import Reason
from service.usecases.answers.telling import Teller
from service.usecases.records.base import Side
from service.usecases.records.plans import ReasonText

#: A reason, and the side that works for it; `both` where the lift has no sides.
SideReason = tuple[Side, Reason]
SideText = tuple[Side, ReasonText]
_NAMED: Final = {"left": "planning.of_left", "right": "planning.of_right"}
#: What pain asks for, and how to move with it.
_OF_PAIN: Final = "tolerance_pain_"
#: How sure a choice is, which is told after why it is made.
_CHANCES: Final = frozenset(
    {
        "progression_chance_of_wanted_effort",
        "progression_chance_despite_miss",
        "timed_chance_of_length",
        "timed_chance_of_length_and_more",
    }
)


def told_reasons(
    of_sides: Sequence[SideReason], planned: Sequence[Reason], teller: Teller, most: int
) -> list[ReasonText]:
    """Return what decides the sets, then why the exercise is there, then the rest; each code once a side.

    ``planned`` are the reasons of the exercise as a whole. How to heed pain comes before them and must not be crowded
    out, and where the sides differ so does all that decides one of them.
    """
    told = _of_one_or_both(of_sides, teller)
    whole: list[SideText] = [("both", teller.reason(reason)) for reason in planned]
    first = _first_of_each(told)
    pain = [one for one in told if one[1].code.startswith(_OF_PAIN)]
    if len(first) > 1:
        sided = [one for one in whole if "side" in one[1].params]
        decisive = [one for one in told if one[1].code not in _CHANCES]
        first = [*first, *pain, *sided, *decisive]
    found: dict[tuple[Side, str], ReasonText] = {}
    for side, reason in (*first, *pain, *whole, *told):
        found.setdefault((side, reason.code), reason)
    return list(found.values())[:most]


def _of_one_or_both(of_sides: Iterable[SideReason], teller: Teller) -> list[SideText]:
    """Return reasons with the side that each concerns, `both` where both sides say the same; chances last."""
    rendered = [(side, teller.reason(reason)) for side, reason in of_sides]
    rendered.sort(key=lambda one: one[1].code in _CHANCES)
    saying: dict[str, set[Side]] = defaultdict(set)
    for side, reason in rendered:
        saying[reason.text].add(side)
    return [_named(side, reason, saying[reason.text], teller) for side, reason in rendered]


def _named(side: Side, reason: ReasonText, saying: set[Side], teller: Teller) -> SideText:
    """Name the side that a reason concerns, in its text and its params, but where it names one already."""
    if side not in _NAMED or len(saying) > 1 or "side" in reason.params:
        return "both", reason
    text = teller.texts.render(_NAMED[side], {"told": reason.text})
    return side, msgspec.structs.replace(reason, text=text, params={**reason.params, "side": side})


def _first_of_each(told: Sequence[SideText]) -> list[SideText]:
    """Return the first reason, and the first that concerns the other side where that one has its own."""
    first = list(told[:1])
    if first and first[0][0] != "both":
        decides = [one for one in told if one[1].code not in _CHANCES]
        first += [one for one in decides if one[0] not in {"both", first[0][0]}][:1]
    return first
