"""Pain as it was told with sets and in check-ins, session by session, in the shape that the rules read."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from itertools import chain

from service.catalogue.records import Exercise
from service.core.capability import Side
from service.core.tolerance.pain import GO_UP_TO, PainPhase, PainReport
from service.core.units import Degrees
from service.usecases.answers.history import SeenSet
from service.usecases.answers.regions import either_side_hurts, joints_of, plain_region
from service.usecases.answers.situation import Situation, day_of
from service.usecases.answers.weeks import TrainingCalendar, calendar_of
from service.usecases.records.base import BodySide
from service.usecases.records.log import Checkin, LoggedSet, Pain

#: The morning after a session is told from so many to so many hours later (judgement).
MORNING_FROM, MORNING_TO = timedelta(hours=6), timedelta(hours=42)
#: Whoever trains in the small hours has the morning after on the same date: until then it is still the day before
#: (judgement).
_NIGHT = timedelta(hours=4)
#: Pain told longer ago no longer decides; a break of that length brings the load down anyway (judgement).
PAIN_WINDOW = timedelta(days=21)
#: A morning told longer before a session no longer says how it was before (judgement: as long as a break).
_BASELINE_WINDOW = timedelta(days=10)
_DAY = timedelta(days=1)
#: The region of pain that ended a set and of which nothing else was told: any.
NO_REGION = "not_told"


@dataclass(frozen=True, slots=True)
class PainPlace:
    """Where it hurts: a region, a side if one was told, and the lift that brings it on if one does.

    ``with_unsided`` takes in what was told of both sides or of none in particular, ``with_region`` what check-ins told of
    the region and of no lift.
    """

    region: str
    side: BodySide | None
    exercise_id: str | None
    with_unsided: bool = False
    with_region: bool = False

    def holds(self, pain: Pain) -> bool:
        """Whether pain was told of this region and side; where no region was told, whether it may be this one."""
        if self.region == NO_REGION:
            return self.may_concern(pain)
        side = pain.side == self.side or (self.with_unsided and pain.side in {None, "both"})
        return self.is_region_of(pain) and side

    def is_region_of(self, pain: Pain) -> bool:
        """Whether pain was told of this region; where none was told it may be any."""
        return self.region in {NO_REGION, plain_region(pain.region)}

    def is_of_lift(self, pain: Pain) -> bool:
        """Whether a check-in told a pain of this place's lift, or of no lift where that counts."""
        return pain.exercise_id == self.exercise_id or (self.with_region and pain.exercise_id is None)

    def moved_by(self, seen: SeenSet) -> bool:
        """Whether a set moved this side, not the other one alone."""
        return {self.side, seen.side} != {"left", "right"}

    def binds(self, exercise: Exercise, side: Side) -> bool:
        """Whether pain of this place is of a lift's sets of a side: on both where the sets of either load it."""
        if {self.side, side} != {"left", "right"}:
            return True
        return self.is_of_either_side(exercise)

    def is_of_either_side(self, exercise: Exercise) -> bool:
        """Whether pain of this place under a lift is of the sets of either side. Where no region was told the set that it ended
        tells the side."""
        return self.region != NO_REGION and either_side_hurts(exercise, self.region)

    def may_concern(self, pain: Pain) -> bool:
        """Whether pain was told of this region, and of a side that may be this one."""
        return self.is_region_of(pain) and (
            self.side in {None, "both", pain.side} or pain.side in {None, "both"}
        )

    def is_told_by(self, pains: Iterable[Pain]) -> bool:
        """Whether pains tell of the whole of this place: of its side or of both sides, of none in particular too."""
        sides = {pain.side for pain in pains if self.is_region_of(pain)}
        wanted: set[BodySide | None] = {None, "both"}
        if self.side is None:
            return bool(sides)
        return bool(sides & wanted) or self.side in sides or (self.side == "both" and len(sides) > 1)


@dataclass(slots=True)
class Occasion:
    """One session of a lift, or one check-in that tells of a region: when it was done, and what was told of it and after.

    ``told_later`` is the part of what was told that check-ins told. ``day`` is the day of training it speaks of, where that
    is not the day on which it was told. ``sets_before`` are those of the lift's last session before a check-in that comes
    too late to tell of it: the load that it can speak of; ``run_began`` those of the session before pain of the region alone
    was told again and again: it comes off their load once.
    """

    done: datetime
    sets: Sequence[SeenSet] = ()
    told: list[Pain] = field(default_factory=list)
    mornings: list[Pain] = field(default_factory=list)
    day: date | None = None
    sets_before: Sequence[SeenSet] = ()
    told_later: list[Pain] = field(default_factory=list)
    run_began: Sequence[SeenSet] = ()

    def speaks_of(self, place: PainPlace) -> bool:
        """Whether anything was told of exactly this place, during, after or of the morning."""
        return bool(self.told) or any(place.holds(pain) for pain in self.mornings)

    def has_morning(self, place: PainPlace) -> bool:
        """Whether the morning after was told of the whole place."""
        return place.is_told_by(self.mornings)


def place_of(pain: Pain, exercise_id: str | None) -> PainPlace:
    """Return the place that a pain was told of."""
    return PainPlace(plain_region(pain.region), pain.side, exercise_id)


def pains_of_set(record: LoggedSet) -> list[Pain]:
    """Return the pain told with a set; of one that pain ended, and of which nothing else was told, that there was some."""
    if record.pain or record.limited_by != "pain":
        return record.pain
    return [Pain(region=NO_REGION, side=record.side if record.side in {"left", "right"} else None)]


def is_told(pain: Pain) -> bool:
    """Whether pain of the session itself was told, not of the morning after alone."""
    return pain.during is not None or pain.after is not None or pain.next_morning is None


def is_morning_after(done: datetime, at: datetime, calendar: TrainingCalendar) -> bool:
    """Whether an instant lies on a later day than what was done, and some hours after it."""
    return at - done >= MORNING_FROM and calendar.day_of(at) > training_day(done, calendar)


def training_day(done: datetime, calendar: TrainingCalendar) -> date:
    """Return the local day that what was done belongs to; the small hours belong to the day before."""
    return calendar.day_of(done - _NIGHT)


def occasions_of(
    place: PainPlace, sessions: Iterable[Sequence[SeenSet]], situation: Situation, lifts: Collection[str]
) -> list[Occasion]:
    """Return the occasions on which pain of a place was told, oldest first.

    ``sessions`` are those of the place's lift, ``lifts`` the lifts of the log that check-ins may name. A check-in speaks of
    the last session before it until the morning after is over, later of itself alone; and only its ``next_morning`` of a
    morning: that after the last session of an earlier day.
    """
    calendar = calendar_of(situation.athlete)
    checkins = [one for one in situation.checkins if situation.as_of - one.at <= PAIN_WINDOW]
    if place.exercise_id is None:
        found = _of_region(place, checkins, lifts)
    else:
        found = sorted((_of_session(place, sets) for sets in sessions), key=lambda one: one.done)
        found = _with_checkins(place, found, checkins)
    _add_mornings(place, found, checkins, calendar, lifts)
    lately = [one for one in found if situation.as_of - one.done <= PAIN_WINDOW]
    return [one for one in sorted(lately, key=lambda one: one.done) if one.speaks_of(place)]


def _of_session(place: PainPlace, sets: Sequence[SeenSet]) -> Occasion:
    all_told = [pain for seen in sets for pain in pains_of_set(seen.record)]
    return Occasion(
        done=max(seen.record.performed_at for seen in sets),
        sets=sets,
        told=[pain for pain in all_told if place.holds(pain)],
        mornings=[pain for pain in all_told if pain.next_morning is not None and place.may_concern(pain)],
    )


def _with_checkins(place: PainPlace, sessions: list[Occasion], checkins: Sequence[Checkin]) -> list[Occasion]:
    """Return sessions with what check-ins that name their lift tell of them; before the first one, and once the morning
    after the last one is over, they stand alone."""
    alone: list[Occasion] = []
    for checkin in checkins:
        named = [pain for pain in checkin.pain if place.is_of_lift(pain)]
        told = [pain for pain in named if place.holds(pain) and is_told(pain)]
        last = _last_before(checkin, sessions)
        if told and last is not None and not _comes_late(checkin, last):
            last.told += told
            last.told_later += told
        elif told:
            before = last.sets if last is not None else ()
            alone.append(Occasion(checkin.at, told=told, told_later=told, sets_before=before))
    return [*alone, *sessions]


def _last_before(checkin: Checkin, found: Iterable[Occasion]) -> Occasion | None:
    """Return the last session before a check-in, of occasions that are sorted."""
    return next(reversed([one for one in found if one.sets and one.done < checkin.at]), None)


def _comes_late(checkin: Checkin, last: Occasion | None) -> bool:
    """Whether the morning after the last session before a check-in is over."""
    return last is None or checkin.at - last.done > MORNING_TO


def _of_region(place: PainPlace, checkins: Sequence[Checkin], lifts: Collection[str]) -> list[Occasion]:
    """Return what check-ins tell of a region and of no lift in the log, but for mornings alone."""
    return [
        Occasion(checkin.at, told=told, told_later=told)
        for checkin in checkins
        if (told := [p for p in checkin.pain if place.holds(p) and p.exercise_id not in lifts and is_told(p)])
    ]


def _add_mornings(
    place: PainPlace,
    found: list[Occasion],
    checkins: Sequence[Checkin],
    calendar: TrainingCalendar,
    lifts: Collection[str],
) -> None:
    """Add what check-ins tell of a morning to the occasion before it; a morning after none is an occasion of its own.

    A morning that names no lift speaks of those that hurt, for so long as it is the next one.
    """
    for checkin in checkins:
        late = _comes_late(checkin, _last_before(checkin, found))
        for pain in checkin.pain:
            if pain.next_morning is None or not place.may_concern(pain):
                continue
            lift = pain.exercise_id if place.exercise_id is not None or pain.exercise_id in lifts else None
            if place.exercise_id is not None and lift not in {None, place.exercise_id}:
                continue
            own = (lift == place.exercise_id or place.is_of_lift(pain)) and place.holds(pain)
            after = [
                one
                for one in found
                if is_morning_after(one.done, checkin.at, calendar)
                and (one.told or (own and one.sets))
                and (checkin.at - one.done <= MORNING_TO or (own and lift is not None and not late))
            ]
            if after:
                after[-1].mornings.append(pain)
            elif own:
                _stand_alone(pain, checkin, found, calendar.day_of(checkin.at) - _DAY)


def _stand_alone(pain: Pain, checkin: Checkin, found: list[Occasion], day: date) -> None:
    """Add a morning after a day of which nothing else was told, to what the same check-in tells if it tells more."""
    same = next((one for one in found if one.done == checkin.at and not one.sets), None)
    if same is None:
        last = _last_before(checkin, found)
        same = Occasion(checkin.at, sets_before=last.sets if last is not None else ())
        found.append(same)
        found.sort(key=lambda one: one.done)
    same.mornings.append(pain)
    same.day = day


def report_of(place: PainPlace, occasion: Occasion, situation: Situation, known: "Mornings") -> PainReport:
    """Return what was told of pain at a place on one occasion and the morning after, and how it was before."""
    told = occasion.told
    day = occasion.day or training_day(occasion.done, calendar_of(situation.athlete))
    bands = [pain.angle_band for pain in told if pain.angle_band is not None]
    hurt = hurt_at(place, occasion)
    lift_range = _range_of(place, hurt or next(iter(occasion.sets), None)) if bands else None
    return PainReport(
        during=max((pain.during for pain in told if pain.during is not None), default=None),
        after=max((pain.after for pain in told if pain.after is not None), default=None),
        next_morning=_morning(place, occasion.mornings),
        before=known.before(day),
        painful_from_deg=min((band.from_deg for band in bands), default=None),
        painful_to_deg=max((band.to_deg for band in bands), default=None),
        phase=_phase(told),
        day=day_of(occasion.done),
        range_from_deg=lift_range[0] if lift_range else None,
        range_to_deg=lift_range[1] if lift_range else None,
        load_kg=hurt.load.kilograms if hurt is not None and hurt.load is not None else None,
        on=training_day(occasion.done, calendar_of(situation.athlete)).isoformat(),
        told_apart=not occasion.sets,
        number_missing=_is_number_missing(place, occasion),
    )


def _is_number_missing(place: PainPlace, occasion: Occasion) -> bool:
    """Whether pain of an occasion was named and its number not told; a check-in that tells one later answers."""
    missing = any(_lacks_number(place, seen.record) for seen in occasion.sets)
    for pain in occasion.told_later:
        if pain.worst is None:
            missing = True
        elif _of_session_only(pain) is not None:
            missing = False
    return missing


def _lacks_number(place: PainPlace, record: LoggedSet) -> bool:
    """Whether a set tells of pain at a place without a number, be it that pain ended it and only a morning was told."""
    told = [pain for pain in pains_of_set(record) if place.holds(pain)]
    if record.limited_by == "pain" and told:
        return all(_of_session_only(pain) is None for pain in told)
    return any(pain.worst is None for pain in told)


def _morning(place: PainPlace, told: Sequence[Pain]) -> float | None:
    """Return the worst told of a morning; of half the place only what is bad, for the other half is unknown."""
    worst = max((pain.next_morning for pain in told if pain.next_morning is not None), default=None)
    if worst is None:
        return None
    return worst if place.is_told_by(told) or worst > GO_UP_TO else None


@dataclass(frozen=True, slots=True)
class Mornings:
    """The pain of mornings at one place, by local date; of one told twice the least, which hides no rise. [0-10]"""

    pain_on: dict[date, float]

    def before(self, training: date) -> float | None:
        """Return the newest morning up to a day of training, that day's own too; None where none was told of late."""
        known = [day for day in self.pain_on if training - _BASELINE_WINDOW <= day <= training]
        return self.pain_on[max(known)] if known else None


def mornings_of(place: PainPlace, sessions: Iterable[Sequence[SeenSet]], situation: Situation) -> Mornings:
    """Return every morning told of a place: with the lift's sets, and in check-ins whatever lift they name."""
    calendar = calendar_of(situation.athlete)
    told = chain(
        (
            (training_day(max(one.record.performed_at for one in sets), calendar) + _DAY, pain)
            for sets in sessions
            for seen in sets
            for pain in seen.record.pain
        ),
        ((calendar.day_of(checkin.at), pain) for checkin in situation.checkins for pain in checkin.pain),
    )
    pain_on: dict[date, float] = {}
    for day, pain in told:
        if pain.next_morning is not None and place.may_concern(pain):
            pain_on[day] = min(pain.next_morning, pain_on.get(day, pain.next_morning))
    return Mornings(pain_on)


def hurt_at(place: PainPlace, occasion: Occasion) -> SeenSet | None:
    """Return the set at whose load it hurt: the lightest of those that hurt most, else the heaviest of the session."""
    sets = occasion.run_began or occasion.sets or occasion.sets_before
    loaded = [seen for seen in sets if seen.load is not None]
    worst = max(
        (score for pain in occasion.told if (score := _of_session_only(pain)) is not None), default=0.0
    )
    hurting = [
        seen
        for seen in loaded
        for pain in seen.record.pain
        if place.holds(pain) and (_of_session_only(pain) or 0.0) >= worst > GO_UP_TO
    ]
    # Pain without a number may be the worst of all.
    hurting += [seen for seen in loaded if _lacks_number(place, seen.record)]
    if hurting:
        return min(hurting, key=_kilograms)
    own = [seen for seen in loaded if place.moved_by(seen)] or loaded
    return max([seen for seen in own if seen.is_work] or own, key=_kilograms, default=None)


def heaviest_last(sessions: Sequence[Sequence[SeenSet]], side: Side) -> SeenSet | None:
    """Return the heaviest working set of a side in the newest session that has one, None without."""
    for sets in sorted(sessions, key=lambda one: one[-1].record.performed_at, reverse=True):
        worked = [seen for seen in sets if seen.is_work and seen.load is not None and seen.side == side]
        if worked:
            return max(worked, key=_kilograms)
    return None


def _kilograms(seen: SeenSet) -> float:
    return seen.load.kilograms if seen.load is not None else 0.0


def _of_session_only(pain: Pain) -> float | None:
    return max((score for score in (pain.during, pain.after) if score is not None), default=None)


def _range_of(place: PainPlace, seen: SeenSet | None) -> tuple[Degrees, Degrees] | None:
    """Return the range of the joint that hurts in a lift, None where it is not known for sure."""
    if seen is None:
        return None
    if seen.record.range_deg is not None:
        return seen.record.range_deg.from_deg, seen.record.range_deg.to_deg
    joints = joints_of(place.region)
    demands = [one for one in seen.exercise.joint_demands if one.motion.startswith(f"{joints[0]}_")]
    if len(joints) != 1 or len(demands) != 1:
        return None
    return demands[0].from_deg, demands[0].to_deg


def _phase(told: Iterable[Pain]) -> PainPhase | None:
    """Return the one phase that all that was told names, `all` where it names several, None where it names none."""
    phases = {pain.phase for pain in told if pain.phase is not None}
    return phases.pop() if len(phases) == 1 else ("all" if phases else None)
