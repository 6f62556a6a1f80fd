"""Trends over HTTP: progress, breaks, another depth, another station, rare tests, what is due, and charts."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from service.web.routes.trends_examples import AFTER_A_BREAK, LEG_PRESS
from tests.contract.lifting import BAR_AND_PLATES, NOW, Json, Lifter, codes, lifters
from tests.contract.lifting import LEG_PRESS as SLED
from tests.contract.trend_cases import asked, back_from_a_break, beginner
from tests.world import World


@pytest.fixture
def lifter(shared_world: World, new_id: Callable[[], str]) -> Callable[..., Lifter]:
    return lifters(shared_world, new_id)


def only(answer: Json) -> Json:
    (item,) = answer["items"]
    told: Json = item
    return told


def near(found: Any, shown: Any) -> Any:
    """Return what was found with every number of the example where the two agree to a thousandth."""
    if isinstance(shown, dict):
        assert isinstance(found, dict)
        assert set(found) == set(shown)
        return {name: near(found[name], shown[name]) for name in shown}
    if isinstance(shown, list):
        assert len(found) == len(shown)
        return [near(one, other) for one, other in zip(found, shown, strict=True)]
    if isinstance(shown, float) and found == pytest.approx(shown, rel=1e-3, abs=1e-3):
        return shown
    return found


@pytest.mark.parametrize(
    ("case", "exercise_id", "shown"),
    [(beginner, "leg-press", LEG_PRESS), (back_from_a_break, "bench-press", AFTER_A_BREAK)],
)
def test_the_examples_are_what_the_service_answers(
    lifter: Callable[..., Lifter], case: Callable[..., Lifter], exercise_id: str, shown: Json
) -> None:
    found = asked(case(lifter), exercise_id)
    assert near({**found, "position": shown["position"]}, shown) == shown


def test_a_beginners_progress_is_told_by_the_week(lifter: Callable[..., Lifter]) -> None:
    """Scenario 3: plus 2 to 6 % a week."""
    item = only(asked(beginner(lifter), "leg-press"))
    assert item["state"] == "progress"
    assert 2.0 <= item["weekly_change"]["value"] <= 6.0
    assert item["p_progress"] + item["p_regression"] + item["p_stall"] == pytest.approx(1.0, abs=2e-4)
    assert "trend_mostly_learning" in codes(item["reasons"])


def test_an_earlier_instant_knows_only_what_had_happened(lifter: Callable[..., Lifter]) -> None:
    person = beginner(lifter)
    then = NOW - timedelta(days=12)
    early = asked(person, "leg-press", as_of=then.isoformat())
    assert only(early)["sessions"] == 5
    person.logs("leg-press", 1, 120, 10, reps_in_reserve=3)
    again = asked(person, "leg-press", as_of=then.isoformat())
    assert only(again) == only(early)
    assert only(asked(person, "leg-press"))["sessions"] == 9


def test_what_a_break_takes_is_no_regression(lifter: Callable[..., Lifter]) -> None:
    """Scenario 2 and its aftermath: after 20 days away 90 kg is all there is."""
    item = only(asked(back_from_a_break(lifter), "bench-press"))
    assert item["state"] == "not_decided"
    assert "change" not in item
    assert {"trend_break", "trend_too_few"} <= codes(item["reasons"])


def test_the_trend_before_a_break_that_is_on_stands(lifter: Callable[..., Lifter]) -> None:
    """Scenario 2: eight stable weeks of 100 kg x 8 with 2 in reserve, then 14 days off."""
    person = lifter(BAR_AND_PLATES)
    for day in range(14, 71, 4):
        for ordinal in range(3):
            person.logs("bench-press", day, 100, 8, reps_in_reserve=2, ordinal=ordinal)
    item = only(asked(person, "bench-press"))
    assert item["state"] in {"stall", "not_decided"}
    assert abs(item["change"]["value"]) < 2.0
    assert "trend_away" in codes(item["reasons"])
    assert item["to"].startswith("2026-11-13")


def test_another_depth_is_no_regression(lifter: Callable[..., Lifter]) -> None:
    """Situation 15: a half-range press becomes full range, at three quarters of the load."""
    person = lifter(BAR_AND_PLATES)
    for day in range(40, 10, -3):
        person.logs("bench-press", day, 100, 8, reps_in_reserve=2, range="top_half")
    for day in (8, 5, 2):
        person.logs("bench-press", day, 75, 8, reps_in_reserve=2, range="full")
    item = only(asked(person, "bench-press"))
    assert item["sessions"] == 3
    assert item["state"] != "regression"
    assert "trend_depth_changed" in codes(item["reasons"])
    assert any(reason["text"].startswith("The depth changed") for reason in item["reasons"])


def test_another_gyms_machine_is_not_joined(lifter: Callable[..., Lifter]) -> None:
    """Scenario 11: a new gym's loads mean something else, on a sled as on a stack of levels."""
    person = lifter(SLED)
    other = person.site_with(SLED)
    for day in range(40, 8, -3):
        person.logs("leg-press", day, 150, 10, reps_in_reserve=2, session_id=person.visits(day))
    for day in (7, 4, 1):
        person.logs("leg-press", day, 100, 10, reps_in_reserve=2, session_id=person.visits(day, other))
    item = only(asked(person, "leg-press"))
    assert item["sessions"] == 3
    assert item["state"] != "regression"
    assert "trend_new_station" in codes(item["reasons"])


def test_levels_of_another_gym_are_a_line_of_their_own(lifter: Callable[..., Lifter]) -> None:
    """Scenario 11: 20 sessions of level 7 x 10, then a new gym."""
    labels = [str(number) for number in range(1, 16)]
    stack = [{"kind": "levels", "name": "Old machine", "station": "chest-press", "labels": labels}]
    person = lifter(stack)
    other = person.site_with(stack)

    def presses(day: float, level: str, site: str) -> None:
        body = person.did(
            "machine-chest-press", day, 0, 10, reps_in_reserve=2, level=level, load_basis="level"
        )
        del body["load"]
        person.sends({**body, "session_id": person.visits(day, site)})

    for day in range(50, 10, -2):
        presses(day, "7", person.site)
    for day in (7, 4, 1):
        presses(day, "4", other)
    item = only(asked(person, "machine-chest-press"))
    assert item["sessions"] == 3
    assert item["state"] != "regression"
    assert "trend_new_station" in codes(item["reasons"])


def test_levels_have_a_direction_and_no_per_cent(lifter: Callable[..., Lifter]) -> None:
    """Pin 2 to pin 3 at the same repetitions is progress, and not 41 % of anything."""
    labels = [str(number) for number in range(1, 16)]
    person = lifter([{"kind": "levels", "name": "Machine", "station": "hip-abduction", "labels": labels}])
    for day in (7 * week + day for week in range(8) for day in (1, 4)):
        level = "2" if day > 28 else "3"
        body = person.did(
            "hip-abduction-machine", day, 0, 12, reps_in_reserve=2, level=level, load_basis="level"
        )
        del body["load"]
        person.sends(body)
    answer = person.asks("trends")
    assert {item["scope"] for item in answer["items"]} == {"exercise", "muscle"}
    for item in answer["items"]:
        assert item["state"] == "progress"
        assert not {"change", "weekly_change", "points"} & set(item)
        assert item["p_progress"] + item["p_regression"] + item["p_stall"] == pytest.approx(1.0, abs=2e-4)
        assert "trend_level_progress" in codes(item["reasons"])
        assert "trend_progress" not in codes(item["reasons"])
    assert "points" not in only(asked(person, "hip-abduction-machine"))
    drawn = person.client.get(f"{person.path}/trends", params={"format": "svg"})
    assert drawn.status_code == 200

    for day in (7 * week + day for week in range(8) for day in (1, 4)):
        for side in ("left", "right"):
            person.logs("cable-hip-abduction", day, 20, 12, side=side, reps_in_reserve=2)
    items = person.asks("trends", muscle_id="gluteus-medius", side="both")["items"]
    (pooled,) = (item for item in items if item["scope"] == "muscle")
    assert pooled["exercise_ids"] == ["cable-hip-abduction"]
    assert abs(pooled["change"]["value"]) < 5.0


@pytest.mark.parametrize(("exercise_id", "added"), [("push-up", 0.0), ("pull-up", 0.5)])
def test_a_body_mass_that_is_unknown_all_along_hides_no_trend(
    lifter: Callable[..., Lifter], exercise_id: str, added: float
) -> None:
    """It puts every day wrong alike, so a change is told as it would be with the mass that is assumed, and said so."""
    told = []
    for known in (False, True):
        person = lifter(BAR_AND_PLATES)
        if known:
            person.weighs(75, 75)
        for week in range(10):
            for day in (1, 4):
                load, reps = (added * (9 - week), 8) if added else (0, 12 + (9 - week) * 4 // 9)
                person.logs(exercise_id, 7 * week + day, load, reps, reps_in_reserve=2)
        told.append(only(asked(person, exercise_id, weeks=12)))
    unknown, known_mass = told
    for end in ("lower", "upper"):
        assert unknown["change"]["interval"][end] == pytest.approx(
            known_mass["change"]["interval"][end], abs=0.3
        )
    assert unknown["basis"]["prior_share"] < 0.95
    assert "trend_body_mass_unknown" in codes(unknown["reasons"])
    assert "trend_body_mass_unknown" not in codes(known_mass["reasons"])


def test_tests_five_weeks_apart_are_too_rare_and_no_plateau(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for days, load in ((80, 100), (45, 110), (10, 119)):
        at = (NOW - timedelta(days=days)).isoformat()
        body = {
            "kind": "tested_maximum", "at": at, "exercise_id": "bench-press",
            "load": {"value": load, "unit": "kg"}, "reps": 1,
        }  # fmt: skip
        put = person.client.put(f"{person.path}/measurements/{person.new_id()}", json=body)
        assert put.status_code == 201, put.text
    item = only(asked(person, "bench-press", weeks=12))
    assert item["state"] == "not_decided"
    assert "change" not in item
    assert "trend_too_rare" in codes(item["reasons"])


def test_sides_have_trends_of_their_own_and_a_muscle_pools_its_lifts(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for number, day in enumerate(range(54, 0, -3)):
        for side, load in (("right", 20 + 0.2 * number), ("left", 20)):
            person.logs("one-arm-dumbbell-curl", day, load, 10, side=side, reps_in_reserve=2)
    answer = person.asks("trends")
    sides = {item["side"]: item for item in answer["items"] if item["scope"] == "exercise"}
    assert set(sides) == {"left", "right"}
    assert sides["right"]["state"] == "progress"
    assert sides["left"]["change"]["value"] < sides["right"]["change"]["value"] - 4.0
    muscles = [item for item in answer["items"] if item["scope"] == "muscle"]
    assert muscles
    assert {item["side"] for item in muscles} == {"left", "right", "both"}
    right = person.asks("trends", muscle_id=muscles[0]["muscle_id"], side="right")["items"]
    assert {item["side"] for item in right} == {"right"}


def test_one_lift_is_drawn_as_a_line_and_all_as_intervals(lifter: Callable[..., Lifter]) -> None:
    person = beginner(lifter)
    for asks, words in (({"exercise_id": "leg-press"}, "Trend of Leg press"), ({}, "Change of strength")):
        drawn = person.client.get(f"{person.path}/trends", params={**asks, "format": "svg"})
        assert drawn.headers["content-type"] == "image/svg+xml"
        root = ET.fromstring(drawn.text)  # noqa: S314
        assert words in str(root.findtext("{http://www.w3.org/2000/svg}title"))


def test_whoever_logged_nothing_has_no_trend_and_no_suggestion(lifter: Callable[..., Lifter]) -> None:
    answer = lifter(BAR_AND_PLATES).asks("trends")
    assert answer["items"] == []
    assert codes(answer["reasons"]) == {"trend_nothing_logged"}
    assert answer["easier_week"]["suggestion"] == "not_decided"
    assert answer["due_checks"] == []


def test_whoever_was_away_all_along_is_told_so(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for day in range(56, 130, 3):
        person.logs("bench-press", day, 80, 8, reps_in_reserve=2)
    answer = person.asks("trends")
    assert answer["items"] == []
    (reason,) = answer["reasons"]
    assert reason["code"] == "trend_none_in_window"
    assert reason["params"] == {"weeks": 8, "days": pytest.approx(56.0, abs=1.0)}
    longer = person.asks("trends", weeks=24)
    assert longer["items"]
    assert longer["reasons"] == []
    assert codes(person.asks("trends", weeks=24, muscle_id="soleus")["reasons"]) == {"trend_nothing_told"}


def test_a_session_that_nobody_told_began_with_its_first_set(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for day in range(25, 2, -3):
        for minutes in (10, 0, 20):
            person.logs("bench-press", day + minutes / 1440, 80, 8, reps_in_reserve=2)
    item = only(asked(person, "bench-press"))
    assert item["from"].startswith("2026-11-02T18:00:00")
    assert item["to"].startswith("2026-11-23T18:00:00")
    assert item["basis"]["newest_at"].startswith("2026-11-23T18:00:00")
    assert [point["at"] for point in item["points"]][-1] == item["to"]


def test_months_of_progress_of_somebody_trained_are_no_learning(lifter: Callable[..., Lifter]) -> None:
    for years, learning in ((4, False), (0.1, True)):
        person = lifter(BAR_AND_PLATES, training_years=years)
        for day in range(80, 0, -3):
            load = round(60 * 1.012 ** ((80 - day) / 7), 2)
            for ordinal in range(3):
                person.logs("bench-press", day, load, 8, reps_in_reserve=2, ordinal=ordinal)
        item = only(asked(person, "bench-press"))
        assert item["state"] == "progress"
        assert ("trend_mostly_learning" in codes(item["reasons"])) is learning
    for day in range(170, 80, -3):
        person.logs("bench-press", day, 60, 8, reps_in_reserve=2)
    assert "trend_mostly_learning" not in codes(only(asked(person, "bench-press"))["reasons"])


def test_an_unknown_lift_or_muscle_is_refused(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for parameters in ({"exercise_id": "no-such-lift"}, {"muscle_id": "no-such-muscle"}):
        refused = person.asks("trends", status=409, **parameters)
        assert refused["code"] == "unknown_reference"
        assert refused["detail"] == "The query names something that does not exist here."


def test_sets_that_keep_falling_short_suggest_an_easier_week(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for number, day in enumerate(range(68, 0, -2)):
        reps = 10 if number < 24 else 10 - (number - 22) // 2
        for ordinal in range(3):
            person.logs("bench-press", day, 100, max(reps, 3), to_failure=True, ordinal=ordinal)
    answer = person.asks("trends")
    easier = answer["easier_week"]
    assert easier["suggestion"] == "consider_now"
    assert easier["in_weeks"]["interval"]["lower"] == 0.0
    assert 0.3 <= easier["sets_share"]["value"] <= 0.7
    assert {"trend_strength_falls", "trend_sets_fall_short"} & codes(easier["reasons"])
    item = next(one for one in answer["items"] if one["scope"] == "exercise")
    assert item["state"] == "regression"


@pytest.mark.parametrize("reserve", [3, 4, 8])
def test_an_easy_week_is_no_week_of_sets_that_fell_short(lifter: Callable[..., Lifter], reserve: int) -> None:
    """Reserves told far from failure are guesses; those of an easier week end where they were meant to."""
    person = lifter(BAR_AND_PLATES)
    for week in range(1, 8):
        for day in (1, 4):
            for _ in range(3):
                person.logs("bench-press", 7 * week + day, 80, 8, reps_in_reserve=2)
    for day in (1, 4):
        for _ in range(2):
            person.logs("bench-press", day, 50, 8, reps_in_reserve=reserve)
    easier = person.asks("trends")["easier_week"]
    assert easier["suggestion"] == "no_need"
    assert "trend_sets_fall_short" not in codes(easier["reasons"])


def test_light_back_off_sets_do_not_fall_short(lifter: Callable[..., Lifter]) -> None:
    person = lifter(BAR_AND_PLATES)
    for week in range(8):
        for day in (1, 4):
            person.logs("bench-press", 7 * week + day + 0.02, 100, 5, reps_in_reserve=1)
            for number in range(3):
                person.logs("bench-press", 7 * week + day + 0.003 * number, 60, 10, reps_in_reserve=4)
    easier = person.asks("trends")["easier_week"]
    assert easier["p_tired"] < 0.5
    assert "trend_sets_fall_short" not in codes(easier["reasons"])
