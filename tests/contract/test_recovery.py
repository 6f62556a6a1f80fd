"""What is ready, over HTTP, for invented athletes at an invented gym."""

from collections.abc import Callable
from datetime import timedelta
from random import Random
from xml.etree import ElementTree as ET

import pytest

from service.reports.charts import number
from tests.contract.lifting import BAR_AND_PLATES, NOW, Json, Lifter, codes, lifters
from tests.world import World

CHEST, TRICEPS = "pectoralis-major-sternal", "triceps-lateral-head"


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def muscle(answer: Json, muscle_id: str, side: str = "left") -> Json:
    (found,) = (one for one in answer["items"] if one.get("muscle_id") == muscle_id and one["side"] == side)
    item: Json = found
    return item


def benched(person: Lifter, days_ago: float, sets: int = 5, **said: object) -> None:
    session = person.visits(days_ago)
    for ordinal in range(sets):
        person.logs("bench-press", days_ago, 80, 8, session_id=session, ordinal=ordinal, **said)


def trains_for_months(person: Lifter, seed: int = 1, still_hours: float = 26.0, weeks: int = 16) -> None:
    """Bench presses after one to four days, hard and easy; the sooner the next, the fewer repetitions."""
    rng, day, lost = Random(seed), 7.0 * weeks, 0.0
    while day > 0.8:
        sets, pause = rng.choice((2, 4, 7)), rng.choice((1.0, 2.0, 3.0, 4.0))
        session = person.visits(day)
        for ordinal in range(sets):
            left = round(10 - lost - 0.4 * ordinal + rng.gauss(0, 0.6))
            person.logs(
                "bench-press", day, 80, max(left, 1), session_id=session, ordinal=ordinal, to_failure=True
            )
        lost = 1.7 * sets**0.5 * 2.718 ** (-24.0 * pause / (1.4 * still_hours))
        day -= pause


def test_a_muscle_is_less_ready_the_morning_after_than_three_days_later(
    lifter: Callable[..., Lifter],
) -> None:
    person = lifter(BAR_AND_PLATES)
    benched(person, 0.5, reps_in_reserve=1)
    now = muscle(person.asks("recovery"), CHEST)
    later = (NOW + timedelta(days=3)).isoformat()
    then = muscle(person.asks("recovery", at=later), CHEST)
    assert now["p_ready"] < 0.3 < 0.8 < then["p_ready"]
    assert now["hours_until_ready"]["value"] > 12 > then["hours_until_ready"]["value"]
    interval = now["hours_until_ready"]["interval"]
    assert interval["lower"] <= now["hours_until_ready"]["value"] <= interval["upper"]
    assert now["residual_fatigue"]["unit"] == "{reps}"


def test_the_chance_of_being_ready_is_told_for_the_hours_to_come_and_drawn(
    lifter: Callable[..., Lifter],
) -> None:
    person = lifter(BAR_AND_PLATES)
    benched(person, 0.5, reps_in_reserve=1)
    item = muscle(person.asks("recovery"), CHEST)
    chances = [one["p_ready"] for one in item["ready_ahead"]]
    assert chances == sorted(chances)
    assert chances[0] == item["p_ready"] < 0.3 < 0.8 < chances[-1]
    at = (NOW + timedelta(hours=24)).isoformat()
    (ahead,) = [one for one in item["ready_ahead"] if one["hours"] == 24]
    assert muscle(person.asks("recovery", at=at), CHEST)["p_ready"] == pytest.approx(
        ahead["p_ready"], abs=1e-3
    )
    drawn = person.client.get(f"{person.path}/recovery", params={"format": "svg"})
    assert drawn.headers["content-type"].startswith("image/svg+xml")
    told = str(ET.fromstring(drawn.text).findtext("{http://www.w3.org/2000/svg}desc"))  # noqa: S314
    assert f"pectoralis major sternal: 0 h {number(chances[0])}; 12 h {number(chances[1])}" in told


def test_a_chart_of_nobodys_training_says_so(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    drawn = person.client.get(f"{person.path}/recovery", params={"format": "svg"})
    assert "Nothing was trained within two weeks." in drawn.text


def test_sets_ready_by_next_is_left_out_with_its_reason_until_it_is_learned(
    lifter: Callable[..., Lifter],
) -> None:
    """Scenario 15, its last line: a new athlete's sets ready by next are not known."""
    person = lifter(BAR_AND_PLATES)
    benched(person, 4, reps_in_reserve=1)
    one = muscle(person.asks("recovery"), CHEST)
    assert "sets_ready_by_next" not in one
    assert one["sets_not_known"]["code"] == "recovery_no_second_session"
    benched(person, 1, reps_in_reserve=1)
    two = muscle(person.asks("recovery"), CHEST)
    assert "sets_ready_by_next" not in two
    assert two["sets_not_known"]["code"] == "recovery_too_few_next_sessions"
    assert two["basis"]["prior_share"] >= 0.9


def test_months_of_next_sessions_teach_how_many_sets_are_ready_by_the_next(
    lifter: Callable[..., Lifter],
) -> None:
    person = lifter(BAR_AND_PLATES)
    trains_for_months(person)
    item = muscle(person.asks("recovery"), CHEST)
    ready = item["sets_ready_by_next"]
    assert item["basis"]["prior_share"] < 0.75
    assert {"recovery_learned"} <= codes(item["reasons"])
    assert ready["p_ready"] == 0.8
    assert 0.0 < ready["hard_sets"] <= 1.25 * 7
    assert ready["interval"]["lower"] <= ready["interval"]["upper"]
    assert 24 <= ready["hours_to_next"] <= 96


def test_equal_sessions_without_a_word_on_effort_teach_nothing(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for session in range(12):
        benched(person, 1 + 2.0 * session, sets=3)
    item = muscle(person.asks("recovery"), CHEST)
    assert item["sets_not_known"]["code"] == "recovery_too_few_next_sessions"
    assert "recovery_effort_unknown" in codes(item["reasons"])


def test_the_trunk_stands_beside_the_muscles_and_may_end_a_set_first(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for days_ago in (8, 4.5, 1):
        session = person.visits(days_ago)
        for ordinal in range(4):
            person.logs(
                "barbell-row", days_ago, 70, 10, session_id=session, ordinal=ordinal, reps_in_reserve=1,
                limited_by="trunk",
            )  # fmt: skip
    answer = person.asks("recovery")
    (trunk,) = (one for one in answer["items"] if one["kind"] == "trunk")
    (body,) = (one for one in answer["items"] if one["kind"] == "systemic")
    assert trunk["side"] == body["side"] == "both"
    assert "recovery_trunk_ended_sets" in codes(trunk["reasons"])
    told = next(one for one in trunk["reasons"] if one["code"] == "recovery_trunk_ended_sets")
    assert (told["params"]["ended"], told["params"]["sets"]) == (12, 12)
    assert trunk["p_ready"] < body["p_ready"]


@pytest.mark.parametrize(
    ("load", "reps", "said"), [(20, 15, {"reps_in_reserve": 3}), (60, 6, {}), (100, 5, {"to_failure": True})]
)
def test_recovery_counts_the_hard_sets_that_volume_counts(
    lifter: Callable[..., Lifter], load: float, reps: int, said: Json
) -> None:
    """Ten very light sets of somebody strong are few hard sets; and so are sets that strength tells were easy."""
    person = lifter(BAR_AND_PLATES)
    for day in range(30, 5, -3):
        session = person.visits(day)
        for ordinal in range(3):
            person.logs("bench-press", day, 100, 5, session_id=session, ordinal=ordinal, reps_in_reserve=2)
    session = person.visits(0.6)
    for ordinal in range(10):
        person.logs("bench-press", 0.6, load, reps, session_id=session, ordinal=ordinal, **said)
    item = muscle(person.asks("volume", muscle_id=CHEST, detail="full"), CHEST)
    (counted,) = [one["dose"] for one in item["sessions"] if one.get("session_id") == session]
    assert counted < 6.0 or load == 100
    told = [one["text"] for one in muscle(person.asks("recovery"), CHEST)["reasons"]]
    assert any(f"with {counted:.1f} hard sets" in one for one in told), (counted, told)


@pytest.mark.parametrize("named", ["side", "whole"])
def test_soreness_of_a_whole_muscle_is_that_of_its_parts(lifter: Callable[..., Lifter], named: str) -> None:
    person = lifter(BAR_AND_PLATES)
    session = person.visits(1)
    for ordinal in range(5):
        person.logs("back-squat", 1, 100, 8, session_id=session, ordinal=ordinal, reps_in_reserve=1)
    before = person.asks("recovery")
    sore = {"muscle_id": "quadriceps-femoris", "score": 8, **({"side": "left"} if named == "side" else {})}
    part = {"muscle_id": "vastus-medialis", "score": 1}
    body = {"at": (NOW - timedelta(hours=2)).isoformat(), "soreness": [part, sore]}
    assert person.client.put(f"{person.path}/checkins/{person.new_id()}", json=body).status_code == 201
    after = person.asks("recovery")

    def change(muscle_id: str, side: str) -> float:
        now, then = (muscle(one, muscle_id, side)["p_ready"] for one in (after, before))
        return float(now - then)

    assert change("vastus-lateralis", "left") < 0.0
    assert (change("vastus-lateralis", "right") < 0.0) == (named == "whole")
    assert change("vastus-medialis", "left") > 0.0  # what is said of the part itself holds
    assert change("gluteus-maximus", "left") == 0.0


def test_soreness_counts_a_little(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    benched(person, 1, reps_in_reserve=1)
    before = muscle(person.asks("recovery"), CHEST)["p_ready"]
    body = {
        "at": (NOW - timedelta(hours=2)).isoformat(), "soreness": [{"muscle_id": CHEST, "score": 8}],
    }  # fmt: skip
    assert person.client.put(f"{person.path}/checkins/{person.new_id()}", json=body).status_code == 201
    sore = muscle(person.asks("recovery"), CHEST)
    assert before - 0.2 < sore["p_ready"] < before
    assert "recovery_soreness_weak" in codes(sore["reasons"])


def test_soreness_counts_and_is_named_where_nothing_was_logged_lately(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    benched(person, 15, reps_in_reserve=1)
    untouched = person.asks("next-session")
    assert person.asks("recovery")["items"] == []
    sore = {"muscle_id": CHEST, "score": 10}
    body = {"at": (NOW - timedelta(hours=1)).isoformat(), "soreness": [sore]}
    assert person.client.put(f"{person.path}/checkins/{person.new_id()}", json=body).status_code == 201
    for asked in ({}, {"muscle_id": CHEST}):
        told = person.asks("recovery", **asked)
        assert {(one["muscle_id"], one["side"]) for one in told["items"]} == {
            (CHEST, "left"),
            (CHEST, "right"),
        }
        item = muscle(told, CHEST)
        assert 0.5 < item["p_ready"] < 0.75
        assert item["ready_ahead"][0]["p_ready"] == item["p_ready"]
        (named,) = [one for one in item["reasons"] if one["code"] == "recovery_soreness_unlogged"]
        assert "10 out of 10" in named["text"]
    assert "planning_sore" not in codes(untouched["reasons"])
    assert "planning_sore" in codes(person.asks("next-session")["reasons"])


def test_what_happened_later_is_not_known_before(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    benched(person, 5, reps_in_reserve=1)
    as_of = (NOW - timedelta(days=2)).isoformat()
    before = person.asks("recovery", as_of=as_of)
    benched(person, 1, reps_in_reserve=1)
    after = person.asks("recovery", as_of=as_of)
    assert after["items"] == before["items"]
    asked_back = person.asks("recovery", at=as_of)
    assert asked_back["items"] == before["items"]
    assert muscle(person.asks("recovery"), CHEST)["p_ready"] < muscle(before, CHEST)["p_ready"]


def test_a_muscle_that_is_asked_for_is_answered_for_though_it_was_never_trained(
    lifter: Callable[..., Lifter],
) -> None:
    person = lifter(BAR_AND_PLATES)
    answer = person.asks("recovery", muscle_id="soleus")
    assert {one["side"] for one in answer["items"]} == {"left", "right"}
    assert all(one["p_ready"] == 1.0 for one in answer["items"])
    assert answer["items"][0]["sets_not_known"]["code"] == "recovery_no_second_session"
    refused = person.asks("recovery", status=409, muscle_id="third-arm")
    assert refused["code"] == "unknown_reference"


def test_readiness_is_asked_for_a_fortnight_ahead_and_no_further(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    benched(person, 1, reps_in_reserve=1)
    answer = person.asks("recovery", at=(NOW + timedelta(days=60)).isoformat(), muscle_id=CHEST)
    assert answer["at"] == (NOW + timedelta(days=14)).isoformat()


def test_an_arm_that_was_trained_alone_is_the_one_that_is_tired(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    session = person.visits(0.4)
    for ordinal in range(6):
        person.logs(
            "one-arm-overhead-press", 0.4, 20, 8, side="right", session_id=session, ordinal=ordinal,
            reps_in_reserve=0,
        )  # fmt: skip
    answer = person.asks("recovery", muscle_id="deltoid-anterior")
    assert muscle(answer, "deltoid-anterior", "right")["p_ready"] < 0.5
    assert muscle(answer, "deltoid-anterior", "left")["p_ready"] == 1.0


def carried(person: Lifter, sides: str) -> None:
    for place, side in enumerate(sides):
        body = person.did("one-arm-carry", 1.0 - 0.003 * place, 30, 1, to_failure=True)
        body.pop("reps")
        person.sends({**body, "distance_m": 40, "side": {"l": "left", "r": "right"}[side]})


def whole(answer: Json) -> dict[str, tuple[float, float]]:
    return {
        one["kind"]: (one["p_ready"], one["residual_fatigue"]["value"])
        for one in answer["items"]
        if one["kind"] != "muscle"
    }


def test_the_trunk_and_the_body_tire_from_whatever_side_was_trained(lifter: Callable[..., Lifter]) -> None:
    told = {}
    for sides in ("lll", "rrr", "lrlrlr", "rlrlrl", "llllll"):
        person = lifter(BAR_AND_PLATES)
        carried(person, sides)
        told[sides] = whole(person.asks("recovery"))
    assert set(told["rrr"]) == {"trunk", "systemic"}
    assert told["lll"] == told["rrr"]
    assert told["lrlrlr"] == told["rlrlrl"] == told["llllll"]
    for kind in ("trunk", "systemic"):
        assert told["lrlrlr"][kind][1] > told["lll"][kind][1]


def test_a_set_that_the_trunk_ended_counts_against_the_muscles_of_its_own_side(
    lifter: Callable[..., Lifter],
) -> None:
    person = lifter(BAR_AND_PLATES)
    for place in range(5):
        for side, limit in (("left", "trunk"), ("right", "target")):
            person.logs("one-leg-romanian-deadlift", 1 - 0.004 * place, 30, 8, side=side, limited_by=limit)
    answer = person.asks("recovery")
    ended = {
        one["side"]: reason["params"]
        for one in answer["items"]
        for reason in one["reasons"]
        if reason["code"] == "recovery_trunk_ended_sets"
    }
    assert set(ended) == {"left", "both"}
    assert (ended["left"]["ended"], ended["left"]["sets"]) == (5, 5)
    assert (ended["both"]["ended"], ended["both"]["sets"]) == (5, 10)


def test_without_consent_nothing_is_computed(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    person.consents(granted=False)
    for answer in ("recovery", "tolerance"):
        assert person.asks(answer, status=403)["code"] == "consent_required"


def test_an_empty_answer_says_why(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    person.logs("bench-press", 1, 40, 8, purpose="warm_up")
    answer = person.asks("recovery")
    assert (answer["items"], codes(answer["reasons"])) == ([], {"recovery_nothing_to_recover_from"})
    assert person.asks("recovery", muscle_id=CHEST)["reasons"] == []
    person.logs("bench-press", 1, 60, 8, reps_in_reserve=1)
    answer = person.asks("recovery")
    assert answer["items"]
    assert answer["reasons"] == []
