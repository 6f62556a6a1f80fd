"""Make sure that the demo is in the database: its tenant, its people, and keys for those who call."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import httpx

from service.demo.gyms import QUAY
from service.demo.identities import invented_id
from service.demo.loading import ROSTER, DemoLoadFailed, Loaded, Loader, Progress
from service.demo.remembering import Memory, recall, remember
from service.settings import Settings
from service.store.tenants import create_tenant, list_tenants
from service.usecases.api_keys import SCOPES, create
from service.usecases.ports import Caller, Reach, Store

#: What each caller's key may do and whom it reaches: an app's back end, a coach's script, a gym's portal.
_CALLERS: dict[str, tuple[tuple[str, ...], dict[str, list[str]] | None]] = {
    "app": (
        (
            "athlete:read", "athlete:write", "log:read", "log:write", "answer:read", "plan:write", "catalogue:read",
            "site:read", "compute", "privacy",
        ),
        None,
    ),
    "coach": (
        ("athlete:read", "log:read", "answer:read", "roster:read", "catalogue:read", "site:read", "compute"),
        {"group_ids": [ROSTER], "site_ids": [], "athlete_ids": []},
    ),
    "portal": (
        ("athlete:read", "log:read", "answer:read", "catalogue:read", "site:read", "privacy"),
        {"group_ids": [], "site_ids": [QUAY], "athlete_ids": []},
    ),
}  # fmt: skip
_LONG_S = 120.0


@dataclass(frozen=True, slots=True)
class Prepared:
    """A demo that is whole: its keys by caller, and what was put in by this run (None if it was there)."""

    keys: dict[str, str]
    first_day: str
    loaded: Loaded | None


def tenant_for(settings: Settings, store: Store, file: Path) -> Memory:
    """Return the remembered demo, or make a tenant and its first key and remember them."""
    memory = recall(file)
    if memory and memory.tenant in {tenant_id for tenant_id, _ in list_tenants(settings.migrations_url)}:
        return memory
    now = datetime.now(UTC)
    memory = Memory(str(uuid4()), now.date().isoformat())
    create_tenant(settings.migrations_url, memory.tenant, "Steelyard demo (invented people)", now)
    with store.write(Caller(memory.tenant, UUID(int=0), frozenset(SCOPES))) as work:
        memory.keys["admin"] = create(work, "demo: admin", list(SCOPES), Reach(), None).secret
    remember(file, memory)
    return memory


def prepare(url: str, memory: Memory, file: Path, progress: Progress) -> Prepared:
    """Load the scenario and make the callers' keys unless that is done; safe to run again after it broke off.

    Raises:
        DemoLoadFailed: the service refused a part of it.
    """
    if memory.loaded:
        return Prepared(memory.keys, memory.first_day, None)
    headers = {"Authorization": f"Bearer {memory.keys['admin']}"}
    with httpx.Client(base_url=url, headers=headers, timeout=_LONG_S, trust_env=False) as client:
        loaded = Loader(client, memory.day).load(progress)
        for caller, (scopes, reach) in _CALLERS.items():
            memory.keys[caller] = _key(client, caller, scopes, reach)
    memory.loaded = True
    remember(file, memory)
    return Prepared(memory.keys, memory.first_day, loaded)


def _key(client: httpx.Client, caller: str, scopes: Sequence[str], reach: Any) -> str:
    asked = {"name": f"demo: {caller}", "scopes": list(scopes), **({"reach": reach} if reach else {})}
    answer = client.post("/v1/api-keys", json=asked)
    if answer.status_code != httpx.codes.CREATED:
        raise DemoLoadFailed(f"no key for {caller}: {answer.status_code} {answer.text[:300]}")
    return str(answer.json()["secret"])


def shown_set_id() -> str:
    """Return the id under which the README's first request puts a set."""
    return invented_id("readme", "set")
