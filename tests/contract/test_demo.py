"""``steelyard demo``: what a newcomer sees in the first minute, and what happens the second time."""

import subprocess
import sys
from pathlib import Path

import httpx

from tests.contract.conftest import ROOT, RunningDemo, bare_environment

EXPORTED = {
    "STEELYARD_URL", "APP_KEY", "COACH_KEY", "PORTAL_KEY", "ADMIN_KEY", "ATHLETE", "SITE", "ROSTER", "J",
}  # fmt: skip


def _client(demo: RunningDemo, caller: str) -> httpx.Client:
    headers = {"Authorization": f"Bearer {demo.environment[f'{caller}_KEY']}"}
    return httpx.Client(
        base_url=demo.environment["STEELYARD_URL"], headers=headers, trust_env=False, timeout=60
    )


def test_it_says_where_keys_and_data_are_and_that_nobody_exists(running_demo: RunningDemo) -> None:
    assert set(running_demo.environment) >= EXPORTED
    assert "no data leaves this machine" in running_demo.printed
    assert "All people and gyms in it are invented" in running_demo.printed


def test_it_shows_one_next_session_with_loads_reasons_and_cautions(running_demo: RunningDemo) -> None:
    table = running_demo.printed.partition("Next session of Ilva")[2]
    assert all(heading in table for heading in ("exercise", "load", "made of", "reserve", "chance"))
    assert 1 <= table.count("Why: ") <= 3
    assert "Heed: " in table


def test_each_caller_reaches_its_own_people_and_no_others(running_demo: RunningDemo) -> None:
    with _client(running_demo, "APP") as app, _client(running_demo, "PORTAL") as portal:
        everyone = {athlete["id"] for athlete in app.get("/v1/athletes").json()["items"]}
        members = {athlete["id"] for athlete in portal.get("/v1/athletes").json()["items"]}
        (elsewhere,) = everyone - members
        assert len(everyone) == 12
        assert running_demo.environment["ATHLETE"] in members
        assert portal.get(f"/v1/athletes/{elsewhere}").status_code == 404


def test_whoever_was_referred_gets_no_plan(running_demo: RunningDemo) -> None:
    with _client(running_demo, "APP") as app:
        people = app.get("/v1/athletes").json()["items"]
        referred = next(person["id"] for person in people if person["external_ref"] == "member-odo")
        refused = app.get(f"/v1/athletes/{referred}/next-session")
        assert (refused.status_code, refused.json()["code"]) == (409, "clearance_required")


def test_a_second_demo_finds_everything_in_place_and_stops_by_itself(
    running_demo: RunningDemo, demo_data_dir: Path
) -> None:
    command = [sys.executable, "-m", "service", "demo", "--check"]
    environment = bare_environment(demo_data_dir)
    again = subprocess.run(
        command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False, timeout=120
    )
    assert again.returncode == 0, again.stdout + again.stderr
    assert "Invented" not in again.stdout.partition("export")[0]
    assert f"export APP_KEY={running_demo.environment['APP_KEY']}" in again.stdout
    url = running_demo.environment["STEELYARD_URL"]
    assert httpx.get(f"{url}/readyz", trust_env=False).status_code == 200
