"""Units at the boundary of the core: kilograms, seconds, days, degrees, repetitions and shares.

Inside the core every mass is in kilograms and every calendar distance in elapsed days. The aliases name the unit of
a bare float in a signature; conversion happens at the edge, through the two functions below and nowhere else.
"""

from typing import Annotated, Literal

MassUnit = Literal["kg", "lb"]
LengthUnit = Literal["cm", "in"]

Kilograms = Annotated[float, "kg"]
Centimetres = Annotated[float, "cm"]
Metres = Annotated[float, "m"]
Seconds = Annotated[float, "s"]
Days = Annotated[float, "d"]
Hours = Annotated[float, "h"]
Degrees = Annotated[float, "deg"]
Repetitions = Annotated[float, "repetitions"]
HardSets = Annotated[float, "hard sets"]
Share = Annotated[float, "1"]
LogRatio = Annotated[float, "ln(1)"]

#: The international avoirdupois pound, exact by definition (International Yard and Pound Agreement, 1959).
KG_PER_LB = 0.45359237
#: The international inch, exact by definition (same agreement).
CM_PER_IN = 2.54


def mass_to_kg(value: float, unit: MassUnit) -> Kilograms:
    """Return a mass in kilograms. [kg]"""
    return value * KG_PER_LB if unit == "lb" else value


def mass_from_kg(kilograms: Kilograms, unit: MassUnit) -> float:
    """Return a mass in the asked unit. [kg or lb]"""
    return kilograms / KG_PER_LB if unit == "lb" else kilograms


def length_to_cm(value: float, unit: LengthUnit) -> Centimetres:
    """Return a length in centimetres. [cm]"""
    return value * CM_PER_IN if unit == "in" else value
