"""The next load after weeks in which less and less went up, after planned easy ones, and where nothing went up at all."""

from collections.abc import Callable

import pytest

from tests.contract.lifting import BAR_AND_PLATES, Lifter, codes, lifters
from tests.world import World


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


@pytest.mark.parametrize("sessions", [1, 14])
def test_a_lift_that_was_only_missed_is_refused_for_what_it_is(
    lifter: Callable[..., Lifter], sessions: int
) -> None:
    person = lifter(BAR_AND_PLATES)
    for visit in range(sessions):
        for ordinal in range(3):
            person.logs("bench-press", 3 * visit + 3, 80, 0, ordinal=ordinal, to_failure=True)
    refused = person.asks(exercise_id="bench-press", status=409)
    asked = person.asks("next-set", exercise_id="bench-press", status=409)
    assert refused["code"] == "nothing_to_compute_on"
    assert "missed lift is logged" in refused["detail"]
    assert "lighter" in refused["detail"]
    assert asked["detail"] == refused["detail"]
    nothing = person.asks(exercise_id="back-squat", status=409)
    assert nothing["detail"].startswith("Nothing is logged")


def _sessions(person: Lifter, told: list[tuple[float, float, int, int]], **said: object) -> None:
    """Log three sets of the bench press for each session: days ago, kilograms, repetitions of the first, left."""
    for days_ago, load, reps, left in told:
        for ordinal, less in enumerate((0, 0, 1)):
            body = {"ordinal": ordinal, "reps_in_reserve": left, **said}
            person.logs("bench-press", days_ago, load, reps - less, **body)


#: Sixteen sessions of a bench press in each of which a little less went up than in the one before, the last first.
FALLING = [
    (55.0, 6, 3), (57.5, 6, 3), (57.5, 7, 3), (60.0, 6, 3), (60.0, 7, 3), (62.5, 6, 3), (62.5, 7, 3), (65.0, 6, 3),
    (65.0, 7, 3), (67.5, 6, 3), (67.5, 7, 3), (70.0, 6, 3), (72.5, 6, 3), (72.5, 7, 3), (75.0, 6, 3), (77.5, 6, 3),
]  # fmt: skip


def test_nothing_rises_after_weeks_in_which_load_and_repetitions_fell(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    _sessions(person, [(3.5 * place + 1, *told) for place, told in enumerate(FALLING)])
    item = person.next(exercise_id="bench-press")
    assert item["load"]["value"] <= 55.0
    assert item["action"]["code"] not in {"raise_load", "add_length"}
    assert "progression_sessions_fell" in codes(item["reasons"])
    # How much less was shown is told by one line, and the work that it is from stands with what it moves.
    assert "Epley1985" in item["sources"]
    planned = [one for one in person.asks("next-session")["items"] if one["exercise_id"] == "bench-press"]
    assert len(planned) == 1
    assert all(one["sets"][-1]["load"]["value"] <= 55.0 for one in planned)
    assert all("Epley1985" in one["sources"] for one in planned)


@pytest.mark.parametrize(("purpose", "left"), [("work", 4), ("work", 8), ("reduced", 8)])
def test_planned_easy_weeks_leave_the_way_back_open(
    lifter: Callable[..., Lifter], purpose: str, left: int
) -> None:
    person = lifter(BAR_AND_PLATES)
    _sessions(person, [(3 * visit + 9, 77.5, 8, 4) for visit in range(12)])
    _sessions(person, [(6, 70.0, 8, left), (3, 70.0, 8, left)], purpose=purpose)
    item = person.next(exercise_id="bench-press")
    assert item["load"]["value"] > 70.0
    assert "Epley1985" not in item["sources"]
    assert not {"progression_sessions_fell", "progression_shown_too_little"} & codes(item["reasons"])
