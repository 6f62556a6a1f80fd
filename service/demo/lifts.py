"""What an invented person does in a session: lifts with a true strength that only the simulation knows."""

from dataclasses import dataclass, replace
from typing import Any, Literal

Unit = Literal["kg", "lb"]
HowLoaded = Literal["total", "added", "level", "hold"]


@dataclass(frozen=True, slots=True)
class Lift:
    """One lift of a programme.

    ``strength`` is the true one-repetition maximum at the start, in ``unit`` as the lift is loaded, the body's share
    included where the body is the load. ``gap`` is the true ln(right / left); ``gain`` the ln of what sixteen weeks add.
    Loads come as ``lowest`` plus whole steps.
    """

    exercise_id: str
    strength: float
    reps: tuple[int, int] = (8, 12)
    sets: int = 3
    unit: Unit = "kg"
    lowest: float = 20.0
    step: float = 2.5
    one_sided: bool = False
    gap: float = 0.0
    gain: float = 0.08
    repetitions_per_fall: float = 36.0
    how: HowLoaded = "total"
    body_share: float = 0.0
    assisted_as: str | None = None
    painful: bool = False
    two_loads: bool = False


def bar(exercise_id: str, strength: float, reps: tuple[int, int] = (5, 8), **more: Any) -> Lift:
    """A lift with a 20 kg bar and plates."""
    return replace(Lift(exercise_id, strength, reps), **more)


def pounds(exercise_id: str, strength: float, reps: tuple[int, int] = (8, 12), **more: Any) -> Lift:
    """A lift with dumbbells in 5 lb steps; strength per hand [lb]."""
    return replace(Lift(exercise_id, strength, reps, unit="lb", lowest=5.0, step=5.0), **more)


def stack(exercise_id: str, strength: float, reps: tuple[int, int] = (8, 12), **more: Any) -> Lift:
    """A lift at a stack with an add-on of 2.5 kg."""
    return replace(Lift(exercise_id, strength, reps, lowest=10.0, step=2.5), **more)


def cable(exercise_id: str, strength: float, reps: tuple[int, int] = (10, 15), **more: Any) -> Lift:
    """A lift at the 2:1 cable: load at the handle, in steps of 2.5 kg."""
    return replace(Lift(exercise_id, strength, reps, lowest=2.5, step=2.5), **more)


def press(exercise_id: str, strength: float, reps: tuple[int, int] = (8, 12), **more: Any) -> Lift:
    """The leg press: its carriage weighs 45 kg."""
    return replace(
        Lift(exercise_id, strength, reps, lowest=45.0, step=5.0, repetitions_per_fall=55.0), **more
    )


def level(exercise_id: str, strength: float, reps: tuple[int, int] = (10, 15), **more: Any) -> Lift:
    """A station with labels from 1; strength in steps of the label, which only the simulation takes as a load."""
    return replace(Lift(exercise_id, strength, reps, lowest=1.0, step=1.0, how="level"), **more)


def body(
    exercise_id: str, strength: float, share: float, reps: tuple[int, int] = (5, 10), **more: Any
) -> Lift:
    """A lift of the body with load added or assistance taken off; strength includes the body's share [kg]."""
    made = Lift(exercise_id, strength, reps, lowest=-60.0, step=2.5, how="added", body_share=share)
    return replace(made, **more)


def hold(exercise_id: str, seconds: float, lengths: tuple[int, int] = (20, 60), **more: Any) -> Lift:
    """A hold of the body: ``strength`` is the true time to failure at the start, ``reps`` the lengths trained. [s]"""
    return replace(
        Lift(exercise_id, seconds, lengths, lowest=float(lengths[0]), step=5.0, how="hold"), **more
    )
