"""What the true athletes are drawn from: one base set and perturbed ones, none taken from the estimator.

All values are judgement, chosen so that simulated retests fall inside published ranges (see test_plausible.py);
they are not fitted to anything, and never to the engine.
"""

from dataclasses import dataclass, field, replace
from random import Random


@dataclass(frozen=True, slots=True)
class Report:
    """How an athlete's stated reserve comes from the true one: (1 - share) * true - offset + noise."""

    share: tuple[float, float] = (0.20, 0.12)
    offset: tuple[float, float] = (0.15, 0.40)
    noise: float = 0.45
    noise_per_repetition: float = 0.22
    halves: float = 0.15
    #: A stated reserve of which only the offset is taken off, and less of it the nearer failure is.
    saturating: bool = False


@dataclass(frozen=True, slots=True)
class Fatigue:
    """Loss of ln strength by one set taken to failure, right after it and after long rest."""

    quick: float = 0.085
    lasting: float = 0.014
    quick_fades_s: float = 48.0
    person_ln_sd: float = 0.35
    shared_share: float = 0.35
    other_side_share: float = 0.18


@dataclass(frozen=True, slots=True)
class Constants:
    """Spreads are standard deviations of ln strength unless said otherwise; weeks are the unit of time."""

    name: str = "base"
    endurance: dict[str, float] = field(
        default_factory=lambda: {
            "bench": 1.05,
            "upper_press": 0.98,
            "pull": 1.10,
            "single_upper": 1.00,
            "single_lower": 0.95,
            "lower": 1.25,
            "leg_press": 1.90,
        }
    )
    endurance_person: float = 0.20
    endurance_exercise: float = 0.13
    endurance_side: float = 0.030
    endurance_walk: float = 0.010
    strength_person: float = 0.22
    strength_exercise: float = 0.15
    half_gap: float = 0.024
    half_gap_walk: float = 0.0010
    day_shared: float = 0.028
    day_own: float = 0.022
    day_side: float = 0.009
    set_noise: float = 0.018
    trained_drift: tuple[float, float] = (0.0006, 0.0013)
    walk_person: float = 0.0040
    walk_exercise: float = 0.0045
    novice_gain: tuple[float, float] = (0.28, 0.40)
    novice_half_life: tuple[float, float] = (6.0, 12.0)
    returner_deficit: tuple[float, float] = (0.15, 0.35)
    returner_half_life: tuple[float, float] = (2.5, 6.0)
    break_loss: tuple[float, float] = (0.008, 0.003)
    novices: float = 0.23
    returners: float = 0.22
    drop_share: tuple[float, float] = (0.66, 0.25)
    drop_noise: float = 0.12
    gross_errors: float = 0.002
    repeated_rows: float = 0.003
    stops: dict[str, float] = field(
        default_factory=lambda: {"planned": 0.4, "reserve": 0.45, "failure": 0.15}
    )
    states: dict[str, float] = field(
        default_factory=lambda: {"every": 0.3, "half": 0.3, "last": 0.25, "never": 0.15}
    )
    report: Report = field(default_factory=Report)
    fatigue: Fatigue = field(default_factory=Fatigue)


BASE = Constants()
STEADY = replace(
    BASE,
    name="steady",
    day_shared=0.012,
    day_own=0.016,
    day_side=0.006,
    set_noise=0.010,
    half_gap=0.015,
    endurance={
        "bench": 0.92,
        "upper_press": 1.05,
        "pull": 1.22,
        "single_upper": 1.25,
        "single_lower": 1.20,
        "lower": 1.20,
        "leg_press": 1.60,
    },
    report=Report(share=(0.35, 0.10), offset=(0.4, 0.5), noise=0.35, noise_per_repetition=0.28, halves=0.3),
    fatigue=Fatigue(quick=0.050, lasting=0.007, quick_fades_s=70.0, shared_share=0.2, other_side_share=0.08),
)
ERRATIC = replace(
    BASE,
    name="erratic",
    day_shared=0.042,
    day_own=0.028,
    day_side=0.012,
    set_noise=0.024,
    endurance_person=0.25,
    half_gap=0.034,
    walk_person=0.006,
    report=Report(share=(0.05, 0.15), offset=(-0.1, 0.45), noise=0.6, noise_per_repetition=0.32, halves=0.05),
    fatigue=Fatigue(quick=0.11, lasting=0.018, quick_fades_s=40.0, shared_share=0.5, other_side_share=0.25),
)
OTHER_CLASSES = replace(
    BASE,
    name="other_classes",
    endurance={
        "bench": 1.20,
        "upper_press": 1.15,
        "pull": 0.98,
        "single_upper": 0.88,
        "single_lower": 0.80,
        "lower": 1.65,
        "leg_press": 2.30,
    },
    endurance_exercise=0.18,
    endurance_side=0.045,
    novices=0.30,
    novice_gain=(0.40, 0.35),
    report=Report(share=(-0.10, 0.12), offset=(0.5, 0.5), noise=0.5, noise_per_repetition=0.18, halves=0.1),
)
#: Everyone stops by feel, and what is said is a repetition or so less than what is left.
BY_FEEL = replace(
    BASE,
    name="by_feel",
    day_shared=0.030,
    day_own=0.020,
    set_noise=0.015,
    half_gap=0.021,
    stops={"planned": 0.05, "reserve": 0.80, "failure": 0.15},
    states={"every": 0.3, "half": 0.5, "last": 0.1, "never": 0.1},
    report=Report(share=(0.0, 0.0), offset=(0.9, 0.5), noise=0.5, noise_per_repetition=0.28, saturating=True),
)
#: Drawn at random when the engine's were settled: nothing was chosen by these worlds.
DRAWN = ("drawn-41", "drawn-42", "drawn-43")
PRESETS = {one.name: one for one in (BASE, STEADY, ERRATIC, OTHER_CLASSES, BY_FEEL)}
#: Floats that are positive spreads, rates and losses: a drawn world multiplies each by a factor of its own.
_SCALED = (
    "endurance_person", "endurance_exercise", "endurance_side", "endurance_walk", "half_gap", "half_gap_walk",
    "day_shared", "day_own", "day_side", "set_noise", "walk_person", "walk_exercise", "drop_noise", "gross_errors",
)  # fmt: skip
#: Spread of those factors, and of the factors on what a fall in load buys. [ln]
_FACTOR_SD, _ENDURANCE_SD = 0.3, 0.15


def drawn(seed: int) -> Constants:
    """Constants at random around the base set: worlds that nobody can have chosen anything by."""
    rng = Random(f"constants {seed}")

    def factor(sd: float = _FACTOR_SD) -> float:
        return rng.lognormvariate(0.0, sd)

    parts = [rng.gammavariate(4.0 * share, 1.0) for share in BASE.stops.values()]
    states = [rng.gammavariate(6.0 * share, 1.0) for share in BASE.states.values()]
    fatigue = BASE.fatigue
    return replace(
        BASE,
        name=f"drawn-{seed}",
        **{name: getattr(BASE, name) * factor() for name in _SCALED},
        endurance={name: value * factor(_ENDURANCE_SD) for name, value in BASE.endurance.items()},
        novices=min(BASE.novices * factor(), 0.5),
        novice_gain=(BASE.novice_gain[0] * factor(), BASE.novice_gain[1]),
        stops={name: part / sum(parts) for name, part in zip(BASE.stops, parts, strict=True)},
        states={name: state / sum(states) for name, state in zip(BASE.states, states, strict=True)},
        report=Report(
            share=(rng.gauss(0.12, 0.12), 0.12 * factor()),
            offset=(rng.gauss(0.4, 0.35), 0.4 * factor()),
            noise=0.45 * factor(),
            noise_per_repetition=0.22 * factor(),
            halves=min(0.15 * factor(), 0.5),
            saturating=rng.random() < 0.5,
        ),
        fatigue=replace(
            fatigue,
            quick=fatigue.quick * factor(),
            lasting=fatigue.lasting * factor(),
            quick_fades_s=fatigue.quick_fades_s * factor(),
            shared_share=min(fatigue.shared_share * factor(), 0.9),
        ),
    )


def constants_named(name: str) -> Constants:
    """Return a set by its name, or the one drawn for the seed in ``drawn-SEED``; raises ``KeyError``."""
    return drawn(int(name.removeprefix("drawn-"))) if name.startswith("drawn-") else PRESETS[name]
