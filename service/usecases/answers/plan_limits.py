"""What limits, pain, warning signs and a clearance rule out, and what they leave of reserve and load."""

from collections.abc import Iterator, Mapping
from datetime import timedelta

from service.core.planning import JointRange, LimbSide, RestingRegion, Restrictions, RuledOut
from service.core.tolerance.pain import WATCH_UP_TO, PainDecision
from service.core.units import Kilograms, mass_to_kg
from service.usecases.answers.regions import joints_of
from service.usecases.answers.situation import Situation
from service.usecases.records.base import BodySide
from service.usecases.records.wants import Limit

#: Pain told of a region longer ago no longer rests it (judgement).
_REGION_PAIN_WINDOW = timedelta(days=7)
_SIDES: tuple[LimbSide, ...] = ("left", "right")
Pains = Mapping[str, Mapping[LimbSide, PainDecision]]


def unwanted(situation: Situation) -> frozenset[str]:
    """Return the exercises that a limit is about without closing them."""
    return frozenset(
        exercise_id
        for limit in situation.limits
        if not closes_lifts(limit)
        for exercise_id in limit.exercise_ids
    )


def closes_lifts(limit: Limit) -> bool:
    """Whether a limit closes the exercises it names, for a whole session as for the next load of one of them.

    What is to be replaced is left out, whatever reserve or load the limit allows besides: of two readings the safer.
    """
    return limit.mode == "replace" or _rules_out(limit)


def _rules_out(limit: Limit) -> bool:
    """Whether a limit closes what it is about even where it is to be improved, a region where it is to be replaced."""
    if limit.kind == "clinician":
        allows = (limit.min_reps_in_reserve, limit.load_cap, limit.joint_limit)
        return limit.mode == "replace" or all(one is None for one in allows)
    return limit.kind == "pain" and _hurts(limit)


def _hurts(limit: Limit) -> bool:
    """Pain above 5 rests; so does a pain to be planned around whose score nobody told."""
    return limit.score > WATCH_UP_TO if limit.score is not None else limit.mode == "replace"


def read_restrictions(situation: Situation, pains: Pains) -> Restrictions:
    """Return everything that rules exercises out, but for what a site lacks."""
    limits = situation.limits
    return Restrictions(
        joint_ranges=(*clearance_ranges(situation), *_limit_ranges(situation)),
        ruled_out=(
            *(out for limit in limits if closes_lifts(limit) for out in _out_of_limit(limit)),
            *_out_of_pain(pains),
        ),
        resting_regions=resting_regions(situation),
        no_extra_sets=_operated_sides(situation),
    )


def resting_regions(situation: Situation) -> tuple[RestingRegion, ...]:
    """Return the joints that rest as a whole: by a limit, by pain told of a region, by a warning sign."""
    return (
        *(rest for limit in situation.limits if _rests_region(limit) for rest in _resting(limit)),
        *_resting_for_pain(situation),
        *_resting_for_flags(situation),
    )


def clearance_ranges(situation: Situation) -> tuple[JointRange, ...]:
    """Return the joint ranges of the clearance in force."""
    screening = situation.screening
    if situation.gate.clearance is None or screening is None or screening.clearance is None:
        return ()
    return tuple(
        JointRange(limit.motion, limit.from_deg, limit.to_deg, limit.side)
        for limit in screening.clearance.joint_limits
    )


def _limit_ranges(situation: Situation) -> Iterator[JointRange]:
    for limit in situation.limits:
        joint = limit.joint_limit
        if joint is not None and limit.kind != "preference":
            side = joint.side if joint.side != "both" or limit.side is None else limit.side
            yield JointRange(joint.motion, joint.from_deg, joint.to_deg, side)


def _out_of_limit(limit: Limit) -> Iterator[RuledOut]:
    codes = {"clinician": "planning.veto_clinician", "pain": "planning.veto_pain"}
    for exercise_id in limit.exercise_ids:
        yield RuledOut(exercise_id, codes.get(limit.kind, "planning.veto_limit"), limit.side or "both")


def _out_of_pain(pains: Pains) -> Iterator[RuledOut]:
    for exercise_id, by_side in pains.items():
        for side, decision in by_side.items():
            if decision.action in {"stop_movement", "swap"}:
                yield RuledOut(exercise_id, "planning.veto_pain", side)


def _rests_region(limit: Limit) -> bool:
    """A region rests as a whole where no exercise and no joint range says what exactly must be left out."""
    named = limit.exercise_ids or limit.joint_limit is not None
    return limit.region is not None and not named and _rules_out(limit)


def _resting(limit: Limit) -> Iterator[RestingRegion]:
    code = "planning.veto_clinician" if limit.kind == "clinician" else "planning.veto_pain"
    for joint in joints_of(limit.region or ""):
        yield RestingRegion(joint, code, limit.side or "both")


def _resting_for_pain(situation: Situation) -> Iterator[RestingRegion]:
    """Pain above 5 that a check-in tells of a region, and of no one lift, rests it until it is told to be less."""
    newest: dict[tuple[str, BodySide], float] = {}
    for checkin in situation.checkins:
        if checkin.at <= situation.as_of - _REGION_PAIN_WINDOW:
            continue
        for pain in checkin.pain:
            worst = pain.worst
            if pain.exercise_id is None and worst is not None:
                newest[(pain.region, pain.side or "both")] = worst
    for (region, side), worst in newest.items():
        if worst > WATCH_UP_TO:
            yield from (RestingRegion(joint, "planning.veto_pain", side) for joint in joints_of(region))


def _resting_for_flags(situation: Situation) -> Iterator[RestingRegion]:
    """A warning sign that stops a region stops those it was told of, for as long as it stands."""
    places = dict.fromkeys((sign.region, sign.side or "both") for sign in situation.signs)
    for region, side in places:
        if region is not None:
            yield from (RestingRegion(joint, "planning.veto_flag", side) for joint in joints_of(region))


def _operated_sides(situation: Situation) -> tuple[LimbSide, ...]:
    procedures = situation.screening.procedures if situation.screening is not None else []
    told = {one.side for one in procedures}
    return tuple(side for side in _SIDES if {side, "both"} & told)


def min_reserve_of(situation: Situation, exercise_id: str) -> float:
    """Return the reserve that limits ask for on an exercise, 0 where none does. [repetitions]"""
    return max(
        (
            limit.min_reps_in_reserve
            for limit in situation.limits
            if limit.min_reps_in_reserve is not None and _about(limit, exercise_id)
        ),
        default=0.0,
    )


def load_cap_of(situation: Situation, exercise_id: str) -> Kilograms | None:
    """Return the greatest external load that a clearance or a limit allows on an exercise, None without one. [kg]"""
    caps = [
        mass_to_kg(limit.load_cap.value, limit.load_cap.unit)
        for limit in situation.limits
        if limit.load_cap is not None and _about(limit, exercise_id)
    ]
    clearance = situation.gate.clearance
    if clearance is not None and clearance.load_cap_kg is not None:
        caps.append(clearance.load_cap_kg)
    return min(caps, default=None)


def _about(limit: Limit, exercise_id: str) -> bool:
    return not limit.exercise_ids or exercise_id in limit.exercise_ids
