"""What sets do to each muscle, from a body alone: nothing is stored."""

from typing import Final

from service.catalogue.loading import load_catalogue
from service.catalogue.records import Exercise
from service.core.estimates import Basis, Reason
from service.core.volume.hard_sets import NOT_COUNTED, HardSet, drop_set, hard_carry, hard_hold, hard_set
from service.core.volume.weekly_dose import (
    MODEL_VERSION,
    Involvement,
    MuscleDose,
    SetContribution,
    SetSide,
    add_up,
)
from service.usecases.answers.compute import computed_answer, require_fit_to_train
from service.usecases.answers.telling import Teller, basis_document, documents, estimate_document
from service.usecases.answers.volume import DOSE_SOURCES
from service.usecases.documents import Document
from service.usecases.errors import FieldFault, NotPossible, UnknownReference
from service.usecases.records.computations import CountedSetSaid, VolumeQuestion

#: Sets for practice are easy on purpose: without a told reserve they count nothing (judgement).
_EASY_ON_PURPOSE: Final = frozenset({"technique", "rehab", "reduced"})


def compute_volume(asked: VolumeQuestion, teller: Teller) -> Document:
    """Return the hard sets of each muscle and side that one week's sets in the body come to.

    Raises ``ClearanceRequired``; ``UnknownReference`` for an exercise that is not on the reference list; ``NotPossible`` for
    a set with neither repetitions, seconds nor metres.
    """
    heed = require_fit_to_train(asked, teller)
    contributions = [_contribution(place, said, asked) for place, said in enumerate(asked.sets)]
    doses = add_up(contributions, asked.mass)
    items = [_item(muscle, side, dose, teller) for (muscle, side), dose in doses.items()]
    return {"items": items, **computed_answer(MODEL_VERSION, teller, (), heed, DOSE_SOURCES)}


def _contribution(place: int, said: CountedSetSaid, asked: VolumeQuestion) -> SetContribution:
    exercise = _exercise(place, said)
    # As in the log: a two-sided lift without a side is both limbs'; a side that was told holds.
    untold: SetSide = "unspecified" if exercise.laterality == "one_sided" else "both"
    side: SetSide = untold if said.side == "unspecified" else said.side
    return SetContribution(
        set_id=str(place),
        session_id=said.session or "one",
        day=0.0,
        exercise_id=exercise.exercise_id,
        side=side,
        hard_set=drop_set(_hard_set(place, said, asked), said.drops),
        involvement=[
            Involvement(part.muscle_id, part.share, part.sd)
            for part in exercise.involvement
            if part.share > 0.0
        ],
    )


def _exercise(place: int, said: CountedSetSaid) -> Exercise:
    exercise = load_catalogue().exercises.get(said.exercise_id)
    if exercise is None:
        fault = FieldFault(
            f"/sets/{place}/exercise_id", "unknown_exercise", f"no exercise `{said.exercise_id}`",
            "an exercise of the list",
        )  # fmt: skip
        raise UnknownReference(faults=[fault], exercise_id=said.exercise_id)
    return exercise


def _hard_set(place: int, said: CountedSetSaid, asked: VolumeQuestion) -> HardSet:
    failed = bool(said.to_failure)
    if said.purpose == "warm_up" or (
        said.purpose in _EASY_ON_PURPOSE and said.reps_in_reserve is None and not failed
    ):
        return NOT_COUNTED
    if said.reps is not None:
        return hard_set(
            said.reps, said.reps_in_reserve, failed, said.share_of_one_rep_max, training=asked.training
        )
    if said.hold_s is not None:
        return hard_hold(said.hold_s, None, failed, training=asked.training)
    if said.distance_m is not None:
        return hard_carry(said.distance_m, said.reps_in_reserve, failed, training=asked.training)
    fault = FieldFault(
        f"/sets/{place}", "nothing_done", "no work is told", "`reps`, `hold_s` or `distance_m`"
    )
    raise NotPossible(faults=[fault])


def _item(muscle: str, side: str, dose: MuscleDose, teller: Teller) -> Document:
    return {
        "muscle_id": muscle,
        "side": side,
        "hard_sets": estimate_document(dose.value),
        "direct": round(dose.direct, 4),
        "indirect": round(dose.indirect, 4),
        "session_count": dose.session_count,
        "per_session_max": round(dose.per_session_max, 4),
        "assumed_effort_share": round(dose.assumed_share, 4),
        "unspecified_side_share": round(dose.unspecified_share, 4),
        "basis": basis_document(Basis(len(dose.counted), None, dose.assumed_share)),
        "sets": [
            {"index": int(one.set_id), "dose": round(one.dose, 4), "reason": _said(one.reason, teller)}
            for one in dose.counted
        ],
        "sources": list(DOSE_SOURCES),
    }


def _said(reason: Reason, teller: Teller) -> Document:
    told: Document = documents(teller.reasons([reason]))[0]
    return told
