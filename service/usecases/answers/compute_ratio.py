"""Computing from a body alone: the ratio of two opposing muscle groups, where both were measured alike."""

from math import exp, inf, sqrt
from typing import Final, cast

from service.core.errors import MixedInputs, OutsideValidity
from service.core.estimates import Caution, Interval, Reason
from service.core.symmetry.ratios import HowLoaded, refuse_unlike
from service.core.symmetry.trials import SideTrials, TrialComparison, TrialFault, central, compare_trials
from service.usecases.answers.compute import computed_answer, require_fit_to_train
from service.usecases.answers.compute_indices import FAULT_TEXTS, in_unit, unit_factor
from service.usecases.answers.muscle_ratios import SOURCES
from service.usecases.answers.telling import Teller, interval_document
from service.usecases.documents import Document
from service.usecases.errors import FieldFault, NotPossible
from service.usecases.records.computations import MuscleSaid, RatioQuestion

RATIO_VERSION: Final = "muscle-ratio/1"
_MEMBERS: Final = {
    "mixed_devices": "device", "mixed_modes": "mode", "mixed_repetitions": "reps", "mixed_sides": "side",
}  # fmt: skip
_DIGITS = 6


def compute_muscle_ratio(asked: RatioQuestion, teller: Teller) -> Document:
    """Return the ratio with its interval.

    Raises ``ClearanceRequired``, and ``NotPossible`` where the two were not measured alike or a trial cannot be used.
    """
    heed = require_fit_to_train(asked, teller)
    _refuse_unlike(asked)
    found = _compared(asked)
    if found.t is None:
        raise _not_possible(
            [FieldFault("/under/trials", "trial_of_nothing", "nothing can be divided by it", "above 0")]
        )
    body: Document = {
        "ratio": {"value": round(exp(found.t), _DIGITS), "definition": found.definition, **_uncertain(found, asked)},
        "over": round(found.right, _DIGITS), "under": round(found.left, _DIGITS), "unit": asked.over.unit,
        "device": asked.over.device, "mode": asked.over.mode, "side": asked.over.side,
    }  # fmt: skip
    reasons = [] if found.variance is not None else [Reason("compute.no_error_given")]
    cautions = (*heed, Caution("ratios.no_cut"))
    return {**body, **computed_answer(RATIO_VERSION, teller, reasons, cautions, SOURCES)}


def _uncertain(found: TrialComparison, asked: RatioQuestion) -> Document:
    """Return the interval of the ratio: that of its logarithm carried over, exact for a function that only rises."""
    if found.belief is None or found.variance is None:
        return {}
    ends = central(found.belief, asked.mass)
    told: Document = {
        "ln_sd": round(sqrt(found.variance), _DIGITS),
        "interval": interval_document(Interval(exp(ends.lower), exp(ends.upper), asked.mass)),
    }
    return (
        told if found.degrees_of_freedom == inf else {**told, "degrees_of_freedom": found.degrees_of_freedom}
    )


def _refuse_unlike(asked: RatioQuestion) -> None:
    over, under = (HowLoaded(one.device, one.mode, one.side, one.reps) for one in (asked.over, asked.under))
    faults = []
    if unit_factor(asked.under.unit, asked.over.unit) is None:
        expected = "one unit, or units of one quantity"
        faults.append(
            FieldFault("/under/unit", "mixed_units", "it differs from that of /over/unit", expected)
        )
    try:
        refuse_unlike(over, under)
    except MixedInputs as differing:
        for code in cast(tuple[str, ...], differing.facts["mixed"]):
            member = _MEMBERS[code]
            detail = f"it differs from that of /over/{member}"
            faults.append(FieldFault(f"/under/{member}", code, detail, f"the same {member} above and below"))
    if faults:
        raise _not_possible(faults)


def _compared(asked: RatioQuestion) -> TrialComparison:
    under, over = (_trials(one, asked.over.unit) for one in (asked.under, asked.over))
    try:
        return compare_trials(under, over, summary=asked.summary)
    except OutsideValidity as invalid:
        faults = cast(tuple[TrialFault, ...], invalid.facts["faults"])
        raise _not_possible([_field_fault(fault) for fault in faults]) from None


def _trials(said: MuscleSaid, unit: str) -> SideTrials:
    return SideTrials(in_unit(said.trials, said.unit, unit), said.trial_sd)


def _field_fault(fault: TrialFault) -> FieldFault:
    name = "under" if fault.side == "left" else "over"
    member = "trial_sd" if fault.code == "one_error_given" else "trials"
    place = "" if fault.trial is None else f"/{fault.trial}"
    return FieldFault(f"/{name}/{member}{place}", fault.code, FAULT_TEXTS[fault.code], fault.expected)


def _not_possible(faults: list[FieldFault]) -> NotPossible:
    return NotPossible("These values cannot be compared.", faults=faults)
