"""What goes into the next load and how capability is told, without a database."""

import json
import re
from pathlib import Path

import pytest

from service.catalogue.loading import load_catalogue
from service.catalogue.texts import load_texts
from service.core.estimates import Estimate, Interval
from service.core.progression import RepetitionTarget
from service.usecases.answers.capability import external_estimate
from service.usecases.answers.loads import BodyMass
from service.usecases.answers.progression_case import Past, Wish, caps_of, target_of, with_reserve

pytestmark = pytest.mark.quick
_ROOT = Path(__file__).parents[3]
_AREAS = ("load_progression", "compute")
KNOWN_BODY = BodyMass(80.0, 0.0, known=True)


def lift(exercise_id: str):
    return load_catalogue().exercises[exercise_id]


def effective(value: float, lower: float, upper: float) -> Estimate:
    return Estimate(value, "kg", 3.0, Interval(lower, upper))


def test_an_added_load_is_what_is_left_above_the_body() -> None:
    share = lift("pull-up").body_share * 80.0
    basis, told = external_estimate(effective(share + 10, share + 5, share + 16), lift("pull-up"), KNOWN_BODY)
    assert basis == "added"
    assert (told.value, told.interval.lower, told.interval.upper) == pytest.approx((10, 5, 16))


def test_less_than_the_body_is_assistance_with_its_ends_turned() -> None:
    share = lift("pull-up").body_share * 80.0
    basis, told = external_estimate(effective(share - 10, share - 15, share + 2), lift("pull-up"), KNOWN_BODY)
    assert basis == "assistance"
    assert (told.value, told.interval.lower, told.interval.upper) == pytest.approx((10, -2, 15))


def test_an_unsure_body_mass_widens_what_is_added() -> None:
    share = lift("pull-up").body_share * 80.0
    given = effective(share + 10, share + 5, share + 16)
    _, sure = external_estimate(given, lift("pull-up"), KNOWN_BODY)
    _, unsure = external_estimate(given, lift("pull-up"), BodyMass(80.0, 0.18, known=False))
    assert unsure.interval.lower < sure.interval.lower < sure.interval.upper < unsure.interval.upper
    assert unsure.sd > sure.sd


def test_a_load_of_the_implement_is_told_as_it_is() -> None:
    given = effective(100.0, 95.0, 106.0)
    assert external_estimate(given, lift("bench-press"), KNOWN_BODY) == ("total", given)


def test_without_a_past_the_range_begins_where_the_exercise_does() -> None:
    bench = lift("bench-press")
    target = target_of(bench, Past([]), Wish())
    assert target.low == bench.repetition_range[0]
    assert (target.reserve_low, target.reserve_high) == (1.0, 3.0)


@pytest.mark.parametrize(
    ("wish", "low", "high", "reserve"),
    [
        (Wish(8, 12, 2, 2), 8, 12, (2, 2)),
        (Wish(reps_high=3), 3, 3, (1, 3)),
        (Wish(reps_low=40), 40, 40, (1, 3)),
        (Wish(reserve_low=5), None, None, (5, 5)),
        (Wish(reserve_high=0), None, None, (0, 0)),
    ],
)
def test_what_is_asked_is_never_turned_into_an_empty_range(
    wish: Wish, low: int | None, high: int | None, reserve: tuple[float, float]
) -> None:
    target = target_of(lift("bench-press"), Past([]), wish)
    assert target.low == (low if low is not None else target.low)
    assert target.high == (high if high is not None else target.high)
    assert target.low <= target.high
    assert (target.reserve_low, target.reserve_high) == reserve


def test_a_larger_reserve_moves_the_whole_band() -> None:
    assert with_reserve(RepetitionTarget(6, 10), 4.0) == RepetitionTarget(6, 10, 4.0, 5.0)
    assert with_reserve(RepetitionTarget(6, 10), 0.5) == RepetitionTarget(6, 10, 1.0, 3.0)


@pytest.mark.parametrize(
    ("exercise_id", "cap"),
    [
        ("bench-press", 0.10),
        ("overhead-press", 0.10),
        ("back-squat", 0.10),
        ("leg-press", 0.20),
        ("dumbbell-curl", 0.15),
    ],
)
def test_the_accepted_chance_of_failing_follows_how_a_failure_ends(exercise_id: str, cap: float) -> None:
    assert caps_of(lift(exercise_id)).too_hard == cap


def test_every_code_of_these_answers_has_a_text_and_every_text_a_use() -> None:
    written = "".join(path.read_text("utf-8") for path in (_ROOT / "service" / "usecases").rglob("*.py"))
    texts = load_texts()
    for area in _AREAS:
        named = set(re.findall(rf'"({area}\.[a-z_]*[a-z])"', written))
        told = set(json.loads((_ROOT / f"service/catalogue/data/texts/en/{area}.json").read_text("utf-8")))
        assert named <= told
        assert named
        for code in told - named:
            stem = code.split(".", 1)[1]
            assert f'"{stem}"' in written or stem.startswith(("do_", "hold_", "loadable_")), code
            assert code in texts
