"""What holds a lift: a warning sign, a limit, pain or a return after a break, on either side of it."""

from typing import Literal

from service.core.capability import Side
from service.core.progression.breaks import return_band, standing_band
from service.usecases.answers.history import ExerciseHistory, days_since
from service.usecases.answers.progression_case import Bounds, bounds_of, is_after_illness, pain_of
from service.usecases.answers.progression_past import Past, past_of
from service.usecases.answers.situation import Situation

HeldBy = Literal["sign", "limit", "pain", "break"]


def held_by(history: ExerciseHistory, situation: Situation) -> HeldBy | None:
    """Return what stops a lift on any side of it or keeps its load down, None where it is done as on any other day."""
    body = situation.body_mass.on(situation.now_day)
    found = (
        side_held_by(
            history,
            side,
            situation,
            past_of(history, side),
            bounds_of(history.exercise, side, situation, body),
        )
        for side in history.sides()
    )
    return next((held for held in found if held is not None), None)


def side_held_by(
    history: ExerciseHistory, side: Side, situation: Situation, past: Past, bounds: Bounds
) -> HeldBy | None:
    """Return what stops one side of a lift or keeps its load down, given its past and what limits say of it.

    A warning sign of any region holds every lift, as it does every next load.
    """
    if situation.flags.stops_all_training or situation.flags.stops_region:
        return "sign"
    if bounds.closed is not None:
        return "pain" if bounds.closed.code == "planning.veto_pain" else "limit"
    pain = pain_of(history, side, situation)
    if pain is not None and not pain.increase_allowed:
        return "pain"
    return "break" if _returns(past, situation) else None


def _returns(past: Past, situation: Situation) -> bool:
    """Whether the next session is the first after a break, or the careful weeks after one are not over."""
    ill = is_after_illness(past.last[-1].date if past.last else None, situation)
    band = return_band(days_since(past.last, situation), ill)
    return (band or standing_band(past.ended_break(situation.now_day))) is not None
