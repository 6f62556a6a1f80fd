"""The next set of a lift in a session that is on: what is left of it, with the day's effect in it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from math import expm1
from uuid import UUID

from service.catalogue.records import Exercise
from service.catalogue.texts import Texts
from service.core.capability import Side
from service.core.estimates import DEFAULT_MASS, Reason
from service.core.progression import (
    MODEL_VERSION,
    Caps,
    EndedBreak,
    InSession,
    LoadForecast,
    ProgressionContext,
    RepetitionTarget,
)
from service.core.progression.breaks import return_band
from service.core.progression.careful import FIRST_TOO_HARD
from service.core.units import MassUnit, Share
from service.usecases.answers.capability import asked_histories, envelope
from service.usecases.answers.history import ExerciseHistory, Histories, SeenSet, read_histories
from service.usecases.answers.load_progression import require_possible, why_nothing
from service.usecases.answers.next_drops import DropsAsked
from service.usecases.answers.progression_adviser import Adviser, adviser
from service.usecases.answers.progression_case import Wish, caps_of, is_alone
from service.usecases.answers.progression_easing import stands_apart
from service.usecases.answers.progression_past import Past, missed_in, past_of, rounds, without_slips
from service.usecases.answers.progression_telling import Advice, ask_of, item_document
from service.usecases.answers.session_time import rested, seconds_of_sets, sets_that_fit
from service.usecases.answers.site_loads import SiteOptions, SiteStock, options_for, read_stock
from service.usecases.answers.situation import Situation, read_situation
from service.usecases.answers.telling import Teller
from service.usecases.answers.timed_progression import timed_next_set
from service.usecases.documents import Document, to_document
from service.usecases.errors import FieldFault, NothingToComputeOn, UnknownReference
from service.usecases.exercises import ExerciseBook
from service.usecases.folding.evidence import is_missed
from service.usecases.ports import UnitOfWork
from service.usecases.records.log import LoggedSet

#: A day's effect below this share is not worth a word. [1] (judgement)
WORTH_TELLING: Share = 0.015
#: A hard set of the lift that this one is paired with tires it like this share of an own one, whatever muscles it works:
#: 0.007 of ln strength on 0.024, a little less than a hard set of a shared muscle costs. It counts where less rest than
#: this lay between the two. (judgement) [1], [s]
PARTNER_SHARE, RESTED_S = 0.3, 90.0
#: A session that began longer ago is over (judgement).
LONGEST_SESSION = timedelta(hours=12)
#: Lifts named in place of one whose implements are taken, and the least that they must have in common (judgement).
MOST_INSTEAD, LEAST_OVERLAP = 3, 0.3


@dataclass(frozen=True, slots=True)
class NextSetQuestion:
    """Whose next set, of which lift in which session (None = the one that is on), on which side, as of when (None = now).

    ``minutes_left`` of the session, None where time does not matter; ``unavailable`` names implements that are taken;
    ``drops`` asks for so many after the last set.
    """

    athlete_id: UUID
    exercise_id: str
    session_id: UUID | None = None
    side: Side | None = None
    site_id: UUID | None = None
    wish: Wish = field(default_factory=Wish)
    minutes_left: float | None = None
    unavailable: Sequence[str] = ()
    drops: int | None = None
    as_of: datetime | None = None
    mass: Share = DEFAULT_MASS
    unit: MassUnit | None = None
    min_position: int | None = None


def answer_next_set(
    work: UnitOfWork, book: ExerciseBook, texts: Texts, question: NextSetQuestion
) -> Document:
    """Return the next set of a lift in a session, or that there were enough.

    Raises what ``read_situation`` raises; ``ClearanceRequired`` while training is closed; ``SiteRequired``;
    ``UnknownReference`` for an exercise or a session that is not there; ``NotPossible`` for an empty range;
    ``NothingToComputeOn`` where the lift has neither a set nor a known lift to start from.
    """
    require_possible(question.wish)
    situation = read_situation(
        work,
        question.athlete_id,
        book=book,
        as_of=question.as_of,
        unit=question.unit,
        min_position=question.min_position,
    )
    teller = Teller(texts, situation.unit)
    situation.require_open(teller)
    session_id = _session_of(situation, question.session_id)
    session = situation.sessions.get(session_id) if session_id is not None else None
    stock = read_stock(
        work, situation, question.site_id or (session.site_id if session is not None else None)
    )
    stock = _without(stock, question.unavailable)
    histories = read_histories(situation, book)
    (history,) = asked_histories(histories, question.exercise_id)
    usual = adviser(history, situation, stock, question.wish)
    asked = InSessionAdviser(
        usual.history, situation, stock, question.wish, usual.new_station, session_id, question.side,
        _partner_sets(situation, session_id, question.exercise_id), question.minutes_left,
    )  # fmt: skip
    advices = asked.advices()
    items = [
        {**item_document(advice, situation, teller, question.mass), "sets_done": rounds(advice.past.today)}
        for advice in advices
    ]
    if question.drops is not None:
        asked_drops = DropsAsked(question.drops, question.minutes_left, situation, histories.strength, teller)
        items = [{**item, **asked_drops.after(one)} for item, one in zip(items, advices, strict=True)]
    if history.exercise.work != "repetitions":
        items = timed_next_set(usual, session_id, question.side, question.minutes_left, teller, question.mass)
    if not items:
        raise NothingToComputeOn(why_nothing(history), exercise_id=question.exercise_id)
    answer = envelope(items, situation, MODEL_VERSION)
    ask = ask_of(advices, situation)
    if ask is not None:
        answer["ask"] = to_document(teller.reason(ask))
    if question.unavailable and all(item["decision"] != "do" for item in items):
        answer["instead"] = list(_instead(histories, history, situation, stock, question.wish))
    if session_id is not None:
        answer["session_id"] = str(session_id)
    return {**answer, "site_id": str(stock.site_id)}


def _without(stock: SiteStock, unavailable: Sequence[str]) -> SiteStock:
    """Return the stock without what is taken.

    Raises ``UnknownReference`` for a name that no implement of the site has.
    """
    names = {item.name for item in stock.items}
    for name in unavailable:
        if name not in names:
            fault = FieldFault(
                "?unavailable", "unknown_reference", f"no implement `{name}`", "a name of the site's list"
            )
            raise UnknownReference(faults=[fault], implement=name)
    taken = frozenset(unavailable)
    return replace(stock, items=[item for item in stock.items if item.name not in taken])


def _instead(
    histories: Histories, asked: ExerciseHistory, situation: Situation, stock: SiteStock, wish: Wish
) -> Iterator[Document]:
    """Yield lifts of the athlete's own that can be done now, what they train most like the asked one's first.

    Only lifts that would get a load: limits, pain and the site decide as for any other.
    """
    likeness = {
        other.exercise.exercise_id: _overlap(asked.exercise, other.exercise)
        for other in histories.by_exercise.values()
        if other is not asked
    }
    told = 0
    for exercise_id in sorted(likeness, key=lambda one: (-likeness[one], one)):
        if told == MOST_INSTEAD or likeness[exercise_id] < LEAST_OVERLAP:
            return
        other = histories.by_exercise[exercise_id]
        advices = adviser(other, situation, stock, wish).advices()
        if advices and advices[0].choice is not None:
            told += 1
            yield {
                "exercise_id": exercise_id,
                "exercise_name": other.exercise.name,
                "involvement_overlap": round(likeness[exercise_id], 3),
            }


def _overlap(one: Exercise, other: Exercise) -> Share:
    """Return the share of what a lift trains that another trains too. [1]"""
    shares = {part.muscle_id: part.share for part in other.involvement}
    common = sum(min(part.share, shares.get(part.muscle_id, 0.0)) for part in one.involvement)
    return common / sum(part.share for part in one.involvement)


def _session_of(situation: Situation, asked: UUID | None) -> UUID | None:
    """Return the asked session, else the newest that began lately, None where there is none.

    Raises ``UnknownReference`` where of the asked one neither itself nor a set has arrived.
    """
    if asked is None:
        begun = [
            (session.started_at, session_id)
            for session_id, session in situation.sessions.items()
            if situation.as_of - session.started_at <= LONGEST_SESSION and session.ended_at is None
        ]
        return max(begun)[1] if begun else None
    known = asked in situation.sessions or any(one.record.session_id == asked for one in situation.sets)
    if not known:
        fault = FieldFault("?session_id", "unknown_session", f"no session `{asked}`", "a session's id")
        raise UnknownReference(faults=[fault], session_id=str(asked))
    return asked


def _partner_sets(situation: Situation, session_id: UUID | None, exercise_id: str) -> int:
    """Return how many sets of other lifts were paired with this one in a session, with little rest between them."""
    if session_id is None:
        return 0
    done: list[LoggedSet] = [
        one.record
        for one in situation.sets
        if one.record.session_id == session_id and one.record.pair_id is not None
    ]
    pairs = {one.pair_id for one in done if one.exercise_id == exercise_id}
    return sum(
        one.pair_id in pairs
        and one.exercise_id != exercise_id
        and one.purpose != "warm_up"
        and (one.rest_any_s is None or one.rest_any_s < RESTED_S)
        for one in done
    )


@dataclass(frozen=True, slots=True)
class InSessionAdviser(Adviser):
    """One lift in a session that is on, of one side if named; ``partner_sets`` of other lifts were paired with it.

    ``minutes_left`` bounds the sets, None where time does not matter.
    """

    session_id: UUID | None = None
    side: Side | None = None
    partner_sets: int = 0
    minutes_left: float | None = None

    def advices(self) -> list[Advice]:
        """Return the advice for each side, first the one whose turn it is; none where nothing can be said."""
        if not self.is_known:
            return []
        sides = sorted(self.sides(), key=lambda side: len(self._today(side)))
        turns = {len(self._today(side)) for side in sides}
        if len(turns) < len(sides):
            told = Adviser.advices(self)
        else:
            site = options_for(self.stock, self.history.exercise, self.body, self.search_up_to(sides))
            own = [self._advise(side, site) for side in sides]
            told = [self._matching(own[0], own[-1], site), *own[1:]] if len(sides) > 1 else own
        return [self._in_time(self._left(advice)) for advice in told if self.side in {None, advice.side}]

    def _today(self, side: Side) -> list[SeenSet]:
        of_side = self.history.work_sets(side)
        return [
            seen
            for seen in of_side
            if self._is_on(seen)
            and seen.load is not None
            and (seen.record.reps or is_missed(seen.record, seen.exercise))
        ]

    def _is_on(self, seen: SeenSet) -> bool:
        """Whether a set belongs to the session that is on; without one, to what was done lately outside of sessions."""
        return self._is_in(seen.record)

    def _is_in(self, record: LoggedSet) -> bool:
        if self.session_id is not None or record.session_id is not None:
            return record.session_id == self.session_id
        return self.situation.as_of - record.performed_at <= LONGEST_SESSION

    @property
    def _is_newest(self) -> bool:
        """Whether the newest set of the log was done in this session, so that its day is what is known last."""
        newest = max(self.situation.sets, key=lambda one: one.record.performed_at, default=None)
        return newest is not None and self._is_in(newest.record)

    def _past(self, side: Side) -> Past:
        whole = past_of(self.history, side)
        before = [sets for sets in whole.sessions if not self._is_on(sets[0])]
        return Past(before, self._today(side))

    def _forecast(self, side: Side) -> LoadForecast:
        forecast = self.history.forecast(self.situation.now_day, side, running=self._is_newest)
        if forecast is None:
            raise LookupError(self.history.exercise.exercise_id)
        today = self._today(side)
        tiring = len(today) + PARTNER_SHARE * self.partner_sets
        return InSession(forecast, tiring) if tiring else forecast

    @property
    def caps(self) -> Caps:
        """The accepted chance of too hard; a first time stays one through its whole session."""
        caps = caps_of(self.history.exercise, alone=is_alone(self.stock.site))
        known = any(not self._is_on(seen) for seen in self.history.work_sets())
        return caps if known else Caps(min(caps.too_hard, FIRST_TOO_HARD))

    def _context(self, past: Past, target: RepetitionTarget) -> ProgressionContext:
        context = Adviser._context(self, past, target)
        if not past.today or past.today[-1].load is None:
            return context
        whole = without_slips(Past([*past.sessions, past.today]), self.history, self.situation.now_day)
        believed = whole.last[-1]
        load = believed.load.kilograms if believed.load is not None else context.last_load_kg
        untold = all(
            seen.record.reps_in_reserve is None and not seen.record.to_failure for seen in past.today
        )
        ended = context.ended_break
        band = return_band(context.days_since_last, context.after_illness)
        if band is not None:
            # Where no set of before the break is looked at any more, today's load stays the heaviest.
            before = context.last_load_kg or past.today[-1].load.kilograms / band.load_high
            ended = EndedBreak(context.days_since_last or 0.0, 0.0, before, context.after_illness)
        return replace(
            context,
            last_load_kg=load,
            last_reps=believed.record.reps or None,
            first_time=self.history.only_missed,
            days_since_last=0.0,
            effort_missing_count=context.effort_missing_count + 1 if untold else 0,
            sessions_above_range=0,
            after_illness=False,
            ended_break=ended,
            missed_kg=missed_in(past.tried if self.history.only_missed else past.today),
            shown=whole.shown(),
        )

    def _matching(self, own: Advice, partner: Advice, site: SiteOptions) -> Advice:
        """Let the side whose turn it is do what the other one has just done (common practice, no source).

        Not where that was little for what happened to the other side alone: pain, a break, a miss.
        """
        if partner.choice is None or partner.policy_is_forced or stands_apart(partner.choice):
            return own
        done = self._today(partner.side)[-1]
        if own.choice is None or done.load is None or not done.record.reps or not site.effective:
            return own
        load = done.load.kilograms
        option = min(site.effective, key=lambda one: abs(one.load_kg - load))
        lead = replace(
            own.choice,
            load_index=option.index,
            load_kg=option.load_kg,
            reps=done.record.reps,
            source_keys=(),
        )
        return self._copying(own, lead, partner.side)

    def _left(self, advice: Advice) -> Advice:
        """Say how much of the lift is done, that it is enough where all of it is, and what kind of day it is."""
        today = rounds(advice.past.today)
        if advice.choice is None or not today:
            return advice
        done = Reason("load_progression.sets_done", {"done": today, "planned": advice.planned_sets})
        if today >= advice.planned_sets:
            return replace(advice, choice=None, action="enough", reasons=(done,))
        day = self._day(advice)
        return replace(advice, reasons=(*advice.reasons[:1], *day, done, *advice.reasons[1:]))

    def _in_time(self, advice: Advice) -> Advice:
        """Bound the sets by the minutes that are left, and say so; nothing where not one fits."""
        if self.minutes_left is None or advice.choice is None:
            return advice
        exercise, rest = self.history.exercise, rested(advice.past.today, self.situation)
        fitting = sets_that_fit(exercise, self.minutes_left, rest, advice.sets)
        if fitting == advice.sets:
            return advice
        needed = seconds_of_sets(exercise, 1, rest) / 60.0
        if not fitting:
            reason = Reason("load_progression.no_time_left", {"minutes": self.minutes_left, "needed": needed})
            return replace(advice, choice=None, action="enough", reasons=(reason,))
        reason = Reason("load_progression.time_for_sets", {"minutes": self.minutes_left, "sets": fitting})
        return replace(advice, most_sets=fitting, reasons=(reason, *advice.reasons))

    def _day(self, advice: Advice) -> tuple[Reason, ...]:
        usual = self.history.forecast(self.situation.now_day, advice.side)
        today = self.history.forecast(self.situation.now_day, advice.side, running=True)
        if usual is None or today is None or not self._is_newest:
            return ()
        reps = advice.forecast.trained_repetitions
        effect = expm1(today.ln_load_for(reps, "next_set")[0] - usual.ln_load_for(reps, "next_set")[0])
        if abs(effect) < WORTH_TELLING:
            return ()
        code = "stronger_today" if effect > 0.0 else "weaker_today"
        return (Reason(f"load_progression.{code}", {"percent": 100.0 * abs(effect)}),)
