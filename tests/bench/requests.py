"""Answers over HTTP, from a real server on loopback, for a short log and a long one."""

from functools import partial
from uuid import UUID, uuid4

import httpx2

from service.app import create_app, system_clock
from service.demo.listening import free_socket, listening
from service.settings import Settings
from service.usecases import api_keys
from service.usecases.exercises import book_of
from service.usecases.folding.reading import read_state
from service.usecases.folding.refolding import Refolder
from service.usecases.people import record_consent
from service.usecases.ports import Reach
from service.usecases.records.people import Consent
from tests.bench.__main__ import compare, show, show_ratio, spread, timed
from tests.bench.logs import CATALOGUE, LIFTS
from tests.bench.storing import Bench

SHORT, LONG = 100, 100_000
TIMES = 10


def run(url: str) -> None:
    """Print the time of an answer with 100,000 sets behind it against that with 100."""
    bench = Bench(url)
    athletes = {count: folded(bench, count) for count in (SHORT, LONG)}
    with bench.store.write(bench.caller) as work:
        key = api_keys.create(work, "bench", list(api_keys.SCOPES), Reach(), None).secret
    reads = {count: partial(read, bench, athlete_id) for count, athlete_id in athletes.items()}
    long, short = compare(reads[LONG], reads[SHORT])
    show(
        f"the state read, {LONG:,} sets / {SHORT} sets [times]",
        spread([a / b for a, b in zip(long, short, strict=True)]),
    )
    show("the state read [ms]", spread([1000 * each / TIMES for each in long]))
    app = create_app(Settings(url, url))
    headers = {"Authorization": f"Bearer {key}"}
    with (
        listening(app, free_socket(0)) as address,
        httpx2.Client(base_url=address, headers=headers, timeout=60) as client,
    ):
        site_id = site(client)
        asks = {count: partial(ask, client, athlete_id, site_id) for count, athlete_id in athletes.items()}
        timed(asks[SHORT])
        long, short = compare(asks[LONG], asks[SHORT])
    show_ratio(f"load progression over HTTP, {LONG:,} sets / {SHORT} sets [times]", long, short)
    show(f"load progression over HTTP, {SHORT} sets [ms]", spread([1000 * each / TIMES for each in short]))
    show(f"load progression over HTTP, {LONG:,} sets [ms]", spread([1000 * each / TIMES for each in long]))


def folded(bench: Bench, count: int) -> UUID:
    """Make an athlete with so many sets, folded, who agreed to be answered."""
    athlete_id = bench.with_log(count)
    with bench.store.write(bench.caller) as work:
        record_consent(work, athlete_id, Consent(purpose="process_health", granted=True, text_version="1"))
    took = timed(lambda: Refolder(bench.store, CATALOGUE).athlete(bench.tenant, athlete_id))
    show(f"first fold of {count:,} sets, database to database [s]", f"{took:.3g}")
    return athlete_id


def read(bench: Bench, athlete_id: UUID) -> None:
    """Read what an answer starts from, some times."""
    for _ in range(TIMES):
        with bench.store.read(bench.caller) as work:
            read_state(work, book_of(work, CATALOGUE), athlete_id, system_clock())


def site(client: httpx2.Client) -> str:
    """Make a gym with a bar and plates."""
    site_id = str(uuid4())
    plates = [
        {"kind": "plate_pairs", "name": f"{mass} kg", "mass": {"value": mass, "unit": "kg"}, "pairs": 4}
        for mass in (20, 10, 5, 2.5, 1.25)
    ]
    bar = {"kind": "bar", "name": "Bar", "mass": {"value": 20, "unit": "kg"}}
    gear = [{"kind": "gear", "name": name, "gear": name} for name in ("bench", "rack")]
    place = {"name": "invented", "time_zone": "Europe/Riga"}
    client.put(f"/v1/sites/{site_id}", json=place).raise_for_status()
    items = {"items": [bar, *plates, *gear]}
    client.put(f"/v1/sites/{site_id}/implements", json=items).raise_for_status()
    return site_id


def ask(client: httpx2.Client, athlete_id: UUID, site_id: str) -> None:
    """Ask for the next load of one lift, some times."""
    asked = {"exercise_id": LIFTS[0], "site_id": site_id}
    for _ in range(TIMES):
        client.get(f"/v1/athletes/{athlete_id}/load-progression", params=asked).raise_for_status()
