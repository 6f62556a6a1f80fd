"""One row for each athlete of a roster: how many lifts rise, stand and fall, whether fewer sets may pay, and what is due."""

from collections import Counter
from datetime import datetime
from typing import Any, Final

from service.usecases.documents import Document, without_nulls

_STATES: Final = ("progress", "stall", "regression", "not_decided")


def trend_summary(answer: Document) -> Document | None:
    """Return the short state of an athlete's trends, made from the whole answer; None where nothing was trained or is due.

    Lifts are counted once, by what both sides tell together.
    """
    lifts = [item for item in answer["items"] if item["scope"] == "exercise" and item["side"] == "both"]
    due = answer["due_checks"]
    if not lifts and not due:
        return None
    counts = Counter(item["state"] for item in lifts)
    easier = answer["easier_week"]
    summary: Document = {
        "weeks": answer["weeks"],
        "lift_count": len(lifts),
        "lifts": {state: counts[state] for state in _STATES},
        "stall_exercise_ids": _of_state(lifts, "stall"),
        "regression_exercise_ids": _of_state(lifts, "regression"),
        "easier_week": easier["suggestion"],
        "due_check_count": len(due),
        "due_checks": [{"kind": one["kind"], "due_on": one["due_on"]} for one in due],
        "next_due_on": min((one["due_on"] for one in due), default=None),
        "basis": _basis(lifts),
        "reasons": easier["reasons"],
    }
    kept: Document = without_nulls(summary)
    return kept


def _of_state(lifts: list[Any], state: str) -> list[str]:
    return sorted(item["exercise_id"] for item in lifts if item["state"] == state)


def _basis(lifts: list[Any]) -> Document:
    """Return how many sets stand behind it and when the newest was; no one share of the prior fits them all."""
    told = [item["basis"] for item in lifts]
    newest: list[str | datetime] = [one["newest_at"] for one in told if "newest_at" in one]
    return {
        "observation_count": sum(one["observation_count"] for one in told),
        "newest_at": max(newest, key=str, default=None),
    }
