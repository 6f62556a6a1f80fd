"""Hard sets by week, muscle and side, asked for over HTTP by an invented athlete."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from starlette.testclient import TestClient

from tests.world import World

Json = dict[str, Any]
NOW = datetime(2026, 11, 27, 9, 0, tzinfo=UTC)
CHEST = "pectoralis-major-sternal"


@dataclass
class Lifter:
    """An invented athlete of a tenant of their own, in Riga unless told otherwise."""

    client: TestClient
    path: str
    new_id: Callable[[], str]

    def logs(self, exercise_id: str, performed_at: str, **said: Any) -> str:
        set_id = said.pop("id", None) or self.new_id()
        if isinstance(said.get("load"), int | float):
            said["load"] = {"value": said["load"], "unit": "kg"}
        body = {"exercise_id": exercise_id, "performed_at": performed_at, **said}
        kept = self.client.put(f"{self.path}/sets/{set_id}", json=body)
        assert kept.status_code == 201, kept.text
        return str(set_id)

    def begins(self, started_at: str) -> str:
        session_id = self.new_id()
        kept = self.client.put(f"{self.path}/sessions/{session_id}", json={"started_at": started_at})
        assert kept.status_code == 201, kept.text
        return session_id

    def asks(self, **parameters: Any) -> Json:
        answer = self.client.get(f"{self.path}/volume", params=parameters)
        assert answer.status_code == 200, answer.text
        found: Json = answer.json()
        return found

    def item(self, muscle_id: str = CHEST, side: str = "both", **parameters: Any) -> Json:
        items = self.asks(muscle_id=muscle_id, **parameters)["items"]
        return next(item for item in items if item["muscle_id"] == muscle_id and item["side"] == side)


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Iterator[Callable[..., Lifter]]:
    def make(**athlete: Any) -> Lifter:
        client = shared_world.signed_in()
        path = f"/v1/athletes/{new_id()}"
        said = {"time_zone": "Europe/Riga", "training_years": 4, **athlete}
        assert client.put(path, json=said).status_code == 201
        consent = {"purpose": "process_health", "granted": True, "text_version": "invented-1"}
        assert client.post(f"{path}/consents", json=consent).status_code == 201
        return Lifter(client, path, new_id)

    shared_world.clock.instant = NOW
    yield make
    shared_world.clock.instant = None


def test_three_hard_sets_of_bench_press_are_three_direct_sets_of_the_chest(
    lifter: Callable[..., Lifter],
) -> None:
    someone = lifter()
    for minute in (0, 4, 8):
        someone.logs(
            "bench-press",
            f"2026-11-24T18:{minute:02}:00+02:00",
            load=80,
            reps=8,
            reps_in_reserve=1,
            purpose="work",
        )
    answer = someone.asks()
    item = someone.item()
    assert answer["model_version"] == "volume/4"
    assert 2.7 <= item["hard_sets"]["value"] <= 3.0
    assert item["direct"] == pytest.approx(item["hard_sets"]["value"])
    assert item["hard_sets"]["interval"]["lower"] < item["hard_sets"]["value"]
    assert item["session_count"] == 1
    assert item["per_session_max"] == pytest.approx(item["hard_sets"]["value"])
    sides = {
        found["side"]: found["hard_sets"]["value"] for found in answer["items"] if found["muscle_id"] == CHEST
    }
    assert sides["left"] == sides["right"] == sides["both"]


def test_the_thresholds_come_in_order_with_intervals_and_say_that_they_are_the_priors(
    lifter: Callable[..., Lifter],
) -> None:
    found = lifter().asks()["thresholds"]
    assert [one["criterion"] for one in found] == ["keeps_size", "detectable_gain", "small_next_gain"]
    values = [one["weekly_hard_sets"]["value"] for one in found]
    assert values == sorted(values)
    assert all(one["prior_share"] >= 0.9 for one in found)
    assert 3.0 <= values[1] <= 6.0
    assert 8.0 <= values[2] <= 25.0


def test_every_set_says_what_it_counted_for_and_why(lifter: Callable[..., Lifter]) -> None:
    someone = lifter()
    told = someone.logs("bench-press", "2026-11-24T18:00:00+02:00", load=80, reps=8, reps_in_reserve=1)
    silent = someone.logs("bench-press", "2026-11-24T18:05:00+02:00", load=80, reps=8)
    item = someone.item(detail="full")
    reasons = {one["set_id"]: one["reason"]["code"] for one in item["sets"]}
    assert reasons == {told: "volume_direct_set", silent: "volume_effort_assumed"}
    assert sum(one["dose"] for one in item["sets"]) == pytest.approx(item["hard_sets"]["value"], abs=1e-3)
    assert "volume_effort_partly_assumed" in {reason["code"] for reason in item["reasons"]}
    assert 0.3 < item["assumed_effort_share"] < 0.55
    assert "sets" not in someone.item()


def test_a_missed_lift_counts_half_and_says_so_and_no_repetition_says_how_to_tell_one(
    lifter: Callable[..., Lifter],
) -> None:
    someone = lifter()
    missed = someone.logs(
        "bench-press", "2026-11-24T18:00:00+02:00", load=110, reps=0, to_failure=True, purpose="work"
    )
    nothing = someone.logs("bench-press", "2026-11-24T18:05:00+02:00", load=110, reps=0, purpose="work")
    item = someone.item(detail="full")
    assert item["hard_sets"]["value"] == pytest.approx(0.5)
    assert item["for_strength"] == pytest.approx(0.5)
    assert [(one["set_id"], one["reason"]["code"]) for one in item["sets"]] == [
        (missed, "volume_missed_lift")
    ]
    assert "did not go up" in item["sets"][0]["reason"]["text"]
    assert [one["set_id"] for one in item["not_counted"]] == [nothing]
    assert "0 repetitions to failure" in item["not_counted"][0]["reason"]["text"]


def test_drops_add_half_a_set_each_and_a_cluster_two_and_a_half_at_most(
    lifter: Callable[..., Lifter],
) -> None:
    counts = {}
    for drops in (0, 1, 2, 3, 5):
        someone = lifter()
        first = someone.logs(
            "bench-press", "2026-11-24T18:00:00+02:00", load=80, reps=8, to_failure=True, purpose="work"
        )
        for stage in range(1, drops + 1):
            someone.logs(
                "bench-press", f"2026-11-24T18:0{stage}:00+02:00", load=80 - 10 * stage, reps=6, stage=stage,
                stage_of=first, to_failure=True, ordinal=stage,
            )  # fmt: skip
        counts[drops] = someone.item()["hard_sets"]["value"]
    assert counts == pytest.approx({0: 1.0, 1: 1.5, 2: 2.0, 3: 2.5, 5: 2.5})


def test_a_drop_set_is_told_stage_by_stage(lifter: Callable[..., Lifter]) -> None:
    """The set was told to count 1.80, "directly (0.90 of the set)", and its drops stood nowhere."""
    someone = lifter()
    at = "2026-11-24T18:0{}:00+02:00"
    first = someone.logs("cable-pressdown", at.format(0), load=45, reps=12, to_failure=True, purpose="work")
    drops = [
        someone.logs(
            "cable-pressdown", at.format(stage), load=45 - 8 * stage, reps=6, stage=stage, stage_of=first,
            to_failure=True, ordinal=stage,
        )
        for stage in (1, 2, 3, 4)
    ]  # fmt: skip
    item = someone.item("triceps-lateral-head", detail="full")
    (told,) = item["sets"]
    assert told["dose"] == pytest.approx(item["hard_sets"]["value"], abs=1e-4)
    assert told["reason"]["code"] == "volume_drop_set"
    assert told["reason"]["params"]["drops"] == 4
    assert [one["set_id"] for one in told["stages"]] == [first, *drops]
    doses = [one["dose"] for one in told["stages"]]
    assert sum(doses) == pytest.approx(told["dose"], abs=1e-3)
    assert doses == pytest.approx([doses[0], *[0.5 * doses[0]] * 3, 0.0], abs=1e-3)
    assert [one["reason"]["code"] for one in told["stages"]] == [
        "volume_direct_set",
        *["volume_drop_counted"] * 3,
        "volume_drop_beyond_most",
    ]
    assert f"Counted as {doses[0]:.2f} of a hard set" in told["stages"][0]["reason"]["text"]
    assert item["not_counted"] == []


def test_a_set_without_drops_has_no_stages_and_drops_of_no_work_are_named_among_what_does_not_count(
    lifter: Callable[..., Lifter],
) -> None:
    someone = lifter()
    at = "2026-11-24T18:0{}:00+02:00"
    first = someone.logs("bench-press", at.format(0), load=40, reps=8, purpose="warm_up")
    drop = someone.logs("bench-press", at.format(1), load=30, reps=6, stage=1, stage_of=first)
    work = someone.logs("bench-press", at.format(5), load=80, reps=8, to_failure=True, purpose="work")
    item = someone.item(detail="full")
    assert [(one["set_id"], "stages" in one) for one in item["sets"]] == [(work, False)]
    assert [(one["set_id"], one["reason"]["code"]) for one in item["not_counted"]] == [
        (first, "volume_not_counted_warm_up"),
        (drop, "volume_not_counted_drop"),
    ]


def test_a_drop_that_comes_before_its_first_load_is_marked_and_counts_when_that_comes(
    lifter: Callable[..., Lifter],
) -> None:
    someone = lifter()
    first = someone.new_id()
    someone.logs(
        "bench-press", "2026-11-24T18:01:00+02:00", load=60, reps=6, stage=1, stage_of=first, to_failure=True
    )
    before = someone.item(detail="full")
    assert before["hard_sets"]["value"] == 0.0
    assert before["sets"][0]["reason"]["code"] == "volume_incomplete_drop"
    assert "volume_drops_without_first_load" in {reason["code"] for reason in before["reasons"]}
    someone.logs(
        "bench-press", "2026-11-24T18:00:00+02:00", id=first, load=80, reps=8, to_failure=True, purpose="work"
    )
    after = someone.item(detail="full")
    assert after["hard_sets"]["value"] == pytest.approx(1.5)
    assert [one["set_id"] for one in after["sets"]] == [first]


def test_unflagged_warm_ups_hardly_count(lifter: Callable[..., Lifter]) -> None:
    """Scenario 5 of the practice: 20x10, 60x5, 80x3, then 100x8 with two in reserve, none with a purpose."""
    someone = lifter()
    session = someone.begins("2026-11-24T18:00:00+02:00")
    for ordinal, (load, reps, reserve) in enumerate(
        [(20, 10, None), (60, 5, None), (80, 3, None), (100, 8, 2)]
    ):
        said = {"reps_in_reserve": reserve} if reserve is not None else {}
        someone.logs(
            "bench-press", f"2026-11-24T18:{5 * ordinal:02}:00+02:00", load=load, reps=reps, ordinal=ordinal,
            session_id=session, **said,
        )  # fmt: skip
    item = someone.item()
    assert 0.9 <= item["hard_sets"]["value"] <= 1.3
    assert "volume_warm_ups_inferred" in {reason["code"] for reason in item["reasons"]}
    told = [one["reason"]["code"] for one in someone.item(detail="full")["sets"]]
    assert told == ["volume_warm_up_inferred"] * 3 + ["volume_direct_set"]


@pytest.mark.parametrize("effort", [{"to_failure": True}, {"reps_in_reserve": 1}])
def test_light_sets_told_to_be_hard_are_no_warm_ups(lifter: Callable[..., Lifter], effort: Json) -> None:
    """Three sets of 60 x 12 taken to the end, then two of 80 x 5, none with a purpose: five hard sets."""
    someone = lifter()
    for ordinal in range(5):
        light = ordinal < 3
        someone.logs(
            "bench-press", f"2026-11-24T18:{5 * ordinal:02}:00+02:00", load=60 if light else 80,
            reps=12 if light else 5, **(effort if light else {"reps_in_reserve": 1}),
        )  # fmt: skip
    item = someone.item(detail="full")
    assert item["hard_sets"]["value"] == pytest.approx(5.0, abs=0.1)
    assert item["reasons"] == []


def test_an_afternoon_that_passes_midnight_in_utc_is_one_session(lifter: Callable[..., Lifter]) -> None:
    """Six sets from 15:30 to 16:20 in Los Angeles, entered in UTC and without a session."""
    someone = lifter(time_zone="America/Los_Angeles")
    for place in range(6):
        at = datetime(2026, 11, 24, 23, 30, tzinfo=UTC) + timedelta(minutes=10 * place)
        someone.logs("bench-press", at.isoformat(), load=80, reps=8, reps_in_reserve=1, purpose="work")
    item = someone.item()
    assert item["session_count"] == 1
    assert item["per_session_max"] == pytest.approx(6.0, abs=0.1)


def test_a_one_sided_lift_without_a_side_is_halved_and_widens_the_interval(
    lifter: Callable[..., Lifter],
) -> None:
    said = {"load": 20, "reps": 10, "to_failure": True, "purpose": "work"}
    unsided, sided = lifter(), lifter()
    muscle = "latissimus-dorsi"
    unsided.logs("one-arm-dumbbell-row", "2026-11-24T18:00:00+02:00", **said)
    sided.logs("one-arm-dumbbell-row", "2026-11-24T18:00:00+02:00", side="left", **said)
    halves = [unsided.item(muscle, side)["hard_sets"] for side in ("left", "right", "both")]
    assert {half["value"] for half in halves} == {0.5}
    assert halves[0]["sd"] > halves[2]["sd"]
    assert unsided.item(muscle, "left")["unspecified_side_share"] == 1.0
    assert [sided.item(muscle, side)["hard_sets"]["value"] for side in ("left", "right", "both")] == [
        1.0,
        0.0,
        0.5,
    ]


def test_holds_count_by_their_length_and_warm_ups_and_easy_practice_do_not(
    lifter: Callable[..., Lifter],
) -> None:
    someone = lifter()
    someone.logs("side-plank", "2026-11-24T18:00:00+02:00", side="left", hold_s=45, to_failure=True)
    someone.logs("side-plank", "2026-11-24T18:03:00+02:00", side="left", hold_s=3, to_failure=True)
    someone.logs("bench-press", "2026-11-24T18:10:00+02:00", load=40, reps=8, purpose="warm_up")
    someone.logs("bench-press", "2026-11-24T18:14:00+02:00", load=60, reps=5, purpose="technique")
    answer = someone.asks()
    assert CHEST not in {item["muscle_id"] for item in answer["items"]}
    direct = max(item["direct"] for item in answer["items"] if item["side"] == "left")
    assert direct == pytest.approx(1.25)


def test_a_week_without_sets_is_zero_for_the_muscles_asked_for(lifter: Callable[..., Lifter]) -> None:
    someone = lifter()
    someone.logs("bench-press", "2026-11-12T18:00:00+02:00", load=80, reps=8, reps_in_reserve=1)
    items = someone.asks(weeks=4, muscle_id=CHEST)["items"]
    values = [item["hard_sets"]["value"] > 0 for item in items if item["side"] == "both"]
    assert values == [False, True, False, False]
    assert [item["week"]["first_day"] for item in items[::3]] == [
        "2026-11-02", "2026-11-09", "2026-11-16", "2026-11-23",
    ]  # fmt: skip
    empty = items[-1]
    assert empty["reasons"][0]["code"] == "volume_nothing_logged"
    someone.logs("bench-press", "2026-11-24T18:10:00+02:00", load=40, reps=8, purpose="warm_up")
    for detail in ("summary", "full"):
        (reason,) = someone.asks(muscle_id=CHEST, detail=detail)["items"][0]["reasons"]
        assert (reason["code"], reason["params"]) == ("volume_none_counted", {"count": 1})
    assert someone.asks()["items"] == []


@pytest.mark.parametrize(
    ("muscles", "weeks", "told"),
    [
        ([], 2, True),
        ([], 3, False),
        ([CHEST], 16, True),
        (["deltoid", "triceps-brachii"], 16, True),
        (["deltoid", "triceps-brachii", CHEST], 16, False),
        (["deltoid", "triceps-brachii", CHEST], 2, True),
    ],
)
def test_set_by_set_so_many_weeks_are_told_at_once_or_so_few_muscles(
    lifter: Callable[..., Lifter], muscles: list[str], weeks: int, told: bool
) -> None:
    someone = lifter()
    someone.logs("bench-press", "2026-11-24T18:00:00+02:00", load=80, reps=8, reps_in_reserve=1)
    asked = {"muscle_id": muscles, "weeks": weeks}
    assert someone.asks(**asked)["items"]
    answer = someone.client.get(f"{someone.path}/volume", params={**asked, "detail": "full"})
    assert answer.status_code == (200 if told else 409), answer.text
    if not told:
        assert answer.headers["Content-Type"] == "application/problem+json"
        problem = answer.json()
        (fault,) = problem["errors"]
        assert (problem["code"], fault["parameter"], fault["code"]) == (
            "not_possible", "weeks", "too_much_detail",
        )  # fmt: skip
        assert fault["detail"].startswith(f"{weeks} weeks of ")
        assert "at most 2 weeks" in fault["expected"]


@pytest.mark.parametrize(
    ("athlete", "performed_at", "first_day"),
    [
        ({"time_zone": "Pacific/Auckland"}, "2026-11-22T23:59:59+13:00", "2026-11-16"),
        ({"time_zone": "Pacific/Auckland"}, "2026-11-23T00:00:00+13:00", "2026-11-23"),
        ({"time_zone": "Pacific/Auckland"}, "2026-11-22T11:00:00Z", "2026-11-23"),
        ({"week_starts_on": "sunday"}, "2026-11-22T10:00:00+02:00", "2026-11-22"),
        ({"week_starts_on": "sunday"}, "2026-11-21T23:59:59+02:00", "2026-11-15"),
        ({"time_zone": "America/Lima"}, "2026-11-22T23:59:59+13:00", "2026-11-16"),
    ],
)
def test_a_set_falls_into_the_week_of_its_own_local_date(
    lifter: Callable[..., Lifter], athlete: Json, performed_at: str, first_day: str
) -> None:
    someone = lifter(**athlete)
    someone.logs("bench-press", performed_at, load=80, reps=8, reps_in_reserve=1)
    items = someone.asks(weeks=3, week_of="2026-11-25", muscle_id=CHEST)["items"]
    assert {item["week"]["first_day"] for item in items if item["hard_sets"]["value"] > 0} == {first_day}


def test_a_session_over_midnight_counts_for_the_week_in_which_it_began(
    lifter: Callable[..., Lifter],
) -> None:
    someone = lifter()
    session = someone.begins("2026-11-22T23:10:00+02:00")
    someone.logs(
        "bench-press", "2026-11-23T00:20:00+02:00", load=80, reps=8, reps_in_reserve=1, session_id=session
    )
    assert someone.item(week_of="2026-11-22")["hard_sets"]["value"] > 0.9
    assert someone.item(week_of="2026-11-23")["hard_sets"]["value"] == 0.0


def test_a_change_of_zone_leaves_a_set_with_its_offset_in_its_week(lifter: Callable[..., Lifter]) -> None:
    someone = lifter(time_zone="Pacific/Auckland")
    someone.logs("bench-press", "2026-11-22T23:59:59+13:00", load=80, reps=8, reps_in_reserve=1)
    etag = someone.client.get(someone.path).headers["ETag"]
    moved = someone.client.patch(
        someone.path, json={"time_zone": "America/Lima"},
        headers={"If-Match": etag, "Content-Type": "application/merge-patch+json"},
    )  # fmt: skip
    assert moved.status_code == 200, moved.text
    item = someone.item(week_of="2026-11-16")
    assert item["hard_sets"]["value"] > 0.9
    assert item["week"]["time_zone"] == "America/Lima"


def test_a_week_in_which_the_clocks_change_lasts_an_hour_more(lifter: Callable[..., Lifter]) -> None:
    week = lifter().item(week_of="2026-10-25")["week"]
    start, end = (datetime.fromisoformat(week[name]) for name in ("start", "end"))
    assert end - start == timedelta(hours=169)


def test_only_what_had_happened_by_then_is_counted(lifter: Callable[..., Lifter]) -> None:
    someone = lifter()
    someone.logs("bench-press", "2026-11-24T18:00:00+02:00", load=80, reps=8, reps_in_reserve=1)
    assert someone.item(as_of="2026-11-24T17:59:00+02:00")["hard_sets"]["value"] == 0.0
    assert someone.item(as_of="2026-11-24T18:00:00+02:00")["hard_sets"]["value"] > 0.9


@pytest.mark.parametrize(("asked", "first_day"), [("0001-01-01", "1929-12-30"), ("9999-12-31", "2199-12-30")])
def test_weeks_beyond_any_log_are_empty_and_no_calendar_overflows(
    lifter: Callable[..., Lifter], asked: str, first_day: str
) -> None:
    item = lifter(time_zone="Pacific/Kiritimati").item(week_of=asked)
    assert (item["week"]["first_day"], item["hard_sets"]["value"]) == (first_day, 0.0)


def test_refusals_name_what_is_missing(lifter: Callable[..., Lifter]) -> None:
    someone = lifter()
    unknown = someone.client.get(f"{someone.path}/volume", params={"muscle_id": "no-such-muscle"})
    assert (unknown.status_code, unknown.json()["code"]) == (409, "unknown_reference")
    wrong = [{"weeks": 17}, {"week_of": "2026-13-01"}, {"detail": "some"}]
    for parameters in wrong:
        assert someone.client.get(f"{someone.path}/volume", params=parameters).status_code == 422
    assert someone.client.get(f"/v1/athletes/{someone.new_id()}/volume").status_code == 404
    withdrawn = {"purpose": "process_health", "granted": False, "text_version": "invented-1"}
    someone.client.post(f"{someone.path}/consents", json=withdrawn)
    closed = someone.client.get(f"{someone.path}/volume")
    assert (closed.status_code, closed.json()["code"]) == (403, "consent_required")


def test_an_answer_that_still_stands_is_not_sent_again(lifter: Callable[..., Lifter]) -> None:
    someone = lifter()
    first = someone.client.get(f"{someone.path}/volume")
    held = {"If-None-Match": first.headers["ETag"]}
    assert someone.client.get(f"{someone.path}/volume", headers=held).status_code == 304
    someone.logs("bench-press", "2026-11-24T18:00:00+02:00", load=80, reps=8, reps_in_reserve=1)
    assert someone.client.get(f"{someone.path}/volume", headers=held).status_code == 200


def test_a_chart_of_the_week_or_of_one_muscles_weeks(lifter: Callable[..., Lifter]) -> None:
    person = lifter()
    for day in (3, 10, 17):
        person.logs("bench-press", f"2026-11-{day:02d}T18:00:00+02:00", load=80, reps=8, reps_in_reserve=2)
    for query in ({"week_of": "2026-11-17"}, {"muscle_id": CHEST, "weeks": 3, "week_of": "2026-11-17"}):
        answer = person.client.get(f"{person.path}/volume", params={**query, "format": "svg"})
        assert answer.headers["Content-Type"].startswith("image/svg+xml")
        assert "<title" in answer.text
        assert "pectoralis major sternal" in answer.text


@pytest.mark.parametrize(
    ("query", "accept"),
    [({"format": "svg"}, "*/*"), ({}, "image/svg+xml"), ({"format": "svg", "weeks": 16}, "*/*")],
)
def test_a_chart_needs_no_set_by_set_detail_and_is_not_refused_for_it(
    lifter: Callable[..., Lifter], query: dict[str, Any], accept: str
) -> None:
    person = lifter()
    person.logs("bench-press", "2026-11-24T18:00:00+02:00", load=80, reps=8, reps_in_reserve=1)
    drawn = [
        person.client.get(
            f"{person.path}/volume",
            params={"weeks": 3, **query, "detail": detail},
            headers={"Accept": accept},
        )
        for detail in ("full", "summary")
    ]
    assert [one.status_code for one in drawn] == [200, 200], drawn[0].text
    assert all(one.headers["Content-Type"].startswith("image/svg+xml") for one in drawn)
    assert drawn[0].text == drawn[1].text
    asked = {"weeks": 3, **query, "detail": "full", "format": "json"}
    assert person.client.get(f"{person.path}/volume", params=asked).status_code == 409
