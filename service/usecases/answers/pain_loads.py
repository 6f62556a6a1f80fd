"""The load at which it hurt and the one that pain leaves of it, as the exercise counts loads."""

from service.core.estimates import Reason
from service.core.units import Kilograms, MassUnit, mass_from_kg
from service.usecases.answers.history import SeenSet
from service.usecases.answers.loads import external_of_effective
from service.usecases.answers.pain_places import PlacePain
from service.usecases.answers.situation import Situation, day_of
from service.usecases.documents import Document

_DECIMALS = 3
_A_LEVEL = "{level}"


def pain_loads(told: PlacePain, situation: Situation, unit: MassUnit) -> tuple[Document, tuple[Reason, ...]]:
    """Return the load at which it hurt and what is left of it, with the reason that names the first; nothing where no load
    comes off, or none is known.

    What is left is the share of what was moved, the body's part with it, told as the exercise counts: of assistance more
    is less load. It is left out where that would take less than the body, and for levels, which are no masses.
    """
    hurt = told.hurt_at
    if hurt is None or hurt.load is None:
        return {}, ()
    body = situation.body_mass.on(day_of(hurt.record.performed_at))
    left = external_of_effective(
        told.decision.load_factor * hurt.load.kilograms, hurt.load.basis, hurt.exercise, body
    )
    shown = {"hurt_at": _document(hurt, hurt.load.external, unit)}
    if left >= 0.0 and hurt.load.basis != "level":
        shown["load_left"] = _document(hurt, left, unit)
    at = shown["hurt_at"]
    named = f"level {at['value']:g}" if at["unit"] == _A_LEVEL else f"{at['value']:g} {at['unit']}"
    basis = hurt.load.basis.replace("_", " ")
    where = named if basis in {"total", "level"} else f"{named} ({basis})"
    return shown, (Reason("tolerance.pain_hurt_at", {"load": where}),)


def _document(seen: SeenSet, external: Kilograms, unit: MassUnit) -> Document:
    basis = seen.load.basis if seen.load is not None else seen.exercise.load_basis
    if basis == "level":
        return {"value": round(external, _DECIMALS), "unit": _A_LEVEL, "load_basis": basis}
    return {"value": round(mass_from_kg(external, unit), _DECIMALS), "unit": unit, "load_basis": basis}
