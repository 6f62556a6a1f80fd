"""What is expected of a set that goes on: drops whose side is not told, pauses that give back, entries that are none."""

from math import exp

import pytest

from service.core.capability import (
    AthleteModel,
    SeriesPrior,
    SessionEvidence,
    SetEvidence,
    Side,
    begin,
    foresee_all,
)
from service.core.capability.running import MOST_OWN_DROP
from service.core.curve import CURVE_PRIORS

pytestmark = pytest.mark.quick

PRESSDOWN, BENCH = "one-arm pressdown", "bench press"
MODEL = AthleteModel(
    {
        PRESSDOWN: SeriesPrior(CURVE_PRIORS["single_joint"], one_sided=True),
        BENCH: SeriesPrior(CURVE_PRIORS["bench"]),
    }.__getitem__,
    lambda *_: 0.0,
)
MEDIAN, HIGH = 4, 5


def _last(*visits: tuple[SetEvidence, ...]) -> list[float]:
    """Return what was expected of the last set of the last visit."""
    sessions = [SessionEvidence(3.0 * number, sets) for number, sets in enumerate(visits)]
    return [float(value) for value in foresee_all(begin("trained"), sessions, MODEL)[1][-1]]


def _opening(side: Side = "left", reps: int = 12) -> SetEvidence:
    return SetEvidence(PRESSDOWN, 20.0, reps, to_failure=True, side=side)


def _drop(side: Side) -> SetEvidence:
    return SetEvidence(PRESSDOWN, 16.0, 6, to_failure=True, side=side, stage=1)


@pytest.mark.parametrize("opened", ["left", "right"])
def test_a_drop_whose_side_is_not_told_goes_on_from_the_last_opening(opened: Side) -> None:
    told, untold = (_last((_opening(opened), _drop(side))) for side in (opened, "unspecified"))
    assert untold[MEDIAN] == pytest.approx(told[MEDIAN], rel=0.05)
    assert untold[MEDIAN] < 9.0
    # An opening whose side was not told before does not hide the newer one.
    earlier = SetEvidence(PRESSDOWN, 30.0, 4, to_failure=True, side="unspecified")
    again = _last((earlier, _opening(opened), _drop("unspecified")))
    assert again[MEDIAN] == pytest.approx(_last((earlier, _opening(opened), _drop(opened)))[MEDIAN], rel=0.05)


def test_a_drop_of_the_other_side_is_a_fresh_set_still() -> None:
    assert _last((_opening("left"), _drop("right")))[MEDIAN] > 12.0


def _rest_pause(pause_s: float | None, load_kg: float = 50.0) -> list[float]:
    opening = SetEvidence(BENCH, 50.0, 12, to_failure=True)
    return _last((opening, SetEvidence(BENCH, load_kg, 4, to_failure=True, stage=1, rest_s=pause_s)))


def test_a_pause_gives_repetitions_back_at_the_same_load() -> None:
    short, usual, long = (_rest_pause(pause) for pause in (5.0, None, 60.0))
    assert short[MEDIAN] < usual[MEDIAN] < long[MEDIAN] < 12.0
    # Four after a set of twelve and some twenty seconds are nothing unheard of (common practice, no source).
    assert 1.5 < usual[MEDIAN] < 4.5
    assert usual[HIGH] > 3.5


def test_a_pause_adds_to_what_a_lighter_load_gives_and_none_is_taken_where_none_is_told() -> None:
    at_once, silent, paused = (_rest_pause(pause, 40.0) for pause in (0.0, None, 30.0))
    assert silent == at_once
    assert paused[MEDIAN] > 1.2 * at_once[MEDIAN]


def test_entries_that_are_no_drops_do_not_teach_a_factor_beyond_anyone() -> None:
    opening = SetEvidence(BENCH, 50.0, 12, to_failure=True)
    drop, slip = (SetEvidence(BENCH, 46.0, reps, to_failure=True, stage=1) for reps in (3, 60))
    plain = _last((opening, drop))
    taught = _last(*((opening, slip) for _ in range(20)), (opening, drop))
    assert plain[MEDIAN] < taught[MEDIAN] < 1.1 * exp(MOST_OWN_DROP) * plain[MEDIAN]
