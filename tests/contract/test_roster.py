"""The roster of an invented coach: many athletes at once, streamed."""

import csv
import gc
import io
import json
import tracemalloc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import partial
from typing import Any
from uuid import UUID, uuid4

import pytest
from starlette.testclient import TestClient

from service.usecases.answers.roster import RosterEnd, RosterQuestion, RosterRow, stream_roster
from service.usecases.errors import StoreUnavailable
from service.usecases.ports import Caller, Reach
from service.web.routes.roster import typed_lines
from service.web.streaming import ndjson_lines
from tests.store.statements import listening
from tests.world import ALL_SCOPES, World

Json = dict[str, Any]
NOW = datetime(2026, 11, 27, 9, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def friday(shared_world: World) -> Iterator[None]:
    shared_world.clock.instant = NOW
    yield
    shared_world.clock.instant = None


def person(
    client: TestClient, *, consents: tuple[str, ...] = ("process_health", "coach"), **said: Any
) -> str:
    athlete_id = str(uuid4())
    body = {"time_zone": "Europe/Riga", "training_years": 3, **said}
    assert client.put(f"/v1/athletes/{athlete_id}", json=body).status_code == 201
    for purpose in consents:
        decision = {"purpose": purpose, "granted": True, "text_version": "invented-1"}
        assert client.post(f"/v1/athletes/{athlete_id}/consents", json=decision).status_code == 201
    return athlete_id


def trains(client: TestClient, athlete_id: str, performed_at: str = "2026-11-24T18:00:00+02:00") -> None:
    sets = [
        {
            "id": str(uuid4()), "exercise_id": exercise_id, "performed_at": performed_at, "side": side,
            "load": {"value": 20, "unit": "kg"}, "reps": 10, "reps_in_reserve": 1, "purpose": "work",
        }
        for exercise_id in ("one-arm-dumbbell-row", "one-arm-overhead-press") for side in ("left", "right")
    ]  # fmt: skip
    kept = client.post(f"/v1/athletes/{athlete_id}/sets", json={"sets": sets})
    assert kept.status_code in {200, 201}, kept.text


def streamed(client: TestClient, answer: str = "volume", **parameters: Any) -> list[Json]:
    got = client.get(f"/v1/roster/{answer}", params=parameters)
    assert got.status_code == 200, got.text
    assert got.headers["content-type"].startswith("application/x-ndjson")
    return [json.loads(line) for line in got.text.splitlines()]


def table(client: TestClient, answer: str = "volume", **parameters: Any) -> list[dict[str, str]]:
    got = client.get(f"/v1/roster/{answer}", params={"format": "csv", **parameters})
    assert got.status_code == 200, got.text
    delimiter = parameters.get("delimiter", ",")
    return list(csv.DictReader(io.StringIO(got.content.decode("utf-8-sig"), newline=""), delimiter=delimiter))


def test_each_athletes_rows_come_in_order_of_id_and_the_end_counts_them(shared_world: World) -> None:
    client = shared_world.signed_in()
    people = sorted(person(client) for _ in range(3))
    for athlete_id in people:
        trains(client, athlete_id)
    lines = streamed(client)
    rows = [line for line in lines if line["type"] == "row"]
    assert list(dict.fromkeys(row["athlete_id"] for row in rows)) == people
    assert lines[-1] == {"type": "end", "count": len(rows), "athlete_count": 3, "problem_count": 0}
    own = client.get(f"/v1/athletes/{people[0]}/volume").json()
    assert [row["item"] for row in rows if row["athlete_id"] == people[0]] == own["items"]
    assert {row["model_version"] for row in rows} == {"volume/4"}
    assert len({row["as_of"] for row in rows}) == 1


@pytest.mark.parametrize("answer", ["volume", "imbalance-indices"])
def test_a_table_has_the_same_rows_and_numbers_as_the_lines(shared_world: World, answer: str) -> None:
    client = shared_world.signed_in()
    trains(client, person(client, external_ref="=1+1", display_name="An invented name"))
    rows = [line for line in streamed(client, answer) if line["type"] == "row"]
    records = table(client, answer)
    assert len(records) == len(rows) > 0
    measured = "hard_sets" if answer == "volume" else "t"
    for record, row in zip(records, rows, strict=True):
        assert float(record[measured]) == pytest.approx(row["item"][measured]["value"])
        assert float(record[f"{measured}_lower"]) == pytest.approx(row["item"][measured]["interval"]["lower"])
        assert record["external_ref"] == "'=1+1"
        assert record["status"] == "ok"
        assert record["caution"]


def lowers(client: TestClient, athlete_id: str, exercise_id: str, first: float, last: float) -> None:
    """Twelve steady weeks of one lift, then eight from one load to another, twice a week, two sets with their reserve."""
    sets = [
        {
            "id": str(uuid4()), "exercise_id": exercise_id,
            "performed_at": (NOW - timedelta(days=53 - 3.5 * at, minutes=number)).isoformat(),
            "load": {"value": round(first + (last - first) * max(at, 0) / 15, 1), "unit": "kg"}, "reps": 8,
            "reps_in_reserve": 2, "purpose": "work",
        }
        for at in range(-24, 16) for number in range(2)
    ]  # fmt: skip
    kept = client.post(f"/v1/athletes/{athlete_id}/sets", json={"sets": sets})
    assert kept.status_code in {200, 201}, kept.text


def test_a_rosters_trends_are_one_row_an_athlete_with_what_falls_and_what_is_due(shared_world: World) -> None:
    client = shared_world.signed_in()
    falls, rises, new = (person(client) for _ in range(3))
    lowers(client, falls, "bench-press", 100.0, 70.0)
    lowers(client, rises, "bench-press", 70.0, 100.0)
    lines = streamed(client, "trends")
    rows = {line["athlete_id"]: line["item"] for line in lines if line["type"] == "row"}
    assert rows.keys() == {falls, rises}
    assert [line["athlete_id"] for line in lines if line["type"] == "problem"] == [new]
    assert rows[falls]["lifts"] == {"progress": 0, "stall": 0, "regression": 1, "not_decided": 0}
    assert rows[falls]["regression_exercise_ids"] == ["bench-press"]
    assert rows[rises]["lifts"]["progress"] == 1
    own = client.get(f"/v1/athletes/{falls}/trends").json()
    assert rows[falls]["due_check_count"] == len(own["due_checks"])
    assert rows[falls]["easier_week"] == own["easier_week"]["suggestion"]
    assert [item["state"] for item in own["items"] if item["scope"] == "exercise"] == ["regression"]


def test_a_table_of_trends_has_a_record_an_athlete(shared_world: World) -> None:
    client = shared_world.signed_in()
    athlete_id = person(client)
    lowers(client, athlete_id, "bench-press", 100.0, 70.0)
    (record,) = table(client, "trends")
    assert (record["regression_count"], record["regression_exercise_ids"]) == ("1", "bench-press")
    assert record["stall_exercise_ids"] == ""
    assert int(record["observation_count"]) == 32
    assert record["due_check_count"] == str(len(record["due_checks"].split()))


def test_a_check_that_is_due_is_a_row_even_where_nothing_was_trained_of_late(shared_world: World) -> None:
    client = shared_world.signed_in()
    athlete_id = person(client)
    checked = {
        "at": (NOW - timedelta(hours=20)).isoformat(),
        "pain": [{"region": "knee", "side": "left", "during": 4}],
    }
    assert client.put(f"/v1/athletes/{athlete_id}/checkins/{uuid4()}", json=checked).status_code == 201
    (row,) = [line for line in streamed(client, "trends") if line["type"] == "row"]
    assert row["item"]["lift_count"] == 0
    assert [one["kind"] for one in row["item"]["due_checks"]] == ["next_morning_pain"]


@pytest.fixture
def gym(shared_world: World) -> tuple[TestClient, str]:
    """An invented gym with dumbbells from 2 to 40 kg."""
    client, site = shared_world.signed_in(), str(uuid4())
    made = client.put(f"/v1/sites/{site}", json={"name": "An invented gym", "time_zone": "Europe/Riga"})
    assert made.status_code == 201, made.text
    rack = {"kind": "dumbbells", "name": "Rack", "unit": "kg", "first": 2, "last": 40, "step": 2}
    bench = {"kind": "gear", "name": "Flat bench", "gear": "bench"}
    stocked = client.put(f"/v1/sites/{site}/implements", json={"items": [rack, bench]})
    assert stocked.status_code == 201, stocked.text
    return client, site


def test_what_can_be_lifted_is_a_record_for_each_number_of_repetitions(gym: tuple[TestClient, str]) -> None:
    client, _ = gym
    trains(client, person(client))
    items = [line["item"] for line in streamed(client, "capability") if line["type"] == "row"]
    told = [
        (item["exercise_id"], item["side"], str(load["reps"]), load["load"]["value"])
        for item in items for load in item["loads"]
    ]  # fmt: skip
    found = [
        (record["exercise_id"], record["side"], record["reps"], pytest.approx(float(record["load"])))
        for record in table(client, "capability")
    ]
    assert told == found
    assert len(found) == 8 * len(items) > 0


def test_next_loads_are_in_the_unit_asked_for_and_need_a_site(gym: tuple[TestClient, str]) -> None:
    client, site = gym
    here, nowhere = person(client, home_site_id=site), person(client)
    for athlete_id in (here, nowhere):
        trains(client, athlete_id)
    records = table(client, "load-progression", unit="lb")
    status = {record["athlete_id"]: record["status"] for record in records}
    assert status == {here: "ok", nowhere: "site_required"}
    loads = [record for record in records if record["load"]]
    assert loads
    for record in loads:
        assert record["load_unit"] == "lb"
        kilograms = float(record["load"]) * 0.45359237
        assert kilograms == pytest.approx(2 * round(kilograms / 2), abs=0.01)
    assert {record["site_id"] for record in loads} == {site}


def test_a_next_session_is_a_record_for_each_set_or_the_reason_why_it_is_closed(
    gym: tuple[TestClient, str],
) -> None:
    client, site = gym
    here, closed = person(client, home_site_id=site), person(client, home_site_id=site)
    for athlete_id in (here, closed):
        trains(client, athlete_id)
    referred = {
        "instrument": "an invented form", "instrument_version": "1", "performed_on": "2026-11-20", "outcome": "referred",
    }  # fmt: skip
    assert client.post(f"/v1/athletes/{closed}/screenings", json=referred).status_code == 201
    lines = streamed(client, "next-session")
    plan = [line for line in lines if line["type"] == "row"]
    records = [record for record in table(client, "next-session") if record["status"] == "ok"]
    assert len(records) == sum(len(line["item"]["sets"]) for line in plan) > 0
    assert [record["set_number"] for record in records][:2] == ["1", "2"]
    assert {record["athlete_id"] for record in records} == {here}
    problems = {line["athlete_id"]: line["problem"]["code"] for line in lines if line["type"] == "problem"}
    assert problems == {closed: "clearance_required"}


def test_german_spreadsheets_get_semicolons_and_decimal_commas(shared_world: World) -> None:
    client = shared_world.signed_in()
    trains(client, person(client))
    german = table(client, delimiter=";", decimal=",", bom="true")
    english = table(client)
    assert german[0]["hard_sets"] == english[0]["hard_sets"].replace(".", ",")
    raw = client.get("/v1/roster/volume", params={"format": "csv", "bom": "true"})
    assert raw.content.startswith(b"\xef\xbb\xbfathlete_id,")
    assert raw.headers["content-type"] == "text/csv; charset=utf-8; header=present"


def test_a_withdrawn_consent_is_a_problem_and_the_stream_goes_on(shared_world: World) -> None:
    client = shared_world.signed_in()
    open_, closed, never = person(client), person(client), person(client, consents=("process_health",))
    for athlete_id in (open_, closed, never):
        trains(client, athlete_id)
    withdrawn = {"purpose": "coach", "granted": False, "text_version": "invented-1"}
    client.post(f"/v1/athletes/{closed}/consents", json=withdrawn)
    lines = streamed(client)
    problems = {line["athlete_id"]: line["problem"] for line in lines if line["type"] == "problem"}
    assert set(problems) == {closed, never}
    assert {problem["code"] for problem in problems.values()} == {"consent_required"}
    assert {line["athlete_id"] for line in lines if line["type"] == "row"} == {open_}
    assert (lines[-1]["type"], lines[-1]["problem_count"]) == ("end", 2)
    records = {record["athlete_id"]: record for record in table(client)}
    assert records[closed]["status"] == "consent_required"
    assert "consent" in records[closed]["caution"]
    assert records[closed]["hard_sets"] == ""


def test_an_athlete_without_anything_logged_is_named_and_not_passed_over(shared_world: World) -> None:
    client = shared_world.signed_in()
    idle = person(client)
    lines = streamed(client)
    assert [(line["type"], line.get("athlete_id")) for line in lines] == [("problem", idle), ("end", None)]
    assert lines[0]["problem"]["code"] == "nothing_to_compute_on"


def test_groups_and_sites_narrow_a_roster(shared_world: World) -> None:
    client = shared_world.signed_in()
    site = str(uuid4())
    made = client.put(f"/v1/sites/{site}", json={"name": "An invented gym", "time_zone": "Europe/Riga"})
    assert made.status_code == 201, made.text
    here, there = person(client, home_site_id=site), person(client)
    for athlete_id in (here, there):
        trains(client, athlete_id)
    group = str(uuid4())
    client.put(f"/v1/groups/{group}", json={"name": "mornings", "athlete_ids": [there]})

    def named(**parameters: Any) -> set[str]:
        return {line["athlete_id"] for line in streamed(client, **parameters) if line["type"] == "row"}

    assert named() == {here, there}
    assert named(group_id=group) == {there}
    assert named(site_id=site) == {here}
    assert named(site_id=site, group_id=group) == set()


def test_what_is_out_of_reach_is_not_there(shared_world: World) -> None:
    tenant = shared_world.tenant()
    client = shared_world.client(shared_world.key(tenant))
    mine, other = person(client), person(client)
    for athlete_id in (mine, other):
        trains(client, athlete_id)
    groups = {}
    for name, member in (("mine", mine), ("other", other)):
        groups[name] = str(uuid4())
        client.put(f"/v1/groups/{groups[name]}", json={"name": name, "athlete_ids": [member]})
    reach = Reach(everyone=False, group_ids=(UUID(groups["mine"]),))
    coach = shared_world.client(shared_world.key(tenant, reach=reach))
    assert {line["athlete_id"] for line in streamed(coach) if "athlete_id" in line} == {mine}
    refused = [
        coach.get("/v1/roster/volume", params={"group_id": group_id})
        for group_id in (groups["other"], uuid4())
    ]
    assert [answer.status_code for answer in refused] == [404, 404]
    assert refused[0].content == refused[1].content


def test_a_key_without_the_scope_and_unknown_answers_are_refused(shared_world: World) -> None:
    tenant = shared_world.tenant()
    narrow = shared_world.client(shared_world.key(tenant, scopes=("answer:read",)))
    assert narrow.get("/v1/roster/volume").status_code == 403
    client = shared_world.client(shared_world.key(tenant))
    assert client.get("/v1/roster/horoscope").status_code == 404
    assert client.get("/v1/roster/volume", params={"delimiter": "|"}).status_code == 422
    assert client.get("/v1/roster/volume", headers={"Accept": "image/png"}).status_code == 406
    by_format = client.get(
        "/v1/roster/volume", params={"format": "csv"}, headers={"Accept": "application/json"}
    )
    assert (by_format.status_code, by_format.headers["content-type"][:8]) == (200, "text/csv")
    by_accept = client.get("/v1/roster/volume", headers={"Accept": "text/csv"})
    assert by_accept.headers["content-type"].startswith("text/csv")


def test_a_past_week_is_answered_as_things_stood_at_its_end(shared_world: World) -> None:
    client = shared_world.signed_in()
    athlete_id = person(client)
    trains(client, athlete_id, "2026-11-11T18:00:00+02:00")
    trains(client, athlete_id)
    (first, *_) = streamed(client, week_of="2026-11-11")
    assert first["item"]["week"]["first_day"] == "2026-11-09"
    assert first["as_of"] == first["item"]["week"]["end"] == "2026-11-16T00:00:00+02:00"
    (size, *_) = streamed(client, "imbalance-indices", week_of="2026-11-11")
    assert size["item"]["basis"]["observation_count"] == 1


@dataclass(frozen=True, slots=True)
class Crowd:
    """A tenant's coach, with a group of the first half of the athletes, who each trained once."""

    caller: Caller
    half: UUID


@pytest.fixture
def crowd(shared_world: World) -> Callable[[int], Crowd]:
    def gather(count: int) -> Crowd:
        tenant = shared_world.tenant()
        client = shared_world.client(shared_world.key(tenant))
        people = [person(client) for _ in range(count)]
        for athlete_id in people:
            trains(client, athlete_id)
        half = uuid4()
        group = {"name": "an invented half", "athlete_ids": people[: count // 2]}
        assert client.put(f"/v1/groups/{half}", json=group).status_code == 201
        return Crowd(Caller(tenant, uuid4(), frozenset(ALL_SCOPES)), half)

    return gather


@contextmanager
def holding() -> Iterator[Callable[[], int]]:
    """Let ask how much of what was made since is still held [bytes], whenever the collector happened to run."""
    gc.collect()
    gc.freeze()  # what was there before is not walked again at every line
    tracemalloc.start()

    def held() -> int:
        gc.collect()
        return tracemalloc.get_traced_memory()[0]

    try:
        yield held
    finally:
        tracemalloc.stop()
        gc.unfreeze()


def test_a_roster_of_120_takes_no_more_memory_than_one_of_60_and_as_many_statements_each(
    shared_world: World, crowd: Callable[[int], Crowd]
) -> None:
    services, people = shared_world.app.state.services, crowd(120)
    read = partial(services.read, people.caller)

    def run(group_id: UUID | None) -> tuple[int, int]:
        """Return the most that a whole stream held at any of its lines [bytes], and its statements."""
        lines = stream_roster(read, services.texts, RosterQuestion("volume", group_id), NOW)
        with listening(services.store.database.engine) as sent, holding() as held:
            sent_count, most = 0, 0
            for chunk in ndjson_lines(typed_lines(lines)):
                assert chunk
                sent_count += len(sent)
                sent.clear()
                most = max(most, held())
        return most, sent_count + len(sent)

    for _ in ndjson_lines(typed_lines(stream_roster(read, services.texts, RosterQuestion("volume"), NOW))):
        pass  # what is kept for good after a first time is kept by now
    (held_half, asked_half), (held_whole, asked_whole) = run(people.half), run(None)
    assert held_whole < 1.25 * held_half
    # Each page of athletes is a transaction of two statements: two pages for 60, three for 120.
    each = (asked_half - 4) / 60
    assert each == (asked_whole - 6) / 120 == int(each)
    assert each <= 20


def test_a_stream_that_loses_its_store_has_no_end(shared_world: World, crowd: Callable[[int], Crowd]) -> None:
    services = shared_world.app.state.services
    caller, opened = crowd(3).caller, 0

    def read() -> Any:
        nonlocal opened
        opened += 1
        if opened == 4:
            raise StoreUnavailable
        return services.read(caller)

    lines = []
    stream = stream_roster(read, services.texts, RosterQuestion("volume"), NOW)
    with pytest.raises(StoreUnavailable):
        lines.extend(stream)
    assert lines
    assert all(isinstance(line, RosterRow) for line in lines)
    whole = list(stream_roster(partial(services.read, caller), services.texts, RosterQuestion("volume"), NOW))
    assert isinstance(whole[-1], RosterEnd)
