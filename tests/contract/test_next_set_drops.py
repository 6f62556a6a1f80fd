"""Drops to end a lift with, asked for with the next set."""

from collections.abc import Callable
from typing import Any

import pytest

from tests.contract.lifting import BAR_AND_PLATES, Json, Lifter, codes, lifters
from tests.world import World

CABLE = [
    {
        "kind": "stack", "name": "Cable", "station": "cable", "unit": "kg",
        "masses": [2.5 * step for step in range(1, 29)],
    },
    {"kind": "dumbbells", "name": "Rack", "unit": "kg", "first": 4, "last": 30, "step": 2},
    *BAR_AND_PLATES,
]  # fmt: skip
CURL = "dumbbell-curl"


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def screened(person: Lifter, outcome: str = "clear") -> None:
    body = {
        "instrument": "invented",
        "instrument_version": "1",
        "performed_on": "2026-11-20",
        "outcome": outcome,
    }
    person.client.post(f"{person.path}/screenings", json=body).raise_for_status()


def trained(person: Lifter, exercise: str = CURL, **said: Any) -> None:
    for week in range(4):
        for ordinal in range(3):
            person.logs(exercise, 3 + 7 * week, 16, 10, ordinal=ordinal, **{"reps_in_reserve": 2, **said})


def asked(person: Lifter, exercise: str = CURL, done: int = 2, **more: Any) -> Json:
    session = person.visits(0.05)
    for ordinal in range(done):
        person.logs(
            exercise, 0.04 - 0.005 * ordinal, 16, 10, reps_in_reserve=2, ordinal=ordinal, session_id=session
        )
    (item,) = person.asks("next-set", exercise_id=exercise, session_id=session, **{"drops": 2, **more})[
        "items"
    ]
    told: Json = item
    return told


def test_the_last_set_may_end_in_drops_on_loads_that_are_there(lifter: Callable[..., Lifter]) -> None:
    person = lifter(CABLE)
    screened(person)
    trained(person)
    told = asked(person)["drop_set"]
    assert told["decision"] == "do"
    loads = [stage["load"]["value"] for stage in told["drops"]]
    assert len(loads) == 2
    assert loads == sorted(loads, reverse=True)
    assert all(4 <= load < 16 and load % 2 == 0 for load in loads)
    assert all(stage["p_reached"] >= 0.6 for stage in told["drops"])
    total = told["opening_reps"] + sum(stage["expected_reps"]["value"] for stage in told["drops"])
    assert told["total_reps"]["value"] == pytest.approx(total, abs=0.05)
    assert 0.5 < told["minutes"] < 2.0
    assert told["hard_sets"]["value"] == pytest.approx(2.0, abs=0.01)
    assert told["own_factor"] == {"value": 1.0, "ln_sd": 0.35, "prior_share": 1.0}
    assert "drop_sets_on_machines" in codes(told["cautions"])


def test_own_drops_move_what_is_expected(lifter: Callable[..., Lifter]) -> None:
    expected = {}
    for reps in (3, 14):
        person = lifter(CABLE)
        screened(person)
        trained(person)
        for week in range(4):
            first = person.new_id()
            at = 2.98 + 7 * week
            body = person.did(CURL, at, 16, 12, to_failure=True, ordinal=9)
            person.client.put(f"{person.path}/sets/{first}", json=body).raise_for_status()
            person.logs(CURL, at - 0.001, 12, reps, stage=1, stage_of=first, to_failure=True, ordinal=10)
        told = asked(person, done=3)["drop_set"]
        expected[reps] = told["own_factor"]["value"]
        assert told["own_factor"]["prior_share"] < 0.7
        if reps == 14:
            assert told["decision"] == "do"
            assert "drops_own_drops_tell" in codes(told["reasons"])
    assert expected[3] < 1.0 < expected[14]


def test_sets_that_are_still_to_come_go_first(lifter: Callable[..., Lifter]) -> None:
    person = lifter(CABLE)
    screened(person)
    trained(person)
    told = asked(person, done=1)["drop_set"]
    assert (told["decision"], codes(told["reasons"])) == ("leave_out", {"drops_after_the_last_set"})


@pytest.mark.parametrize(
    ("case", "code"),
    [
        ("unscreened", "drops_not_as_screened"),
        ("pain", "drops_not_with_pain"),
        ("barbell", "drops_not_this_lift"),
        ("no_time", "drops_no_time_left"),
    ],
)
def test_what_speaks_against_drops_leaves_them_out(
    lifter: Callable[..., Lifter], case: str, code: str
) -> None:
    person = lifter(CABLE)
    if case == "unscreened":
        person.path = f"/v1/athletes/{person.new_id()}"
        said = {"time_zone": "Europe/Riga", "training_years": 4, "home_site_id": person.site}
        assert person.client.put(person.path, json=said).status_code == 201
        person.consents()
    else:
        screened(person)
    exercise = "bench-press" if case == "barbell" else CURL
    pain = {"pain": [{"region": "elbow", "side": "both", "during": 3}]} if case == "pain" else {}
    trained(person, exercise, **pain)
    if case == "barbell":
        session = person.visits(0.05)
        for ordinal in range(2):
            person.logs(
                exercise,
                0.04 - 0.005 * ordinal,
                20,
                10,
                reps_in_reserve=2,
                ordinal=ordinal,
                session_id=session,
            )
        (item,) = person.asks("next-set", exercise_id=exercise, session_id=session, drops=2)["items"]
    elif case == "no_time":
        item = asked(person, minutes_left=1.1, drops=4)
    else:
        item = asked(person)
    told = item["drop_set"]
    assert (told["decision"], codes(told["reasons"])) == ("leave_out", {code})


def test_novices_and_who_comes_back_get_none(lifter: Callable[..., Lifter]) -> None:
    novice = lifter(CABLE, training_years=0.2)
    screened(novice)
    trained(novice)
    assert codes(asked(novice)["drop_set"]["reasons"]) == {"drops_not_for_novices"}
    back = lifter(CABLE)
    screened(back)
    for week in range(4):
        for ordinal in range(3):
            back.logs(CURL, 25 + 7 * week, 16, 10, reps_in_reserve=2, ordinal=ordinal)
    assert codes(asked(back, done=0)["drop_set"]["reasons"]) == {"drops_not_after_a_break"}


def test_without_being_asked_for_there_is_no_word_of_drops(lifter: Callable[..., Lifter]) -> None:
    person = lifter(CABLE)
    screened(person)
    trained(person)
    session = person.visits(0.05)
    (item,) = person.asks("next-set", exercise_id=CURL, session_id=session)["items"]
    assert "drop_set" not in item
