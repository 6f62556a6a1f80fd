"""Joint-motion tests as they were measured, read against what each test varies by itself, and what is tested again."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import fmean
from typing import Any, Final
from zoneinfo import ZoneInfo

from service.core.estimates import Param, Reason
from service.core.tolerance.joint_tests import RETEST_AFTER, measures, read_retest
from service.usecases.answers.pain_reports import PainPlace
from service.usecases.answers.regions import plain_region
from service.usecases.answers.situation import Situation
from service.usecases.answers.telling import Teller, documents
from service.usecases.answers.weeks import calendar_of
from service.usecases.documents import Document, without_nulls
from service.usecases.local_days import first_instant
from service.usecases.records.base import BodySide
from service.usecases.records.log import JointMotion
from service.usecases.records.wants import Limit

_AFTER = timedelta(days=RETEST_AFTER)
#: Lifts named in a sentence (judgement).
_MOST_NAMED: Final = 3
#: Limits that a test can tell of.
_TESTED_KINDS: Final = frozenset({"range_of_motion", "pain", "technique"})
Tests = Mapping[tuple[str, BodySide], Sequence[JointMotion]]


def _by_test(situation: Situation) -> Tests:
    found: dict[tuple[str, BodySide], list[JointMotion]] = defaultdict(list)
    for stored in situation.measurements:
        if isinstance(stored.record, JointMotion):
            found[stored.record.test, stored.record.side].append(stored.record)
    return {key: sorted(told, key=lambda one: one.at) for key, told in sorted(found.items())}


def joint_documents(situation: Situation, teller: Teller) -> list[Document]:
    """Return the newest reading of every test and side, and whether it changed beyond the test's own error."""
    return [_document(test, side, told, teller) for (test, side), told in _by_test(situation).items()]


def _document(test: str, side: BodySide, told: Sequence[JointMotion], teller: Teller) -> Document:
    newest = fmean(told[-1].readings_deg)
    before = fmean(told[-2].readings_deg) if len(told) > 1 else None
    read = read_retest(test, newest, before)
    return {
        "test": test,
        "side": side,
        "newest_deg": round(newest, 2),
        "measured_at": told[-1].at.isoformat(),
        "change_deg": None if read.change is None else round(read.change, 2),
        "minimal_detectable_change_deg": (
            None if read.minimal_detectable_change is None else round(read.minimal_detectable_change, 2)
        ),
        "verdict": read.verdict,
        "reasons": documents(teller.reasons([read.reason])),
        "sources": [read.source] if read.source is not None else [],
    }


@dataclass(frozen=True, slots=True)
class OpenRetest:
    """What is tested again, and from which local date on; ``test`` is the one that told of it last, None where none did.

    ``of_joint`` says that a joint's range is measured, not a pain or a technique told of again; ``lifts`` are those that a
    limit names.
    """

    on: date
    side: BodySide | None
    region: str | None = None
    motion: str | None = None
    test: str | None = None
    of_joint: bool = True
    limit_kind: str = ""
    lifts: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """What is tested, in words."""
        return _words(self.motion or self.region or self.test or self.limit_kind)

    @property
    def reason(self) -> Reason:
        """What to do. Nothing in the log tells of a technique: to look at it again is the test, and what ends it is said."""
        if self.of_joint or self.limit_kind != "technique":
            return Reason("due.retest", {"what": self.name})
        where = ", ".join(map(_words, (*self.lifts[:_MOST_NAMED], *([self.region] if self.region else []))))
        params: dict[str, Param] = {"weeks": RETEST_AFTER // 7}
        if not where:
            return Reason("due.retest_technique", params)
        return Reason("due.retest_technique_of", {**params, "what": where})


def open_retests(situation: Situation) -> Iterator[OpenRetest]:
    """Return what is tested again while a limit is being improved, due or not: every such limit, and every joint test of the
    log that tells of none of them. One rule for all answers."""
    improved = [limit for limit in situation.limits if limit.mode == "improve"]
    if not improved:
        return
    tests, calendar = _by_test(situation), calendar_of(situation.athlete)
    limits = [limit for limit in improved if limit.kind in _TESTED_KINDS]
    for limit in limits:
        yield _of_limit(limit, tests, situation)
    for (test, side), told in tests.items():
        if not any(_tells_of(limit, test, side) for limit in limits):
            yield OpenRetest(calendar.day_of(told[-1].at) + _AFTER, side, test=test)


def _of_limit(limit: Limit, tests: Tests, situation: Situation) -> OpenRetest:
    """A limit is tested again some weeks after its newest test, or after it was looked at; never tested, on its end date or so
    long after its start."""
    joint = limit.joint_limit
    tested, test = _newest_test(limit, tests, situation)
    if tested is None:
        tested = _pain_told_on(limit, situation)
    looked_at = limit.reviewed_on
    if looked_at is not None and looked_at <= situation.local_date:
        tested = max(tested or looked_at, looked_at)
    due = limit.ends_on if tested is None and limit.ends_on is not None else None
    if due is None:
        since = tested or limit.starts_on
        due = since + _AFTER if since is not None else situation.local_date
    return OpenRetest(
        due,
        _side_of(limit),
        region=limit.region,
        motion=joint.motion if joint is not None else None,
        test=test,
        of_joint=joint is not None or limit.kind == "range_of_motion",
        limit_kind=limit.kind,
        lifts=tuple(limit.exercise_ids),
    )


def _words(name: str) -> str:
    return name.replace("_", " ").replace("-", " ")


def _side_of(limit: Limit) -> BodySide | None:
    """Return the side that a limit is about: the joint's own where it names one."""
    joint = limit.joint_limit
    return joint.side if joint is not None and (joint.side != "both" or limit.side is None) else limit.side


def _what_of(limit: Limit) -> str | None:
    """Return the motion, else the region, that a joint test tells of a limit, None where none can."""
    if limit.joint_limit is not None:
        return limit.joint_limit.motion
    return limit.region if limit.kind == "range_of_motion" else None


def _tells_of(limit: Limit, test: str, side: BodySide) -> bool:
    what, wanted = _what_of(limit), _side_of(limit)
    return (
        what is not None and measures(test, what) and ("both" in {side, wanted or "both"} or side == wanted)
    )


def _newest_test(limit: Limit, tests: Tests, situation: Situation) -> tuple[date | None, str | None]:
    """Return when every side of a limit was last tested, and by which test; None where one never was.

    A limit that names no side is tested on whichever side is.
    """
    calendar, side = calendar_of(situation.athlete), _side_of(limit)
    found = [
        (calendar.day_of(told[-1].at), test, of)
        for (test, of), told in tests.items()
        if _tells_of(limit, test, of)
    ]
    if side is None:
        groups = [found]
    else:
        needed: tuple[BodySide, ...] = ("left", "right") if side == "both" else (side,)
        groups = [[one for one in found if one[2] in {of, "both"}] for of in needed]
    newest = [max(group) for group in groups if group]
    if len(newest) < len(groups):
        return None, None
    day, test, _ = min(newest)
    return day, test


def _pain_told_on(limit: Limit, situation: Situation) -> date | None:
    """Return when pain of a limit's whole place was last told: that is the test of a pain to be improved."""
    if limit.kind != "pain" or limit.joint_limit is not None or limit.region is None:
        return None
    place, calendar = PainPlace(plain_region(limit.region), limit.side, None), calendar_of(situation.athlete)
    told: list[tuple[Any, Any]] = [(one.at, one.pain) for one in situation.checkins]
    told += [(one.record.performed_at, one.record.pain) for one in situation.sets]
    return max(
        (
            calendar.day_of(at)
            for at, pains in told
            if place.is_told_by(pain for pain in pains if pain.worst is not None)
        ),
        default=None,
    )


def due_retests(situation: Situation, teller: Teller) -> list[Document]:
    """Return what is due to be tested again by the athlete's own date."""
    return [_due(one, situation, teller) for one in open_retests(situation) if one.on <= situation.local_date]


def _due(one: OpenRetest, situation: Situation, teller: Teller) -> Document:
    again = one.reason
    if one.test is not None:
        again = Reason("tolerance.ask_retest", {"test": one.test.replace("-", " ")})
    told: Document = without_nulls(
        {
            "kind": "joint_retest" if one.of_joint else "retest",
            "region": one.region,
            "test": one.test,
            "side": one.side or "unspecified",
            "due_from": first_instant(one.on, ZoneInfo(situation.athlete.time_zone)).isoformat(),
            "reason": documents([teller.reason(again)])[0],
        }
    )
    return told
