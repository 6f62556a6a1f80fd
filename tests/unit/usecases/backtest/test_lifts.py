"""What the names of a log stand for, what is lifted, and how lifts tire each other."""

import pytest

from service.catalogue import load_catalogue
from service.usecases.backtest.lifts import UNKNOWN_CURVE, BodyMassLine, LiftBook

pytestmark = pytest.mark.quick
NAMED = (
    "bench press", "incline dumbbell press", "one-arm cable fly", "overhead press", "one-arm lateral raise",
    "barbell row", "one-arm dumbbell row", "lat pulldown", "one-arm dumbbell curl", "barbell curl",
    "one-arm cable pressdown", "lying triceps extension", "back squat", "leg press", "one-leg leg press",
    "one-leg knee extension", "split squat", "one-leg leg curl", "romanian deadlift", "hip thrust", "one-leg calf raise",
)  # fmt: skip


def _plural(name: str) -> str:
    return f"{name}es" if name.endswith("ss") else f"{name}s"


@pytest.fixture
def book() -> LiftBook:
    return LiftBook(load_catalogue())


@pytest.mark.parametrize("name", NAMED)
@pytest.mark.parametrize("written", [str, str.upper, lambda name: name.replace("-", " "), _plural])
def test_names_that_people_write_are_known(name: str, written: object, book: LiftBook) -> None:
    assert callable(written)
    lift = book.find(written(name))
    assert lift.exercise is not None
    assert lift.one_sided == (name.startswith("one-") or name == "split squat")
    # Each of them is told as the load on the bar, the stack or the hand; the body is not the load.
    assert not lift.moves_the_body


def test_an_unknown_name_is_a_lift_of_its_own_with_a_wide_curve(book: LiftBook) -> None:
    lift = book.find("Moon Lift")
    assert (lift.series, lift.exercise, lift.curve) == ("unknown:moonlift", None, UNKNOWN_CURVE)
    assert book.find("moon-lifts").series == lift.series
    assert book.unknown_names == ("Moon Lift", "moon-lifts")
    assert UNKNOWN_CURVE.sd_ln_k > 0.3


def test_names_in_other_scripts_stay_apart(book: LiftBook) -> None:
    assert book.find("жим лёжа").series != book.find("тяга").series


def test_where_the_body_is_the_load_a_blank_load_is_the_body_alone(book: LiftBook) -> None:
    """Practice scenario 10: 80 kg, +10 and assistance of 20; at 84 kg 3.8 kg more (pull-up share 0.95, from memory)."""
    body, heavier = BodyMassLine([(0.0, 80.0)]).on(0.0), BodyMassLine([(0.0, 84.0)]).on(0.0)
    pull_up, assisted = book.find("pull-up"), book.find("assisted pull-up")
    assert pull_up.told(None, unread=False) == 0.0
    assert pull_up.effective(0.0, body) == (76.0, 0.0)
    assert pull_up.effective(10.0, body) == (86.0, 0.0)
    assert assisted.effective(20.0, body) == (56.0, 0.0)
    told = pull_up.effective(10.0, heavier)
    assert told is not None
    assert told[0] - 86.0 == pytest.approx(3.8)
    assert assisted.series == pull_up.series
    assert pull_up.external(86.0, body) == pytest.approx(10.0)
    assert assisted.external(56.0, body) == pytest.approx(20.0)


def test_a_body_never_weighed_is_wrong_alike_in_all_sets_but_for_what_hangs_on_it(book: LiftBook) -> None:
    nobody, pull_up = BodyMassLine([]).on(0.0), book.find("pull-up")
    alone, with_plate, with_more = (pull_up.effective(load, nobody) for load in (0.0, 10.0, 30.0))
    assert alone is not None
    assert with_plate is not None
    assert with_more is not None
    assert alone[1] == 0.0
    assert 0.01 < with_plate[1] < with_more[1] < 0.06


def test_help_is_written_with_a_minus_and_what_is_not_told_is_not_none(book: LiftBook) -> None:
    pull_up, assisted, bench = (book.find(name) for name in ("pull-up", "assisted pull-up", "bench press"))
    body = BodyMassLine([(0.0, 80.0)]).on(0.0)
    assert pull_up.told(-30.0, unread=False) == -30.0
    assert pull_up.effective(-30.0, body) == (46.0, 0.0)
    assert assisted.told(-30.0, unread=False) == 30.0
    assert pull_up.told(None, unread=True) is None
    assert assisted.told(None, unread=False) is None
    assert assisted.assumed(25.0, body) == 25.0
    assert assisted.assumed(None, body) == pytest.approx(0.3 * 76.0)
    assert pull_up.assumed(None, body) == 0.0
    assert bench.told(None, unread=False) is None
    assert bench.assumed(60.0, body) is None


TRADE_NAMES = {
    "T-bar row": "machine-row", "pec deck": "chest-fly-machine", "reverse pec deck": "reverse-fly-machine",
    "chins": "chin-up", "weighted dips": "dip", "rope pushdowns": "cable-pressdown", "SLDL": "romanian-deadlift",
    "BSS": "rear-foot-elevated-split-squat", "side laterals": "dumbbell-lateral-raise", "CGBP": "close-grip-bench-press",
    "DB bench": "dumbbell-bench-press", "crunches": "crunch", "close grip pulldown": "lat-pulldown",
}  # fmt: skip


@pytest.mark.parametrize(("written", "exercise_id"), TRADE_NAMES.items())
def test_what_the_trade_calls_a_lift_is_known(written: str, exercise_id: str, book: LiftBook) -> None:
    exercise = book.find(written).exercise
    assert exercise is not None
    assert exercise.exercise_id == exercise_id


def test_a_bar_without_a_load_tells_nothing(book: LiftBook) -> None:
    body = BodyMassLine([]).on(0.0)
    assert book.find("bench press").effective(None, body) is None
    assert book.find("bench press").effective(0.0, body) is None


def test_body_mass_is_the_newest_told_or_the_first_to_come() -> None:
    line = BodyMassLine([(10.0, 82.0), (0.0, 80.0), (5.0, 80.0)])
    assert [line.on(day).kilograms for day in (-3.0, 0.0, 9.9, 10.0, 30.0)] == [80.0, 80.0, 80.0, 82.0, 82.0]
    assert not BodyMassLine([]).on(0.0).known


def test_lifts_tire_those_that_share_their_muscles(book: LiftBook) -> None:
    bench, incline, curl, row, squat, press = (
        book.find(name).series
        for name in (
            "bench press",
            "incline bench press",
            "barbell curl",
            "barbell row",
            "back squat",
            "leg press",
        )
    )
    assert book.kinship(bench, bench) == 1.0
    assert book.kinship(bench, incline) > 0.6
    assert book.kinship(squat, press) > 0.6
    assert book.kinship(bench, curl) < 0.1 < book.kinship(row, curl)
    assert book.kinship(bench, squat) < 0.1
    moon = book.find("moon lift").series
    assert 0.0 < book.kinship(moon, bench) < 0.5


def test_every_kinship_is_a_share(book: LiftBook) -> None:
    series = [book.find(exercise.exercise_id).series for exercise in load_catalogue()]
    assert all(0.0 <= book.kinship(one, other) <= 1.0 for one in series for other in series)
