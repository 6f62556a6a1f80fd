"""May this athlete train, and how hard: screening, clearances with their limits, and time since an operation.

Only a licensed clinician's clearance opens a closed plan; a coach's word and the athlete's own do not. The
rules are common practice and judgement; the instrument and its questions stay with whoever screens.
"""

from dataclasses import dataclass
from typing import Literal

from service.core.estimates import Caution, Reason
from service.core.units import Days, Degrees, Kilograms

ScreeningState = Literal["none", "clear", "referred", "cleared"]
ClearingRole = Literal["clinician", "coach", "athlete", "unknown"]

#: Reserve to keep while nobody was asked [repetitions]: judgement.
RESERVE_UNSCREENED = 3.0
#: Reserve to keep under a clearance that names none [repetitions]: judgement.
RESERVE_CLEARED = 4.0
#: Days after an operation in which only a clearance opens a plan (twelve weeks): common practice, no source.
SURGERY_DAYS = 84.0


@dataclass(frozen=True, slots=True)
class Clearance:
    """A clinician's word: when, by which role, until when, inside which limits (None = no such limit)."""

    day: Days
    role: ClearingRole
    review_day: Days | None = None
    min_reserve: float | None = None
    load_cap_kg: Kilograms | None = None
    joint_from_deg: Degrees | None = None
    joint_to_deg: Degrees | None = None


@dataclass(frozen=True, slots=True)
class Screening:
    """The newest outcome of a screening, and what is known beside it. Days are on the caller's axis."""

    state: ScreeningState = "none"
    clearance: Clearance | None = None
    surgery_day: Days | None = None
    clinician_hold: bool = False


@dataclass(frozen=True, slots=True)
class Gate:
    """Whether plans are open, and inside which limits; ``clearance`` holds joint range and load cap."""

    open: bool
    min_reserve: float
    tests_allowed: bool
    drops_allowed: bool
    clearance: Clearance | None
    reasons: tuple[Reason, ...]
    cautions: tuple[Caution, ...]

    @property
    def closing_reasons(self) -> tuple[Reason, ...]:
        """Why plans are closed; none where they are open, whatever else closes them."""
        return () if self.open else self.reasons


def _closed(code: str) -> Gate:
    cautions = (Caution("clearance_needed", "soon"), Caution("guidance_not_diagnosis"))
    return Gate(False, RESERVE_CLEARED, False, False, None, (Reason(code),), cautions)


def _why_clearance_fails(screening: Screening, today: Days) -> str | None:
    """Return the code of what is wrong with the clearance, None if it holds today."""
    clearance = screening.clearance
    if clearance is None or clearance.day > today:
        return "tolerance.gate_clearance_missing"
    if clearance.role != "clinician":
        return "tolerance.gate_clearance_not_by_clinician"
    if clearance.review_day is not None and clearance.review_day < today:
        return "tolerance.gate_clearance_expired"
    if screening.surgery_day is not None and clearance.day < screening.surgery_day:
        return "tolerance.gate_clearance_before_surgery"
    return None


def open_gate(screening: Screening, today: Days) -> Gate:
    """Return whether plans are open today, and inside which limits.

    Not screened: open but gentle (reserve 3, no tests, no drops). Referred, held by a clinician, or operated
    on within twelve weeks: closed until a clinician's clearance is recorded, then open inside its limits,
    with no tests and no drops. A clearance past its review closes again. Having been operated on longer ago
    closes nothing by itself.

    References
    ----------
    Common practice, no source; the reserves are judgement.
    """
    if screening.clinician_hold:
        return _closed("tolerance.gate_clinician_hold")
    recent = screening.surgery_day is not None and today - screening.surgery_day < SURGERY_DAYS
    failure = _why_clearance_fails(screening, today)
    if screening.state == "referred":
        return _closed("tolerance.gate_referred")
    if screening.state == "cleared" or recent:
        if failure is not None:
            missing = failure == "tolerance.gate_clearance_missing" and recent
            return _closed("tolerance.gate_recent_surgery" if missing else failure)
        return _cleared(screening.clearance)
    if screening.state == "none":
        reasons = (Reason("tolerance.gate_not_screened", {"min_reserve": RESERVE_UNSCREENED}),)
        return Gate(True, RESERVE_UNSCREENED, False, False, None, reasons, (Caution("screening_first"),))
    return Gate(True, 0.0, True, True, None, (Reason("tolerance.gate_clear"),), ())


def _cleared(clearance: Clearance | None) -> Gate:
    given = None if clearance is None else clearance.min_reserve
    reserve = RESERVE_CLEARED if given is None else given
    reasons = (Reason("tolerance.gate_inside_clearance", {"min_reserve": reserve}),)
    return Gate(True, reserve, False, False, clearance, reasons, (Caution("stay_inside_clearance"),))
