"""Logged loads and effective loads, under the name by which answers know them."""

from service.usecases.loads import (
    ABOUT_LN_SD,
    BodyMass,
    BodyMassHistory,
    EffectiveLoad,
    basis_of,
    effective_of_external,
    external_of_effective,
    load_of,
)

__all__ = [
    "ABOUT_LN_SD",
    "BodyMass",
    "BodyMassHistory",
    "EffectiveLoad",
    "basis_of",
    "effective_of_external",
    "external_of_effective",
    "load_of",
]
