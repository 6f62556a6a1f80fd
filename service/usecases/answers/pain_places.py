"""What the pain told of each place asks for: the same for every answer."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from math import inf

from service.catalogue.records import Exercise
from service.core.capability import Side
from service.core.estimates import Param, Reason
from service.core.tolerance.pain import NUMBER_MISSING_HOLDS, WATCH_UP_TO, PainDecision, PainReport, in_go
from service.core.tolerance.pain_course import RESTART, decide_pain, ended_at
from service.core.units import Kilograms
from service.usecases.answers.history import SeenSet
from service.usecases.answers.pain_reports import (
    MORNING_TO,
    PAIN_WINDOW,
    Mornings,
    Occasion,
    PainPlace,
    heaviest_last,
    hurt_at,
    mornings_of,
    occasions_of,
    pains_of_set,
    place_of,
    report_of,
)
from service.usecases.answers.plan_limits import stress_of
from service.usecases.answers.regions import burdened_joints, is_known, joints_of, plain_region
from service.usecases.answers.situation import Situation
from service.usecases.records.log import Pain

#: What is done, the most careful first.
ACTIONS = (
    "stop_training", "rest_region", "stop_movement", "swap", "reduce", "hold", "continue",
)  # fmt: skip
#: Sets by lift and by session.
Sessions = Mapping[str, Sequence[Sequence[SeenSet]]]


@dataclass(frozen=True, slots=True)
class PlacePain:
    """One place with every occasion on which pain was told of it, oldest first, and what follows from them.

    ``decisive`` is the newest one, or the one that ended the movement while it begins again.
    """

    place: PainPlace
    occasions: Sequence[Occasion]
    reports: Sequence[PainReport]
    decision: PainDecision
    decisive: Occasion

    @property
    def care(self) -> tuple[int, float]:
        """What sorts places: the most careful action first, of equal ones what leaves the least load."""
        return ACTIONS.index(self.decision.action), self.decision.load_factor

    @property
    def left_kg(self) -> Kilograms:
        """What is left of the load at which it hurt, infinite where nothing comes off it. [kg]"""
        hurt_at = self.decision.hurt_at_kg
        return inf if hurt_at is None else self.decision.load_factor * hurt_at

    @property
    def hurt_at(self) -> SeenSet | None:
        """The set at whose load it hurt, where load comes off."""
        return hurt_at(self.place, self.decisive) if self.decision.hurt_at_kg is not None else None


def sessions_by_lift(sets: Iterable[SeenSet], situation: Situation) -> Sessions:
    """Return the sets of the window in which pain decides, by lift and session."""
    found: dict[str, dict[int, list[SeenSet]]] = defaultdict(lambda: defaultdict(list))
    for seen in sets:
        if situation.as_of - seen.record.performed_at <= PAIN_WINDOW:
            found[seen.exercise.exercise_id][seen.session].append(seen)
    return {lift: list(by_session.values()) for lift, by_session in found.items()}


def pains_of(sessions: Sessions, situation: Situation) -> list[PlacePain]:
    """Return every place that pain was told of lately; what asks for most care first."""
    return _by_care(_places(sessions, situation), sessions, situation)


def pains_of_side(
    exercise: Exercise, sets: Sequence[SeenSet], side: Side, situation: Situation
) -> list[PlacePain]:
    """Return every place that pain was told of lately and that binds a side of a lift; what asks for most care first.

    A side has its own sets and those of both limbs. What sets of either side load, as the trunk, binds it too where pain was
    told with a set of the other side: it comes off the load of that set, and is off where the side's own last load is as light.
    """
    own, others = list[SeenSet](), list[SeenSet]()
    for seen in sets:
        (own if side in {"both", seen.side} or seen.side in {"both", "unspecified"} else others).append(seen)
    found = [one for one in pains_of_lift(exercise, own, situation) if one.place.binds(exercise, side)]
    if any(pains_of_set(seen.record) for seen in others):
        found += _of_other_side(exercise, sets, others, side, situation)
    return sorted(found, key=_by_least_left)


def _of_other_side(
    exercise: Exercise, sets: Sequence[SeenSet], others: Sequence[SeenSet], side: Side, situation: Situation
) -> Iterator[PlacePain]:
    """Yield what sets of the other side tell of what either side's sets load, as a side is bound by it, and say so."""
    for one in pains_of_lift(exercise, sets, situation, side):
        told = any(one.place.holds(pain) for seen in others for pain in pains_of_set(seen.record))
        if told and one.place.is_of_either_side(exercise):
            yield one if one.decision.increase_allowed else replace(one, decision=_of_either_side(one))


def _of_either_side(told: PlacePain) -> PainDecision:
    reasons = told.decision.reasons
    why = Reason("tolerance.pain_of_either_side", {"region": told.place.region.replace("_", " ")})
    return replace(told.decision, reasons=(*reasons[:1], why, *reasons[1:]))


def pains_of_lift(
    exercise: Exercise, sets: Iterable[SeenSet], situation: Situation, side: Side | None = None
) -> list[PlacePain]:
    """Return every place that pain of one lift was told of lately; what asks for most care first.

    What was told of both sides, or of none in particular, counts with what was told of one: a load is chosen by all of it.
    What a check-in tells of a region and of no lift counts for each lift that loads the region, as tolerance tells it.
    ``side`` is the one whose last load is held against what is left, that of the set that hurt where none is given.
    """
    lift = exercise.exercise_id
    by_session: dict[int, list[SeenSet]] = defaultdict(list)
    for seen in sets:
        by_session[seen.session].append(seen)
    sessions = {lift: list(by_session.values())}
    named = (
        replace(one, with_unsided=True) for one in _places(sessions, situation) if one.exercise_id == lift
    )
    found = [
        *(one for place in named if (one := _decided(place, sessions, situation, side))),
        *_of_regions(exercise, sessions, situation, side),
    ]
    return sorted(found, key=_by_least_left)


def _by_least_left(told: PlacePain) -> tuple[int, Kilograms, tuple[int, float]]:
    return ACTIONS.index(told.decision.action), told.left_kg, told.care


def _of_regions(
    exercise: Exercise, sessions: Sessions, situation: Situation, side: Side | None
) -> Iterator[PlacePain]:
    """Yield what check-ins tell of the regions that a lift loads, decided with all that is told of the lift itself.

    Those are the regions that it stresses and, of such as had to rest, all that could not under it: what closed a lift also
    says how it comes back.
    """
    told = dict.fromkeys(
        place_of(pain, exercise.exercise_id)
        for pain in _told_of_regions(situation)
        if stresses_region(exercise, pain.region) or _was_closed(exercise, pain, situation)
    )
    for place in told:
        one = _decided(replace(place, with_unsided=True, with_region=True), sessions, situation, side)
        if one is not None:
            yield replace(one, decision=_of_region(one, exercise, known=any(sessions.values())))


def _told_of_regions(situation: Situation) -> Iterator[Pain]:
    """Yield the pain that check-ins lately told of a region and of no lift."""
    for checkin in situation.checkins:
        if situation.as_of - checkin.at <= PAIN_WINDOW:
            yield from (pain for pain in checkin.pain if pain.exercise_id is None)


def _was_closed(exercise: Exercise, pain: Pain, situation: Situation) -> bool:
    """Whether a lift is or was closed by pain above 5 of the region and side that a pain tells of."""
    region, side = plain_region(pain.region), pain.side or "both"
    rested = any(
        (plain_region(one.region), one.side or "both") == (region, side) and (one.worst or 0.0) > WATCH_UP_TO
        for one in _told_of_regions(situation)
    )
    return rested and bool(burdened_joints(exercise) & {*joints_of(region)})


def _of_region(told: PlacePain, exercise: Exercise, *, known: bool) -> PainDecision:
    """Return a decision that says that pain of a region is behind it; a lift that was never done has no load to come off."""
    decision = told.decision
    if decision.increase_allowed:
        return decision
    params: dict[str, Param] = {"region": told.place.region.replace("_", " ")}
    why = [Reason("tolerance.pain_of_region", params)]
    if not is_known(told.place.region):
        why = [Reason("tolerance.region_not_known", params)]
    reasons = decision.reasons
    if not stresses_region(exercise, told.place.region):
        # Nothing hurt under it: what comes off comes off the last load before the rest.
        reasons = tuple(_restart_of_region(one, params) for one in reasons)
    if not known and decision.action == "reduce":
        reasons = (
            Reason("tolerance.pain_begin_with_little"),
            *(r for r in reasons if r.code == NUMBER_MISSING_HOLDS),
        )
    return replace(decision, region=told.place.region, reasons=(*why, *reasons))


def _restart_of_region(reason: Reason, region: dict[str, Param]) -> Reason:
    if reason.code != RESTART:
        return reason
    return Reason("tolerance.pain_restart_of_region", {**reason.params, **region})


def stresses_region(exercise: Exercise, region: str) -> bool:
    """Whether a lift stresses a joint of a region; of one that nobody rated it is not ruled out."""
    stress = stress_of(exercise)
    return stress is None or any(dict(stress).get(joint, 0) > 0 for joint in joints_of(region))


def _by_care(places: Iterable[PainPlace], sessions: Sessions, situation: Situation) -> list[PlacePain]:
    found = [decided for place in places if (decided := _decided(place, sessions, situation))]
    return sorted(found, key=lambda one: (one.care, one.place.region))


def _places(sessions: Sessions, situation: Situation) -> list[PainPlace]:
    places: dict[PainPlace, None] = {}
    for exercise_id, of_lift in sessions.items():
        for pain in (pain for sets in of_lift for seen in sets for pain in pains_of_set(seen.record)):
            places[place_of(pain, exercise_id)] = None
    for checkin in situation.checkins:
        if situation.as_of - checkin.at <= PAIN_WINDOW:
            for pain in checkin.pain:
                places[place_of(pain, pain.exercise_id if pain.exercise_id in sessions else None)] = None
    return list(places)


def _decided(
    place: PainPlace, sessions: Sessions, situation: Situation, side: Side | None = None
) -> PlacePain | None:
    of_lift = sessions.get(place.exercise_id or "", ())
    occasions = occasions_of(place, of_lift, situation, sessions)
    if not occasions:
        return None
    # What one lift hangs on must not depend on which others were read with it.
    known = mornings_of(place, of_lift if place.exercise_id else chain(*sessions.values()), situation)
    reports = list(_reports(place, occasions, of_lift, situation, known))
    ended = ended_at(reports)
    decisive = occasions[-1 if ended is None else ended]
    hurt = hurt_at(place, decisive)
    last = heaviest_last(of_lift, side or hurt.side) if hurt is not None else None
    same = last is not None and hurt is not None and _comparable(last, hurt)
    last_kg = last.load.kilograms if same and last is not None and last.load is not None else None
    silent = _silent_since(place, occasions[-1], sessions, situation)
    return PlacePain(place, occasions, reports, decide_pain(reports, last_kg, silent), decisive)


def _reports(
    place: PainPlace,
    occasions: Iterable[Occasion],
    sessions: Iterable[Sequence[SeenSet]],
    situation: Situation,
    known: Mornings,
) -> Iterator[PainReport]:
    """Yield the report of each occasion.

    Load comes off once for pain of a region that is told again and again, with no word of the lift (judgement): off what was
    lifted before it began, or first after that.
    """
    began: Sequence[SeenSet] = ()
    by_time = sorted(sessions, key=lambda sets: sets[0].record.performed_at)
    for one in occasions:
        of_region_alone = (
            place.with_region
            and all(pain.exercise_id is None for pain in one.told_later)
            and not any(place.holds(pain) for seen in one.sets for pain in pains_of_set(seen.record))
        )
        if not of_region_alone:
            began = ()
        elif not began:
            later = (sets for sets in by_time if sets[0].record.performed_at > one.done)
            began = one.sets or one.sets_before or next(later, ())
        one.run_began = began
        report = report_of(place, one, situation, known)
        if in_go(report):
            began = ()
        yield report


def _silent_since(place: PainPlace, newest: Occasion, sessions: Sessions, situation: Situation) -> int:
    """Return the sessions since pain of a place was told that moved it and in which nobody told any; while the morning
    after is still to be told of, none.

    Sessions of the place's lift, or of any that loads the region where no lift is named.
    """
    if situation.as_of - newest.done <= MORNING_TO:
        return 0
    lifts = sessions.values() if place.exercise_id is None else [sessions.get(place.exercise_id, ())]
    later = {
        seen.session
        for of_lift in lifts
        for sets in of_lift
        for seen in sets
        if seen.record.performed_at > newest.done
        and place.binds(seen.exercise, seen.side)
        and _loads_place(place, seen)
    }
    return len(later)


def _loads_place(place: PainPlace, seen: SeenSet) -> bool:
    """Whether a set is of the place's lift, or loads its region where no lift is named."""
    if place.exercise_id is not None:
        return True
    stress = dict(seen.exercise.joint_stress)
    return any(stress.get(joint, 0) > 0 for joint in joints_of(place.region))


def _comparable(one: SeenSet, other: SeenSet) -> bool:
    """Whether two loads can be held against each other: a level only against one of its own station."""
    bases = [seen.load.basis if seen.load is not None else None for seen in (one, other)]
    return bases[0] == bases[1] and (bases[0] != "level" or one.series == other.series)
