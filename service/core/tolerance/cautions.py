"""The cautions of people, lifts and plans: who should not hold the breath, when a spotter is due, what every
plan says.

Common practice, no source, unless a line says otherwise; the numbers are judgement.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from service.core.estimates import Caution
from service.core.tolerance.flags import in_order
from service.core.tolerance.screening import Gate
from service.core.units import Days, Share

#: Conditions in which holding the breath under load is left to a clinician's advice.
BREATH_CONDITIONS = frozenset(
    {"hypertension", "eye_surgery", "hernia_surgery", "pregnancy", "cardiac_history"}
)
ADULT_FROM_YEARS = 18.0
OLDER_FROM_YEARS = 60.0
#: Days without training from which tolerance is taken to have dropped.
LONG_GAP_DAYS = 10.0
#: Reserve to keep the first time, in a new range, or after a gap. [repetitions]
RESERVE_FIRST_TIME = 3.0
#: Chance of missing a repetition above which a spotter or safety bars are due.
SPOTTER_FAILURE_CHANCE = 0.10
#: How hard it is to get out from under a failed repetition: 0 easy to 3 trapped without catchers.
TRAPPED = 3
#: Reserve to keep alone and without bars on lifts that trap. [repetitions]
RESERVE_ALONE = 2.0


@dataclass(frozen=True, slots=True)
class Person:
    """What cautions need to know of a person. Age None = not told."""

    age_years: float | None = None
    conditions: frozenset[str] = frozenset()
    novice: bool = False


@dataclass(frozen=True, slots=True)
class LiftSituation:
    """One lift as it is about to be done. ``gap_days`` since it was last trained, None = never."""

    gap_days: Days | None = None
    new_range: bool = False
    failure_exit: int = 0
    p_fail: Share = 0.0
    maximal: bool = False
    alone: bool = False
    catchers: bool = False
    drop_set: bool = False
    anchored: bool = False


@dataclass(frozen=True, slots=True)
class Limits:
    """What the cautions limit, beside what they say. [repetitions in reserve]"""

    min_reserve: float
    tests_allowed: bool
    drops_allowed: bool
    cautions: tuple[Caution, ...]


def cautions_of_age(age_years: float | None) -> tuple[Caution, ...]:
    """Return what is to be heeded by somebody not yet grown up, whatever is answered; nothing where no age is told.

    References
    ----------
    Common practice, no source.
    """
    minor = age_years is not None and age_years < ADULT_FROM_YEARS
    return (Caution("minor_supervised"),) if minor else ()


def limits_of_person(person: Person) -> Limits:
    """Return the cautions and limits that come with a person: breath, pregnancy, age.

    References
    ----------
    Common practice, no source.
    """
    cautions: list[Caution] = []
    breath = person.conditions & BREATH_CONDITIONS
    if breath:
        cautions.append(Caution("breath_holding", params={"conditions": ", ".join(sorted(breath))}))
    if "pregnancy" in person.conditions:
        cautions.append(Caution("pregnancy_position"))
    minor = bool(of_age := cautions_of_age(person.age_years))
    cautions.extend(of_age)
    if person.age_years is not None and person.age_years >= OLDER_FROM_YEARS:
        cautions.append(Caution("balance_support"))
    unknown = person.conditions - BREATH_CONDITIONS
    if unknown:
        cautions.append(Caution("condition_ask_clinician", params={"conditions": ", ".join(sorted(unknown))}))
    quiet = not breath and not minor and not unknown
    return Limits(0.0, quiet, quiet and not person.novice, in_order(cautions))


def _needs_spotter(lift: LiftSituation) -> bool:
    return lift.failure_exit >= TRAPPED or lift.p_fail > SPOTTER_FAILURE_CHANCE or lift.maximal


def limits_of_lift(lift: LiftSituation) -> Limits:
    """Return the cautions and limits of one lift: first time, long gap, spotter or bars, drops, anchors.

    References
    ----------
    Common practice, no source.
    """
    cautions: list[Caution] = []
    first = lift.gap_days is None
    after_gap = lift.gap_days is not None and lift.gap_days >= LONG_GAP_DAYS
    if first or lift.new_range:
        cautions.append(Caution("first_time"))
    elif after_gap:
        cautions.append(Caution("after_break"))
    trapped_alone = lift.failure_exit >= TRAPPED and lift.alone and not lift.catchers
    if _needs_spotter(lift):
        cautions.append(Caution("alone_without_bars" if trapped_alone else "spotter_or_bars"))
    if lift.drop_set:
        cautions.append(Caution("drop_sets_on_machines"))
    if lift.anchored:
        cautions.append(Caution("check_anchor_and_fall"))
    gentle = first or lift.new_range or after_gap
    reserve = max(RESERVE_FIRST_TIME if gentle else 0.0, RESERVE_ALONE if trapped_alone else 0.0)
    return Limits(reserve, not gentle and not trapped_alone, not gentle, in_order(cautions))


def narrowest(gate: Gate, *limits: Limits) -> Limits:
    """Return what is left when the screening's gate and every limit hold at once, with all their cautions.

    Only meaningful while the gate is open: a closed gate allows no plan at all.
    """
    return Limits(
        max((gate.min_reserve, *(limit.min_reserve for limit in limits))),
        gate.tests_allowed and all(limit.tests_allowed for limit in limits),
        gate.drops_allowed and all(limit.drops_allowed for limit in limits),
        in_order((*gate.cautions, *(caution for limit in limits for caution in limit.cautions))),
    )


def cautions_of_plan(others: Iterable[Caution] = (), *, told_before: bool = False) -> tuple[Caution, ...]:
    """Return the cautions of a whole plan, emergencies first; the general text once in full, then short."""
    general = "guidance_not_diagnosis" if told_before else "training_guidance"
    return in_order((*others, Caution(general), Caution("ramp_up")))
