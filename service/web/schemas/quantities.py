"""Quantities as they stand on the wire: a value and its unit, nothing implied."""

from typing import Annotated

from pydantic import Field

from service.usecases.records.base import LengthUnit, MassUnit
from service.web.schemas.base import A_NUMBER, THREE_DECIMALS, Schema


class Mass(Schema):
    """A mass, as it was entered."""

    value: Annotated[float, Field(ge=0, le=2000), A_NUMBER, THREE_DECIMALS]
    """How much, in `unit`; kept to three decimals."""
    unit: MassUnit
    """`kg`, or `lb` of exactly 0.45359237 kg."""


class SolidMass(Schema):
    """The mass of a thing that weighs something, as it is printed on it."""

    value: Annotated[float, Field(ge=0.001, le=2000), A_NUMBER, THREE_DECIMALS]
    """How much, in `unit`; above 0, kept to three decimals."""
    unit: MassUnit
    """`kg`, or `lb` of exactly 0.45359237 kg."""


class Length(Schema):
    """A length, as it was entered."""

    value: Annotated[float, Field(ge=0.001, le=300), A_NUMBER, THREE_DECIMALS]
    """How much, in `unit`; kept to three decimals."""
    unit: LengthUnit
    """`cm`, or `in` of exactly 2.54 cm."""


class AngleBand(Schema):
    """A band of a joint's motion."""

    from_deg: Annotated[float, Field(ge=-180, le=360), A_NUMBER, THREE_DECIMALS]
    """Where the band begins. [degrees]"""
    to_deg: Annotated[float, Field(ge=-180, le=360), A_NUMBER, THREE_DECIMALS]
    """Where the band ends. [degrees]"""
