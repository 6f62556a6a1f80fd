"""Scopes and keys: each verb needs its own, nothing happens without a key, and no key makes a wider one."""

from datetime import UTC, datetime
from uuid import UUID, uuid4

import pytest
from starlette.testclient import TestClient

from service.usecases.ports import Reach
from tests.store.furnished import Furnished, furnish, operations
from tests.world import ALL_SCOPES, World


@pytest.fixture(scope="module")
def tenant(shared_world: World) -> Furnished:
    return furnish(shared_world)


def position(tenant: Furnished) -> list[str]:
    items = tenant.client.get("/v1/changes", params={"page_size": 1000}).json()["items"]
    return [item["position"] for item in items]


def test_each_operation_is_refused_without_its_own_scope(shared_world: World, tenant: Furnished) -> None:
    before = position(tenant)
    clients = {
        scope: shared_world.client(
            shared_world.key(tenant.id, tuple(other for other in ALL_SCOPES if other != scope))
        )
        for scope in ALL_SCOPES
    }
    scoped = [one for one in operations(shared_world.app) if one.scope is not None]
    assert {one.scope for one in scoped} <= set(ALL_SCOPES)
    for one in scoped:
        answer = one.send(clients[str(one.scope)], tenant.ids)
        assert (answer.status_code, answer.json()["code"]) == (403, "insufficient_scope"), one.id
        assert tenant.ids["athlete_id"] not in answer.text
    assert position(tenant) == before


def wrong_keys(world: World, tenant: Furnished) -> dict[str, str | None]:
    good = tenant.client.headers["authorization"].removeprefix("Bearer ")
    prefix, owner, secret = good.split(".")
    ended = world.key(tenant.id)
    ended_id = tenant.client.get("/v1/api-keys").json()["items"][-1]["id"]
    assert tenant.client.delete(f"/v1/api-keys/{ended_id}").status_code == 204
    other = world.signed_in().headers["authorization"].removeprefix("Bearer ").split(".")
    return {
        "none": None,
        "nonsense": "nonsense",
        "another secret": f"{prefix}.{owner}.{secret[:-2]}{'AA' if secret[-2:] != 'AA' else 'BA'}",
        "another tenant's secret": f"{prefix}.{owner}.{other[2]}",
        "another tenant's owner": f"{prefix}.{other[1]}.{secret}",
        "ended": ended,
        "empty secret": f"{prefix}.{owner}.",
    }


def test_each_operation_behind_a_key_refuses_every_wrong_one_alike(
    shared_world: World, tenant: Furnished
) -> None:
    scoped = [one for one in operations(shared_world.app) if one.scope is not None]
    bodies = set()
    for name, key in wrong_keys(shared_world, tenant).items():
        client = shared_world.client(key)
        for one in scoped if name == "none" else scoped[::9]:
            answer = one.send(client, tenant.ids)
            assert (answer.status_code, answer.headers["WWW-Authenticate"]) == (401, "Bearer"), (name, one.id)
            bodies.add(answer.content)
    assert len(bodies) == 1


def test_only_health_needs_no_key(shared_world: World) -> None:
    public = {one.id for one in operations(shared_world.app) if one.scope is None}
    assert public == {"getHealth", "getReadiness"}


def test_an_expired_key_ends_at_its_instant(shared_world: World, tenant: Furnished) -> None:
    body = {"name": "invented", "scopes": ["log:read"], "expires_at": "2999-01-01T00:00:00Z"}
    secret = tenant.client.post("/v1/api-keys", json=body).json()["secret"]
    client = shared_world.client(secret)
    assert client.get("/v1/changes").status_code == 200
    shared_world.clock.instant = datetime(2999, 1, 1, tzinfo=UTC)
    try:
        assert client.get("/v1/changes").status_code == 401
    finally:
        shared_world.clock.instant = None


WIDER = {
    "everyone": lambda _: None,
    "another group": lambda ids: {"group_ids": [ids["group_id"]]},
    "another site": lambda ids: {"site_ids": [ids["site_id"]]},
    "another athlete": lambda ids: {"athlete_ids": [ids["athlete_id"]]},
}


@pytest.mark.parametrize("by", WIDER)
def test_a_key_cannot_make_one_that_reaches_further(shared_world: World, tenant: Furnished, by: str) -> None:
    other = furnish(shared_world, tenant.client)
    own = Reach(False, group_ids=(UUID(tenant.ids["group_id"]),))
    narrow = shared_world.client(shared_world.key(tenant.id, reach=own))
    body = {"name": "invented", "scopes": ["log:read"]}
    wide = WIDER[by](other.ids)
    refused = narrow.post("/v1/api-keys", json=body if wide is None else {**body, "reach": wide})
    assert (refused.status_code, refused.json()["errors"][0]["code"]) == (409, "reach_too_wide")
    part = {"group_ids": [tenant.ids["group_id"]], "athlete_ids": [tenant.ids["athlete_id"]]}
    assert narrow.post("/v1/api-keys", json={**body, "reach": part}).status_code == 201


def keys_of(client: TestClient) -> set[str]:
    return {item["id"] for item in client.get("/v1/api-keys").json()["items"]}


def test_a_narrow_key_sees_and_ends_only_keys_within_its_reach(shared_world: World) -> None:
    tenant = furnish(shared_world)
    own = Reach(False, group_ids=(UUID(tenant.ids["group_id"]),))
    narrow = shared_world.client(shared_world.key(tenant.id, reach=own))
    body = {"name": "invented", "scopes": ["log:read"], "reach": {"group_ids": [tenant.ids["group_id"]]}}
    made = narrow.post("/v1/api-keys", json=body).json()["id"]
    wide = str(tenant.key_id)
    assert wide in keys_of(tenant.client)
    assert made in keys_of(narrow)
    assert wide not in keys_of(narrow)
    refused = narrow.delete(f"/v1/api-keys/{wide}")
    assert refused.status_code == 404
    assert refused.content == narrow.delete(f"/v1/api-keys/{uuid4()}").content
    assert tenant.client.get("/v1/changes").status_code == 200
    assert narrow.delete(f"/v1/api-keys/{made}").status_code == 204
