"""Whatever the order, the batches, the repetitions and the way in which a log arrives, it is the same log."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from typing import Any
from uuid import UUID, uuid4

from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from service.usecases.api_keys import parse
from service.usecases.documents import to_document
from service.usecases.ports import Caller
from tests.world import ALL_SCOPES, World

START = datetime(2026, 11, 20, 17, 0, tzinfo=UTC)
SESSIONS = [str(uuid4()) for _ in range(2)]
EXERCISES = ("bench-press", "back-squat", "dumbbell-curl")
WAYS = ("put", "json", "ndjson", "operations")
Entry = tuple[str, str, dict[str, Any]]


@dataclass(frozen=True, slots=True)
class Delivery:
    """Some entries of a log, sent in one way."""

    way: str
    entries: tuple[Entry, ...]


@st.composite
def logs(draw: st.DrawFn) -> list[Entry]:
    """Return the entries of two sessions, in the order in which they happened: sessions first, drops after their set."""
    entries: list[Entry] = [
        ("session", id, {"started_at": (START + timedelta(days=day)).isoformat()})
        for day, id in zip(draw(st.permutations(range(2))), SESSIONS, strict=True)
    ]
    for number in range(draw(st.integers(3, 9))):
        id, session = str(uuid4()), draw(st.sampled_from([*SESSIONS, None]))
        zone = timezone(timedelta(hours=draw(st.integers(-3, 5))))
        at = (START + timedelta(minutes=draw(st.integers(0, 6)), days=draw(st.integers(0, 1)))).astimezone(
            zone
        )
        body = {
            "exercise_id": draw(st.sampled_from(EXERCISES[:2])), "performed_at": at.isoformat(),
            "ordinal": draw(st.integers(0, 2)), "load": {"value": draw(st.sampled_from([60, 62.5, 80])), "unit": "kg"},
            "reps": draw(st.integers(1, 12)), **({"session_id": session} if session else {}),
        }  # fmt: skip
        entries.append(("set", id, body))
        if draw(st.booleans()):
            entries.append(("set", str(uuid4()), {**body, "stage": 1, "stage_of": id, "reps": 3 + number}))
    return entries


@st.composite
def deliveries(draw: st.DrawFn, log: Sequence[Entry]) -> list[Delivery]:
    """Return the log shuffled, some of it twice, cut into batches, each sent in some way."""
    repeated = draw(st.lists(st.sampled_from(log), max_size=4))
    shuffled = draw(st.permutations([*log, *repeated]))
    made: list[Delivery] = []
    while shuffled:
        size = draw(st.integers(1, 6))
        batch, shuffled = shuffled[:size], shuffled[size:]
        way = draw(st.sampled_from(WAYS))
        if any(kind == "session" for kind, _, _ in batch) and way in {"json", "ndjson"}:
            way = "operations"
        made.append(Delivery(way, tuple(batch)))
    return made


def send(client: TestClient, athlete: str, delivery: Delivery) -> None:
    if delivery.way == "put":
        for kind, id, body in delivery.entries:
            answer = client.put(f"{athlete}/{kind}s/{id}", json=body)
            assert answer.status_code in {200, 201}, answer.text
        return
    if delivery.way == "operations":
        queue = [{"op": "put", "type": kind, "id": id, "body": body} for kind, id, body in delivery.entries]
        answer = client.post(f"{athlete}/operations", json={"mode": "each", "operations": queue})
    elif delivery.way == "json":
        sets = [{"id": id, **body} for _, id, body in delivery.entries]
        answer = client.post(f"{athlete}/sets", json={"sets": sets})
    else:
        lines = "\n".join(json.dumps({"id": id, **body}) for _, id, body in delivery.entries)
        headers = {"Content-Type": "application/x-ndjson"}
        answer = client.post(f"{athlete}/sets", content=lines, headers=headers)
    assert answer.status_code in {200, 201}, answer.text


def listed(client: TestClient, athlete: str) -> list[dict[str, Any]]:
    """Return everything that the lists show of an athlete's log, but for whose it is and when it arrived."""
    apart = {"received_at", "updated_at", "athlete_id"}
    items = [
        item
        for kind in ("sets", "sessions")
        for item in client.get(f"{athlete}/{kind}", params={"page_size": 1000}).json()["items"]
    ]
    return [{name: value for name, value in item.items() if name not in apart} for item in items]


def folded(world: World, client: TestClient, athlete: str) -> list[tuple[UUID, dict[str, Any]]]:
    """Return the sets in the order of the fold, as the models will read them."""
    parsed = parse(client.headers["authorization"].removeprefix("Bearer "))
    assert parsed is not None
    caller = Caller(parsed.tenant_id, parsed.key_id, frozenset(ALL_SCOPES))
    with world.app.state.services.store.read(caller) as work:
        found = work.log.sets_between(
            UUID(athlete[-36:]), START - timedelta(days=9), START + timedelta(days=9)
        )
    return [(stored.id, to_document(stored.record)) for stored in found]


def by_what_happened(log: Sequence[Entry]) -> list[str]:
    """Return the ids of a log's sets in the canonical order, worked out from the entries alone."""
    starts = {id: datetime.fromisoformat(body["started_at"]) for kind, id, body in log if kind == "session"}

    def place(entry: Entry) -> tuple[Any, ...]:
        _, id, body = entry
        at, session = datetime.fromisoformat(body["performed_at"]), body.get("session_id")
        return (starts.get(session or "", at), session is None, session or "", body["ordinal"], at, id)

    return [id for _, id, _ in sorted((entry for entry in log if entry[0] == "set"), key=place)]


# No shrinking: it sends each smaller log to the database once more, for minutes.
@settings(max_examples=15, deadline=None, derandomize=True, phases=(Phase.explicit, Phase.generate))
@given(data=st.data())
def test_every_order_of_arrival_makes_the_same_log(shared_world: World, data: st.DataObject) -> None:
    log = data.draw(logs())
    client = shared_world.signed_in()
    in_order, as_it_came = (f"/v1/athletes/{uuid4()}" for _ in range(2))
    for athlete in (in_order, as_it_came):
        client.put(athlete, json={"time_zone": "Europe/Riga"})
    send(client, in_order, Delivery("put", tuple(log)))
    for delivery in data.draw(deliveries(log)):
        send(client, as_it_came, delivery)
    assert listed(client, as_it_came) == listed(client, in_order)
    order = folded(shared_world, client, as_it_came)
    assert order == folded(shared_world, client, in_order)
    assert [str(id) for id, _ in order] == by_what_happened(log)
    changes = client.get("/v1/changes", params={"athlete_id": as_it_came[-36:], "page_size": 1000}).json()
    fed = [(item["kind"], item["id"], item["op"]) for item in changes["items"] if item["kind"] != "athlete"]
    assert sorted(fed) == sorted((kind, id, "put") for kind, id, _ in log)


def test_a_drop_may_come_before_its_set_and_a_set_before_its_session(shared_world: World) -> None:
    client = shared_world.signed_in()
    athlete, first, session = f"/v1/athletes/{uuid4()}", str(uuid4()), str(uuid4())
    client.put(athlete, json={"time_zone": "Europe/Riga"})
    body = {
        "exercise_id": "bench-press", "performed_at": START.isoformat(), "session_id": session,
        "load": {"value": 80, "unit": "kg"}, "reps": 6,
    }  # fmt: skip
    drop = {**body, "stage": 1, "stage_of": first, "load": {"value": 60, "unit": "kg"}, "ordinal": 2}
    drop_id = str(uuid4())
    assert client.put(f"{athlete}/sets/{drop_id}", json=drop).status_code == 201
    assert client.put(f"{athlete}/sets/{first}", json={**body, "ordinal": 1}).status_code == 201
    late = {"started_at": (START + timedelta(days=1)).isoformat()}
    alone = str(uuid4())
    assert client.put(f"{athlete}/sets/{alone}", json={**body, "session_id": None}).status_code == 201
    assert [str(id) for id, _ in folded(shared_world, client, athlete)] == [first, drop_id, alone]
    assert client.put(f"{athlete}/sessions/{session}", json=late).status_code == 201
    assert [str(id) for id, _ in folded(shared_world, client, athlete)] == [alone, first, drop_id]


def test_two_hundred_sets_shuffled_and_rebatched_give_equal_computed_answers(shared_world: World) -> None:
    client = shared_world.signed_in()
    rows = [
        {
            "id": str(uuid4()), "exercise_id": EXERCISES[number % 2], "ordinal": number % 7,
            "performed_at": (START - timedelta(days=number // 20, minutes=number % 5)).isoformat(),
            "load": {"value": 60 + number % 9 * 2.5, "unit": "kg"}, "reps": 3 + number % 8, "reps_in_reserve": number % 4,
        }
        for number in range(200)
    ]  # fmt: skip
    shuffled = [rows[number * 37 % 200] for number in range(200)]
    assert shuffled != rows
    answers = []
    for order, size in ((rows, 200), (shuffled, 17)):
        athlete = f"/v1/athletes/{uuid4()}"
        client.put(athlete, json={"time_zone": "Europe/Riga"})
        client.post(
            f"{athlete}/consents", json={"purpose": "process_health", "granted": True, "text_version": "1"}
        )
        for start in range(0, 200, size):
            batch = order[start : start + size]
            assert client.post(f"{athlete}/sets", json={"sets": batch + batch[:3]}).status_code == 201
        answers.append([asked(client, f"{athlete}/{question}") for question in QUESTIONS])
    assert answers[0] == answers[1]


QUESTIONS = (
    "volume?as_of=2026-11-21T00:00:00Z",
    "imbalance-indices?as_of=2026-11-21T00:00:00Z",
    "capability?exercise_id=bench-press&as_of=2026-11-21T00:00:00Z",
)


def asked(client: TestClient, question: str) -> Any:
    """Return a computed answer without the feed's position, which counts the writes of everybody."""
    answer = client.get(question)
    assert answer.status_code == 200, answer.text
    return {name: value for name, value in answer.json().items() if name != "position"}
