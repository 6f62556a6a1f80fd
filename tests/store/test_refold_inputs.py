"""What lies beside the sets and changes all the same what they mean: bars, homes; and what the feed says of a refold."""

from datetime import UTC, datetime, timedelta
from threading import Thread
from typing import Any
from uuid import uuid4

import pytest
from sqlalchemy import create_engine, pool, text

from service.settings import Settings
from service.usecases.folding import writing
from service.worker import create_worker, run
from tests.store.lifters import Lifter, kept, lifter_of, packed, read, refolded
from tests.world import World


def inventory(*bars: tuple[str, float]) -> dict[str, Any]:
    return {
        "items": [{"kind": "bar", "name": name, "mass": {"value": mass, "unit": "kg"}} for name, mass in bars]
    }


def site_of(lifter: Lifter, *bars: tuple[str, float]) -> str:
    site = str(uuid4())
    assert lifter.client.put(f"/v1/sites/{site}", json={"name": "Hall (invented)"}).status_code == 201
    stocked(lifter, site, *bars)
    return site


def stocked(lifter: Lifter, site: str, *bars: tuple[str, float]) -> None:
    path = f"/v1/sites/{site}/implements"
    etag = lifter.client.get(path).headers.get("etag")
    answer = lifter.client.put(path, json=inventory(*bars), headers={"If-Match": etag} if etag else {})
    assert answer.status_code in {200, 201}, answer.text


def at_home(lifter: Lifter, site: str) -> None:
    etag = lifter.client.get(lifter.path).headers["etag"]
    body = {"time_zone": "Europe/Riga", "home_site_id": site}
    assert lifter.client.put(lifter.path, json=body, headers={"If-Match": etag}).status_code == 200


def plated(lifter: Lifter, numbers: Any, bar: str = "Bar", **more: Any) -> None:
    for number in numbers:
        body = lifter.body(number, **more)
        body.pop("load")
        plates = {"bar": bar, "plates": [{"value": 10.0 + number % 4, "unit": "kg"}]}
        answer = lifter.client.put(
            f"{lifter.path}/sets/{lifter.set_id(number)}", json={**body, "plates_per_side": plates}
        )
        assert answer.status_code == 201, answer.text


def work_off(world: World) -> None:
    """Do every job that waits."""
    worker = create_worker(Settings(world.url, world.url), world.clock)
    run(worker, wait=False, install_signal_handlers=False)


def fed(lifter: Lifter, since: str | None = None) -> tuple[list[tuple[str, str]], str]:
    page = lifter.client.get("/v1/changes", params={"cursor": since} if since else {}).json()
    return [(one["kind"], one["op"]) for one in page["items"]], page["next_cursor"]


@pytest.fixture
def lifter(world: World) -> Lifter:
    return lifter_of(world)


def comparable(lifter: Lifter) -> tuple[dict[str, Any], dict[int, bytes]]:
    row, points = kept(lifter)
    return dict(row._mapping), points


def test_a_bar_that_weighs_otherwise_is_folded_as_if_it_always_had(lifter: Lifter) -> None:
    site = site_of(lifter, ("Bar", 20.0))
    at_home(lifter, site)
    plated(lifter, range(30))
    before = packed(read(lifter))
    stocked(lifter, site, ("Bar", 15.0))
    at_once = packed(read(lifter))
    assert at_once != before
    work_off(lifter.world)
    assert kept(lifter)[0].stale_from is None
    assert packed(read(lifter)) == at_once
    found = comparable(lifter)
    refolded(lifter)
    assert comparable(lifter) == found


def test_only_athletes_who_used_the_bar_are_folded_anew(lifter: Lifter) -> None:
    site = site_of(lifter, ("Bar", 20.0), ("Other", 10.0))
    at_home(lifter, site)
    plated(lifter, range(12))
    other = lifter_of(lifter.world, lifter.client)
    at_home(other, site)
    other.post(range(12))
    stocked(lifter, site, ("Bar", 20.0), ("Other", 12.0))
    assert kept(lifter)[0].stale_from is None
    stocked(lifter, site, ("Bar", 25.0), ("Other", 12.0))
    assert kept(lifter)[0].stale_from is not None
    assert kept(other)[0].stale_from is None


def test_a_bar_at_another_site_is_another_bar(lifter: Lifter) -> None:
    home, away = site_of(lifter, ("Bar", 20.0)), site_of(lifter, ("Bar", 20.0))
    at_home(lifter, home)
    plated(lifter, range(12))
    stocked(lifter, away, ("Bar", 10.0))
    assert kept(lifter)[0].stale_from is None


def test_a_session_elsewhere_takes_the_bars_from_there(lifter: Lifter) -> None:
    home, away = site_of(lifter, ("Bar", 20.0)), site_of(lifter, ("Bar", 20.0))
    at_home(lifter, home)
    session = str(uuid4())
    body = {"started_at": lifter.body(0)["performed_at"], "site_id": away}
    assert lifter.client.put(f"{lifter.path}/sessions/{session}", json=body).status_code == 201
    plated(lifter, range(6), session_id=session)
    plated(lifter, range(6, 18))
    stocked(lifter, away, ("Bar", 10.0))
    right = packed(read(lifter))
    work_off(lifter.world)
    refolded(lifter)
    assert packed(read(lifter)) == right


def test_a_new_home_has_bars_of_its_own(lifter: Lifter) -> None:
    light, heavy = site_of(lifter, ("Bar", 10.0)), site_of(lifter, ("Bar", 20.0))
    at_home(lifter, light)
    plated(lifter, range(18))
    at_home(lifter, heavy)
    moved = comparable(lifter)
    work_off(lifter.world)
    refolded(lifter)
    assert comparable(lifter)[1] == moved[1]


def lives_in(lifter: Lifter, zone: str) -> None:
    etag = lifter.client.get(lifter.path).headers["etag"]
    told = lifter.client.put(lifter.path, json={"time_zone": zone}, headers={"If-Match": etag})
    assert told.status_code == 200, told.text


def afternoons(lifter: Lifter, days: int) -> None:
    """Log afternoons in Los Angeles that pass midnight in UTC, entered in UTC and without a session; the newest first."""
    for number in reversed(range(2 * days)):
        day, within = divmod(number, 2)
        at = datetime(2026, 3, 2, 23, 45, tzinfo=UTC) + timedelta(days=2 * day, minutes=30 * within)
        lifter.put(6 * number, performed_at=at.isoformat(), ordinal=within)


def test_a_set_entered_in_utc_belongs_to_the_athletes_own_day_and_a_new_zone_is_folded_anew(
    lifter: Lifter,
) -> None:
    lives_in(lifter, "America/Los_Angeles")
    afternoons(lifter, 8)
    there, local = comparable(lifter), read(lifter)
    assert (local.session_count, len(local.sets)) == (7, 2)
    assert local.newest is not None
    assert local.newest[0] == datetime(2026, 3, 16, 7, tzinfo=UTC), "midnight there, by its summer time"
    refolded(lifter)
    assert comparable(lifter) == there
    lives_in(lifter, "UTC")
    moved, elsewhere = comparable(lifter), read(lifter)
    assert (elsewhere.session_count, len(elsewhere.sets)) == (15, 1)
    refolded(lifter)
    assert comparable(lifter) == moved
    lives_in(lifter, "America/Los_Angeles")
    lifter.delete(0)
    lifter.delete(6)
    assert read(lifter).session_count == 6
    found = comparable(lifter)
    refolded(lifter)
    assert comparable(lifter) == found


def test_an_entered_offset_names_the_day_in_any_zone(lifter: Lifter) -> None:
    lives_in(lifter, "America/Los_Angeles")
    for number, minute in enumerate((30, 50)):
        lifter.put(number, performed_at=f"2026-03-02T00:{minute}:00+02:00")
    before = packed(read(lifter))
    lives_in(lifter, "Asia/Tokyo")
    assert packed(read(lifter)) == before


def test_the_last_hour_of_a_day_of_twenty_five_is_no_session_of_its_own(lifter: Lifter) -> None:
    lives_in(lifter, "America/Los_Angeles")
    # The clocks go back on 1 November: the day lasts from 07:00 to 08:00 of the next day in UTC.
    lifter.put(0, performed_at="2026-11-01T07:10:00Z")
    lifter.put(1, performed_at="2026-11-02T07:50:00Z")
    assert len(read(lifter).sets) == 2
    lifter.delete(0)
    assert (read(lifter).session_count, len(read(lifter).sets)) == (0, 1)
    found = comparable(lifter)
    refolded(lifter)
    assert comparable(lifter) == found


def test_the_feed_says_once_that_a_job_has_computed_answers_anew(
    lifter: Lifter, monkeypatch: pytest.MonkeyPatch
) -> None:
    lifter.post(range(60))
    monkeypatch.setattr(writing, "INLINE_SETS", 5)
    _, cursor = fed(lifter)
    lifter.delete(3)
    found, cursor = fed(lifter, cursor)
    assert found == [("set", "delete")]
    work_off(lifter.world)
    page = lifter.client.get("/v1/changes", params={"cursor": cursor}).json()
    (item,) = page["items"]
    assert (item["kind"], item["op"], item["id"]) == ("answers", "recomputed", str(lifter.id))
    assert item["athlete_id"] == str(lifter.id)
    assert item["etag"] == '"capability/5"'
    with lifter.store.write(lifter.caller) as work:
        work.states.defer_refold(lifter.id)
    work_off(lifter.world)
    assert fed(lifter, page["next_cursor"])[0] == []


def test_what_is_logged_in_order_is_no_recomputation(lifter: Lifter) -> None:
    lifter.post(range(24))
    lifter.post(range(24, 36))
    assert "answers" not in {kind for kind, _ in fed(lifter)[0]}


def test_another_tenant_hears_nothing_of_it(lifter: Lifter, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(writing, "INLINE_SETS", 5)
    lifter.post(range(60))
    stranger = lifter_of(lifter.world)
    _, cursor = fed(stranger)
    lifter.delete(3)
    work_off(lifter.world)
    assert fed(stranger, cursor)[0] == []


def test_a_job_that_waits_does_not_begin_before_those_who_ask_for_it_have_ended(lifter: Lifter) -> None:
    """A second request finds the first one's job waiting; what it wrote must be seen by that job."""
    lifter.post(range(12))
    with lifter.store.write(lifter.caller) as work:
        work.states.defer_refold(None)
    engine = create_engine(lifter.world.url, poolclass=pool.NullPool)
    fetch = text(
        "SELECT id FROM jobs.procrastinate_jobs WHERE status = 'todo' ORDER BY id FOR UPDATE SKIP LOCKED LIMIT 1"
    )
    with lifter.store.write(lifter.caller) as work:
        work.states.defer_refold(None)
        with engine.begin() as owner:
            assert owner.execute(fetch).first() is None
    with engine.begin() as owner:
        assert owner.execute(fetch).first() is not None


def test_a_job_that_began_is_asked_for_again(lifter: Lifter) -> None:
    lifter.post(range(12))
    with lifter.store.write(lifter.caller) as work:
        work.states.defer_refold(None)
    engine = create_engine(lifter.world.url, poolclass=pool.NullPool)
    count = text("SELECT count(*) FROM jobs.procrastinate_jobs")

    def ask() -> None:
        with lifter.store.write(lifter.caller) as work:
            work.states.defer_refold(None)

    with engine.begin() as owner:
        owner.execute(text("UPDATE jobs.procrastinate_jobs SET status = 'doing'"))
        asking = Thread(target=ask)
        asking.start()
        asking.join(timeout=0.5)
    asking.join(timeout=10)
    assert not asking.is_alive()
    with engine.begin() as owner:
        assert owner.execute(count).scalar_one() == 2
