"""Put the invented gym into a running service, over HTTP as any client would.

Every id is fixed by the scenario and the day of its first run, so that a load that broke off is simply run again.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import httpx

from service.demo import circumstances, observing
from service.demo.gyms import INVENTORIES, SITES
from service.demo.identities import invented_id
from service.demo.people import PEOPLE, Person
from service.demo.simulating import Simulation

Document = dict[str, Any]
#: Told how many people of how many are in.
Progress = Callable[[int, int], None]

ROSTER = invented_id("group", "evening-roster")
_CONSENTS = ("process_health", "coach", "site")
_QUEUE_LENGTH = 400


class DemoLoadFailed(Exception):
    """The service refused a part of the demo."""


@dataclass(frozen=True, slots=True)
class Loaded:
    """How much was put in."""

    people: int
    sessions: int
    sets: int
    checkins: int
    measurements: int


class Loader:
    """Sends the scenario with a key that may do everything."""

    def __init__(self, client: httpx.Client, today: date) -> None:
        self._client = client
        self._today = today
        self._counts = {"sessions": 0, "sets": 0, "checkins": 0, "measurements": 0}

    def load(self, progress: Progress) -> Loaded:
        """Put everything in; what is there already stays as it is.

        Raises:
            DemoLoadFailed: with the service's own words.
        """
        for site_id, site in SITES.items():
            self._put(f"/v1/sites/{site_id}", site)
            self._put(f"/v1/sites/{site_id}/implements", INVENTORIES[site_id])
        for number, person in enumerate(PEOPLE, 1):
            self._person(person)
            progress(number, len(PEOPLE))
        everyone = [person.id for person in PEOPLE]
        self._put(f"/v1/groups/{ROSTER}", {"name": "Evening roster (invented)", "athlete_ids": everyone})
        return Loaded(people=len(PEOPLE), **self._counts)

    def _person(self, person: Person) -> None:
        where = f"/v1/athletes/{person.id}"
        self._put(where, person.document(self._today.year))
        for purpose in _CONSENTS:
            self._append(f"{where}/consents", {"purpose": purpose, "granted": True, "text_version": "demo-1"})
        self._append(f"{where}/screenings", circumstances.screening(person, self._today))
        self._put(f"{where}/frame", circumstances.frame(person))
        for kind, documents in (
            ("limits", circumstances.limits(person)),
            ("aims", circumstances.aims(person)),
        ):
            for number, document in enumerate(documents):
                self._put(f"{where}/{kind}/{invented_id(person.key, kind, number)}", document)
        self._history(person, where)

    def _history(self, person: Person, where: str) -> None:
        last_day = self._today - timedelta(days=1)
        log = Simulation(person, last_day).run()
        observed = {
            "session": log.sessions,
            "checkin": observing.checkins(person, last_day),
            "measurement": observing.measurements(person, last_day),
        }
        queue = [
            {"op": "put", "type": kind, "id": id, "body": body}
            for kind, items in observed.items()
            for id, body in items
        ]
        for part in _parts(queue):
            self._send("POST", f"{where}/operations", {"operations": part}, wanted=(200,))
        self._send("POST", f"{where}/sets", {"sets": log.sets})
        self._counts["sets"] += len(log.sets)
        for kind, items in observed.items():
            self._counts[f"{kind}s"] += len(items)

    def _put(self, path: str, body: Mapping[str, Any]) -> None:
        self._send("PUT", path, body)

    def _append(self, path: str, body: Mapping[str, Any]) -> None:
        self._send(
            "POST", path, body, {"Idempotency-Key": invented_id("once", path, body.get("purpose", ""))}
        )

    def _send(
        self,
        method: str,
        path: str,
        body: Any,
        headers: Mapping[str, str] | None = None,
        wanted: tuple[int, ...] = (200, 201),
    ) -> None:
        answer = self._client.request(method, path, json=body, headers=dict(headers or {}))
        if answer.status_code not in wanted:
            raise DemoLoadFailed(f"{method} {path} answered {answer.status_code}: {answer.text[:600]}")


def _parts(queue: Sequence[Document]) -> Iterator[Sequence[Document]]:
    for start in range(0, len(queue), _QUEUE_LENGTH):
        yield queue[start : start + _QUEUE_LENGTH]
