"""Everything about one athlete as of an instant, read in a fixed number of statements."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import Literal
from uuid import UUID
from zoneinfo import ZoneInfo

from msgspec import structs

from service.core.capability import Training
from service.core.estimates import Caution
from service.core.tolerance.cautions import cautions_of_age
from service.core.tolerance.flags import FlagDecision, decide_flags
from service.core.tolerance.screening import Clearance, Gate, ScreeningState, open_gate
from service.core.tolerance.screening import Screening as ScreeningNow
from service.core.units import Days, MassUnit, mass_to_kg
from service.usecases import resources
from service.usecases.answers.loads import BodyMassHistory
from service.usecases.answers.standing_signs import StandingSign, standing_signs
from service.usecases.answers.strength import Strength
from service.usecases.answers.telling import Teller, documents
from service.usecases.changes import require_position
from service.usecases.consent import require_consent
from service.usecases.errors import ClearanceRequired
from service.usecases.exercises import ExerciseBook
from service.usecases.folding.inputs import FoldInputs, training_of, was_operated
from service.usecases.folding.reading import read_state
from service.usecases.kinds import AIM, FRAME, IMPLEMENTS, LIMIT
from service.usecases.ports import Stored, UnitOfWork
from service.usecases.records.log import BodyMass, Checkin, Session
from service.usecases.records.people import Athlete, ConsentPurpose, Screening
from service.usecases.records.places import Implement
from service.usecases.records.wants import Aim, Frame, Limit

#: How far back answers of version /0 read the log: cost is bounded by time, not by history. Half a year holds a
#: break of months and still tells a trend.
WINDOW = timedelta(days=182)
#: A warning sign stands for so long, unless a clearance given since answers it, or one of a region a later check-in
#: about that region without the sign (judgement).
FLAG_WINDOW = timedelta(days=14)
#: Of one lift: as many sets as a dozen sessions have, and check-ins for as long as pain decides (judgement).
NEWEST_SETS = 120
CHECKIN_WINDOW = timedelta(days=42)
_EPOCH_S_PER_DAY = 86_400.0


def day_of(instant: datetime) -> Days:
    """Return an instant on the axis of elapsed days. [d]"""
    return instant.timestamp() / _EPOCH_S_PER_DAY


def day_of_date(on: date) -> Days:
    """Return the start of a date, UTC, on the axis of elapsed days. [d]"""
    return float((on - date(1970, 1, 1)).days)


@dataclass(frozen=True)
class Situation:
    """One athlete as of ``as_of``: the log of the window before it in canonical order, and what constrains and is wanted.

    Days are elapsed days since 1970, UTC.
    """

    athlete_id: UUID
    athlete: Athlete
    as_of: datetime
    unit: MassUnit
    position: int
    sets: Sequence[Stored]
    sessions: dict[UUID, Session]
    checkins: Sequence[Checkin]
    measurements: Sequence[Stored]
    limits: Sequence[Limit]
    aims: Sequence[Aim]
    frame: Frame | None
    screening: Screening | None
    inventories: Mapping[UUID, Sequence[Implement]] = field(default_factory=dict)
    strength: Strength | None = None

    def stock_of(self, session_id: UUID | None) -> Sequence[Implement]:
        """Return what stood at the site of a session, else at the home site; empty where nothing is known."""
        session = self.sessions.get(session_id) if session_id is not None else None
        site_id = session.site_id if session is not None and session.site_id else self.athlete.home_site_id
        return self.inventories.get(site_id, ()) if site_id is not None else ()

    @property
    def now_day(self) -> Days:
        """``as_of`` on the axis of elapsed days. [d]"""
        return day_of(self.as_of)

    @property
    def local_date(self) -> date:
        """The athlete's own date at ``as_of``."""
        return _date_there(self.as_of, self.athlete)

    @property
    def training(self) -> Training:
        """How trained the athlete is."""
        return training_of(self.athlete)

    @property
    def age_years(self) -> float | None:
        """Age at ``as_of`` to the year, None where the year of birth was not told."""
        born = self.athlete.birth_year
        return float(self.as_of.year - born) if born is not None else None

    @cached_property
    def body_mass(self) -> BodyMassHistory:
        """Told body masses, oldest first."""
        told = [
            (day_of(stored.record.at), mass_to_kg(stored.record.mass.value, stored.record.mass.unit))
            for stored in self.measurements
            if isinstance(stored.record, BodyMass)
        ]
        return BodyMassHistory(told)

    @cached_property
    def signs(self) -> Sequence[StandingSign]:
        """The warning signs that stand, with the regions they were told of."""
        return standing_signs(self.checkins, self.as_of - FLAG_WINDOW, self._answered)

    @cached_property
    def flags(self) -> FlagDecision:
        """What the standing warning signs ask for; a later check-in that does not speak of one does not answer it."""
        return decide_flags(sign.code for sign in self.signs)

    def _answered(self, checkin: Checkin) -> bool:
        """Whether a clearance that holds was given on a later day than a check-in."""
        given = self.gate.clearance
        return given is not None and given.day > day_of(checkin.at)

    @cached_property
    def gate(self) -> Gate:
        """Whether plans are open, and inside which limits; by the athlete's own date, for clinicians write dates."""
        return open_gate(_screening_now(self.screening, self._clinician_hold), day_of_date(self.local_date))

    @property
    def standing_cautions(self) -> tuple[Caution, ...]:
        """What is to be heeded whatever is answered: warning signs, a gate that is closed, an age; often nothing."""
        closed = () if self.gate.open else self.gate.cautions
        return (*self.flags.cautions, *closed, *cautions_of_age(self.age_years))

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What stands with an answer about a body: ``standing_cautions``, and that it is no diagnosis."""
        return (*self.standing_cautions, Caution("guidance_not_diagnosis"))

    @property
    def _clinician_hold(self) -> bool:
        return any(limit.kind == "clinician" and _holds_everything(limit) for limit in self.limits)

    def require_open(self, teller: Teller) -> None:
        """Raise ``ClearanceRequired``, with its reasons and cautions, where no plan or load may be answered."""
        if self.flags.stops_all_training or not self.gate.open:
            raise ClearanceRequired(
                reasons=documents(teller.reasons((*self.flags.reasons, *self.gate.closing_reasons))),
                cautions=documents(teller.cautions((*self.flags.cautions, *self.gate.cautions))),
            )


def _date_there(instant: datetime, athlete: Athlete) -> date:
    return instant.astimezone(ZoneInfo(athlete.time_zone)).date()


def _holds_everything(limit: Limit) -> bool:
    """A clinician's word without a region, a joint or an exercise holds all training."""
    return (
        limit.region is None
        and limit.joint_limit is None
        and not limit.exercise_ids
        and (limit.min_reps_in_reserve is None and limit.load_cap is None)
    )


def _screening_now(screening: Screening | None, clinician_hold: bool) -> ScreeningNow:
    if screening is None:
        return ScreeningNow("none", None, None, clinician_hold)
    operated = [day_of_date(procedure.performed_on) for procedure in screening.procedures]
    state: ScreeningState = screening.outcome
    return ScreeningNow(state, _clearance(screening), max(operated, default=None), clinician_hold)


def _clearance(screening: Screening) -> Clearance | None:
    given = screening.clearance
    if given is None:
        return None
    role: Literal["clinician"] = "clinician"  # every role that the schema offers is a licensed clinician's
    joint = given.joint_limits[0] if given.joint_limits else None
    return Clearance(
        day=day_of_date(given.given_on),
        role=role,
        review_day=day_of_date(given.review_on) if given.review_on else None,
        min_reserve=given.min_reps_in_reserve,
        load_cap_kg=mass_to_kg(given.load_cap.value, given.load_cap.unit) if given.load_cap else None,
        joint_from_deg=joint.from_deg if joint else None,
        joint_to_deg=joint.to_deg if joint else None,
    )


def read_situation(
    work: UnitOfWork,
    athlete_id: UUID,
    *,
    book: ExerciseBook | None = None,
    as_of: datetime | None = None,
    unit: MassUnit | None = None,
    purposes: Sequence[ConsentPurpose] = ("process_health",),
    min_position: int | None = None,
    lift: str | None = None,
) -> Situation:
    """Return an athlete's situation, with what is known of strength where an exercise ``book`` is given.

    Of one ``lift`` only its newest sets are read, with their sessions and the newest check-ins: no more than what a
    next load hangs on, however much was logged.

    Raises ``NotFound`` or ``Deleted`` where the athlete cannot be seen, ``ConsentRequired`` without consent to each
    purpose, ``BehindPosition`` where the store has not reached ``min_position``.
    """
    athlete = resources.find_athlete(work, athlete_id).record
    require_consent(work, athlete_id, *purposes)
    position = require_position(work, min_position)
    until = as_of or work.now
    after, today = until - WINDOW, _date_there(until, athlete)
    if lift is None:
        sets = work.log.sets_between(athlete_id, after, until)
        begun = work.log.sessions_between(athlete_id, after, until)
    else:
        sets = work.log.sets_between(athlete_id, after, until, lift, NEWEST_SETS)
        named = {one.record.session_id for one in sets} - {None}
        begun = work.log.sessions_of(athlete_id, sorted(named)) if named else []
    told_after = after if lift is None else until - CHECKIN_WINDOW
    screenings = [one for _, one in work.people.screenings(athlete_id)]
    sessions = {one.id: one.record for one in begun}
    return Situation(
        athlete_id=athlete_id,
        athlete=athlete,
        as_of=until,
        unit=unit or athlete.unit,
        position=position,
        sets=sets,
        sessions=sessions,
        inventories=_inventories(work, athlete, sets, sessions),
        checkins=[one.record for one in work.log.checkins_between(athlete_id, told_after, until)],
        measurements=work.log.measurements_between(athlete_id, after, until),
        limits=_standing(work.resources.all_of(LIMIT, athlete_id), today),
        aims=[one.record for one in work.resources.all_of(AIM, athlete_id)],
        frame=_frame(work, athlete_id),
        screening=_standing_screening(screenings, today),
        strength=_strength(work, book, athlete_id, athlete, until, screenings) if book is not None else None,
    )


def _strength(
    work: UnitOfWork,
    book: ExerciseBook,
    athlete_id: UUID,
    athlete: Athlete,
    until: datetime,
    screenings: Sequence[Screening],
) -> Strength:
    operated = was_operated(screenings, _date_there(until, athlete))
    read = read_state(work, book, athlete_id, until, inputs=FoldInputs(athlete, operated, book))
    return Strength(read.before, read.session, read.model)


def _inventories(
    work: UnitOfWork, athlete: Athlete, sets: Sequence[Stored], sessions: Mapping[UUID, Session]
) -> dict[UUID, Sequence[Implement]]:
    """Return the inventories that loads told as plates on a bar need; nothing is read where none is told so."""
    if all(stored.record.plates_per_side is None for stored in sets):
        return {}
    sites = {session.site_id for session in sessions.values()} | {athlete.home_site_id}
    named = [site_id for site_id in sites if site_id is not None]
    found = work.resources.get_many(IMPLEMENTS, named) if named else {}
    return {site_id: stored.record.items for site_id, stored in found.items() if stored.record is not None}


def _standing(stored: Sequence[Stored], on: date) -> list[Limit]:
    limits: list[Limit] = [one.record for one in stored]
    return [
        limit
        for limit in limits
        if (limit.starts_on is None or limit.starts_on <= on)
        and (limit.ends_on is None or on <= limit.ends_on)
    ]


def _frame(work: UnitOfWork, athlete_id: UUID) -> Frame | None:
    stored = work.resources.get(FRAME, athlete_id, athlete_id)
    return stored.record if stored is not None else None


def _standing_screening(screenings: Sequence[Screening], on: date) -> Screening | None:
    """Return what counts on a date, in the order of the days on which screenings were done.

    The newest tells the conditions. A referral and a clinician's clearance outlast later outcomes of other kinds: only
    another clearance opens what was closed. Operations are never forgotten.
    """
    known = [one for one in screenings if one.performed_on <= on]
    known.sort(key=lambda one: one.performed_on)  # stable: the later recorded of one day comes later
    if not known:
        return None
    ruling = [one for one in known if one.outcome in ("referred", "cleared")] or known
    return structs.replace(
        known[-1],
        outcome=ruling[-1].outcome,
        clearance=ruling[-1].clearance,
        procedures=list(dict.fromkeys(procedure for one in known for procedure in one.procedures)),
    )


def exercises_of(situation: Situation, book: ExerciseBook) -> list[str]:
    """Return the ids of the exercises in the log, in order of first appearance, those that still exist."""
    seen = dict.fromkeys(stored.record.exercise_id for stored in situation.sets)
    return [exercise_id for exercise_id in seen if book.find(exercise_id) is not None]
