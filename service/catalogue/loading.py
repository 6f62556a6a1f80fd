"""Reads the reference data out of the package; identifiers of muscles are those of [Mungall2012]_."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import fields
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any, TypeVar

import msgspec

from service.catalogue.catalogue import Catalogue
from service.catalogue.records import Exercise, Muscle
from service.catalogue.rules import BrokenCatalogue, faults
from service.core.sources import SOURCES

_Record = TypeVar("_Record", Muscle, Exercise)
_DATA = resources.files("service.catalogue") / "data"


def read_muscle(entry: Mapping[str, Any]) -> Muscle:
    """Return the muscle that a data file's entry describes; ``BrokenCatalogue`` if it is misshapen."""
    return _converted(entry, Muscle)


def read_exercise(entry: Mapping[str, Any]) -> Exercise:
    """Return the exercise that a data file's entry describes; ``BrokenCatalogue`` if it is misshapen.

    In a file, shares stand under their muscle, and numbers that share a basis stand under that basis.
    """
    shares = entry.get("involvement", {})
    rows = {
        **entry,
        "involvement": [{"muscle_id": muscle_id, **share} for muscle_id, share in shares.items()],
        "joint_stress": list(entry.get("joint_stress", {}).items()),
        "basis": {name: basis for basis, names in entry.get("basis", {}).items() for name in names},
    }
    return _converted(rows, Exercise)


def _converted(entry: Mapping[str, Any], shape: type[_Record]) -> _Record:
    unknown = entry.keys() - {field.name for field in fields(shape)}
    if unknown:
        raise BrokenCatalogue([f"{sorted(unknown)} is no field of {shape.__name__}"])
    try:
        return msgspec.convert(entry, shape)
    except msgspec.ValidationError as error:
        raise BrokenCatalogue([f"{entry.get('exercise_id', entry.get('muscle_id'))}: {error}"]) from error


def build_catalogue(muscles: Sequence[Muscle], exercises: Sequence[Exercise]) -> Catalogue:
    """Return the catalogue of these records; ``BrokenCatalogue`` lists every rule that they break."""
    found = faults(muscles, exercises, SOURCES.keys())
    if found:
        raise BrokenCatalogue(found)
    return Catalogue(
        muscles=MappingProxyType({muscle.muscle_id: muscle for muscle in muscles}),
        exercises=MappingProxyType({exercise.exercise_id: exercise for exercise in exercises}),
    )


@cache
def load_catalogue() -> Catalogue:
    """Return the catalogue that ships with the service; read once, then the same object."""
    muscles = [read_muscle(entry) for entry in json.loads((_DATA / "muscles.json").read_text("utf-8"))]
    folder = (_DATA / "exercises").iterdir()
    files = sorted((file for file in folder if file.name.endswith(".json")), key=lambda file: file.name)
    exercises = [read_exercise(entry) for file in files for entry in json.loads(file.read_text("utf-8"))]
    return build_catalogue(muscles, exercises)
