"""Warning signs that end training and send to someone: emergencies, the same day, soon.

The signs stand in public guidance for the public; nothing here says what they mean. Free text never raises
one.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from service.core.estimates import Caution, Reason

FlagUrgency = Literal["emergency", "same_day", "soon"]

_ORDER: dict[str, int] = {"emergency": 0, "same_day": 1, "soon": 2, "heed": 3}


@dataclass(frozen=True, slots=True)
class Flag:
    """A warning sign that an athlete can tick, its urgency, and the key of what it stands on.

    ``whole_body`` signs stop all training, the others the movement and its region.
    """

    code: str
    urgency: FlagUrgency
    source: str
    whole_body: bool = True


_SPINE = "NhsBackPain"
_GENERAL = "PublicStopList"
_JUDGEMENT = "judgement"

#: Spine signs were read on a public health page; the general list is from memory of public guidance.
FLAGS: dict[str, Flag] = {
    flag.code: flag
    for flag in (
        Flag("chest_pain", "emergency", _GENERAL),
        Flag("unusual_breathlessness", "emergency", _GENERAL),
        Flag("fainting", "emergency", _GENERAL),
        Flag("thunderclap_headache", "emergency", _GENERAL),
        Flag("saddle_numbness", "emergency", _SPINE),
        Flag("bladder_or_bowel_change", "emergency", _SPINE),
        Flag("sexual_function_change_with_back_pain", "emergency", _SPINE),
        Flag("rapid_weakness", "emergency", _SPINE),
        Flag("new_pain_into_both_legs", "emergency", _SPINE),
        Flag("dark_urine", "emergency", _GENERAL),
        Flag("hot_joint", "same_day", _GENERAL),
        Flag("swollen_painful_calf", "same_day", _GENERAL),
        Flag("cannot_bear_weight", "same_day", _GENERAL),
        Flag("deformity", "same_day", _GENERAL),
        Flag("fever_with_joint_or_back_pain", "same_day", _SPINE),
        Flag("locking", "soon", _JUDGEMENT, whole_body=False),
        Flag("giving_way", "soon", _JUDGEMENT, whole_body=False),
        Flag("night_pain", "soon", _SPINE, whole_body=False),
        Flag("focal_bone_pain", "soon", _JUDGEMENT, whole_body=False),
        Flag("swelling", "soon", _JUDGEMENT, whole_body=False),
        Flag("numbness", "soon", _GENERAL, whole_body=False),
    )
}


@dataclass(frozen=True, slots=True)
class FlagDecision:
    """What the ticked signs close, all training or only their region, and what to say."""

    stops_all_training: bool
    stops_region: bool
    reasons: tuple[Reason, ...]
    cautions: tuple[Caution, ...]


def stops_everything(code: str) -> bool:
    """Whether a sign stops all training, not a region's alone; a sign that is not known here does not."""
    return code in FLAGS and FLAGS[code].whole_body


def in_order(cautions: Iterable[Caution]) -> tuple[Caution, ...]:
    """Return cautions without repeats, emergencies first; equal urgency keeps its order."""
    unique = {caution.code: caution for caution in cautions}
    return tuple(sorted(unique.values(), key=lambda c: _ORDER[c.urgency]))


def decide_flags(codes: Iterable[str]) -> FlagDecision:
    """Return what ticked warning signs close and say; a sign that is not known here is referred too.

    References
    ----------
    [NhsBackPain]_ for the spine's signs; the general list is from memory of public guidance.
    """
    given = sorted(set(codes))
    known = [FLAGS[code] for code in given if code in FLAGS]
    cautions = [Caution(f"flag_{flag.code}", flag.urgency) for flag in known]
    if len(known) < len(given):
        cautions.append(Caution("flag_not_known", "soon"))
    if cautions:
        cautions.append(Caution("guidance_not_diagnosis"))
    reasons = tuple(Reason("tolerance.flag_reported", {"flag": flag.code}) for flag in known)
    stops_all = any(flag.whole_body for flag in known)
    return FlagDecision(stops_all, stops_all or bool(given), reasons, in_order(cautions))
