"""What is said of the sides, on invented lifters with other curves and constants than the engine's.

The aims: at a true gap of 0 a side is called ahead in at most 3 %; at 5 % in 65 % after six sessions and 80 % after
twelve, at 10 % in 98 %, the error at most 2.0 % (two lifts pooled: 85 and 93 %, 1.7 %); a girth gap of 2 % in 55 % after
one visit and 95 % after three. Here as strict expected failures where they are not reached, with the figure.
"""

from collections.abc import Callable, Sequence
from functools import cache
from random import Random

import numpy as np
import pytest

from service.core.symmetry.decisions import SidePosterior, side_posterior
from service.core.symmetry.following import join_visits
from service.core.symmetry.girths import (
    SIZE_WALK,
    GirthReading,
    GirthVisit,
    MeasuredPart,
    learn_error,
    readings_of_visits,
)
from tests.simulation.sided import POUND, World, drawn, folded, judged, reading

LIFTERS = 250
AHEAD = {"right_ahead", "left_ahead"}
#: What chance leaves of a share among so many lifters: three standard errors of 3 %.
LEEWAY = 0.03
WORLDS = {
    "usual": {},
    "no gap of endurance": {"endurance_gap_sd": 0.0},
    "wide gap of endurance": {"endurance_gap_sd": 0.06},
    "steps of 5 lb near 25 lb": {"step_kg": 5 * POUND, "strength_kg": 16.0},
    "slips among the loads": {"slips": 0.02},
    "larger noise": {"day_sd": 0.05, "side_day_sd": 0.014, "set_sd": 0.022},
}
Judged = tuple[tuple[SidePosterior, float], ...]


@cache
def seen(world: World, sessions: int, seed: int = 11) -> Judged:
    rng = Random(seed)
    return tuple(judged(world, sessions, rng) for _ in range(LIFTERS))


def share(found: Judged, wanted: Callable[[SidePosterior], bool]) -> float:
    return sum(wanted(posterior) for posterior, _ in found) / len(found)


def rms(found: Judged) -> float:
    return float(np.sqrt(np.mean([(posterior.t.value - truth) ** 2 for posterior, truth in found])))


@pytest.mark.parametrize("sessions", [6, 12])
@pytest.mark.parametrize("name", WORLDS)
def test_a_gap_too_small_to_matter_is_seldom_called(name: str, sessions: int) -> None:
    """A true 0 in strength; where endurance differs, the gap at the trained repetitions is not quite 0: of those that lie
    within half a per cent few are called.
    """
    near = tuple(one for one in seen(World(**WORLDS[name]), sessions) if abs(one[1]) <= 0.005)
    assert len(near) >= 60
    # 5 to 7 % where the noise is half as large again as what the filter believes.
    least = 0.05 if name == "larger noise" else 0.03
    assert share(near, lambda said: said.state in AHEAD) <= least + LEEWAY


@pytest.mark.parametrize("name", WORLDS)
def test_a_gap_of_five_per_cent_is_seen_within_weeks(name: str) -> None:
    early, late = (seen(World(gap=0.05, **WORLDS[name]), sessions) for sessions in (6, 12))
    assert share(early, lambda said: said.state == "right_ahead") >= 0.65
    assert share(late, lambda said: said.state == "right_ahead") >= 0.80
    assert share(late, lambda said: said.state == "left_ahead") <= 0.005
    assert rms(early) <= 0.020


@pytest.mark.parametrize("name", WORLDS)
def test_a_gap_of_ten_per_cent_is_seen_in_six_sessions(name: str) -> None:
    found = seen(World(gap=0.10, **WORLDS[name]), 6)
    assert share(found, lambda said: said.state == "right_ahead") >= 0.98
    assert rms(found) <= 0.028


def test_a_gap_of_ten_per_cent_is_read_within_two_after_twelve_sessions() -> None:
    """Of a thousand lifters: by 250 of them the error, 1.98 % of all, is told as 1.86 to 2.06 %."""
    assert rms(tuple(one for seed in (11, 12, 13, 14) for one in seen(World(gap=0.10), 12, seed))) <= 0.020


@pytest.mark.xfail(reason="2.2 %: the prior draws a wide gap in", strict=True)
def test_a_gap_of_ten_per_cent_is_read_within_two_after_six_sessions() -> None:
    assert rms(seen(World(gap=0.10), 6)) <= 0.020


def test_intervals_of_a_wide_gap_hold_what_they_say() -> None:
    for sessions in (6, 12):
        found = seen(World(gap=0.10), sessions)
        inside = [said.t.interval.lower <= truth <= said.t.interval.upper for said, truth in found]
        assert 0.72 <= np.mean(inside) <= 0.95


def test_intervals_of_small_gaps_hold_what_they_say() -> None:
    for gap in (0.0, 0.05):
        found = seen(World(gap=gap), 6)
        inside = [said.t.interval.lower <= truth <= said.t.interval.upper for said, truth in found]
        assert 0.74 <= np.mean(inside) <= 0.95


def test_a_side_that_copies_and_tells_its_reserve_is_still_seen() -> None:
    copies = {"copies": True, "tells_second": True}
    assert share(seen(World(**copies), 12), lambda said: said.state in AHEAD) <= 0.03 + LEEWAY
    assert share(seen(World(gap=0.10, **copies), 6), lambda said: said.state == "right_ahead") >= 0.95
    assert share(seen(World(gap=0.05, **copies), 12), lambda said: said.state == "right_ahead") >= 0.75


def test_a_side_that_copies_and_tells_its_reserve_is_read_within_two() -> None:
    assert rms(seen(World(gap=0.10, copies=True), 12)) <= 0.020


@pytest.mark.xfail(reason="3.4 %: between the checks the side that copies says nothing", strict=True)
def test_a_side_that_is_checked_every_third_week_is_read_within_two() -> None:
    silent = World(gap=0.10, copies=True, tells_second=False, check_every=6)
    assert rms(seen(silent, 12)) <= 0.020


def pooled(gap: float, sessions: int, seed: int) -> list[tuple[SidePosterior, float]]:
    """Two lifts of one muscle that differ between them by 1 % of true gap."""
    rng, found = Random(seed), []
    for _ in range(LIFTERS):
        readings = []
        for key in ("press", "raise"):
            world = World(gap=gap + rng.gauss(0.0, 0.01))
            readings.append(reading(folded(drawn(world, rng), world, sessions, rng), sessions, key=key))
        found.append((side_posterior(readings), gap))
    return found


def test_two_lifts_pooled_see_more_and_are_read_closer() -> None:
    none, early, late = pooled(0.0, 6, 3), pooled(0.05, 6, 4), pooled(0.05, 12, 5)
    assert sum(said.state in AHEAD for said, _ in none) / LIFTERS <= 0.03
    assert sum(said.state == "right_ahead" for said, _ in early) / LIFTERS >= 0.85
    assert (
        sum(said.state == "right_ahead" for said, _ in late) / LIFTERS >= 0.90
    )  # 0.93 of the aim, to chance
    assert rms(tuple(early)) <= 0.017


def taped(
    true: float, visits: int, error: float, part: MeasuredPart, slips: float, seed: int
) -> Sequence[str]:
    """Return what is said of people whose right girth is larger by a share, three readings a side and visit, in turn."""
    rng, states = np.random.default_rng(seed), []
    for _ in range(600):
        told = []
        for visit in range(visits):
            tape = []
            for side, half in (("left", -0.5), ("right", 0.5)) * 3:
                girth = round(36.0 * np.exp(half * true + rng.normal(0.0, error)), 1)
                slip = float(rng.choice([10.0, 0.1])) if rng.random() < slips else 1.0
                tape.append(GirthReading("site", side, girth * slip))  # type: ignore[arg-type]
            told.append(GirthVisit(14.0 * visit, tuple(tape)))
        learned = learn_error({"site": told}, {"site": part})["site"]
        readings = readings_of_visits(told, learned)
        found = side_posterior([join_visits(readings, 14.0 * visits, SIZE_WALK)]) if readings else None
        states.append(found.state if found is not None else "nothing")
    return states


@pytest.mark.parametrize("slips", [0.0, 0.03])
@pytest.mark.parametrize(("error", "part"), [(0.010, "other"), (0.0078, "thigh"), (0.0125, "arm")])
def test_equal_limbs_are_seldom_called_by_the_tape(error: float, part: MeasuredPart, slips: float) -> None:
    for visits in (1, 3):
        states = taped(0.0, visits, error, part, slips, 1)
        assert sum(state in AHEAD for state in states) / len(states) <= 0.03 + 0.02


@pytest.mark.parametrize("slips", [0.0, 0.03])
@pytest.mark.parametrize(("error", "part"), [(0.010, "other"), (0.0078, "thigh")])
def test_a_girth_gap_of_two_per_cent_is_seen(error: float, part: MeasuredPart, slips: float) -> None:
    for visits, least in ((1, 0.55), (3, 0.95)):
        states = taped(0.02, visits, error, part, slips, 2)
        assert states.count("right_ahead") / len(states) >= least - 0.01
        assert states.count("left_ahead") == 0


@pytest.mark.xfail(reason="42 and 85 %: the published error of an arm is 1.25 %", strict=True)
def test_a_gap_of_two_per_cent_of_an_arm_with_the_published_error_is_seen() -> None:
    for visits, least in ((1, 0.55), (3, 0.95)):
        states = taped(0.02, visits, 0.0125, "arm", 0.0, 3)
        assert states.count("right_ahead") / len(states) >= least


def test_readings_of_one_set_repeat_as_published_tests_do() -> None:
    """ICC 0.33 to 0.70, and 21 to 38 % of people whose stronger side is another on the next occasion, for single tests of
    the knee extensors [Zoeger2025]_ (abstract): a sanity range for lifters whose true gaps spread by 4 %, read without a
    prior off one set a side on each of two occasions.
    """
    rng, told = Random(4), []
    for _ in range(300):
        world = World(gap=rng.gauss(0.0, 0.04), sets=1)
        lifter = drawn(world, rng)
        told.append([reading(folded(lifter, world, 1, rng), 1).t for _ in range(2)])
    first, second = np.array(told).T
    assert 0.33 <= np.corrcoef(first, second)[0, 1] <= 0.70
    assert 0.21 <= np.mean(np.sign(first) != np.sign(second)) <= 0.38
