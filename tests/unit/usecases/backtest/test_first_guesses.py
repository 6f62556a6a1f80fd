"""Where only warm-ups came before, a guess is given that is wide and honest about it."""

import pytest

from service.core.capability import SetEvidence
from service.core.curve import CURVE_PRIORS
from service.usecases.backtest.first_guesses import FirstGuesses
from service.usecases.backtest.predictions import Prediction

pytestmark = pytest.mark.quick
CURVE = CURVE_PRIORS["bench"]


def test_before_any_set_nothing_is_guessed() -> None:
    guesses = FirstGuesses()
    assert guesses.guess(SetEvidence("bench-press", 60.0, 5), CURVE) is None
    guesses.learn(SetEvidence("bench-press", 60.0, 0), CURVE)
    assert guesses.guess(SetEvidence("bench-press", 60.0, 5), CURVE) is None


def test_after_a_warm_up_the_guess_is_wide_and_falls_with_the_load() -> None:
    guesses = FirstGuesses()
    guesses.learn(SetEvidence("bench-press", 40.0, 10, purpose="warm_up"), CURVE)
    light, heavy = (guesses.guess(SetEvidence("bench-press", load, 5), CURVE) for load in (40.0, 60.0))
    assert light is not None
    assert heavy is not None
    assert light.q50 > heavy.q50
    assert heavy.q90 - heavy.q10 > 15.0
    assert heavy.q025 < heavy.q10 < heavy.q50 < heavy.mean < heavy.q90 < heavy.q975
    assert heavy.sd > 5.0


def test_the_best_of_several_counts_and_lifts_are_kept_apart() -> None:
    guesses = FirstGuesses()
    for load in (40.0, 60.0, 50.0):
        guesses.learn(SetEvidence("bench-press", load, 5), CURVE)
    alone = FirstGuesses()
    alone.learn(SetEvidence("bench-press", 60.0, 5), CURVE)
    asked = SetEvidence("bench-press", 80.0, 1)
    assert guesses.guess(asked, CURVE) == alone.guess(asked, CURVE)
    assert guesses.guess(SetEvidence("back-squat", 80.0, 1), CURVE) is None


def test_the_guess_ignores_what_the_set_itself_did() -> None:
    guesses = FirstGuesses()
    guesses.learn(SetEvidence("bench-press", 40.0, 10), CURVE)
    few, many = (SetEvidence("bench-press", 60.0, reps, to_failure=True) for reps in (1, 30))
    assert guesses.guess(few, CURVE) == guesses.guess(many, CURVE)


def _after(load: float, reps: int, asked: SetEvidence) -> Prediction:
    guesses = FirstGuesses()
    guesses.learn(SetEvidence(asked.series, load, reps), CURVE)
    told = guesses.guess(asked, CURVE)
    assert told is not None
    return told


def test_an_empty_bar_says_little_and_a_load_that_was_chosen_can_mostly_be_lifted() -> None:
    told = _after(20.0, 10, SetEvidence("bench-press", 60.0, 8))
    assert told.q50 > 1.0
    # Eight and fifteen are as thinkable as one, and that the bar stays down is not ruled out.
    assert told.q10 < 2.0
    assert told.q90 > 15.0
    assert told.q025 < 0.0


def test_the_interval_holds_what_people_begin_with_after_a_warm_up() -> None:
    """Common practice, no source: ramps of an empty bar, a half and three quarters end in sets of 5 to 15."""
    for light, heavy in ((20.0, 60.0), (20.0, 80.0), (40.0, 80.0), (60.0, 80.0), (20.0, 40.0)):
        told = _after(light, 10, SetEvidence("bench-press", heavy, 8))
        assert told.q10 < 5.0, (light, heavy)
        assert told.q90 > 15.0, (light, heavy)


def test_another_warm_up_is_not_taken_for_a_set_with_effort() -> None:
    warm_up, work = (
        _after(20.0, 10, SetEvidence("bench-press", 30.0, 8, purpose=purpose))
        for purpose in ("warm_up", "work")
    )
    assert warm_up.q50 > work.q50 + 3.0


def test_as_many_as_were_done_are_about_as_many_as_are_expected_at_the_same_load() -> None:
    told = _after(50.0, 60, SetEvidence("bench-press", 50.0, 60))
    assert told.q50 == pytest.approx(60.0, rel=0.1)
