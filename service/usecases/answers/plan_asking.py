"""The one question whose answer would help the next session most."""

from collections.abc import Sequence

from service.core.estimates import Reason
from service.core.tolerance.pain import GO_UP_TO, NUMBER_MISSING
from service.usecases.answers.history import SeenSet
from service.usecases.answers.plan_request import SessionCase

#: Recent sets whose effort or side decides what is asked, and the share that must lack it. (judgement)
_LOOKED_AT = 20
_LACKING_SHARE = 0.5
#: Sessions of a lift in which it is still asked how its load is meant. (judgement)
_NEW_FOR_SESSIONS = 3


def ask_of(case: SessionCase, chosen: Sequence[str]) -> Reason | None:
    """Return the question worth most: first what safety rests on, then what loads do, then what sides do."""
    if case.situation.screening is None:
        return Reason("planning.ask_screening")
    if case.situation.flags.stops_region and not case.restrictions.resting_regions:
        return Reason("planning.ask_region")
    if case.stock is not None and not case.stock.items:
        return Reason("planning.ask_equipment")
    if _number_unknown(case):
        return Reason("planning.ask_pain_number")
    if _arc_unknown(case):
        return Reason("planning.ask_angle")
    recent = [seen for history in case.histories.by_exercise.values() for seen in history.work_sets()]
    recent = sorted(recent, key=lambda seen: seen.record.performed_at)[-_LOOKED_AT:]
    return _ask_of_log(case, recent, chosen)


def _number_unknown(case: SessionCase) -> bool:
    """Whether pain of a movement was named and no number told."""
    decisions = (decision for by_side in case.pains.values() for decision in by_side.values())
    return any(reason.code in NUMBER_MISSING for decision in decisions for reason in decision.reasons)


def _arc_unknown(case: SessionCase) -> bool:
    """Whether a movement hurt in the middle zone and nobody said at which angles."""
    return any(
        pain.during is not None and pain.during > GO_UP_TO and pain.angle_band is None
        for exercise_id, by_side in case.pains.items()
        if by_side
        if (history := case.histories.by_exercise.get(exercise_id)) is not None
        for seen in history.sets[-6:]
        for pain in seen.record.pain
    )


def _ask_of_log(case: SessionCase, recent: Sequence[SeenSet], chosen: Sequence[str]) -> Reason | None:
    if not recent:
        return None
    silent = [seen for seen in recent if seen.record.reps_in_reserve is None and not seen.record.to_failure]
    if len(silent) > _LACKING_SHARE * len(recent):
        return Reason("planning.ask_effort")
    one_sided = [seen for seen in recent if seen.exercise.laterality == "one_sided"]
    sideless = [seen for seen in one_sided if seen.side == "unspecified"]
    if one_sided and len(sideless) > _LACKING_SHARE * len(one_sided):
        return Reason("planning.ask_side")
    for exercise_id in chosen:
        history = case.histories.by_exercise.get(exercise_id)
        pair = history is not None and history.exercise.laterality == "two_loads"
        unsaid = history is not None and all(seen.record.load_basis is None for seen in history.sets)
        few = history is not None and len({seen.session for seen in history.sets}) <= _NEW_FOR_SESSIONS
        if history is not None and pair and unsaid and few:
            return Reason("planning.ask_per_hand", {"exercise": history.exercise.name})
    return None
