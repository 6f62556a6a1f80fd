"""The base of every schema, and the bounded types that they share.

One class describes a body in both directions. On the way in it is closed: an unknown member is refused. On the way out
it is open, so that a new member breaks no client. Members that the server owns are ``readOnly``: accepted and ignored
on the way in, so that a body that was read can be sent back.
"""

import re
from datetime import date, datetime
from functools import cache
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    GetJsonSchemaHandler,
    StrictBool,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError

_RFC3339 = re.compile(r"\d{4}-\d{2}-\d{2}[Tt ]\d{2}:\d{2}:\d{2}(\.\d+)?([Zz]|[+-]\d{2}:\d{2})")
_RFC3339_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
_DECIMALS = 3


class Schema(BaseModel):
    """A body: closed and frozen on the way in, open on the way out."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        allow_inf_nan=False,
        use_attribute_docstrings=True,
        populate_by_name=False,
    )

    @classmethod
    def __get_pydantic_json_schema__(cls, core: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        schema = handler(core)
        target = handler.resolve_ref_schema(schema)
        members = target.get("properties", {})
        if handler.mode == "serialization":
            target.pop("additionalProperties", None)
            owned = [name for name, part in members.items() if part.get("readOnly")]
            required = [*target.get("required", []), *(name for name in owned if name in cls.always_told())]
            if required:
                target["required"] = required
        else:
            for name in members.keys() - set(target.get("required", [])):
                members[name] = _or_null(members[name])
        return schema

    @model_validator(mode="before")
    @classmethod
    def _leave_out(cls, said: Any) -> Any:
        """Drop unread what a client says about members that the server owns, and nulls, which say nothing."""
        if not isinstance(said, dict):
            return said
        owned, optional = owned_members(cls), optional_members(cls)
        return {
            name: value
            for name, value in said.items()
            if name not in owned and (value is not None or name not in optional)
        }

    @classmethod
    def always_told(cls) -> frozenset[str]:
        """Names of read-only members that every answer holds."""
        return frozenset({"id", "athlete_id", "etag", "received_at", "updated_at"})


@cache
def owned_members(schema: type[BaseModel]) -> frozenset[str]:
    """Return the members of a body that the server owns, and so ignores on the way in."""
    return frozenset(
        name
        for name, field in schema.model_fields.items()
        if isinstance(field.json_schema_extra, dict) and field.json_schema_extra.get("readOnly")
    )


@cache
def optional_members(schema: type[BaseModel]) -> frozenset[str]:
    """Return the members of a body that may be left out."""
    return frozenset(name for name, field in schema.model_fields.items() if not field.is_required())


def _or_null(part: JsonSchemaValue) -> JsonSchemaValue:
    """Return a member's schema that takes null too; null says that the member is absent."""
    options = part.get("anyOf", [])
    if part.get("readOnly") or {"type": "null"} in options:
        return part
    beside = {key: value for key, value in part.items() if key in {"title", "description", "default"}}
    plain = {key: value for key, value in part.items() if key not in beside}
    if "const" in plain:
        plain["enum"] = [plain.pop("const")]
    return {"anyOf": [*(options or [plain]), {"type": "null"}], **beside}


def _refuse_other_types(*, whole: bool) -> Any:
    def check(value: Any) -> Any:
        if isinstance(value, bool) or not isinstance(value, int | float):
            kind = "a whole number" if whole else "a number"
            raise PydanticCustomError("number_type", "Input should be " + kind)
        return value

    return check


def _text_that_can_be_kept(value: str) -> str:
    try:
        value.encode()
    except UnicodeEncodeError:
        raise PydanticCustomError("text_encoding", "Input should not hold lone surrogates") from None
    return value


def _instant_text(value: Any) -> Any:
    if isinstance(value, datetime):
        return value
    if not isinstance(value, str) or not _RFC3339.fullmatch(value):
        raise PydanticCustomError(
            "instant_format",
            "Input should be a date and time with offset (RFC 3339), such as 2026-11-23T18:05:00+01:00",
        )
    return value.replace(" ", "T")


def _date_text(value: Any) -> Any:
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    if not isinstance(value, str) or not _RFC3339_DATE.fullmatch(value):
        raise PydanticCustomError(
            "date_format", "Input should be a date (RFC 3339 full-date), such as 2026-11-23"
        )
    return value


def _to_three_decimals(value: float) -> float:
    rounded = round(value, _DECIMALS)
    return rounded + 0.0  # turns a negative zero into zero


#: Text without NUL, which Postgres cannot keep, and without lone surrogates, which UTF-8 cannot.
_CLEAN = AfterValidator(_text_that_can_be_kept)
_NO_NUL = r"^[^\x00]*$"
Name = Annotated[str, Field(min_length=1, max_length=120, pattern=_NO_NUL, strict=True), _CLEAN]
Note = Annotated[str, Field(max_length=2000, pattern=_NO_NUL, strict=True), _CLEAN]
Label = Annotated[str, Field(min_length=1, max_length=40, pattern=_NO_NUL, strict=True), _CLEAN]
Slug = Annotated[str, Field(min_length=2, max_length=64, pattern=r"^[a-z0-9][a-z0-9-]{1,63}$", strict=True)]
Code = Annotated[str, Field(min_length=2, max_length=64, pattern=r"^[a-z][a-z0-9_]{1,63}$", strict=True)]

Instant = Annotated[
    datetime, BeforeValidator(_instant_text), Field(json_schema_extra={"format": "date-time"})
]
Day = Annotated[date, BeforeValidator(_date_text)]
Flag = StrictBool


#: 8.0 is a whole number; true and "8" are no numbers.
A_WHOLE_NUMBER = BeforeValidator(_refuse_other_types(whole=True))
A_NUMBER = BeforeValidator(_refuse_other_types(whole=False))
#: Quantities are kept and echoed to three decimals.
THREE_DECIMALS = AfterValidator(_to_three_decimals)


def read_only(description: str, **extra: Any) -> Any:
    """Return the field of a member that the server owns: accepted and ignored on the way in."""
    return Field(default=None, description=description, json_schema_extra={"readOnly": True, **extra})


Score = Annotated[float, Field(ge=0, le=10), A_NUMBER, THREE_DECIMALS]
Reserve = Annotated[float, Field(ge=0, le=20), A_NUMBER, THREE_DECIMALS]
Degrees = Annotated[float, Field(ge=-180, le=360), A_NUMBER, THREE_DECIMALS]
Seconds = Annotated[float, Field(ge=0, le=86400), A_NUMBER, THREE_DECIMALS]
Share = Annotated[float, Field(ge=0, le=1), A_NUMBER, THREE_DECIMALS]
Degree0To3 = Annotated[int, Field(ge=0, le=3), A_WHOLE_NUMBER]
Percent = Annotated[float, Field(ge=0, le=100), A_NUMBER, THREE_DECIMALS]
