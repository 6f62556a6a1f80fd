"""Invented athletes whose trends stand in the contract's examples, and who are asked again by the tests."""

from collections.abc import Callable

from tests.contract.lifting import BAR_AND_PLATES, LEG_PRESS, Json, Lifter


def beginner(make: Callable[..., Lifter]) -> Lifter:
    """Four weeks on the leg press, 60 to 70 kg x 10 with 3 in reserve (scenario 3 of practice)."""
    person = make(LEG_PRESS, training_years=0.1)
    for day, load in (
        (28, 60), (24, 61.25), (21, 62.5), (17, 65), (14, 66.25), (10, 67.5), (7, 68.75), (3, 70),
    ):  # fmt: skip
        person.logs("leg-press", day, load, 10, reps_in_reserve=3)
    return person


def back_from_a_break(make: Callable[..., Lifter]) -> Lifter:
    """Five stable weeks of bench presses, a fortnight and more away, and one session since."""
    person = make(BAR_AND_PLATES)
    for day in (*range(54, 19, -3), 1):
        person.logs("bench-press", day, 90 if day == 1 else 100, 8, reps_in_reserve=2)
    return person


def asked(person: Lifter, exercise_id: str, **parameters: object) -> Json:
    """Return the answer on one lift and side that the contract shows."""
    answer: Json = person.asks("trends", exercise_id=exercise_id, **parameters)
    return answer
