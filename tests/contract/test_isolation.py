"""Operation by principal: whoever may not see a thing is answered as if it had never been there."""

import json
import re
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any
from uuid import UUID, uuid4

import pytest
from starlette.testclient import TestClient

from service.usecases.ports import Reach
from tests.store.furnished import Furnished, Operation, furnish, operations
from tests.world import World

#: Where an unknown id is made into something, so that the answer cannot be "not found".
MAKES_WHAT_IT_NAMES = {
    "putAthlete", "putGroup", "putSite", "putExercise", "deleteAthlete", "deleteGroup", "deleteSite", "deleteExercise",
}  # fmt: skip
#: A tenant's own exercises are for all of the tenant.
SHARED_IN_THE_TENANT = {"exercise_id"}
NOW = datetime(2026, 11, 27, 9, 0, tzinfo=UTC)
NOT_FOUND = {
    "type": "urn:steelyard:problem:not_found",
    "title": "Not found",
    "status": 404,
    "detail": "There is nothing here that this caller may see.",
    "code": "not_found",
}


@pytest.fixture
def mine(shared_world: World) -> Furnished:
    return furnish(shared_world)


@pytest.fixture
def theirs(shared_world: World) -> Furnished:
    return furnish(shared_world)


def addressed(world: World) -> list[Operation]:
    """Return the operations that name something by id; those that make what they name come last."""
    named = [one for one in operations(world.app) if one.parameters]
    return sorted(named, key=lambda one: one.id in MAKES_WHAT_IT_NAMES)


def asked(one: Operation, client: TestClient, ids: Mapping[str, str]) -> tuple[int, bytes]:
    """Return what an operation answers, without what differs from request to request."""
    answer = one.send(client, ids)
    if one.id not in MAKES_WHAT_IT_NAMES:
        return answer.status_code, answer.content
    plain = re.sub(r"\d{4}-\d\d-\d\dT[\d:.]+(\+00:00|Z)", "AT", answer.text)
    for name, id in ids.items():
        plain = plain.replace(id, name)
    return answer.status_code, plain.encode()


def unknown(ids: Mapping[str, str]) -> dict[str, str]:
    return {name: str(uuid4()) for name in ids}


def snapshot(tenant: Furnished, world: World) -> dict[str, str]:
    """Return everything that a tenant can read of its own."""
    reads = [one for one in operations(world.app) if one.method == "GET" and one.scope is not None]
    stable = [one for one in reads if one.id != "listApiKeys"]
    world.clock.instant = NOW  # Computed answers say as of when.
    shown = {one.id: one.send(tenant.client, tenant.ids).text for one in stable}
    world.clock.instant = None
    return shown


def test_the_matrix_covers_every_operation_that_names_something(shared_world: World) -> None:
    ids = {one.id for one in addressed(shared_world)}
    assert len(ids) >= 55
    assert ids >= MAKES_WHAT_IT_NAMES | {"applyOperations", "createSets", "recordConsent", "revokeApiKey"}


def test_another_tenants_things_answer_byte_for_byte_like_unknown_ones(
    shared_world: World, mine: Furnished, theirs: Furnished
) -> None:
    before = snapshot(theirs, shared_world)
    differing = []
    for one in addressed(shared_world):
        foreign, never = asked(one, mine.client, theirs.ids), asked(one, mine.client, unknown(theirs.ids))
        if one.id not in MAKES_WHAT_IT_NAMES:
            assert (foreign[0], json.loads(foreign[1])) == (404, NOT_FOUND), one.id
        if foreign != never:
            differing.append((one.id, foreign, never))
    assert differing == []
    assert snapshot(theirs, shared_world) == before


def test_an_id_taken_in_another_tenant_is_free_in_this_one(mine: Furnished, theirs: Furnished) -> None:
    where = f"/v1/sites/{theirs.ids['site_id']}"
    before = theirs.client.get(where).content
    body = {"name": "ours (invented)", "time_zone": "Europe/Riga"}
    assert mine.client.put(where, json=body).status_code == 201
    assert mine.client.delete(where).status_code == 204
    assert theirs.client.get(where).content == before


def reaches(of: Furnished) -> dict[str, Reach]:
    site, group, athlete = (UUID(of.ids[name]) for name in ("site_id", "group_id", "athlete_id"))
    return {
        "group": Reach(False, group_ids=(group,)),
        "site": Reach(False, site_ids=(site,)),
        "athlete": Reach(False, athlete_ids=(athlete,)),
        "nobody": Reach(False),
    }


@pytest.mark.parametrize("by", ["group", "site", "athlete", "nobody"])
def test_inside_a_tenant_what_lies_out_of_reach_answers_like_what_never_was(
    shared_world: World, mine: Furnished, by: str
) -> None:
    other = furnish(shared_world, mine.client)
    before = snapshot(other, shared_world)
    narrow = shared_world.client(shared_world.key(mine.id, reach=reaches(mine)[by]))
    hidden = {**other.ids, "key_id": str(mine.key_id)}
    for one in addressed(shared_world):
        if set(one.parameters) & SHARED_IN_THE_TENANT:
            continue
        foreign, never = asked(one, narrow, hidden), asked(one, narrow, unknown(hidden))
        assert (foreign[0], json.loads(foreign[1])) == (404, NOT_FOUND), one.id
        if (one.id, by) != (
            "putAthlete",
            "site",
        ):  # A site's key may make athletes; a taken id is refused all the same.
            assert foreign == never, one.id
    assert snapshot(other, shared_world) == before


@pytest.mark.parametrize("by", ["group", "site", "athlete"])
def test_a_narrow_key_reaches_what_it_is_for_and_lists_nothing_else(shared_world: World, by: str) -> None:
    inside = furnish(shared_world)
    outside = furnish(shared_world, inside.client)
    narrow = shared_world.client(shared_world.key(inside.id, reach=reaches(inside)[by]))
    assert narrow.get(inside.athlete).status_code == 200
    assert narrow.get(f"{inside.athlete}/sets/{inside.ids['set_id']}").status_code == 200
    lists = [one for one in operations(shared_world.app) if one.method == "GET" and not one.parameters]
    shown = "".join(one.send(narrow, {}).text for one in lists if one.scope is not None)
    assert inside.ids["athlete_id"] in shown
    leaked = {name for name, id in outside.ids.items() if id in shown and id != inside.ids[name]}
    assert leaked <= SHARED_IN_THE_TENANT
    for probe in ({"group_id": outside.ids["group_id"]}, {"site_id": outside.ids["site_id"]}):
        assert narrow.get("/v1/athletes", params=probe).json()["items"] == []
    refused = narrow.get("/v1/changes", params={"athlete_id": outside.ids["athlete_id"]})
    assert (refused.status_code, refused.json()) == (404, NOT_FOUND)


def test_a_roster_out_of_reach_cannot_be_probed_with_ones_own_athlete(shared_world: World) -> None:
    tenant = furnish(shared_world)
    secret = f"/v1/groups/{uuid4()}"
    tenant.client.put(secret, json={"name": "invented", "athlete_ids": [tenant.ids["athlete_id"]]})
    narrow = shared_world.client(shared_world.key(tenant.id, reach=reaches(tenant)["athlete"]))
    listed = narrow.get("/v1/athletes", params={"group_id": secret.rsplit("/", 1)[1]}).json()["items"]
    assert listed == []


def test_ids_in_a_body_tell_no_more_than_ids_in_a_path(mine: Furnished, theirs: Furnished) -> None:
    def said(ids: Mapping[str, str]) -> list[Any]:
        group = {"name": "invented", "athlete_ids": [ids["athlete_id"]]}
        key = {"name": "invented", "scopes": ["log:read"]}
        answers = [mine.client.put(f"/v1/groups/{uuid4()}", json=group)]
        for name in ("group_id", "site_id", "athlete_id"):
            reach = {f"{name}s": [ids[name]]}
            answers.append(mine.client.post("/v1/api-keys", json={**key, "reach": reach}))
        plain = [answer.text for answer in answers]
        for name, id in ids.items():
            plain = [text.replace(id, name) for text in plain]
        return [(answer.status_code, text) for answer, text in zip(answers, plain, strict=True)]

    foreign = said(theirs.ids)
    assert foreign == said(unknown(theirs.ids))
    assert {status for status, _ in foreign} == {409}


def test_cursors_and_page_tokens_of_another_tenant_open_nothing(mine: Furnished, theirs: Furnished) -> None:
    cursor = theirs.client.get("/v1/changes", params={"page_size": 1}).json()["next_cursor"]
    assert mine.client.get("/v1/changes", params={"cursor": cursor}).json()["code"] == "cursor_expired"
    theirs.client.put(f"/v1/athletes/{uuid4()}", json={"time_zone": "Europe/Riga"})
    token = theirs.client.get("/v1/athletes", params={"page_size": 1}).json()["next_page_token"]
    answer = mine.client.get("/v1/athletes", params={"page_size": 1, "page_token": token})
    assert theirs.ids["athlete_id"] not in answer.text
    assert all(item["id"] != theirs.ids["athlete_id"] for item in answer.json()["items"])
