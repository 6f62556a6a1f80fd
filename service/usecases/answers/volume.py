"""How many hard sets each muscle got, by week and side, and where weekly volume meets a stated criterion."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import lru_cache
from uuid import UUID

from service.catalogue.texts import Texts
from service.core.estimates import DEFAULT_MASS, Basis, Estimate, Interval, Reason
from service.core.units import Share
from service.core.volume import thresholds as landmarks
from service.core.volume.hard_sets import TrainingAge
from service.core.volume.weekly_dose import (
    MODEL_VERSION,
    SIDE_WEIGHTS,
    CountedSet,
    CountedStage,
    DoseSide,
    MuscleDose,
    SessionDose,
    add_up,
)
from service.usecases.answers.counting import (
    Cluster,
    Counting,
    clusters_of,
    counting_then,
    involvement_of,
    reason_not_counted,
)
from service.usecases.answers.history import SeenSet, read_histories
from service.usecases.answers.situation import Situation, read_situation
from service.usecases.answers.strength import Strength
from service.usecases.answers.strength_then import strengths_known
from service.usecases.answers.telling import (
    Teller,
    basis_document,
    documents,
    estimate_document,
    instant_of_day,
)
from service.usecases.answers.weeks import TrainingCalendar, TrainingWeek, calendar_of, instants_around
from service.usecases.documents import Document
from service.usecases.errors import FieldFault, NotPossible, UnknownReference
from service.usecases.exercises import ExerciseBook
from service.usecases.ports import UnitOfWork
from service.usecases.records.people import ConsentPurpose

#: Works behind the counting and behind the thresholds.
DOSE_SOURCES = ("Pelland2025", "Refalo2023", "Lasevicius2018", "Coleman2022", "Sodal2023", "Mannarino2021")
THRESHOLD_SOURCES: Mapping[landmarks.Criterion, tuple[str, ...]] = {
    "keeps_size": ("Bickel2011",),
    "detectable_gain": ("Pelland2025", "Schoenfeld2017", "Hubal2005", "Erskine2014"),
    "small_next_gain": ("Pelland2025", "Schoenfeld2017", "Hubal2005", "Erskine2014"),
}
#: Set by set a week of 200 sets takes 1.6 MB over all muscles. So many weeks at once are told so, or of so few muscles all
#: that may be asked for: about 3 MB of such a log either way. (judgement)
FULL_WEEKS, FULL_MUSCLES = 2, 6
#: What is listed at most of one muscle and side in one week: counted sets, and as many that do not count, sessions, and stages
#: of one drop set. A week of more is no log of training but a slip, which its sums show. (judgement)
FULL_SETS, FULL_SESSIONS, FULL_STAGES = 2000, 500, 100
_OTHER_PEOPLES = Reason("volume.threshold_of_other_people")
_NOT_COUNTED_DROP = Reason("volume.not_counted_drop")


@dataclass(frozen=True, slots=True)
class VolumeQuestion:
    """What is asked: so many weeks, the last of which holds ``week_of``; all muscles that got any, or those named."""

    week_of: date | None = None
    weeks: int = 1
    muscle_ids: Sequence[str] = ()
    as_of: datetime | None = None
    mass: Share = DEFAULT_MASS
    full: bool = False
    min_position: int | None = None


def answer_volume(
    work: UnitOfWork,
    book: ExerciseBook,
    texts: Texts,
    athlete_id: UUID,
    question: VolumeQuestion,
    purposes: Sequence[ConsentPurpose] = ("process_health",),
) -> Document:
    """Return the hard sets of an athlete's weeks, and the thresholds of weekly volume.

    Raises what ``read_situation`` raises, ``UnknownReference`` for a muscle that does not exist, and ``NotPossible`` for more
    weeks set by set than are told at once.
    """
    muscles = _asked_muscles(book, question.muscle_ids)
    _require_tellable(question, len(muscles))
    athlete = work.people.athlete(athlete_id)
    calendar = calendar_of(athlete.record) if athlete and athlete.record else TrainingCalendar()
    as_of = question.as_of or work.now
    weeks = calendar.weeks_until(question.week_of or calendar.day_of(as_of), question.weeks)
    _, end = instants_around(weeks[0], weeks[-1])
    situation = read_situation(
        work,
        athlete_id,
        book=book,
        as_of=min(as_of, end),
        purposes=purposes,
        min_position=question.min_position,
    )
    known = strengths_known(work, book, situation, ends_of(weeks, situation).values())
    doses = weekly_doses(situation, book, weeks, known, question.mass)
    shown = muscles or sorted({muscle for week in doses.values() for muscle, _ in week.doses})
    telling = _Telling(Teller(texts), question.full)
    return {
        "position": str(situation.position),
        "model_version": MODEL_VERSION,
        "as_of": as_of,
        "items": [
            telling.item(week, doses[week], muscle, side, question.mass)
            for week in weeks for muscle in shown for side in SIDE_WEIGHTS
        ],
        "thresholds": telling.thresholds(situation, question.mass),
        "cautions": documents(telling.teller.cautions(situation.cautions)),
    }  # fmt: skip


def _require_tellable(question: VolumeQuestion, muscle_count: int) -> None:
    """Refuse more weeks set by set than are told at once; a muscle in parts counts by its parts, none named are all."""
    if not question.full or question.weeks <= FULL_WEEKS or 0 < muscle_count <= FULL_MUSCLES:
        return
    muscles = f"{muscle_count} muscles" if muscle_count else "all muscles"
    fault = FieldFault(
        "?weeks", "too_much_detail", f"{question.weeks} weeks of {muscles} with detail=full",
        f"at most {FULL_WEEKS} weeks, at most {FULL_MUSCLES} muscles by `muscle_id` (by their parts), or detail=summary",
    )  # fmt: skip
    raise NotPossible(faults=[fault])


def _require_listable(item: Document, week: TrainingWeek) -> Document:
    """Return the item of a week told set by set; refuse one whose lists are longer than any list may be."""
    drop_sets = [one["stages"] for one in item["sets"] if "stages" in one]
    lists = [
        ("sets that count", item["sets"], FULL_SETS),
        ("sets that do not count", item["not_counted"], FULL_SETS),
        ("sessions", item["sessions"], FULL_SESSIONS),
        ("stages of one drop set", max(drop_sets, key=len, default=[]), FULL_STAGES),
    ]
    for name, found, most in lists:
        if len(found) > most:
            fault = FieldFault(
                "?detail", "too_much_detail",
                f"{len(found)} {name}, of {item['muscle_id']} in the week from {week.first_day}",
                f"at most {most} {name} of one muscle in one week, or detail=summary",
            )  # fmt: skip
            raise NotPossible(faults=[fault])
    return item


@dataclass(frozen=True, slots=True)
class WeekDose:
    """One week added up, the sets in it that were taken for warm-ups or lack their first load, and those that did not count.

    ``effort_from_strength`` are sets whose effort nobody told and strength did.
    """

    doses: Mapping[tuple[str, DoseSide], MuscleDose]
    inferred_warm_ups: frozenset[str]
    incomplete: frozenset[str]
    effort_from_strength: frozenset[str] = frozenset()
    not_counted: Mapping[tuple[str, DoseSide], Sequence[tuple[SeenSet, Reason]]] = field(default_factory=dict)


def weekly_doses(
    situation: Situation,
    book: ExerciseBook,
    weeks: Sequence[TrainingWeek],
    strengths: Mapping[datetime, Strength],
    mass: Share = DEFAULT_MASS,
) -> dict[TrainingWeek, WeekDose]:
    """Return what each week's sets did to each muscle, with what was known of strength at the week's own end.

    So a week counts the same in whatever span it is asked for.
    """
    calendar, histories = calendar_of(situation.athlete), read_histories(situation, book)
    by_week: dict[TrainingWeek, list[Cluster]] = {week: [] for week in weeks}
    for cluster in clusters_of(seen for history in histories.by_exercise.values() for seen in history.sets):
        day = calendar.day_of_set(cluster.lead.record, situation.sessions)
        week = calendar.week_of(day)
        if week in by_week:
            by_week[week].append(cluster)
    ends = ends_of(weeks, situation)
    return {
        week: _add_week(
            counting_then(situation, histories, ends[week], strengths[ends[week]]), clusters, mass
        )
        for week, clusters in by_week.items()
    }


def ends_of(weeks: Sequence[TrainingWeek], situation: Situation) -> dict[TrainingWeek, datetime]:
    """Return the instant at which each week is judged: its end, or that of the situation while it is on."""
    return {week: min(week.end, situation.as_of) for week in weeks}


def _add_week(counting: Counting, clusters: Sequence[Cluster], mass: Share) -> WeekDose:
    contributions = [counting.contribution(cluster) for cluster in clusters]
    firsts = [cluster.first for cluster in clusters if cluster.first is not None]
    return WeekDose(
        doses=add_up(contributions, mass),
        inferred_warm_ups=frozenset(str(c.lead.id) for c in clusters if 0.0 < c.lead.warm_up < 1.0),
        incomplete=frozenset(one.set_id for one in contributions if one.incomplete_stage),
        effort_from_strength=frozenset(
            str(seen.id) for seen in firsts if counting.told(seen).expected_reserve is not None
        ),
        not_counted=_not_counted(clusters),
    )


def _not_counted(
    clusters: Iterable[Cluster],
) -> dict[tuple[str, DoseSide], list[tuple[SeenSet, Reason]]]:
    """Return the sets that count nothing, under each muscle and side that they would have counted for, and their drops."""
    found: dict[tuple[str, DoseSide], list[tuple[SeenSet, Reason]]] = defaultdict(list)
    for cluster in clusters:
        first = cluster.first
        reason = None if first is None else reason_not_counted(first)
        if first is None or reason is None:
            continue
        silent = [(first, reason), *((drop, _NOT_COUNTED_DROP) for drop in cluster.in_order)]
        for part in involvement_of(first):
            for side in SIDE_WEIGHTS:
                if SIDE_WEIGHTS[side].get(first.side, 0.0) > 0.0:
                    found[part.muscle_id, side].extend(silent)
    return found


@lru_cache(maxsize=512)
def _thresholds_for(
    training: TrainingAge, age_years: float | None, mass: Share
) -> tuple[landmarks.Threshold, ...]:
    """Return the prior's thresholds; they cost more than all the rest, and a roster asks for the same ones again."""
    return landmarks.thresholds_prior(training, landmarks.Wanted(age_years=age_years, mass=mass))


@dataclass(frozen=True, slots=True)
class _Telling:
    """Turns doses and thresholds into documents."""

    teller: Teller
    full: bool
    _told: dict[tuple[object, ...], Document] = field(default_factory=dict)

    def item(
        self, week: TrainingWeek, done: WeekDose, muscle_id: str, side: DoseSide, mass: Share
    ) -> Document:
        dose = done.doses.get((muscle_id, side))
        item: Document = {"week": week_document(week), "muscle_id": muscle_id, "side": side}
        if dose is None:
            silent = done.not_counted.get((muscle_id, side), ())
            item |= self._nothing(mass, len(silent))
            if self.full and silent:
                item |= {"sets": [], "sessions": [], "not_counted": self._left_out(done, muscle_id, side)}
                return _require_listable(item, week)
            return item
        item |= {
            "hard_sets": estimate_document(dose.value),
            "direct": round(dose.direct, 4),
            "indirect": round(dose.indirect, 4),
            "for_strength": round(dose.for_strength, 4),
            "session_count": dose.session_count,
            "per_session_max": round(dose.per_session_max, 4),
            "assumed_effort_share": round(dose.assumed_share, 4),
            "unspecified_side_share": round(dose.unspecified_share, 4),
            "basis": basis_document(Basis(len(dose.counted), dose.newest_day, dose.assumed_share)),
            "reasons": documents(self.teller.reasons(_reasons(done, dose))),
            "sources": list(DOSE_SOURCES),
        }
        if self.full:
            item["sets"] = [self._counted(one) for one in dose.counted]
            item["sessions"] = [_session(one) for one in dose.sessions]
            item["not_counted"] = self._left_out(done, muscle_id, side)
            return _require_listable(item, week)
        return item

    def _counted(self, counted: CountedSet) -> Document:
        told = self._dosed(counted)
        return {**told, "stages": [self._dosed(one) for one in counted.stages]} if counted.stages else told

    def _dosed(self, one: CountedSet | CountedStage) -> Document:
        return {"set_id": one.set_id, "dose": round(one.dose, 4), "reason": self._reason(one.reason)}

    def _left_out(self, done: WeekDose, muscle_id: str, side: DoseSide) -> list[Document]:
        return [
            {"set_id": str(seen.id), "reason": self._reason(reason)}
            for seen, reason in done.not_counted.get((muscle_id, side), ())
        ]

    def _reason(self, reason: Reason) -> Document:
        """Return a reason as it is told; sets of one lift mostly share theirs."""
        key = (reason.code, *reason.params.values())
        if key not in self._told:
            self._told[key] = documents([self.teller.reason(reason)])[0]
        return self._told[key]

    def _nothing(self, mass: Share, not_counted: int) -> Document:
        why = Reason("volume.nothing_logged")
        if not_counted:
            why = Reason("volume.none_counted", {"count": not_counted})
        none = Estimate(0.0, "{sets}", 0.0, Interval(0.0, 0.0, mass), "mean")
        return {
            "hard_sets": estimate_document(none),
            "direct": 0.0, "indirect": 0.0, "for_strength": 0.0, "session_count": 0, "per_session_max": 0.0,
            "assumed_effort_share": 0.0, "unspecified_side_share": 0.0,
            "basis": basis_document(Basis(0, None, 0.0)),
            "reasons": documents(self.teller.reasons([why])),
            "sources": list(DOSE_SOURCES),
        }  # fmt: skip

    def thresholds(self, situation: Situation, mass: Share) -> list[Document]:
        found = _thresholds_for(situation.training, situation.age_years, mass)
        return [
            {
                "criterion": threshold.criterion,
                "weekly_hard_sets": estimate_document(threshold.weekly_hard_sets),
                "reached": threshold.reached,
                "prior_share": threshold.prior_share,
                "model_version": landmarks.MODEL_VERSION,
                "reasons": documents(self.teller.reasons([*threshold.reasons, _OTHER_PEOPLES])),
                "sources": list(THRESHOLD_SOURCES[threshold.criterion]),
            }
            for threshold in found
        ]


def _reasons(done: WeekDose, dose: MuscleDose) -> list[Reason]:
    """Return what a reader must know of how a muscle's week was counted."""
    counted = {one.set_id for one in dose.counted}
    reasons = []
    if dose.assumed_share > 0.0:
        reasons.append(Reason("volume.effort_partly_assumed", {"percent": 100.0 * dose.assumed_share}))
    if dose.unspecified_share > 0.0:
        reasons.append(Reason("volume.side_partly_unspecified", {"percent": 100.0 * dose.unspecified_share}))
    if incomplete := len(counted & done.incomplete):
        reasons.append(Reason("volume.drops_without_first_load", {"count": incomplete}))
    if worked_out := len(counted & done.effort_from_strength):
        reasons.append(Reason("volume.effort_from_strength", {"count": worked_out}))
    if inferred := len(counted & done.inferred_warm_ups):
        reasons.append(Reason("volume.warm_ups_inferred", {"count": inferred}))
    return reasons


def _session(session: SessionDose) -> Document:
    """Return what a session gave, by the session's id where it has one."""
    kind, _, key = session.session_id.partition(" ")
    named: Document = {"session_id": key} if kind == "session" else {}
    return {**named, "began_at": instant_of_day(session.day).isoformat(), "dose": round(session.dose, 4)}


def week_document(week: TrainingWeek) -> Document:
    """Return a week as it is told: half-open instants and the zone they are read in."""
    return {
        "first_day": week.first_day.isoformat(),
        "start": week.start.isoformat(),
        "end": week.end.isoformat(),
        "time_zone": week.time_zone,
    }


def _asked_muscles(book: ExerciseBook, muscle_ids: Sequence[str]) -> list[str]:
    """Return the trainable muscles that were asked for: a muscle in parts stands for its parts."""
    for muscle_id in muscle_ids:
        if not book.knows_muscle(muscle_id):
            fault = FieldFault(
                "?muscle_id", "unknown_reference", "there is no such muscle", "an id of GET /v1/muscles"
            )
            raise UnknownReference(faults=[fault])
    return list(dict.fromkeys(part for asked in muscle_ids for part in book.catalogue.parts(asked)))
