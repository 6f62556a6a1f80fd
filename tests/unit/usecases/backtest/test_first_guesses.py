"""Where only warm-ups came before, a guess is given that is wide and honest about it."""

import pytest

from service.core.capability import SetEvidence
from service.core.curve import CURVE_PRIORS
from service.usecases.backtest.first_guesses import FirstGuesses

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
