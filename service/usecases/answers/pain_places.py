"""What the pain told of each place asks for: the same for every answer."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain

from service.core.tolerance.pain import PainDecision, PainReport
from service.core.tolerance.pain_course import decide_pain, ended_at
from service.usecases.answers.history import SeenSet
from service.usecases.answers.pain_reports import (
    MORNING_TO,
    PAIN_WINDOW,
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
from service.usecases.answers.regions import joints_of
from service.usecases.answers.situation import Situation

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


def pains_of_lift(exercise_id: str, sessions: Sessions, situation: Situation) -> list[PlacePain]:
    """Return every place that pain of one lift was told of lately; what asks for most care first.

    What was told of both sides, or of none in particular, counts with what was told of one: a load is chosen by all of it.
    """
    told = (one for one in _places(sessions, situation) if one.exercise_id == exercise_id)
    return _by_care((replace(one, with_unsided=True) for one in told), sessions, situation)


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


def _decided(place: PainPlace, sessions: Sessions, situation: Situation) -> PlacePain | None:
    of_lift = sessions.get(place.exercise_id or "", ())
    occasions = occasions_of(place, of_lift, situation, sessions)
    if not occasions:
        return None
    # What one lift hangs on must not depend on which others were read with it.
    known = mornings_of(place, of_lift if place.exercise_id else chain(*sessions.values()), situation)
    reports = [report_of(place, one, situation, known) for one in occasions]
    ended = ended_at(reports)
    decisive = occasions[-1 if ended is None else ended]
    hurt = hurt_at(place, decisive)
    last = heaviest_last(of_lift, hurt.side) if hurt is not None else None
    same = last is not None and hurt is not None and _comparable(last, hurt)
    last_kg = last.load.kilograms if same and last is not None and last.load is not None else None
    silent = _silent_since(place, occasions[-1], sessions, situation)
    return PlacePain(place, occasions, reports, decide_pain(reports, last_kg, silent), decisive)


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
        if seen.record.performed_at > newest.done and place.moved_by(seen) and _loads_place(place, seen)
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
