"""Looking back from the end: what the filter knew there, how the filter moves, and how errors of days hang together."""

from collections.abc import Sequence
from math import exp, log, sqrt

import numpy as np
import pytest
from scipy.linalg import block_diag
from scipy.stats import linregress

from service.core.capability import (
    AthleteModel,
    Line,
    Retrospect,
    SeriesPrior,
    SessionEvidence,
    SetEvidence,
    Side,
    begin,
    fold,
    forecast,
)
from service.core.capability.absorbing import curve_of
from service.core.capability.joint import joint_of
from service.core.capability.layout import OWN_DAY, PIVOT, SETS
from service.core.capability.likelihood import slopes
from service.core.capability.looking_back import LOOKING_BACK, begin_looking_back
from service.core.capability.retrospect import Passage, _held, _passage, without_sets
from service.core.curve import CURVE_PRIORS, CurvePrior
from service.core.trend import change_between, gaussian_change
from service.usecases.answers.growth_seen import readings_of

pytestmark = pytest.mark.quick

LN_K, BEND = CURVE_PRIORS["bench"].mean_ln_k, CURVE_PRIORS["bench"].b


def model(training: str = "trained", one_sided: bool = False) -> AthleteModel:
    return AthleteModel(
        lambda _: SeriesPrior(CURVE_PRIORS["bench"], one_sided=one_sided),
        lambda _, __: 0.2,
        training,  # type: ignore[arg-type]
    )


def training(
    generator: np.random.Generator, weekly: float, sessions: int = 24, series: str = "press"
) -> tuple[list[SessionEvidence], list[float]]:
    """Sets to failure of an invented athlete who gains so much a week, with the day's ups and downs."""
    told, truth = [], []
    for number in range(sessions):
        day = 3.5 * number
        strength = log(100.0) + weekly * day / 7.0
        ups = generator.normal(0.0, 0.03)
        sets = []
        for share in (0.70, 0.72):
            load = 100.0 * share * exp(weekly * day / 7.0)
            z = strength + ups + generator.normal(0.0, 0.015) - log(load)
            n = 1.0 + np.exp(LN_K) * np.expm1(BEND * z) / BEND
            sets.append(SetEvidence(series, load, int(max(n, 0.0)), to_failure=True))
        told.append(SessionEvidence(day, tuple(sets)))
        truth.append(strength)
    return told, truth


def line_of(sessions: list[SessionEvidence], held: AthleteModel, series: str = "press", cut: int = 8) -> Line:
    line = Retrospect(sessions[:cut], sessions[cut:], held).line(series, repetitions=10.0)
    assert line is not None
    return line


def test_the_last_point_is_what_the_filter_holds_in_the_end() -> None:
    sessions, _ = training(np.random.default_rng(1), 0.0)
    line = line_of(sessions, model())
    state = fold(begin_looking_back("trained"), sessions, model(), LOOKING_BACK)
    end = forecast(state, "press", sessions[-1].day, same_session=True)
    assert end is not None
    assert line.days == tuple(session.day for session in sessions[8:])
    # ln_load_for adds half the curve's doubt to the mean, which is the same on every day.
    assert float(line.weights @ line.means[:, -1]) == pytest.approx(end.ln_load_for(10.0)[0], abs=0.01)


def test_covariances_are_covariances() -> None:
    sessions, _ = training(np.random.default_rng(2), 0.003)
    for covariance in line_of(sessions, model()).covariances:
        np.testing.assert_allclose(covariance, covariance.T, rtol=1e-9)
        assert np.linalg.eigvalsh(covariance).min() > -1e-9 * covariance.max()


def test_what_carries_from_session_to_session_is_the_filters_own_motion() -> None:
    """F P F' and the walk make the covariance that the filter expects, the day's effects aside."""
    sessions, _ = training(np.random.default_rng(3), 0.002, 12)
    state = fold(begin_looking_back("trained"), sessions, model(), LOOKING_BACK)
    used = joint_of(state, 0, sessions[-1].day, same_session=True).used
    usual = float(state.notes[0, PIVOT])
    passage = _passage(state, 0, 0, sessions[-1].day + 21.0, used, usual, LOOKING_BACK)
    walked = passage.expected_covariance - passage.carry @ passage.covariance @ passage.carry.T
    off_diagonal = walked - np.diag(np.diag(walked))
    assert np.abs(off_diagonal).max() < 1e-12
    assert np.diag(walked).min() > -1e-12
    assert walked[0, 0] > LOOKING_BACK[0].strength_walk ** 2 * 3.0 - 1e-12
    mean, _ = _held(state, 0, 0, used, usual)
    assert mean[OWN_DAY] == 0.0
    assert passage.expected_mean[0] == pytest.approx((passage.carry @ mean)[0], abs=0.02)


def test_asked_for_other_repetitions_the_walk_of_the_curve_moves_the_load_for_them() -> None:
    sessions, _ = training(np.random.default_rng(3), 0.002, 12)
    state = fold(begin_looking_back("trained"), sessions, model(), LOOKING_BACK)
    used = joint_of(state, 0, sessions[-1].day, same_session=True).used
    walks = []
    for asked in (float(state.notes[0, PIVOT]), 1.0):
        passage = _passage(state, 0, 0, sessions[-1].day + 21.0, used, asked, LOOKING_BACK)
        walks.append(passage.expected_covariance - passage.carry @ passage.covariance @ passage.carry.T)
    mean, _ = _held(state, 0, 0, used, 1.0)
    _, _, by_ln_k, _, _, _ = slopes(float(state.notes[0, PIVOT]), *curve_of(used, 0.0, mean))
    added = by_ln_k**2 * LOOKING_BACK[0].ln_k_walk ** 2 * 3.0
    assert walks[1][0, 0] - walks[0][0, 0] == pytest.approx(added, rel=1e-6)


def test_training_another_lift_between_does_not_break_the_line() -> None:
    sessions, _ = training(np.random.default_rng(4), 0.0, 20)
    others, _ = training(np.random.default_rng(5), 0.0, 20, "row")
    both = sorted(
        [*sessions, *(SessionEvidence(one.day + 1.0, one.sets) for one in others)], key=lambda one: one.day
    )
    alone, among = line_of(sessions, model(), cut=4), line_of(both, model(), cut=8)
    assert among.days == alone.days
    changes = [change_between(one, 0, len(one.days) - 1) for one in (alone, among)]
    assert changes[0].mean == pytest.approx(changes[1].mean, abs=0.01)
    assert int(joint_of(fold(begin(), both, model()), 0, both[-1].day, same_session=True).notes[SETS]) == 40


def test_changes_are_held_by_their_intervals() -> None:
    held, errors = [], []
    for seed in range(40):
        weekly = float(np.random.default_rng(seed).normal(0.0, 0.002))
        sessions, truth = training(np.random.default_rng(100 + seed), weekly)
        line = line_of(sessions, model())
        change = change_between(line, 0, len(line.days) - 1)
        true = truth[-1] - truth[8]
        held.append(change.quantile(0.1) <= true <= change.quantile(0.9))
        errors.append(change.mean - true)
    assert np.mean(held) >= 0.7
    assert sqrt(np.mean(np.square(errors))) < 0.025


def test_the_covariance_of_both_ends_makes_a_change_surer_than_independence_would() -> None:
    """What the curve is off by is wrong on both days alike, and falls away."""
    sessions, _ = training(np.random.default_rng(6), 0.0, 14)
    line = line_of(sessions, model(), cut=4)
    h = int(np.argmax(line.weights))
    own = line.covariances[h]
    joint = own[0, 0] + own[-1, -1] - 2.0 * own[0, -1]
    assert joint < 0.8 * (own[0, 0] + own[-1, -1])
    assert change_between(line, 0, len(line.days) - 1).variances[h] == pytest.approx(joint)


def test_serially_correlated_errors_are_not_taken_for_a_trend() -> None:
    """Strength on seven occasions two days apart: a trend test that takes errors for independent finds trends in noise.

    Figures of [Littell1996]_, data set 3.2(a), 57 people under two programmes and a control: sd 3.0991 between people
    and 1.0897 within (REML, random intercept), the errors within following an AR(1) of 0.787. The data are not copied;
    people with these figures and no trend are drawn. The level of 80 is that of the data.
    """
    generator = np.random.default_rng(57)
    naive, ours, held = [], [], []
    for _ in range(57):
        level, error, seen = 80.0 + generator.normal(0.0, 3.0991), generator.normal(), []
        for occasion in range(7):
            if occasion:
                error = 0.787 * error + sqrt(1.0 - 0.787**2) * generator.normal()
            seen.append((1.0 + 2.0 * occasion, level + 1.0897 * error))
        naive.append(linregress(*np.array(seen).T).pvalue < 0.05)
        sets = [
            SessionEvidence(day, (SetEvidence("lift", load, 1, to_failure=True, purpose="test"),))
            for day, load in seen
        ]
        line = Retrospect((), sets, model()).line("lift", repetitions=1.0)
        assert line is not None
        change = change_between(line, 0, 6)
        ours.append(abs(change.probability_above(0.0) - 0.5) > 0.475)
        held.append(change.quantile(0.1) <= 0.0 <= change.quantile(0.9))
    assert np.mean(naive) > 0.2
    assert np.mean(ours) <= 0.05
    assert np.mean(held) >= 0.8


def test_a_lift_without_sessions_in_the_window_has_no_line() -> None:
    sessions, _ = training(np.random.default_rng(7), 0.0, 10)
    back = Retrospect(sessions, (), model())
    assert back.line("press") is None
    assert back.line("never seen") is None


def test_sides_are_lines_of_their_own() -> None:
    generator = np.random.default_rng(8)
    sessions = []
    for number in range(20):
        sets = []
        for side, weekly in (("left", 0.0), ("right", 0.008)):
            load = 20.0 * exp(weekly * number / 2.0)
            done = 10 + int(generator.integers(0, 2))
            sets.append(SetEvidence("curl", load, done, to_failure=True, side=side))  # type: ignore[arg-type]
        sessions.append(SessionEvidence(3.5 * number, tuple(sets)))
    back = Retrospect(sessions[:4], sessions[4:], model(one_sided=True))
    means = {}
    for side in ("left", "right", "both"):
        line = back.line("curl", side)  # type: ignore[arg-type]
        assert line is not None
        means[side] = change_between(line, 0, len(line.days) - 1).mean
    assert means["right"] > means["left"] + 0.02
    assert means["both"] == pytest.approx(0.5 * (means["left"] + means["right"]), abs=1e-3)


def test_a_change_known_for_sure_says_so() -> None:
    change = gaussian_change(0.05, 0.0)
    assert change.probability_above(0.049) == pytest.approx(1.0)
    assert change.probability_above(0.051) == pytest.approx(0.0)


@pytest.mark.parametrize("weeks_alike", [0, 8])
def test_a_side_that_stands_still_is_not_carried_along_by_the_other(weeks_alike: int) -> None:
    """One side rises by a quarter in eight weeks, as after an injury; the other is logged flat on the same days."""
    sessions = []
    for number in range(3 * weeks_alike + 24):
        risen = max(number - 3 * weeks_alike, 0) * 0.025 / 3.0
        loads: tuple[tuple[Side, float], ...] = (("right", 60.0), ("left", 60.0 * exp(risen)))
        sets = [SetEvidence("curl", load, 10, 2.0, side=side) for _ in range(3) for side, load in loads]
        sessions.append(SessionEvidence(7.0 * number / 3.0, tuple(sets)))
    back = Retrospect(sessions[: 3 * weeks_alike], sessions[3 * weeks_alike :], model(one_sided=True))
    changes = {}
    for side, _ in loads:
        line = back.line("curl", side)
        assert line is not None
        changes[side] = change_between(line, 0, len(line.days) - 1)
    assert changes["left"].mean > 0.12
    assert changes["left"].probability_above(0.02) > 0.95
    assert abs(changes["right"].mean) < 0.08
    assert changes["right"].probability_above(0.02) < 0.7


@pytest.mark.parametrize(
    ("last", "progress", "regression"), [(85.0, 0.01, 0.9), (100.0, 0.2, 0.2), (125.0, 0.95, 0.01)]
)
def test_strength_that_turns_within_weeks_is_followed(
    last: float, progress: float, regression: float
) -> None:
    """Eight steady weeks at 100 kg for 8 with two left, then eight to another load."""
    sessions = []
    for at in range(-16, 16):
        load = 100.0 + (last - 100.0) * max(at, 0) / 15.0
        sets = tuple(SetEvidence("press", load, 8, 2.0, purpose="work") for _ in range(2))
        sessions.append(SessionEvidence(60.0 + 3.5 * at, sets))
    line = Retrospect(sessions[:16], sessions[16:], model()).line("press")
    assert line is not None
    change = change_between(line, 0, len(line.days) - 1)
    rose, fell = change.probability_above(0.02), 1.0 - change.probability_above(-0.02)
    assert (rose >= progress) == (last > 100.0)
    assert (fell >= regression) == (last < 100.0)


def test_a_lift_of_both_limbs_logged_by_side_is_not_carried_away_by_the_better_one() -> None:
    """Two dumbbells, each limb's sets told apart: one falls by 15 % in ten weeks, the other stands still."""
    sessions = []
    for number in range(34):
        fallen = 1.0 - 0.15 * max(number - 14, 0) / 19.0
        loads: tuple[tuple[Side, float], ...] = (("left", 30.0), ("right", 30.0 * fallen))
        sets = [
            SetEvidence("curl", load, 10, 2.0, side=side, purpose="work")
            for _ in range(3)
            for side, load in loads
        ]
        sessions.append(SessionEvidence(3.5 * number, tuple(sets)))
    changes = {}
    back = Retrospect(sessions[:14], sessions[14:], model())
    for side in ("left", "right", "both"):
        line = back.line("curl", side)  # type: ignore[arg-type]
        assert line is not None
        changes[side] = change_between(line, 0, len(line.days) - 1)
    assert changes["both"].mean == pytest.approx(
        0.5 * (changes["left"].mean + changes["right"].mean), abs=1e-3
    )
    assert changes["both"].probability_above(0.02) < 0.8
    assert changes["right"].mean < changes["left"].mean


def test_what_is_expected_without_sets_is_what_the_passages_carry_on() -> None:
    rng = np.random.default_rng(31)
    passages, moves, walks = [], [], []
    for _ in range(3):
        root, other = rng.normal(size=(2, 4, 4))
        carry, walk = rng.normal(size=(4, 4)), root @ root.T
        mean, shift, covariance = rng.normal(size=4), rng.normal(size=4), other @ other.T
        passages.append(
            Passage(mean, covariance, carry, carry @ mean + shift, carry @ covariance @ carry.T + walk)
        )
        moves.append((carry, shift))
        walks.append(walk)
    direction = rng.normal(size=4)
    # All days at once, as sums of the first day's doubt and each walk since.
    means = [passages[0].mean]
    rows = [np.hstack([np.eye(4), np.zeros((4, 12))])]
    for place, (carry, shift) in enumerate(moves):
        row = carry @ rows[-1]
        row[:, 4 * (place + 1) : 4 * (place + 2)] = np.eye(4)
        rows.append(row)
        means.append(carry @ means[-1] + shift)
    sources = block_diag(passages[0].covariance, *walks)
    onto = np.array([direction @ row for row in rows])
    mean, covariance = without_sets(passages, direction)
    assert mean == pytest.approx([direction @ one for one in means])
    np.testing.assert_allclose(covariance, onto @ sources @ onto.T, rtol=1e-8)


def test_what_would_be_without_sets_is_worked_out_once_and_only_when_it_is_asked_for(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    worked_out: list[int] = []

    def counted(passages: Sequence[Passage], direction: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        worked_out.append(len(passages))
        return without_sets(passages, direction)

    monkeypatch.setattr("service.core.capability.retrospect.without_sets", counted)
    sessions, _ = training(np.random.default_rng(33), 0.002, sessions=6)
    line = Retrospect([], sessions, model()).line("press", repetitions=8.0)
    assert line is not None
    assert line.means.shape == (len(line.weights), 6)
    assert worked_out == []
    assert line.expected.shape == line.means.shape
    assert line.expected_covariances.shape == line.covariances.shape
    assert worked_out == [5] * len(line.weights)


@pytest.mark.parametrize("weekly", [-0.0135, 0.0, 0.0135])
def test_each_hypothesis_reads_a_change_that_went_on_once_its_own_belief_is_out(weekly: float) -> None:
    """A belief that was not the hypothesis' own, and narrower, had turned a fall of a fifth in 15 weeks into one by e^-5."""
    sessions, _ = training(np.random.default_rng(32), weekly, sessions=32)
    line = Retrospect([], sessions, model()).line("press", repetitions=8.0)
    assert line is not None
    at = [0, 8, 16, 24, 31]
    read, steps = readings_of(line, at), np.diff(np.eye(len(line.days))[at], axis=0)
    truth = weekly * (line.days[-1] - line.days[0]) / 7.0
    sd = sqrt(read.covariance.sum())
    assert read.changes.sum() == pytest.approx(truth, abs=2.0 * sd)
    assert sd < 0.12
    for held, expected in zip(line.covariances, line.expected_covariances, strict=True):
        left = np.linalg.eigvalsh(steps @ (expected - held) @ steps.T)
        assert left.min() > -1e-6


@pytest.mark.parametrize("repetitions", [14.0, 16.0])
def test_a_lift_that_stands_still_near_the_end_of_its_curve_is_told_to_stand_still(
    repetitions: float,
) -> None:
    """The curve ends at some 22 repetitions; days differ by two. It used to be told to have fallen by 14 and 21 %."""
    steep = SeriesPrior(CurvePrior(log(18.0), 0.25, -0.85, 0.3, basis=("judgement",)))
    rng, sessions = np.random.default_rng(1), []
    for number in range(40):
        middle = repetitions + rng.normal(0.0, 2.0)
        done = [max(4, round(middle + rng.normal())) for _ in range(3)]
        sessions.append(
            SessionEvidence(3.5 * number, tuple(SetEvidence("curl", 20.0, one, 2.0) for one in done))
        )
    trained = AthleteModel(lambda _: steep, lambda *_: 0.0, "trained")
    line = Retrospect(sessions[:24], sessions[24:], trained).line("curl")
    assert line is not None
    change = change_between(line, 0, len(line.days) - 1)
    assert change.quantile(0.1) < 0.0 < change.quantile(0.9)
    assert change.mean == pytest.approx(0.0, abs=0.06)
