"""A week counts the same, however many weeks are asked for beside it."""

from collections.abc import Callable
from datetime import timedelta

import pytest

from tests.contract.lifting import BAR_AND_PLATES, NOW, Json, Lifter, codes, lifters
from tests.world import World

CHEST = "pectoralis-major-sternal"


@pytest.mark.parametrize("answer", ["volume", "dose-response", "trends"])
@pytest.mark.parametrize(("born", "told"), [(2014, True), (1990, False), (None, False)])
def test_what_was_learned_of_adults_says_how_the_young_should_train(
    shared_world: World, new_id: Callable[[], str], answer: str, born: int | None, told: bool
) -> None:
    """An athlete of twelve is answered from trials of adults: with supervision, as the next session says too."""
    person = lifters(shared_world, new_id)(BAR_AND_PLATES, **({"birth_year": born} if born else {}))
    person.logs("bench-press", 1, 20, 10, reps_in_reserve=3)
    assert ("minor_supervised" in codes(person.asks(answer)["cautions"])) is told


@pytest.mark.parametrize(("age", "told"), [(12, True), (34, False)])
def test_a_computed_curve_says_so_too(
    shared_world: World, new_id: Callable[[], str], age: int, told: bool
) -> None:
    person = lifters(shared_world, new_id)(BAR_AND_PLATES)
    body = {"screening": "clear", "age_years": age}
    answer = person.client.post("/v1/compute/dose-response", json=body)
    assert ("minor_supervised" in codes(answer.json()["cautions"])) is told


@pytest.fixture
def silent(shared_world: World, new_id: Callable[[], str]) -> Lifter:
    """Twelve weeks of bench presses on two days, a top set and lighter ones, none with a word on effort."""
    person = lifters(shared_world, new_id)(BAR_AND_PLATES)
    operations = [
        {"op": "put", "type": "set", "id": new_id(), "body": person.did("bench-press", day, load, 8, ordinal=ordinal)}
        for day in (7 * week + of_week for week in range(12) for of_week in (1, 4))
        for ordinal, load in enumerate((100, 80, 70, 60))
    ]  # fmt: skip
    sent = person.client.post(f"{person.path}/operations", json={"operations": operations})
    assert sent.status_code == 200, sent.text
    return person


def weeks(person: Lifter, **asked: object) -> dict[str, Json]:
    items = person.asks("volume", muscle_id=CHEST, detail="full", **asked)["items"]
    return {one["week"]["first_day"]: one for one in items if one["side"] == "both"}


def test_a_week_counts_the_same_in_whatever_span_it_is_asked_for(silent: Lifter) -> None:
    span = weeks(silent, weeks=12)
    assert len(span) == 12
    for back in (1, 3, 6, 9):
        day = (NOW - timedelta(weeks=back)).date()
        ((first_day, alone),) = weeks(silent, week_of=day.isoformat()).items()
        assert span[first_day] == alone
        assert weeks(silent, week_of=day.isoformat(), weeks=2)[first_day] == alone


def test_a_week_long_ago_is_judged_by_the_strength_of_then(silent: Lifter) -> None:
    """What the sets' effort must have been follows from strength as it was, not only in the last four weeks."""
    for item in list(weeks(silent, weeks=12).values())[4:]:
        assert "volume_effort_from_strength" in codes(item["reasons"])
