"""HTTP behaviour: every refusal is a problem with its own status, and what is accepted is what the contract says."""

import json
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from starlette.testclient import TestClient

from service.web.middleware import LARGEST_BODY
from tests.world import World

Json = dict[str, Any]
_PROBLEM = "application/problem+json"
_SET: Json = {
    "exercise_id": "bench-press", "performed_at": "2026-11-23T18:20:00+02:00", "ordinal": 1, "side": "both",
    "load": {"value": 82.5, "unit": "kg"}, "reps": 6,
}  # fmt: skip


@pytest.fixture(scope="module")
def caller(shared_world: World) -> TestClient:
    shared_world.clock.instant = datetime(2026, 11, 24, 12, 0, tzinfo=UTC)
    return shared_world.signed_in()


@pytest.fixture(scope="module")
def athlete(caller: TestClient) -> str:
    """An invented athlete who lets health data be computed on."""
    path = f"/v1/athletes/{uuid4()}"
    assert caller.put(path, json={"time_zone": "Europe/Riga"}).status_code == 201
    consent = {"purpose": "process_health", "granted": True, "text_version": "1"}
    assert caller.post(f"{path}/consents", json=consent).status_code == 201
    return path


@pytest.fixture
def set_path(athlete: str) -> str:
    return f"{athlete}/sets/{uuid4()}"


def _is_problem(answer: Any, status: int, code: str) -> Json:
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == _PROBLEM
    problem: Json = answer.json()
    assert problem["status"] == status
    assert problem["code"] == code
    assert problem["type"].endswith(code)
    assert problem["title"]
    assert problem["detail"]
    return problem


def _pointers(problem: Json) -> set[str]:
    return {fault.get("pointer", fault.get("parameter")) for fault in problem["errors"]}


def _raw(caller: TestClient, path: str, body: bytes, **headers: str) -> Any:
    return caller.put(path, content=body, headers={"Content-Type": "application/json", **headers})


def _said(member: str, text: str) -> bytes:
    """A set whose one member is written by hand, since a JSON writer would not write it."""
    return json.dumps({**_SET, member: "HERE"}).replace('"HERE"', text).encode()


# 400: what cannot be read


@pytest.mark.parametrize(
    "body",
    [
        b"", b"{", b"{'reps': 6}", b"\xff\xfe{}", b'{"a": 1}{"b": 2}', _said("reps", "NaN"), _said("reps", "-Infinity"),
        _said("load", '{"value": NaN, "unit": "kg"}'), b'{"reps": 5, "reps": 6}', b"[" * 100_000, b'{"a":' * 90 + b"1" + b"}" * 90,
    ],
    ids=[
        "empty", "cut off", "single quotes", "not UTF-8", "two documents", "NaN", "Infinity", "NaN inside", "a member twice",
        "bottomless", "90 levels deep",
    ],
)  # fmt: skip
def test_an_unreadable_body_is_400(caller: TestClient, set_path: str, body: bytes) -> None:
    _is_problem(_raw(caller, set_path, body), 400, "unreadable_body")
    assert caller.get(set_path).status_code == 404


def test_an_unknown_query_parameter_is_400_and_told_what_there_is(caller: TestClient, athlete: str) -> None:
    problem = _is_problem(caller.get(f"{athlete}/sets?excercise_id=squat"), 400, "unknown_parameter")
    assert "exercise_id" in problem["detail"]


@pytest.mark.parametrize("token", ["garbage", "W10", "WyJhIiwgMV0", "%00"])
def test_a_page_token_that_was_never_handed_out_is_400(caller: TestClient, athlete: str, token: str) -> None:
    _is_problem(caller.get(f"{athlete}/sets?page_token={token}"), 400, "unreadable_token")


# 401, 403, 404: who asks


@pytest.mark.parametrize(
    "header",
    [None, "Bearer", "Bearer x", "Basic YTpi", "Bearer steelyard.AAAA.BBBB", "bearer  ", "Bearer \u00e9"],
)
def test_without_a_valid_key_it_is_401(shared_world: World, athlete: str, header: str | None) -> None:
    headers = {} if header is None else {"Authorization": header.encode("latin-1")}
    answer = shared_world.client().get(athlete, headers=headers)
    _is_problem(answer, 401, "unauthenticated")
    assert answer.headers["WWW-Authenticate"].startswith("Bearer")


def test_a_key_is_asked_for_before_the_body_is_looked_at(shared_world: World, set_path: str) -> None:
    assert shared_world.client().put(set_path, content=b"{").status_code == 401


def test_a_key_without_the_scope_is_403(shared_world: World) -> None:
    reader = shared_world.client(shared_world.key(shared_world.tenant(), ("athlete:read",)))
    problem = _is_problem(reader.put(f"/v1/athletes/{uuid4()}", json={}), 403, "insufficient_scope")
    assert "athlete:write" in problem["detail"]


def test_health_data_without_consent_is_403(caller: TestClient) -> None:
    path = f"/v1/athletes/{uuid4()}"
    caller.put(path, json={"time_zone": "Europe/Riga"})
    problem = _is_problem(
        caller.put(f"{path}/checkins/{uuid4()}", json={"at": "2026-11-24T07:00:00Z"}), 403, "consent_required"
    )
    assert problem["purpose"] == "process_health"


def test_what_is_not_there_and_what_is_another_tenants_look_the_same(
    shared_world: World, athlete: str
) -> None:
    stranger = shared_world.signed_in()
    theirs, nobodys = stranger.get(athlete), stranger.get(f"/v1/athletes/{uuid4()}")
    _is_problem(theirs, 404, "not_found")
    assert theirs.content == nobodys.content
    assert stranger.get("/v1/nowhere").content == nobodys.content


# 405, 406, 413, 415: how it is asked


@pytest.mark.parametrize(
    ("method", "path", "allowed"),
    [
        ("POST", "{athlete}", {"DELETE", "GET", "PATCH", "PUT"}),
        ("PUT", "{athlete}/sets", {"GET", "POST"}),
        ("DELETE", "{athlete}/operations", {"POST"}),
        ("POST", "/healthz", {"GET"}),
        ("DELETE", "/v1/exercises", {"GET"}),
    ],
)
def test_a_method_that_a_path_does_not_take_is_405_with_every_one_it_takes(
    caller: TestClient, athlete: str, method: str, path: str, allowed: set[str]
) -> None:
    answer = caller.request(method, path.format(athlete=athlete))
    _is_problem(answer, 405, "method_not_allowed")
    assert set(answer.headers["Allow"].split(", ")) == allowed


@pytest.mark.parametrize("accept", ["text/html", "application/xml;q=0.9, image/*", "application/json;q=0"])
def test_a_media_type_that_is_not_offered_is_406(caller: TestClient, athlete: str, accept: str) -> None:
    _is_problem(caller.get(athlete, headers={"Accept": accept}), 406, "not_acceptable")


@pytest.mark.parametrize(
    "accept", ["*/*", "application/*", "text/html, */*;q=0.1", "application/json; charset=utf-8"]
)
def test_a_media_type_that_is_offered_among_others_is_enough(
    caller: TestClient, athlete: str, accept: str
) -> None:
    assert caller.get(athlete, headers={"Accept": accept}).status_code == 200


def test_a_body_that_announces_too_much_is_413(caller: TestClient, set_path: str) -> None:
    _is_problem(_raw(caller, set_path, b" " * (LARGEST_BODY + 1)), 413, "too_large")


def test_a_body_is_counted_by_the_bytes_that_come(caller: TestClient, set_path: str) -> None:
    """Sent in pieces and without Content-Length."""

    def pieces() -> Iterator[bytes]:
        for _ in range(LARGEST_BODY // 65_536 + 2):
            yield b" " * 65_536

    answer = caller.put(set_path, content=pieces(), headers={"Content-Type": "application/json"})
    assert "content-length" not in answer.request.headers
    _is_problem(answer, 413, "too_large")


@pytest.mark.parametrize(
    "headers",
    [
        {"Content-Type": "text/plain"}, {"Content-Type": "application/x-www-form-urlencoded"}, {"Content-Type": ""},
        {"Content-Encoding": "gzip"}, {"Content-Encoding": "br"}, {"Content-Type": "application/merge-patch+json"},
    ],
)  # fmt: skip
def test_another_media_type_or_a_compressed_body_is_415(
    caller: TestClient, set_path: str, headers: dict[str, str]
) -> None:
    _is_problem(_raw(caller, set_path, json.dumps(_SET).encode(), **headers), 415, "unsupported_media_type")


def test_a_charset_beside_the_media_type_is_fine(caller: TestClient, set_path: str) -> None:
    headers = {"Content-Type": "application/json; charset=utf-8"}
    assert _raw(caller, set_path, json.dumps(_SET).encode(), **headers).status_code == 201


# 422: what does not fit the schema


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"reps": True}, "#/reps"), ({"reps": "6"}, "#/reps"), ({"reps": 6.5}, "#/reps"), ({"reps": -1}, "#/reps"),
        ({"reps": 501}, "#/reps"), ({"reps": 2**63}, "#/reps"), ({"load": 82.5}, "#/load"),
        ({"load": {"value": -1, "unit": "kg"}}, "#/load/value"), ({"load": {"value": True, "unit": "kg"}}, "#/load/value"),
        ({"load": {"value": "82.5", "unit": "kg"}}, "#/load/value"), ({"load": {"value": 82.5}}, "#/load/unit"),
        ({"load": {"value": 82.5, "unit": "stone"}}, "#/load/unit"), ({"load": {"value": 2**63, "unit": "kg"}}, "#/load/value"),
        ({"side": "middle"}, "#/side"), ({"exercise_id": "Bench Press"}, "#/exercise_id"), ({"exercise_id": None}, "#/exercise_id"),
        ({"exercise_id": "bench\x00press"}, "#/exercise_id"), ({"level": "\x00"}, "#/level"),
        ({"performed_at": "yesterday"}, "#/performed_at"),
        ({"performed_at": "2026-11-23T18:20:00"}, "#/performed_at"), ({"performed_at": 1764000000}, "#/performed_at"),
        ({"performed_at": "2026-02-30T18:20:00Z"}, "#/performed_at"), ({"repetitions": 6}, "#/repetitions"),
        ({"about": 1}, "#/about"),
        ({"pain": [{"region": "knee", "during": 11}]}, "#/pain/0/during"), ({"session_id": "monday"}, "#/session_id"),
        ({"a/b~c": 1}, "#/a~1b~0c"), ({"reps_in_reserve": -0.5}, "#/reps_in_reserve"),
    ],
    ids=str,
)  # fmt: skip
def test_what_does_not_fit_the_schema_is_422_with_its_place(
    caller: TestClient, set_path: str, change: Json, pointer: str
) -> None:
    problem = _is_problem(caller.put(set_path, json={**_SET, **change}), 422, "invalid")
    assert _pointers(problem) == {pointer}
    assert all(fault["code"] and fault["detail"] for fault in problem["errors"])


_TAKEN = {"at": "2026-11-22T09:00:00Z"}
_GIRTH = {**_TAKEN, "kind": "girth", "site": "calf", "side": "left", "readings": [36], "unit": "cm"}
_IN_KINDS: list[tuple[Json, str]] = [
    ({**_GIRTH, "readings": []}, "/readings"), ({**_GIRTH, "readings": [36, -1]}, "/readings/1"),
    ({**_GIRTH, "girth": 36}, "/girth"), ({**_GIRTH, "body_mass": 80}, "/body_mass"),
    ({**_TAKEN, "kind": "body_mass", "mass": {"value": -3, "unit": "kg"}}, "/mass/value"),
    ({**_TAKEN, "kind": "joint_motion", "side": "left", "readings_deg": [40]}, "/test"),
    ({**_GIRTH, "kind": "nope"}, "/kind"), (_TAKEN, "/kind"), ({**_GIRTH, "kind": 5}, "/kind"),
]  # fmt: skip


@pytest.mark.parametrize(("body", "pointer"), _IN_KINDS, ids=str)
def test_a_fault_in_a_body_that_comes_in_kinds_points_into_what_was_sent(
    caller: TestClient, athlete: str, body: Json, pointer: str
) -> None:
    path = f"{athlete}/measurements/{uuid4()}"
    assert _pointers(_is_problem(caller.put(path, json=body), 422, "invalid")) == {f"#{pointer}"}
    entry = {"op": "put", "type": "measurement", "id": str(uuid4()), "body": body}
    answer = caller.post(f"{athlete}/operations", json={"operations": [entry]})
    assert answer.status_code == 207, answer.text
    (line,) = answer.json()["items"]
    assert _pointers(line["problem"]) == {f"#/operations/0/body{pointer}"}


def test_a_fault_in_an_implement_points_into_the_list_that_was_sent(caller: TestClient) -> None:
    site = f"/v1/sites/{uuid4()}"
    assert caller.put(site, json={"name": "Hall (invented)"}).status_code == 201
    mass = {"value": 20, "unit": "kg"}
    good = {"kind": "bar", "name": "Bar", "mass": mass}
    bad = [
        good, {**good, "mass": {"value": -1, "unit": "kg"}}, {"kind": "nope"}, {"name": "Bar", "mass": mass},
        {"kind": "gear", "name": "Bench", "gear": 3}, {"kind": "gear", "name": "Bench"}, {**good, "bar": 1},
    ]  # fmt: skip
    places = {"1/mass/value", "2/kind", "3/kind", "4/gear", "5/gear", "6/bar"}
    pointers = {f"#/items/{place}" for place in places}
    put = caller.put(f"{site}/implements", json={"items": bad})
    assert _pointers(_is_problem(put, 422, "invalid")) == pointers
    assert caller.put(f"{site}/implements", json={"items": [good]}).status_code == 201
    patched = _patch(caller, f"{site}/implements", {"items": bad})
    assert _pointers(_is_problem(patched, 422, "invalid")) == pointers


def test_a_member_that_is_named_as_a_kind_stays_in_the_place(caller: TestClient) -> None:
    body = {"sets": [], "body_mass": {"value": -80, "unit": "kg"}}
    problem = _is_problem(caller.post("/v1/compute/volume", json=body), 422, "invalid")
    assert "#/body_mass/value" in _pointers(problem)


def test_a_patch_to_an_unknown_kind_points_at_it(caller: TestClient, athlete: str) -> None:
    path = f"{athlete}/measurements/{uuid4()}"
    assert caller.put(path, json=_GIRTH).status_code == 201
    for patch, pointer in (({"kind": "height"}, "#/kind"), ({"girth": 1}, "#/girth")):
        assert _patch(caller, path, patch).json()["errors"][0]["pointer"] == pointer


def test_a_number_beyond_every_double_is_422(caller: TestClient, set_path: str) -> None:
    problem = _is_problem(
        _raw(caller, set_path, _said("load", '{"value": 1e400, "unit": "kg"}')), 422, "invalid"
    )
    assert _pointers(problem) == {"#/load/value"}


@pytest.mark.parametrize("member", ["level", "exercise_id"])
def test_a_lone_surrogate_is_422(caller: TestClient, set_path: str, member: str) -> None:
    problem = _is_problem(_raw(caller, set_path, _said(member, '"\\ud800"')), 422, "invalid")
    assert _pointers(problem) == {f"#/{member}"}


def test_a_pair_of_surrogates_is_a_character(caller: TestClient, set_path: str) -> None:
    assert _raw(caller, set_path, _said("level", '"\\ud83d\\ude00"')).status_code == 201
    assert caller.get(set_path).json()["level"] == "\U0001f600"


def test_every_fault_is_told_at_once(caller: TestClient, set_path: str) -> None:
    problem = _is_problem(
        caller.put(set_path, json={**_SET, "reps": -1, "side": "x", "extra": 1}), 422, "invalid"
    )
    assert _pointers(problem) == {"#/reps", "#/side", "#/extra"}


@pytest.mark.parametrize(
    ("path", "parameter"),
    [
        ("/v1/athletes/not-an-id", "athlete_id"), ("{athlete}/sets?page_size=0", "page_size"), ("{athlete}/sets?side=up", "side"),
        ("{athlete}/sets?from=yesterday", "from"), ("{athlete}/sets?page_size=" + "9" * 30, "page_size"),
    ],
)  # fmt: skip
def test_a_parameter_that_does_not_fit_is_422_by_name(
    caller: TestClient, athlete: str, path: str, parameter: str
) -> None:
    problem = _is_problem(caller.get(path.format(athlete=athlete)), 422, "invalid")
    assert _pointers(problem) == {parameter}


# 409: what fits, but is not possible


@pytest.mark.parametrize(
    ("change", "code", "pointer"),
    [
        ({"exercise_id": "moon-press"}, "unknown_reference", "#/exercise_id"),
        ({"load": {"value": 0, "unit": "kg"}}, "not_possible", "#/load/value"),
        ({"load": None}, "not_possible", "#/load"),
        ({"side": "left"}, "not_possible", "#/side"),
        ({"reps": None}, "not_possible", "#/reps"),
        ({"felt_in": ["third-arm"]}, "unknown_reference", "#/felt_in/0"),
        ({"performed_at": "0001-01-01T00:00:00+14:00"}, "not_possible", "#/performed_at"),
        ({"performed_at": "9999-12-31T23:59:59-14:00"}, "performed_in_future", "#/performed_at"),
    ],
    ids=str,
)
def test_what_fits_but_cannot_have_happened_is_409_with_its_place(
    caller: TestClient, set_path: str, change: Json, code: str, pointer: str
) -> None:
    problem = _is_problem(caller.put(set_path, json={**_SET, **change}), 409, code)
    assert _pointers(problem) == {pointer}
    assert caller.get(set_path).status_code == 404


@pytest.mark.parametrize(("hours", "status"), [(23.9, 201), (24.1, 409)])
def test_a_set_may_lie_a_day_ahead_and_no_more(
    caller: TestClient, shared_world: World, set_path: str, hours: float, status: int
) -> None:
    at = (shared_world.clock() + timedelta(hours=hours)).isoformat()
    assert caller.put(set_path, json={**_SET, "performed_at": at}).status_code == status


def test_two_bodies_for_one_id_are_409_with_the_one_that_is_kept(caller: TestClient, set_path: str) -> None:
    first = caller.put(set_path, json=_SET)
    answer = caller.put(set_path, json={**_SET, "reps": 7})
    problem = _is_problem(answer, 409, "different_body")
    assert problem["current"]["reps"] == 6
    assert answer.headers["ETag"] == problem["etag"] == first.headers["ETag"]


# Versions: 304, 410, 412, 428


def test_the_same_body_written_otherwise_is_the_same(caller: TestClient, set_path: str) -> None:
    first = caller.put(set_path, json=_SET)
    reordered = json.dumps(dict(reversed(_SET.items()))).replace("82.5", "82.50").encode()
    again = _raw(caller, set_path, reordered)
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.headers["ETag"] == again.headers["ETag"]
    assert first.headers["Steelyard-Position"] == again.headers["Steelyard-Position"]


def test_what_was_read_can_be_put_back(caller: TestClient, set_path: str) -> None:
    first = caller.put(set_path, json=_SET)
    shown = caller.get(set_path).json()
    again = caller.put(set_path, json={**shown, "received_at": "whenever", "etag": None})
    assert again.status_code == 200
    assert again.headers["ETag"] == first.headers["ETag"]


def test_an_etag_that_still_stands_is_304_without_a_body(caller: TestClient, set_path: str) -> None:
    etag = caller.put(set_path, json=_SET).headers["ETag"]
    for known in (etag, f"W/{etag}", f'"x", {etag}', "*"):
        answer = caller.get(set_path, headers={"If-None-Match": known})
        assert (answer.status_code, answer.content) == (304, b"")
        assert answer.headers["ETag"] == etag
    assert caller.get(set_path, headers={"If-None-Match": '"x"'}).status_code == 200


@pytest.mark.parametrize("spoil", [lambda etag: f"W/{etag}", lambda _: '"99"', lambda etag: etag.strip('"')])
def test_a_weak_or_stale_etag_is_412(caller: TestClient, set_path: str, spoil: Callable[[str], str]) -> None:
    etag = caller.put(set_path, json=_SET).headers["ETag"]
    headers = {"If-Match": spoil(etag)}
    for answer in (
        caller.put(set_path, json={**_SET, "reps": 7}, headers=headers),
        caller.patch(
            set_path,
            content=b'{"reps": 7}',
            headers={**headers, "Content-Type": "application/merge-patch+json"},
        ),
        caller.delete(set_path, headers=headers),
    ):
        problem = _is_problem(answer, 412, "stale_etag")
        assert problem["current"]["reps"] == 6
        assert answer.headers["ETag"] == etag


def test_the_current_etag_lets_another_body_in(caller: TestClient, set_path: str) -> None:
    etag = caller.put(set_path, json=_SET).headers["ETag"]
    changed = caller.put(set_path, json={**_SET, "reps": 7}, headers={"If-Match": etag})
    assert changed.status_code == 200
    assert changed.headers["ETag"] != etag


def test_if_none_match_star_writes_only_where_nothing_is(caller: TestClient, set_path: str) -> None:
    only_new = {"If-None-Match": "*"}
    assert caller.put(set_path, json=_SET, headers=only_new).status_code == 201
    _is_problem(caller.put(set_path, json={**_SET, "reps": 7}, headers=only_new), 412, "stale_etag")


def test_an_athlete_is_not_changed_without_if_match(caller: TestClient) -> None:
    path = f"/v1/athletes/{uuid4()}"
    first = caller.put(path, json={"time_zone": "Europe/Riga"})
    answer = caller.put(path, json={"time_zone": "Europe/Vilnius"})
    assert _is_problem(answer, 428, "if_match_required")["current"]["time_zone"] == "Europe/Riga"
    assert answer.headers["ETag"] == first.headers["ETag"]


def test_what_was_deleted_is_410_until_it_is_revived(caller: TestClient, set_path: str) -> None:
    caller.put(set_path, json=_SET)
    gone = caller.delete(set_path)
    assert (gone.status_code, gone.content) == (204, b"")
    late = caller.put(set_path, json=_SET)
    _is_problem(late, 410, "deleted")
    _is_problem(caller.get(set_path), 410, "deleted")
    assert late.headers["ETag"] == gone.headers["ETag"]


def test_deleting_what_never_was_is_204(caller: TestClient, set_path: str) -> None:
    assert caller.delete(set_path).status_code == 204


# Merge patches


def _patch(caller: TestClient, path: str, patch: Any) -> Any:
    headers = {"Content-Type": "application/merge-patch+json"}
    return caller.patch(path, content=json.dumps(patch).encode(), headers=headers)


def test_null_in_a_patch_takes_a_member_away(caller: TestClient, set_path: str) -> None:
    caller.put(set_path, json={**_SET, "reps_in_reserve": 2})
    changed = _patch(caller, set_path, {"reps_in_reserve": None})
    assert changed.status_code == 200
    assert "reps_in_reserve" not in caller.get(set_path).json()


def test_a_patch_reaches_inside_a_quantity(caller: TestClient, set_path: str) -> None:
    caller.put(set_path, json=_SET)
    assert _patch(caller, set_path, {"load": {"value": 85}}).json()["load"] == {"value": 85, "unit": "kg"}


@pytest.mark.parametrize(
    ("patch", "pointer"),
    [
        ({"reps": "six"}, "#/reps"), ({"exercise_id": None}, "#/exercise_id"), ({"unknown": 1}, "#/unknown"),
        ({"load": {"unit": None}}, "#/load/unit"), ({"load": {"value": -5}}, "#/load/value"), ({"pain": [{}]}, "#/pain/0/region"),
    ],
    ids=str,
)  # fmt: skip
def test_a_patch_that_does_not_fit_the_schema_is_422(
    caller: TestClient, set_path: str, patch: Json, pointer: str
) -> None:
    caller.put(set_path, json=_SET)
    assert _pointers(_is_problem(_patch(caller, set_path, patch), 422, "invalid")) == {pointer}


def test_a_patch_that_does_not_go_with_what_is_stored_is_409(caller: TestClient, set_path: str) -> None:
    caller.put(set_path, json=_SET)
    problem = _is_problem(_patch(caller, set_path, {"implement_mass": {"value": 20}}), 409, "not_possible")
    assert _pointers(problem) == {"#/implement_mass/unit"}


def test_a_patch_to_another_kind_that_lacks_its_members_is_409(caller: TestClient, athlete: str) -> None:
    path = f"{athlete}/measurements/{uuid4()}"
    girth = {
        "kind": "girth",
        "at": "2026-11-22T09:00:00Z",
        "site": "calf",
        "side": "left",
        "readings": [36],
        "unit": "cm",
    }
    assert caller.put(path, json=girth).status_code == 201
    _is_problem(_patch(caller, path, {"kind": "body_mass"}), 409, "not_possible")
    _is_problem(_patch(caller, path, {"kind": "height"}), 422, "invalid")
    assert _patch(caller, path, {"readings": [36.1]}).status_code == 200


def test_a_value_that_fits_another_kind_than_the_stored_one_is_409(caller: TestClient, athlete: str) -> None:
    path = f"{athlete}/measurements/{uuid4()}"
    girth = {
        "kind": "girth", "site": "calf", "side": "left", "at": "2026-11-20T10:00:00+02:00",
        "readings": [36.4, 36.5], "unit": "cm",
    }  # fmt: skip
    assert caller.put(path, json=girth).status_code == 201
    headers = {"Content-Type": "application/merge-patch+json"}
    for side, status in (("unspecified", 409), ("front", 422)):
        answer = caller.patch(path, json={"side": side}, headers=headers)
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (status, "#/side")


@pytest.mark.parametrize("patch", [[], 5, None, "x"])
def test_a_patch_that_is_no_object_is_422(caller: TestClient, set_path: str, patch: Any) -> None:
    caller.put(set_path, json=_SET)
    _is_problem(_patch(caller, set_path, patch), 422, "invalid")


# Idempotency keys


_SCREENING = {
    "instrument": "club questionnaire (invented)",
    "instrument_version": "3",
    "performed_on": "2026-11-20",
    "outcome": "clear",
}


def test_a_key_makes_a_repeated_post_answer_once(caller: TestClient, athlete: str) -> None:
    key = str(uuid4())
    path = f"{athlete}/screenings"
    answers = [
        caller.post(path, json=_SCREENING, headers={"Idempotency-Key": sent})
        for sent in (key, f'"{key}"', key)
    ]
    assert {answer.status_code for answer in answers} == {201}
    assert len({answer.json()["id"] for answer in answers}) == 1


def test_a_key_used_again_with_another_body_is_409(caller: TestClient, athlete: str) -> None:
    headers = {"Idempotency-Key": f'"{uuid4()}"'}
    caller.post(f"{athlete}/screenings", json=_SCREENING, headers=headers)
    answer = caller.post(f"{athlete}/screenings", json={**_SCREENING, "outcome": "referred"}, headers=headers)
    _is_problem(answer, 409, "key_reused")


@pytest.mark.parametrize("key", ["", "x" * 256, "a b", "a\tb"])
def test_a_malformed_key_is_422(caller: TestClient, athlete: str, key: str) -> None:
    answer = caller.post(f"{athlete}/screenings", json=_SCREENING, headers={"Idempotency-Key": key})
    _is_problem(answer, 422, "invalid")


# 500, and headers of every answer


def test_an_error_that_nobody_foresaw_is_500_and_tells_nothing(
    world: World, caplog: pytest.LogCaptureFixture
) -> None:
    def broken() -> None:
        raise RuntimeError("secret of the house")

    world.app.add_api_route("/broken", broken, include_in_schema=False)
    answer = world.client().get("/broken")
    _is_problem(answer, 500, "internal")
    assert "secret" not in answer.text
    assert "secret of the house" in caplog.text


@pytest.mark.parametrize("wanted", ["en", "lv, en;q=0.5", "lv", "*", None])
def test_an_answer_in_words_says_its_language(caller: TestClient, wanted: str | None) -> None:
    """English is the only language so far, and what is asked for in another comes in it, not as an error."""
    headers = {} if wanted is None else {"Accept-Language": wanted}
    answer = caller.post(
        "/v1/compute/imbalance-indices",
        json={"left": {"trials": [30]}, "right": {"trials": [33]}},
        headers=headers,
    )
    assert answer.status_code == 200
    assert answer.headers["Content-Language"] == "en"


def test_every_answer_forbids_guessing_its_type(caller: TestClient, athlete: str) -> None:
    for answer in (
        caller.get(athlete),
        caller.get("/v1/nowhere"),
        caller.get("/healthz"),
        caller.post("/healthz"),
    ):
        assert answer.headers["x-content-type-options"] == "nosniff"


def test_personal_data_is_kept_by_no_shared_cache(caller: TestClient, athlete: str) -> None:
    headers = caller.get(athlete).headers
    assert headers["Cache-Control"] == "private, no-cache"
    assert "Authorization" in headers["Vary"]
