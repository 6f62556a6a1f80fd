"""What is measured and said beside the sets: girths, body mass, soreness, sleep, the morning after."""

from datetime import date, datetime, time, timedelta
from typing import Any
from zlib import crc32
from zoneinfo import ZoneInfo

import numpy as np

from service.demo.identities import invented_id
from service.demo.people import Person

Document = dict[str, Any]
Dated = tuple[str, Document]

#: True girths [cm]: left, and how much larger the right is; both grow a little over the log.
_GIRTHS = {"upper-arm-relaxed": (30.5, 0.4), "thigh-mid": (54.0, 0.2)}
_READING_SD_CM = 0.25
_SORE_AFTER = ("latissimus-dorsi", "gluteus-maximus", "pectoralis-major")


def _at(day: date, hour: int) -> str:
    return datetime.combine(day, time(hour), ZoneInfo("Europe/Riga")).isoformat(timespec="seconds")


def measurements(person: Person, last_day: date) -> list[Dated]:
    """Return body mass every second week, and girths three times with three readings a side."""
    rng = np.random.default_rng(crc32(f"{person.key} measured".encode()))
    made: list[Dated] = []
    for ago in range(person.weeks * 7 - 1, -1, -14):
        day = last_day - timedelta(days=ago)
        mass = round(person.body_mass_kg + float(rng.normal(0, 0.4)), 1)
        body_mass = {"kind": "body_mass", "at": _at(day, 7), "mass": {"value": mass, "unit": "kg"}}
        made.append((invented_id(person.key, day, "body-mass"), body_mass))
    for turn, ago in enumerate((person.weeks * 7 - 1, person.weeks * 7 // 2, 2)):
        made.extend(_girths(person, last_day - timedelta(days=ago), turn, rng))
    return made


def _girths(person: Person, day: date, turn: int, rng: np.random.Generator) -> list[Dated]:
    larger_body = person.body_mass_kg / 68.0
    made: list[Dated] = []
    for site, (left, right_more) in _GIRTHS.items():
        for side, truth in (("left", left), ("right", left + right_more)):
            readings = truth * larger_body + 0.2 * turn + rng.normal(0, _READING_SD_CM, 3)
            girth: Document = {"kind": "girth", "at": _at(day, 8), "site": site, "side": side, "unit": "cm"}
            girth["readings"] = [round(float(reading), 1) for reading in readings]
            made.append((invented_id(person.key, day, "girth", site, side), girth))
    return made


def checkins(person: Person, last_day: date) -> list[Dated]:
    """Return about one check-in a week; whoever has pain says each time how the next morning was."""
    rng = np.random.default_rng(crc32(f"{person.key} asked".encode()))
    made: list[Dated] = []
    for ago in range(person.weeks * 7 - 3, -1, -7):
        day = last_day - timedelta(days=ago)
        checkin: Document = {"at": _at(day, 7), "sleep_h": round(float(rng.normal(7.1, 0.8)), 1)}
        sore = _SORE_AFTER[int(rng.integers(0, len(_SORE_AFTER)))]
        checkin["soreness"] = [{"muscle_id": sore, "score": float(rng.integers(0, 5)), "side": "both"}]
        if any(lift.painful for session in person.sessions for lift in session):
            morning = float(rng.integers(1, 4))
            checkin["pain"] = [{"region": "shoulder", "side": "right", "next_morning": morning}]
        made.append((invented_id(person.key, day, "checkin"), checkin))
    return made
