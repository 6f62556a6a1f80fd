"""Joint-motion tests as they were measured, read against what each test varies by itself."""

from collections import defaultdict
from datetime import timedelta
from statistics import fmean

from service.core.estimates import Reason
from service.core.tolerance.joint_tests import RETEST_AFTER, read_retest
from service.usecases.answers.situation import Situation
from service.usecases.answers.telling import Teller, documents
from service.usecases.documents import Document
from service.usecases.records.base import BodySide
from service.usecases.records.log import JointMotion

_AFTER = timedelta(days=RETEST_AFTER)


def _by_test(situation: Situation) -> dict[tuple[str, BodySide], list[JointMotion]]:
    found: dict[tuple[str, BodySide], list[JointMotion]] = defaultdict(list)
    for stored in situation.measurements:
        if isinstance(stored.record, JointMotion):
            found[stored.record.test, stored.record.side].append(stored.record)
    return {key: sorted(told, key=lambda one: one.at) for key, told in sorted(found.items())}


def joint_documents(situation: Situation, teller: Teller) -> list[Document]:
    """Return the newest reading of every test and side, and whether it changed beyond the test's own error."""
    return [_document(test, side, told, teller) for (test, side), told in _by_test(situation).items()]


def _document(test: str, side: BodySide, told: list[JointMotion], teller: Teller) -> Document:
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


def due_retests(situation: Situation, teller: Teller) -> list[Document]:
    """Return the tests that are due again: those last done four weeks ago, while a limit is being improved."""
    if not any(limit.mode == "improve" for limit in situation.limits):
        return []
    return [
        {
            "kind": "joint_retest",
            "test": test,
            "side": side,
            "due_from": (told[-1].at + _AFTER).isoformat(),
            "reason": documents(
                [teller.reason(Reason("tolerance.ask_retest", {"test": test.replace("-", " ")}))]
            )[0],
        }
        for (test, side), told in _by_test(situation).items()
        if situation.as_of - told[-1].at >= _AFTER
    ]
