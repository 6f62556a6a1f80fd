"""A dozen invented people: bodies, weeks and programmes that differ. Nobody here exists."""

from dataclasses import dataclass
from typing import Any, Literal

from service.demo.gyms import ANNEXE, QUAY
from service.demo.identities import invented_id
from service.demo.lifts import Lift, bar, body, cable, hold, level, pounds, press, stack

Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]


@dataclass(frozen=True, slots=True)
class Person:
    """An invented person. Weeks and days off are counted back from the last day of the log."""

    key: str
    age: int
    body_mass_kg: float
    training_years: float
    days: tuple[Weekday, ...]
    sessions: tuple[tuple[Lift, ...], ...]
    unit: Literal["kg", "lb"] = "kg"
    hand: Literal["left", "right", "mixed"] = "right"
    site_id: str = QUAY
    minutes: int = 60
    weeks: int = 16
    tells_effort: float = 0.5
    flags_warm_ups: float = 0.6
    days_off: tuple[tuple[int, int], ...] = ()

    @property
    def id(self) -> str:
        """The athlete's id."""
        return invented_id("athlete", self.key)

    def document(self, year: int) -> dict[str, Any]:
        """Return the athlete as the API takes it."""
        return {
            "display_name": f"{self.key.capitalize()} (invented)",
            "external_ref": f"member-{self.key}",
            "time_zone": "Europe/Riga",
            "week_starts_on": "monday",
            "unit": self.unit,
            "birth_year": year - self.age,
            "training_years": self.training_years,
            "dominance": {"hand": self.hand, "leg": self.hand},
            "home_site_id": self.site_id,
        }


_MWF: tuple[Weekday, ...] = ("monday", "wednesday", "friday")
_TUE_SAT: tuple[Weekday, ...] = ("tuesday", "saturday")
_FOUR: tuple[Weekday, ...] = ("monday", "tuesday", "thursday", "friday")

ILVA = Person(
    "ilva",
    34,
    68.0,
    6.0,
    _FOUR,
    (
        (
            bar("bench-press", 62, gain=0.05),
            pounds("one-arm-dumbbell-row", 62, one_sided=True, gap=0.06),
            pounds("one-arm-overhead-press", 38, one_sided=True, gap=-0.11),
            pounds("one-arm-dumbbell-curl", 36, one_sided=True, gap=0.09),
            cable("cable-pressdown", 26),
        ),
        (
            bar("back-squat", 96, gain=0.06, repetitions_per_fall=44),
            bar("romanian-deadlift", 98, (8, 10), repetitions_per_fall=40),
            stack("one-leg-knee-extension", 38, one_sided=True, gap=0.05),
            stack("standing-calf-raise", 120, lowest=10, step=10),
        ),
        (
            stack("lat-pulldown", 68, gain=0.05),
            pounds("incline-dumbbell-press", 48, two_loads=True),
            pounds("one-arm-lateral-raise", 24, (10, 15), one_sided=True, gap=-0.04),
            pounds("one-arm-dumbbell-curl", 36, (10, 15), one_sided=True, gap=0.09),
            cable("one-arm-cable-pressdown", 13, one_sided=True, gap=0.03),
        ),
        (
            press("one-leg-leg-press", 150, one_sided=True, gap=0.05),
            stack("seated-leg-curl", 56),
            bar("hip-thrust", 125, (8, 10)),
        ),
    ),
)
BRUNO = Person(
    "bruno",
    27,
    82.0,
    0.08,
    _MWF,
    (
        (
            press("leg-press", 150, gain=0.45),
            stack("machine-chest-press", 58, gain=0.40),
            stack("seated-cable-row", 60, gain=0.40),
        ),
        (
            press("leg-press", 150, gain=0.45),
            stack("lat-pulldown", 58, gain=0.40),
            stack("seated-leg-curl", 46, gain=0.40),
        ),
    ),
    weeks=4,
    tells_effort=0.7,
)
MARTA = Person(
    "marta",
    62,
    71.0,
    4.0,
    _TUE_SAT,
    (
        (
            stack("machine-chest-press", 40),
            stack("seated-cable-row", 46),
            pounds("dumbbell-curl", 20, two_loads=True),
        ),
        (
            stack("lat-pulldown", 42),
            pounds("seated-dumbbell-overhead-press", 26, two_loads=True),
            cable("cable-pressdown", 18),
        ),
    ),
    minutes=45,
    days_off=((70, 24),),
)
ODO = Person(
    "odo",
    55,
    94.0,
    2.0,
    _TUE_SAT,
    (
        (
            stack("machine-chest-press", 66),
            stack("seated-cable-row", 74),
            press("leg-press", 190),
            hold("plank", 42, gain=0.5),
        ),
    ),
)
SANNA = Person(
    "sanna",
    41,
    63.0,
    5.0,
    _MWF,
    (
        (
            pounds("neutral-grip-dumbbell-press", 42, two_loads=True),
            pounds("chest-supported-row", 44, two_loads=True),
            bar("back-squat", 80, repetitions_per_fall=44),
        ),
        (
            stack("lat-pulldown", 58),
            bar("romanian-deadlift", 84, (8, 10)),
            pounds("hammer-curl", 30, two_loads=True),
        ),
    ),
)
TAREK = Person(
    "tarek",
    38,
    86.0,
    8.0,
    _MWF,
    (
        (
            bar("bench-press", 108),
            pounds("one-arm-lateral-raise", 36, (10, 15), one_sided=True, painful=True),
            stack("lat-pulldown", 92),
        ),
        (
            bar("deadlift", 170, (4, 6), repetitions_per_fall=40),
            stack("seated-cable-row", 96),
            pounds("dumbbell-curl", 52, two_loads=True),
        ),
    ),
    hand="left",
)
WIM = Person(
    "wim",
    46,
    79.0,
    3.0,
    _TUE_SAT,
    (
        (
            bar("bench-press", 82, (8, 12), gain=0.02),
            stack("seated-cable-row", 80, gain=0.02),
            press("leg-press", 240, gain=0.02),
        ),
        (
            bar("bench-press", 82, (8, 12), gain=0.02),
            stack("lat-pulldown", 74, gain=0.02),
            cable("cable-curl", 24, gain=0.02),
        ),
    ),
    tells_effort=0.0,
    flags_warm_ups=0.0,
)
LENA = Person(
    "lena",
    29,
    66.0,
    4.0,
    _MWF,
    (
        (
            bar("back-squat", 104, repetitions_per_fall=44),
            bar("bench-press", 64),
            stack("seated-leg-curl", 52),
        ),
        (
            bar("deadlift", 122, (4, 6), repetitions_per_fall=40),
            stack("lat-pulldown", 62),
            pounds("split-squat", 46, one_sided=True, gap=0.03),
        ),
    ),
    hand="left",
    days_off=((14, 1),),
)
JONTE = Person(
    "jonte",
    16,
    64.0,
    0.7,
    _TUE_SAT,
    (
        (
            pounds("goblet-squat", 70, lowest=10.0, gain=0.15),
            pounds("dumbbell-bench-press", 46, two_loads=True, gain=0.15),
            stack("seated-cable-row", 58, gain=0.15),
        ),
        (
            stack("lat-pulldown", 56, gain=0.15),
            pounds("split-squat", 36, one_sided=True, gain=0.15),
            body("push-up", 56, 0.64, (8, 15), lowest=0.0),
        ),
    ),
)
PRIYA = Person(
    "priya",
    33,
    70.0,
    5.0,
    _TUE_SAT,
    (
        (
            pounds("goblet-squat", 84, lowest=10.0, gain=-0.06),
            stack("seated-cable-row", 58, gain=-0.03),
            pounds("seated-dumbbell-overhead-press", 30, two_loads=True),
        ),
        (
            stack("machine-chest-press", 46, gain=-0.04),
            stack("lat-pulldown", 52, gain=-0.03),
            level("hip-abduction-machine", 22, gain=0.0),
        ),
    ),
    minutes=40,
)
RUNA = Person(
    "runa",
    31,
    62.0,
    2.5,
    _MWF,
    (
        (
            body("pull-up", 55, 0.95, (5, 8), step=5.0, assisted_as="assisted-pull-up", gain=0.42),
            pounds("dumbbell-bench-press", 40, two_loads=True),
            bar("romanian-deadlift", 78, (8, 10)),
        ),
        (
            body("pull-up", 55, 0.95, (5, 8), step=5.0, assisted_as="assisted-pull-up", gain=0.42),
            bar("back-squat", 82, repetitions_per_fall=44),
            pounds("one-arm-dumbbell-row", 52, one_sided=True, gap=0.04),
        ),
    ),
)
CATO = Person(
    "cato",
    58,
    77.0,
    1.5,
    _TUE_SAT,
    (
        (
            level("hip-abduction-machine", 24),
            level("hip-adduction-machine", 23),
            stack("machine-chest-press", 44, lowest=5),
        ),
        (
            level("crunch-machine", 20),
            level("back-extension-machine", 21),
            stack("lat-pulldown", 46, lowest=5),
            level("lateral-raise-machine", 18),
        ),
    ),
    unit="lb",
    site_id=ANNEXE,
    minutes=45,
)

PEOPLE: tuple[Person, ...] = (ILVA, BRUNO, MARTA, ODO, SANNA, TAREK, WIM, LENA, JONTE, PRIYA, RUNA, CATO)
