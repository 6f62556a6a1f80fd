"""Which muscles are ready for their next hard session, when the rest will be, and after how many sets they are in time."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise, product
from math import isclose
from statistics import median, median_low
from uuid import UUID

from service.catalogue.texts import Texts
from service.core.estimates import DEFAULT_MASS, Basis, Reason
from service.core.recovery import (
    MODEL_VERSION,
    READY_CHANCE,
    SORENESS_USUAL,
    SYSTEMIC,
    WHOLE,
    ChannelSide,
    FatigueBelief,
    MuscleSession,
    Readiness,
    SetsReady,
    TrunkToll,
    alike,
    chances_ahead,
    decay_time,
    loads_trunk,
    p_ready_in,
    readiness,
    sets_ready_by_next,
    trunk_limits,
)
from service.core.units import Days, HardSets, Hours, Share
from service.core.volume.weekly_dose import DIRECT_SHARE, SIDE_WEIGHTS
from service.usecases.answers.history import Histories, read_histories
from service.usecases.answers.muscle_sessions import (
    SIDES,
    TRUNK_KEY,
    ChannelKey,
    Demand,
    RecoveryEvidence,
    all_sets,
    read_recovery,
)
from service.usecases.answers.named_muscles import named_muscles
from service.usecases.answers.situation import Situation, day_of, read_situation
from service.usecases.answers.telling import (
    Teller,
    basis_document,
    documents,
    estimate_document,
    interval_document,
)
from service.usecases.documents import Document
from service.usecases.exercises import ExerciseBook
from service.usecases.ports import UnitOfWork

#: Sessions that residual fatigue is followed for, and how far ahead readiness can be asked. (judgement)
FOLLOWED: Days = 14.0
FURTHEST = timedelta(days=14)
#: Sets that tell whether the trunk ends them: those of so many days. (judgement)
_TRUNK_DAYS: Days = 30.0
#: A muscle's sessions with at least so many hard sets, and how many of them, tell its usual time between them. (judgement)
_LEAST_DOSE: HardSets = 0.9
_GAPS_LOOKED_AT = 8
#: Sessions whose way of training is the usual one. (judgement)
_SESSIONS_LOOKED_AT = 3
#: Works behind the answer.
SOURCES = ("Korak2015", "MoranNavarro2017", "Bartolomei2017", "Helland2020", "Clarke2013")
_NOTHING = Reason("recovery.nothing_to_recover_from", {"days": FOLLOWED})
#: Hours from now at which the chance of being ready is told. [h]
HOURS_AHEAD: tuple[Hours, ...] = (0.0, 12.0, 24.0, 36.0, 48.0, 72.0, 96.0)
_H_PER_DAY = 24.0


@dataclass(frozen=True, slots=True)
class RecoveryQuestion:
    """Whose recovery: of all muscles trained of late, or of those named; at an instant, from what was known as of one."""

    at: datetime | None = None
    muscle_ids: Sequence[str] = ()
    as_of: datetime | None = None
    mass: Share = DEFAULT_MASS
    min_position: int | None = None


def answer_recovery(
    work: UnitOfWork, book: ExerciseBook, texts: Texts, athlete_id: UUID, question: RecoveryQuestion
) -> Document:
    """Return the chance that each muscle and side, the trunk and the whole body are ready, and when they will be.

    Raises what ``read_situation`` raises, and ``UnknownReference`` for a muscle that does not exist.
    """
    muscles = named_muscles(book, question.muscle_ids)
    as_of = question.as_of or work.now
    at = min(question.at or as_of, as_of + FURTHEST)
    situation = read_situation(
        work, athlete_id, book=book, as_of=min(as_of, at), min_position=question.min_position
    )
    histories = read_histories(situation, book)
    case = _Case(situation, histories, read_recovery(situation, histories), day_of(at), question.mass)
    telling = _Telling(case, Teller(texts), _tolls(case))
    items = telling.items(case.keys(muscles))
    return {
        "at": at.isoformat(),
        "items": sorted(items, key=lambda item: (item["p_ready"], item["kind"] != "muscle")),
        "reasons": [] if items else documents(telling.teller.reasons([_NOTHING])),
        "cautions": documents(telling.teller.cautions(situation.cautions)),
        "position": str(situation.position),
        "model_version": MODEL_VERSION,
        "as_of": situation.as_of,
    }


@dataclass(frozen=True, slots=True)
class _Case:
    """Everything that one answer is made from; ``now`` is the day that is asked about."""

    situation: Situation
    histories: Histories
    evidence: RecoveryEvidence
    now: Days
    mass: Share

    def keys(self, muscles: Sequence[str]) -> list[ChannelKey]:
        """Return the muscles and sides to answer for, trained or sore of late, then the trunk's and the body's."""
        if muscles:
            return [(muscle, side) for muscle in muscles for side in SIDES]
        known = sorted({*self.evidence.demands, *self.evidence.soreness})
        recent = [key for key in known if self.sessions(key) or self._is_sore(key)]
        named = [key for key in recent if key[0] not in WHOLE]
        others: list[ChannelKey] = [TRUNK_KEY, (SYSTEMIC, "both")]
        return [*named, *(key for key in others if key in recent)]

    def _is_sore(self, key: ChannelKey) -> bool:
        return (self.soreness(key) or 0.0) > SORENESS_USUAL

    def sessions(self, key: ChannelKey) -> list[MuscleSession]:
        """Return what the last two weeks asked of a channel."""
        return self.evidence.sessions(key, self.now, FOLLOWED)

    def belief(self, channel: str) -> FatigueBelief:
        """Return what is believed of a channel's recovery."""
        return alike(self.evidence.beliefs, channel)

    def p_ready(self, key: ChannelKey) -> Share:
        """Return the chance that a channel is ready on the day that is asked about. [1]"""
        return p_ready_in(self.sessions(key), 0.0, self.soreness(key), self.belief(key[0]))

    def soreness(self, key: ChannelKey) -> float | None:
        """Return the soreness told lately; it says nothing of a day further on."""
        soon = isclose(self.now, self.situation.now_day, abs_tol=0.5)
        return self.evidence.soreness.get(key) if soon else None


@dataclass(frozen=True, slots=True)
class _Usual:
    """How a muscle is usually trained: what a session asks of it, the largest dose, and the hours between two."""

    session: MuscleSession
    largest: HardSets
    hours: Hours


def usual_of(demands: Mapping[str, Demand]) -> _Usual | None:
    """Return how a channel is usually trained, None before its second session."""
    hard = sorted((one for one in demands.values() if one.dose >= _LEAST_DOSE), key=lambda one: one.day)
    if len(hard) < 2:
        return None
    gaps = [(later.day - earlier.day) * _H_PER_DAY for earlier, later in pairwise(hard)]
    newest = [one.session(one.day) for one in hard[-_SESSIONS_LOOKED_AT:]]
    reserves = [one.mean_reserve for one in newest if one.mean_reserve is not None]
    usual = MuscleSession(
        0.0,
        median(one.hard_sets for one in newest),
        median(one.to_failure_share for one in newest),
        median(one.single_joint_share for one in newest),
        median(reserves) if reserves else None,
    )
    # The lower of two middle ones: a wait that occurs, where a mean of 9 h and 39 h never does.
    hours = median_low(gaps[-_GAPS_LOOKED_AT:])
    return _Usual(usual, max(one.dose for one in hard), hours) if hours > 0.0 else None


@dataclass(frozen=True, slots=True)
class _Telling:
    """Turns readiness into documents."""

    case: _Case
    teller: Teller
    tolls: Mapping[ChannelKey, TrunkToll]

    def items(self, keys: Sequence[ChannelKey]) -> list[Document]:
        """Return one item a channel and side; two sides that were asked the same are reckoned once."""
        known: dict[tuple[object, ...], Document] = {}
        told = []
        for channel, side in keys:
            key = (channel, side)
            same = (
                channel,
                tuple(self.case.sessions(key)),
                self.case.soreness(key),
                self._usual(key),
                self.tolls.get(key),
            )
            if same not in known:
                known[same] = self.item(channel, side)
            told.append({**known[same], "side": side})
        return told

    def _usual(self, key: ChannelKey) -> "_Usual | None":
        return usual_of(self.case.evidence.demands.get(key, {}))

    def item(self, channel: str, side: ChannelSide) -> Document:
        case, key = self.case, (channel, side)
        belief = case.belief(channel)
        found = readiness(case.sessions(key), case.soreness(key), case.mass, belief)
        named: Document = {"kind": channel} if channel in WHOLE else {"kind": "muscle", "muscle_id": channel}
        return {
            **named,
            "side": side,
            "p_ready": round(found.p_ready, 4),
            "ready_ahead": self._ahead(key, belief),
            "hours_until_ready": estimate_document(found.hours_until_ready),
            "residual_fatigue": estimate_document(found.residual_fatigue),
            "decay_time": estimate_document(decay_time(belief, case.mass)),
            **self._sets(key, belief),
            "basis": self._basis(found),
            "reasons": documents(self.teller.reasons((*self._about(key), *found.reasons))),
            "sources": list(SOURCES),
        }

    def _ahead(self, key: ChannelKey, belief: FatigueBelief) -> list[Document]:
        chances = chances_ahead(self.case.sessions(key), HOURS_AHEAD, self.case.soreness(key), belief)
        return [
            {"hours": hours, "p_ready": round(chance, 4)}
            for hours, chance in zip(HOURS_AHEAD, chances, strict=True)
        ]

    def _basis(self, found: Readiness) -> Document:
        newest = found.basis.newest_day
        day = None if newest is None else self.case.now + newest
        return basis_document(Basis(found.basis.observation_count, day, found.basis.prior_share))

    def _sets(self, key: ChannelKey, belief: FatigueBelief) -> Document:
        """Return how many sets the muscle is back from by its next session, or why that is not known."""
        usual = self._usual(key)
        if usual is None:
            return {"sets_not_known": self._reason(Reason("recovery.no_second_session"))}
        found = sets_ready_by_next(usual.session, usual.hours, belief, usual.largest, self.case.mass)
        if isinstance(found, Reason):
            return {"sets_not_known": self._reason(found)}
        return {"sets_ready_by_next": self._ready(found)}

    def _ready(self, found: SetsReady) -> Document:
        told = {"sets": found.hard_sets, "hours": found.hours_to_next, "percent": 100.0 * READY_CHANCE}
        code = "recovery.sets_ready_beyond_logged" if found.capped else "recovery.sets_ready"
        return {
            "hard_sets": round(found.hard_sets, 2),
            **({} if found.interval is None else {"interval": interval_document(found.interval)}),
            "p_ready": READY_CHANCE,
            "hours_to_next": round(found.hours_to_next, 1),
            "reason": self._reason(Reason(code, told)),
        }

    def _reason(self, reason: Reason) -> Document:
        told: Document = documents([self.teller.reason(reason)])[0]
        return told

    def _about(self, key: ChannelKey) -> tuple[Reason, ...]:
        """Return what to know of the trunk: with its own item, and with the muscles whose lifts it may end first."""
        if key[0] == SYSTEMIC:
            return (Reason("recovery.whole_body"),)
        toll = self.tolls.get(key)
        return trunk_limits(toll) if toll is not None else ()


def _tolls(case: _Case) -> dict[ChannelKey, TrunkToll]:
    """Return how often the trunk ended the sets of lifts that load it, for every side of a muscle they train directly.

    With the trunk itself stand all of those sets, beside the muscle that is readiest: if the trunk is ready later than
    that, it comes last of all.
    """
    counts: dict[ChannelKey, list[int]] = defaultdict(lambda: [0, 0])
    for seen in all_sets(case.histories):
        exercise = seen.exercise
        recent = case.now - day_of(seen.record.performed_at) <= _TRUNK_DAYS
        if not (recent and seen.is_work and loads_trunk(exercise.axial_load, exercise.trunk_moment)):
            continue
        direct = [part.muscle_id for part in exercise.involvement if part.share >= DIRECT_SHARE]
        sides = [side for side in SIDES if SIDE_WEIGHTS[side].get(seen.side, 0.0) > 0.0]
        for key in [*product(direct, sides), *([TRUNK_KEY] if direct else [])]:
            counts[key][0] += 1
            counts[key][1] += seen.record.limited_by == "trunk"
    trunk = case.p_ready(TRUNK_KEY)
    targets = {key: case.p_ready(key) for key in counts if key != TRUNK_KEY}
    readiest = max(targets.values(), default=1.0)
    return {
        key: TrunkToll(sets, ended, trunk, targets.get(key, readiest))
        for key, (sets, ended) in counts.items()
    }
