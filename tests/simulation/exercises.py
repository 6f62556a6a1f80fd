"""The lifts the simulated athletes do, with invented typical maxima."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Lift:
    name: str
    one_rep_max_kg: float
    endurance_class: str
    region: str
    """Lifts of one region tire each other."""
    sided: bool
    step_kg: float


LIFTS: tuple[Lift, ...] = (
    Lift("bench press", 82, "bench", "press", False, 2.5),
    Lift("incline dumbbell press", 28, "upper_press", "press", False, 2),
    Lift("one-arm cable fly", 19, "single_upper", "press", True, 1.25),
    Lift("overhead press", 50, "upper_press", "press", False, 2.5),
    Lift("one-arm lateral raise", 12, "single_upper", "press", True, 1),
    Lift("barbell row", 78, "pull", "pull", False, 2.5),
    Lift("one-arm dumbbell row", 37, "pull", "pull", True, 2),
    Lift("lat pulldown", 76, "pull", "pull", False, 5),
    Lift("one-arm dumbbell curl", 17, "single_upper", "pull", True, 1),
    Lift("barbell curl", 42, "single_upper", "pull", False, 2.5),
    Lift("one-arm cable pressdown", 21, "single_upper", "press", True, 1.25),
    Lift("lying triceps extension", 36, "single_upper", "press", False, 2.5),
    Lift("back squat", 112, "lower", "legs", False, 2.5),
    Lift("leg press", 215, "leg_press", "legs", False, 10),
    Lift("one-leg leg press", 105, "leg_press", "legs", True, 5),
    Lift("one-leg knee extension", 44, "single_lower", "legs", True, 2.5),
    Lift("split squat", 31, "lower", "legs", True, 2),
    Lift("one-leg leg curl", 33, "single_lower", "legs", True, 2.5),
    Lift("romanian deadlift", 118, "lower", "hips", False, 2.5),
    Lift("hip thrust", 145, "lower", "hips", False, 5),
)
KIN = {frozenset(("legs", "hips")): 0.5}


def kinship(one: Lift, other: Lift) -> float:
    """Share of another lift's tiring that this lift feels, before the athlete's own share."""
    return 1.0 if one.region == other.region else KIN.get(frozenset((one.region, other.region)), 0.0)
