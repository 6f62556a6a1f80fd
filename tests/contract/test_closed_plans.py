"""What closes plans stays closed until a licensed clinician opens it, over HTTP. All people here are invented."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest

from tests.world import World

Json = dict[str, Any]
NOW = datetime(2026, 11, 24, 16, 0, tzinfo=UTC)
CLEARANCE = {"by": "an invented physician", "role": "physician", "given_on": "2026-11-22"}


class Person:
    """One athlete with a site, as a client sees them."""

    def __init__(self, world: World, time_zone: str = "Europe/Riga") -> None:
        self.client, site = world.signed_in(), str(uuid4())
        self.path = f"/v1/athletes/{uuid4()}"
        self._kept("PUT", f"/v1/sites/{site}", {"name": "Hall"})
        self._kept("PUT", f"/v1/sites/{site}/implements", {"items": []})
        self._kept("PUT", self.path, {"time_zone": time_zone, "home_site_id": site})
        given = {"purpose": "process_health", "granted": True, "text_version": "1"}
        self._kept("POST", f"{self.path}/consents", given)

    def _kept(self, method: str, path: str, body: Json) -> None:
        answer = self.client.request(method, path, json=body)
        assert answer.status_code == 201, answer.text

    def screened(self, outcome: str, on: str, **more: Any) -> None:
        body = {"instrument": "club form", "instrument_version": "2", "performed_on": on, "outcome": outcome}
        self._kept("POST", f"{self.path}/screenings", {**body, **more})

    def checked_in(self, at: datetime, *flags: str) -> None:
        self._kept("PUT", f"{self.path}/checkins/{uuid4()}", {"at": at.isoformat(), "flags": list(flags)})

    def closed_by(self) -> list[str] | None:
        """Return the codes of what closes plans, None where they are open."""
        answer = self.client.get(f"{self.path}/next-session")
        if answer.status_code == 200:
            return None
        assert (answer.status_code, answer.json()["code"]) == (409, "clearance_required")
        return [one["code"] for one in answer.json()["reasons"]]


@pytest.fixture
def world_now(shared_world: World) -> Iterator[World]:
    shared_world.clock.instant = NOW
    yield shared_world
    shared_world.clock.instant = None


def test_a_later_clear_screening_does_not_open_what_a_referral_closed(world_now: World) -> None:
    person = Person(world_now)
    person.screened("referred", "2026-11-10")
    person.screened("clear", "2026-11-20")
    assert person.closed_by() == ["tolerance_gate_referred"]
    person.screened("cleared", "2026-11-22", clearance=CLEARANCE)
    assert person.closed_by() is None


def test_a_later_clear_screening_does_not_renew_a_clearance_past_its_review(world_now: World) -> None:
    person = Person(world_now)
    old = {**CLEARANCE, "given_on": "2026-09-01", "review_on": "2026-10-01"}
    person.screened("cleared", "2026-09-01", clearance=old)
    person.screened("clear", "2026-11-20")
    assert person.closed_by() == ["tolerance_gate_clearance_expired"]


def test_an_operation_is_not_forgotten_by_a_later_screening_that_leaves_it_out(world_now: World) -> None:
    person = Person(world_now)
    person.screened("clear", "2026-11-01", procedures=[{"region": "knee", "performed_on": "2026-10-13"}])
    person.screened("clear", "2026-11-20")
    assert person.closed_by() == ["tolerance_gate_recent_surgery"]


def test_a_later_check_in_about_sleep_does_not_answer_a_sign_that_stops_everything(world_now: World) -> None:
    person = Person(world_now)
    person.screened("clear", "2026-11-01")
    person.checked_in(NOW - timedelta(days=3), "chest_pain")
    person.checked_in(NOW - timedelta(hours=1))
    assert person.closed_by() == ["tolerance_flag_reported"]
    person.screened("cleared", "2026-11-22", clearance=CLEARANCE)
    assert person.closed_by() is None


def test_a_clearance_older_than_the_sign_does_not_answer_it(world_now: World) -> None:
    person = Person(world_now)
    person.screened("cleared", "2026-11-22", clearance=CLEARANCE)
    person.checked_in(NOW - timedelta(hours=3), "fainting")
    assert person.closed_by() == ["tolerance_flag_reported"]


def test_a_clearance_holds_through_the_day_of_its_review(world_now: World) -> None:
    person = Person(world_now)
    person.screened("cleared", "2026-11-22", clearance={**CLEARANCE, "review_on": "2026-11-24"})
    assert person.closed_by() is None


def test_a_screening_counts_on_the_athletes_own_date(world_now: World) -> None:
    """It is the 25th already in Auckland."""
    person = Person(world_now, "Pacific/Auckland")
    person.screened("referred", "2026-11-25")
    assert person.closed_by() == ["tolerance_gate_referred"]
