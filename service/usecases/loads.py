"""Logged loads and effective loads: what the filter sees, and what is answered.

The body enters an effective load only where it is the load. Answers are always in the external load.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot

from service.catalogue.records import Exercise, LoadBasis
from service.core.units import Days, Kilograms, LogRatio, Share, mass_to_kg
from service.usecases.records.log import LoggedSet
from service.usecases.records.places import BarImplement, Implement

#: Body mass taken for someone who never told it, and its spread: judgement, roughly that of adults. [kg], [1]
UNKNOWN_BODY_MASS_KG: Kilograms = 75.0
UNKNOWN_BODY_MASS_LN_SD: LogRatio = 0.18
#: A body mass older than this says less; its spread grows by this much a further 60 days (judgement).
FRESH_DAYS: Days = 60.0
STALE_LN_SD: LogRatio = 0.02
#: Spread of a remembered or guessed load (judgement).
ABOUT_LN_SD: LogRatio = 0.05
_BODY_IS_LOAD = frozenset({"added", "assistance", "none"})
#: An effective load cannot fall below this share of the body, however much assistance is said (judgement).
_LEAST_SHARE = 0.05


@dataclass(frozen=True, slots=True)
class BodyMass:
    """Body mass on a day, with the spread of its logarithm; ``known`` says whether it was ever told."""

    kilograms: Kilograms
    ln_sd: LogRatio
    known: bool


@dataclass(frozen=True, slots=True)
class BodyMassHistory:
    """Told body masses, oldest first: pairs of day [d] and mass [kg]."""

    told: Sequence[tuple[Days, Kilograms]]

    def on(self, day: Days) -> BodyMass:
        """Return the newest body mass told up to a day, or the first one told after it."""
        if not self.told:
            return BodyMass(UNKNOWN_BODY_MASS_KG, UNKNOWN_BODY_MASS_LN_SD, known=False)
        earlier = [entry for entry in self.told if entry[0] <= day]
        told_day, kilograms = earlier[-1] if earlier else self.told[0]
        stale_periods = max(abs(day - told_day) - FRESH_DAYS, 0.0) / FRESH_DAYS
        return BodyMass(kilograms, STALE_LN_SD * stale_periods, known=True)


@dataclass(frozen=True, slots=True)
class EffectiveLoad:
    """What was lifted [kg], with the spread of its logarithm; ``external`` is what was hung, held or pinned. [kg]

    On the basis ``level`` both are the number of the label: an order without a mass.
    """

    kilograms: Kilograms
    external: Kilograms
    ln_sd: LogRatio
    basis: LoadBasis


def basis_of(record: LoggedSet, exercise: Exercise) -> LoadBasis:
    """Return what the logged load means."""
    return record.load_basis or exercise.load_basis


def body_is_load(basis: LoadBasis) -> bool:
    """Whether the body is the load, or a part of it."""
    return basis in _BODY_IS_LOAD


def effective_of_external(
    external: Kilograms, basis: LoadBasis, exercise: Exercise, body: BodyMass
) -> Kilograms:
    """Return the effective load of an external one. [kg]"""
    if basis not in _BODY_IS_LOAD:
        return external
    moved = exercise.body_share * body.kilograms
    signed = -external if basis == "assistance" else external
    return max(moved + signed, _LEAST_SHARE * body.kilograms)


def external_of_effective(
    effective: Kilograms, basis: LoadBasis, exercise: Exercise, body: BodyMass
) -> Kilograms:
    """Return the external load of an effective one; negative where the body alone is already more. [kg]"""
    if basis not in _BODY_IS_LOAD:
        return effective
    moved = exercise.body_share * body.kilograms
    return moved - effective if basis == "assistance" else effective - moved


def body_part(load: Kilograms, basis: LoadBasis, exercise: Exercise, body: BodyMass) -> Share | None:
    """Return by what share of a change of body mass an effective ``load`` [kg] changes, None where the body is no load."""
    return exercise.body_share * body.kilograms / load if basis in _BODY_IS_LOAD else None


def load_of(
    record: LoggedSet, exercise: Exercise, body: BodyMass, inventory: Sequence[Implement] = ()
) -> EffectiveLoad | None:
    """Return the effective load of a logged set, None where the log does not tell one."""
    basis = basis_of(record, exercise)
    if basis == "level":
        return _level(record)
    external = _external(record, inventory)
    if external is None and basis in _BODY_IS_LOAD:
        external = 0.0
    if external is None:
        return None
    effective = effective_of_external(external, basis, exercise, body)
    if effective <= 0.0:
        return None
    of_body = doubt_by_body(effective, external, exercise, body) if basis in _BODY_IS_LOAD else 0.0
    return EffectiveLoad(effective, external, hypot(remembered_ln_sd(record), of_body), basis)


def remembered_ln_sd(record: LoggedSet) -> LogRatio:
    """Return the doubt about a load that was remembered or guessed. [1]"""
    return ABOUT_LN_SD if record.about else 0.0


def doubt_by_body(effective: Kilograms, external: Kilograms, exercise: Exercise, body: BodyMass) -> LogRatio:
    """Return the spread of one set's ln effective load by the doubt about the body. [1]

    A body mass that was never told is wrong by the same in every set of a lift and says nothing of how one differs from
    another, but for what was hung on it or taken off: that weighs more on a light body.
    """
    if not body.known:
        return body.ln_sd * abs(external) / effective
    return body.ln_sd * exercise.body_share * body.kilograms / effective


def _level(record: LoggedSet) -> EffectiveLoad | None:
    """A label that is a number keeps its order; any other says nothing without its station."""
    try:
        rank = float(record.level or "")
    except ValueError:
        return None
    return EffectiveLoad(rank, rank, 0.0, "level") if 0.0 < rank < 1000.0 else None


def _external(record: LoggedSet, inventory: Sequence[Implement]) -> Kilograms | None:
    extra = (
        mass_to_kg(record.implement_mass.value, record.implement_mass.unit) if record.implement_mass else 0.0
    )
    if record.load is not None:
        return mass_to_kg(record.load.value, record.load.unit) + extra
    said = record.plates_per_side
    if said is None:
        return None
    bar = next((one for one in inventory if isinstance(one, BarImplement) and one.name == said.bar), None)
    if bar is None and not extra:
        return None
    empty = mass_to_kg(bar.mass.value, bar.mass.unit) if bar is not None else extra
    return empty + 2 * sum(mass_to_kg(plate.value, plate.unit) for plate in said.plates)
