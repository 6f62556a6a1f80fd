"""The invented people are made the same way every time, and their logs look like logs of people."""

from datetime import date

import pytest

from service.catalogue import load_catalogue
from service.demo import circumstances, observing
from service.demo.gyms import INVENTORIES, SITES
from service.demo.people import PEOPLE, Person
from service.demo.simulating import Simulation

pytestmark = pytest.mark.quick
LAST_DAY = date(2026, 11, 24)


def _by_key(key: str) -> Person:
    return next(person for person in PEOPLE if person.key == key)


def test_the_same_day_gives_the_same_log() -> None:
    first, again = (Simulation(_by_key("ilva"), LAST_DAY).run() for _ in range(2))
    assert first == again
    assert first != Simulation(_by_key("ilva"), date(2026, 11, 23)).run()


def test_nothing_happens_after_the_last_day() -> None:
    for person in PEOPLE:
        log = Simulation(person, LAST_DAY).run()
        latest = max(one["performed_at"] for one in log.sets)
        assert latest < "2026-11-25"
        assert all(body["at"] < "2026-11-25" for _, body in observing.checkins(person, LAST_DAY))


def test_every_id_is_used_once() -> None:
    logs = [Simulation(person, LAST_DAY).run() for person in PEOPLE]
    ids = [one["id"] for log in logs for one in log.sets]
    assert len(set(ids)) == len(ids)


def test_everyone_lifts_what_the_reference_list_knows_at_a_gym_that_is_there() -> None:
    exercises = load_catalogue().exercises
    for person in PEOPLE:
        assert person.site_id in SITES
        assert person.site_id in INVENTORIES
        for one in Simulation(person, LAST_DAY).run().sets:
            assert one["exercise_id"] in exercises


def test_effort_is_said_for_about_half_of_the_sets_and_never_by_one() -> None:
    def share_told(key: str) -> float:
        work = [one for one in Simulation(_by_key(key), LAST_DAY).run().sets if one.get("purpose") == "work"]
        return sum("reps_in_reserve" in one for one in work) / len(work)

    assert 0.4 < share_told("ilva") < 0.6
    assert share_told("wim") == 0


def test_pull_ups_go_from_assistance_to_added_load() -> None:
    log = Simulation(_by_key("runa"), LAST_DAY).run()
    pulls = [one for one in log.sets if one["exercise_id"] in ("assisted-pull-up", "pull-up")]
    assert pulls[0]["exercise_id"] == "assisted-pull-up"
    assert pulls[-1]["exercise_id"] == "pull-up"
    assert pulls[-1]["load"]["value"] > 0


def test_two_weeks_off_leave_two_weeks_without_a_session() -> None:
    log = Simulation(_by_key("lena"), LAST_DAY).run()
    assert max(body["started_at"] for _, body in log.sessions) < "2026-11-11"


def test_the_clearance_after_the_operation_keeps_the_knee_within_its_range() -> None:
    clearance = circumstances.screening(_by_key("marta"), LAST_DAY)["clearance"]
    assert clearance["joint_limits"] == [
        {"motion": "knee_flexion", "from_deg": 0, "to_deg": 90, "side": "both"}
    ]


def test_all_are_said_to_be_invented() -> None:
    assert all("(invented)" in person.document(2026)["display_name"] for person in PEOPLE)
    assert all("(invented)" in site["name"] for site in SITES.values())
