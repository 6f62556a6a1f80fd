"""What limits, pain, warning signs and a clearance rule out, and what they leave of reserve and load."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta

from service.catalogue.records import Exercise
from service.core.capability import Side
from service.core.estimates import Param, Reason
from service.core.planning import JointRange, LimbSide, RestingRegion, Restrictions, RuledOut
from service.core.progression import LoadOption
from service.core.tolerance.pain import GO_UP_TO, MORNING_OPEN_DAYS, WATCH_UP_TO, PainDecision
from service.core.units import Kilograms, mass_to_kg
from service.usecases.answers.loads import BodyMass, effective_of_external
from service.usecases.answers.pain_reports import PAIN_WINDOW
from service.usecases.answers.regions import (
    either_side_loads,
    is_known,
    joints_of,
    loads_region,
    plain_region,
)
from service.usecases.answers.situation import Situation
from service.usecases.records.base import BodySide
from service.usecases.records.people import Clearance
from service.usecases.records.wants import Limit

#: How long after pain that rests a region little pain opens it again, as a movement that ended begins again.
_OPENS_AFTER = timedelta(days=MORNING_OPEN_DAYS)
_SIDES: tuple[LimbSide, ...] = ("left", "right")
Pains = Mapping[str, Mapping[LimbSide, PainDecision]]


def unwanted(situation: Situation) -> dict[str, tuple[LimbSide, ...]]:
    """Return the sides by exercise on which other exercises are rather done, without these being closed."""
    found: dict[str, set[LimbSide]] = defaultdict(set)
    for limit in situation.limits:
        if _would_rather_not(limit):
            for exercise_id in limit.exercise_ids:
                found[exercise_id] |= {side for side in _SIDES if concerns(limit.side, side)}
    return {exercise_id: tuple(side for side in _SIDES if side in of) for exercise_id, of in found.items()}


def _would_rather_not(limit: Limit) -> bool:
    """Whether a limit is against the exercises it names without closing them: a preference, or pain that is no veto.

    What says how to do them (a reserve, a load, a range) does not speak against them, nor does what is to be worked on.
    """
    says_how = (limit.min_reps_in_reserve, limit.load_cap, limit.joint_limit)
    against = limit.kind in {"preference", "pain"} and all(one is None for one in says_how)
    return against and not closes_lifts(limit)


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
        joint_ranges=joint_ranges_of(situation),
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
    """Return the joint ranges of the clearance that counts, also where its screening found nothing and closed nothing."""
    clearance = _clearance(situation)
    return tuple(
        JointRange(limit.motion, limit.from_deg, limit.to_deg, limit.side)
        for limit in (clearance.joint_limits if clearance is not None else ())
    )


def _clearance(situation: Situation) -> Clearance | None:
    return situation.screening.clearance if situation.screening is not None else None


def joint_ranges_of(situation: Situation) -> tuple[JointRange, ...]:
    """Return the joint ranges of the clearance and of limits, whatever their kind: lifts that leave one are closed."""
    return (*clearance_ranges(situation), *_limit_ranges(situation))


def stress_of(exercise: Exercise) -> tuple[tuple[str, int], ...] | None:
    """Return how much an exercise stresses each joint, None where nobody rated it, as of a tenant's own. [0-3]"""
    return exercise.joint_stress if exercise.basis else None


def _limit_ranges(situation: Situation) -> Iterator[JointRange]:
    for limit in situation.limits:
        joint = limit.joint_limit
        if joint is not None:
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
    yield from _joints_resting(limit.region or "", code, limit.side)


def _joints_resting(region: str, code: str, side: BodySide | None) -> Iterator[RestingRegion]:
    """Yield every joint of a region that rests, on the told side."""
    for joint in joints_of(region):
        yield RestingRegion(joint, code, side or "both")


def _resting_for_pain(situation: Situation) -> Iterator[RestingRegion]:
    """Pain above 5 that a check-in tells of a region, and of no one lift, rests it until 0 to 2 are told two days later or
    more: the rule of a movement that ended."""
    resting: dict[tuple[str, BodySide], datetime] = {}
    for checkin in situation.checkins:
        for pain in checkin.pain if situation.as_of - checkin.at <= PAIN_WINDOW else ():
            if pain.exercise_id is not None or pain.worst is None:
                continue
            place: tuple[str, BodySide] = (plain_region(pain.region), pain.side or "both")
            if pain.worst > WATCH_UP_TO:
                resting[place] = checkin.at
            elif place in resting and pain.worst <= GO_UP_TO and checkin.at - resting[place] >= _OPENS_AFTER:
                del resting[place]
    for region, side in resting:
        yield from _joints_resting(region, "planning.veto_pain", side)


def _resting_for_flags(situation: Situation) -> Iterator[RestingRegion]:
    """A warning sign that stops a region stops those it was told of, for as long as it stands."""
    places = dict.fromkeys((sign.region, sign.side or "both") for sign in situation.signs)
    for region, side in places:
        if region is not None:
            yield from _joints_resting(region, "planning.veto_flag", side)


def _operated_sides(situation: Situation) -> tuple[LimbSide, ...]:
    procedures = situation.screening.procedures if situation.screening is not None else []
    told = {one.side for one in procedures}
    return tuple(side for side in _SIDES if {side, "both"} & told)


def concerns(bound: BodySide | None, side: Side) -> bool:
    """Whether what is said of one side, of both or of none named, binds sets of a side.

    Sets of both limbs at once move the bound one too, and sets whose side is not told may.
    """
    return bound in {None, "both", side} or side not in _SIDES


def min_reserve_of(situation: Situation, exercise: Exercise, side: Side) -> float:
    """Return the reserve that a clearance and limits ask for on an exercise and side, 0 where none does. [repetitions]"""
    clearance = _clearance(situation)
    asked = [clearance.min_reps_in_reserve] if clearance is not None else []
    asked += [limit.min_reps_in_reserve for limit in situation.limits if _about(limit, exercise, side)]
    return max((one for one in asked if one is not None), default=0.0)


def load_cap_of(situation: Situation, exercise: Exercise, side: Side) -> Kilograms | None:
    """Return the greatest external load that a clearance or a limit allows on an exercise and side, None without one. [kg]"""
    clearance = _clearance(situation)
    caps = [clearance.load_cap] if clearance is not None else []
    caps += [limit.load_cap for limit in situation.limits if _about(limit, exercise, side)]
    return min((mass_to_kg(cap.value, cap.unit) for cap in caps if cap is not None), default=None)


def sides_differ(situation: Situation, exercise: Exercise) -> bool:
    """Whether limits leave one side of an exercise another reserve or load than the other: then neither copies the other."""
    bounds = {
        (min_reserve_of(situation, exercise, side), load_cap_of(situation, exercise, side)) for side in _SIDES
    }
    return len(bounds) > 1


def under_caps(
    options: Sequence[LoadOption], exercise: Exercise, side: Side, situation: Situation
) -> Sequence[LoadOption]:
    """Return the loads within every cap on a side."""
    cap = load_cap_of(situation, exercise, side)
    body = situation.body_mass.on(situation.now_day)
    return options if cap is None else up_to(options, heaviest_under(cap, exercise, body))


def heaviest_under(cap: Kilograms, exercise: Exercise, body: BodyMass) -> Kilograms:
    """Return the greatest effective load under a cap on external load. [kg]

    What both hands hold counts together. Help is no load: no more than the body is left without it. What a level weighs is
    not known, so none of them is light enough.
    """
    if exercise.load_basis == "level":
        return 0.0
    external = 0.0 if exercise.load_basis == "assistance" else cap / hands_loaded(exercise)
    return effective_of_external(external, exercise.load_basis, exercise, body)


def up_to(options: Sequence[LoadOption], heaviest: Kilograms | None) -> Sequence[LoadOption]:
    """Return the loads that are no heavier, but for rounding; all where nothing bounds them."""
    if heaviest is None:
        return options
    return [option for option in options if option.load_kg <= heaviest * (1.0 + 1e-9)]


def hands_loaded(exercise: Exercise) -> float:
    """Return how many times a set moves the load that is told of it. [1]"""
    return 2.0 if exercise.laterality == "two_loads" and exercise.load_basis == "per_hand" else 1.0


def unknown_regions(
    situation: Situation, exercise: Exercise | None = None, side: Side = "both"
) -> tuple[Reason, ...]:
    """Return that limits name regions that are not known, and so count for every lift; of one lift those that bind a side."""
    told = (limit for limit in situation.limits if _is_of_unknown_region(limit))
    regions = dict.fromkeys(
        plain_region(limit.region or "").replace("_", " ")
        for limit in told
        if exercise is None or _about(limit, exercise, side)
    )
    params: dict[str, Param] = {"region": ", ".join(regions)}
    return (Reason("planning.limit_region_not_known", params),) if regions else ()


def _is_of_unknown_region(limit: Limit) -> bool:
    """Whether a limit closes or binds every lift since its region is not known, and it names no lift."""
    if limit.region is None or limit.exercise_ids or is_known(limit.region):
        return False
    return _rests_region(limit) or limit.min_reps_in_reserve is not None or limit.load_cap is not None


def _about(limit: Limit, exercise: Exercise, side: Side) -> bool:
    """Whether the reserve and the load that a limit allows bind an exercise on a side.

    They bind the exercises that it names; where it names none, those that load its region; without one all. What sets of
    either side load is bound on both.
    """
    sided = concerns(limit.side, side)
    if limit.exercise_ids or limit.region is None:
        return sided and (not limit.exercise_ids or exercise.exercise_id in limit.exercise_ids)
    return loads_region(exercise, limit.region) if sided else either_side_loads(exercise, limit.region)
