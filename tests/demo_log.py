"""The demo's invented people as a log in CSV, in the shape that ``steelyard backtest`` reads."""

import csv
import io
from collections.abc import Iterable
from datetime import date

from service.demo.people import PEOPLE, Person
from service.demo.simulating import Simulation
from service.usecases.backtest.log_rows import COLUMNS

LAST_DAY = date(2026, 11, 23)


def demo_log(people: Iterable[Person] = PEOPLE) -> str:
    """Return the logs of invented people as one CSV file."""
    text = io.StringIO()
    writer = csv.DictWriter(text, COLUMNS, lineterminator="\n")
    writer.writeheader()
    for person in people:
        for done in Simulation(person, LAST_DAY).run().sets:
            writer.writerow(_row(person, done))
    return text.getvalue()


def _row(person: Person, done: dict) -> dict[str, object]:  # type: ignore[type-arg]
    load = done.get("load", {})
    pain = [told["during"] for told in done.get("pain", [])]
    return {
        "athlete": person.key,
        "performed_at": done["performed_at"],
        "session": done["session_id"],
        "ordinal": done["ordinal"],
        "exercise": done["exercise_id"],
        "side": done["side"],
        "load": load.get("value", done.get("level", "")),
        "unit": load.get("unit", ""),
        "reps": done.get("reps", ""),
        "reps_in_reserve": done.get("reps_in_reserve", ""),
        "pain": max(pain, default=""),
        "purpose": done.get("purpose", ""),
        "rest_s": done.get("rest_same_exercise_s", ""),
        "body_mass": person.body_mass_kg
        if load.get("unit", "kg") == "kg"
        else person.body_mass_kg / 0.45359237,
    }
