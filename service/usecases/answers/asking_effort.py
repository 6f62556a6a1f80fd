"""Where a set may be asked for whose effort is told: on no lift that anything stops or holds, and never below what is to be
left."""

from collections.abc import Iterable
from math import ceil

from service.core.capability import Side
from service.usecases.answers.history import ExerciseHistory, days_since
from service.usecases.answers.holds import side_held_by
from service.usecases.answers.progression_case import bounds_of, limits_of
from service.usecases.answers.progression_past import past_of
from service.usecases.answers.situation import Situation


def least_left(
    history: ExerciseHistory,
    situation: Situation,
    sides: Iterable[Side] | None = None,
    *,
    alone: bool = True,
    bars: bool | None = False,
) -> float | None:
    """Return what such a set must leave at the least on every one of these sides, in whole repetitions, None where it may
    not be asked for. [repetitions]

    Asked for it may be where the next load is chosen as on any other day: training is open, tests are allowed, and no
    pain, warning sign, limit, load cap or return after a break stops the lift or keeps its load down. ``sides`` are all of
    the lift's where none are named. Where it is not known who is there and whether there are bars, nobody and nothing is.
    """
    if not situation.gate.open:
        return None
    found = [
        _least_of(history, side, situation, alone=alone, bars=bars)
        for side in (history.sides() if sides is None else sides)
    ]
    told = [least for least in found if least is not None]
    return float(ceil(max(told))) if told and len(told) == len(found) else None


def _least_of(
    history: ExerciseHistory, side: Side, situation: Situation, *, alone: bool, bars: bool | None
) -> float | None:
    past = past_of(history, side)
    days = days_since(past.last, situation)
    limits = limits_of(history.exercise, days, situation, bars, alone=alone)
    bounds = bounds_of(history.exercise, side, situation, situation.body_mass.on(situation.now_day))
    # The sentence names no load: under a cap the one that is meant could be too heavy.
    if not limits.tests_allowed or bounds.load_cap_kg is not None:
        return None
    if side_held_by(history, side, situation, past, bounds) is not None:
        return None
    return max(limits.min_reserve, bounds.min_reserve)
