"""Two invented gyms and everything that can be loaded there, in kilograms and pounds side by side."""

from typing import Any

from service.demo.identities import invented_id

Document = dict[str, Any]

QUAY = invented_id("site", "quay")
ANNEXE = invented_id("site", "annexe")

SITES: dict[str, Document] = {
    QUAY: {
        "name": "Quay Street Community Gym (invented)",
        "time_zone": "Europe/Riga",
        "supervised": True,
        "safety_bars": True,
    },
    ANNEXE: {
        "name": "Mill Lane Annexe (invented)",
        "time_zone": "Europe/Riga",
        "supervised": False,
        "safety_bars": False,
    },
}


def _kg(value: float) -> Document:
    return {"value": value, "unit": "kg"}


def _plates(*kinds: tuple[float, int]) -> list[Document]:
    return [
        {"kind": "plate_pairs", "name": f"{mass:g} kg plates", "mass": _kg(mass), "pairs": pairs}
        for mass, pairs in kinds
    ]


def _stack(station: str, first: float, last: float, step: float, *add_ons: float, **more: Any) -> Document:
    masses = [first + step * pin for pin in range(int((last - first) / step) + 1)]
    name = station.replace("-", " ") + " stack"
    stack = {
        "kind": "stack",
        "name": name,
        "station": station,
        "unit": "kg",
        "masses": masses,
        "add_ons": list(add_ons),
    }
    return {**stack, **more}


def _levels(station: str, highest: int) -> Document:
    labels = [str(label) for label in range(1, highest + 1)]
    return {"kind": "levels", "name": station.replace("-", " "), "station": station, "labels": labels}


def _gear(*gear: str) -> list[Document]:
    return [{"kind": "gear", "name": one.replace("-", " "), "gear": one} for one in gear]


def _bar(name: str, mass: float, station: str | None = None) -> Document:
    bar = {"kind": "bar", "name": name, "mass": _kg(mass)}
    return {**bar, "station": station} if station else bar


def _pounds(name: str, first: float, last: float) -> Document:
    return {"kind": "dumbbells", "name": name, "unit": "lb", "first": first, "last": last, "step": 5}


INVENTORIES: dict[str, Document] = {
    QUAY: {
        "items": [
            _bar("long bar", 20),
            _bar("short bar", 15),
            _bar("leg press carriage", 45, "leg-press"),
            *_plates((20, 6), (15, 2), (10, 4), (5, 4), (2.5, 4), (1.25, 2)),
            _pounds("dumbbell rack", 5, 80),
            _stack("cable", 5, 75, 5, 2.5, ratio=0.5),
            _stack("lat-pulldown", 10, 110, 5, 2.5),
            _stack("seated-row", 10, 110, 5, 2.5),
            _stack("chest-press", 10, 100, 5, 2.5),
            _stack("knee-extension", 10, 100, 5, 2.5),
            _stack("seated-leg-curl", 10, 90, 5, 2.5),
            _stack("standing-calf-raise", 10, 150, 10),
            _stack("assisted-pull-up", 5, 60, 5),
            _levels("hip-abduction", 12),
            *_gear("bench", "incline-bench", "rack", "pull-up-bar", "dip-bars", "floor-space", "step", "box"),
        ]
    },
    ANNEXE: {
        "items": [
            _pounds("small dumbbell rack", 5, 40),
            _stack("chest-press", 5, 75, 5, 2.5),
            _stack("lat-pulldown", 5, 80, 5, 2.5),
            _stack("knee-extension", 5, 70, 5),
            _levels("hip-abduction", 15),
            _levels("hip-adduction", 15),
            _levels("abdominal-crunch", 12),
            _levels("back-extension", 12),
            _levels("lateral-raise", 15),
            *_gear("bench", "floor-space", "box"),
        ]
    },
}
