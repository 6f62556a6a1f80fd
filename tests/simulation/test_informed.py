"""One who must learn an athlete from the log knows a trend no better than one who knows the athlete."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from random import Random

import pytest

from tests.simulation.athletes import Athlete, draw_athlete
from tests.simulation.constants import BASE, BY_FEEL, Constants
from tests.simulation.degrading import degrade
from tests.simulation.informed import Informed, Phase
from tests.simulation.knowing import Knowing
from tests.simulation.rows import SetRow
from tests.simulation.training import endurance, strength, train
from tests.simulation.trends import Truth, sides_of

pytestmark = pytest.mark.quick
REPETITIONS = 8.0


class _Log:
    """One athlete's log, and the truth that readers of it are judged by."""

    def __init__(self, number: int, c: Constants = BASE) -> None:
        rng = Random(f"informed {number}")
        self.athlete: Athlete = draw_athlete(rng, c, f"a{number}", weeks=16)
        self.c, self.truth, self.phases = c, Truth(), dict[float, Phase]()
        self.rows: list[SetRow] = degrade(
            train(self.athlete, c, rng, self._watch), self.athlete.habit, c, rng
        )

    def _watch(self, day: float) -> None:
        self.phases[day] = Phase(self.athlete.trained_weeks, self.athlete.loss)
        for lift in self.athlete.lifts:
            for side in sides_of(lift):
                key = day, lift.lift.name, side
                self.truth[key] = strength(self.athlete, lift, side), endurance(lift, side)

    def informed(self, c: Constants, rows: list[SetRow] | None = None) -> Informed:
        return Informed(self.athlete, self.rows if rows is None else rows, self.truth, self.phases, c)

    def trends(self) -> Iterator[tuple[str, str, float, float]]:
        """Yield lift, side, first and last day [d] of stretches of about five weeks, and of the whole log."""
        days = sorted(self.phases)
        ends = [*days[:: max(len(days) // 3, 1)], days[-1]]
        for lift in self.athlete.lifts:
            for side in sides_of(lift):
                for first, last in (*pairwise(ends), (days[0], days[-1])):
                    if first < last:
                        yield lift.lift.name, side, first, last


@pytest.fixture(scope="module", params=[(2, BASE), (4, BY_FEEL)], ids=["planned", "by feel"])
def log(request: pytest.FixtureRequest) -> _Log:
    return _Log(*request.param)


def _sds(log: _Log, c: Constants, rows: list[SetRow] | None = None) -> list[float]:
    reader = log.informed(c, rows)
    return [reader.least_sd(*one, REPETITIONS) for one in log.trends()]


def test_who_must_learn_the_athlete_is_never_surer_than_who_knows_all_but_chance(log: _Log) -> None:
    knowing = Knowing(log.rows, log.c)
    least = [knowing.least_sd(*one) for one in log.trends()]
    assert len(least) > 12
    assert all(learnt > known > 0 for learnt, known in zip(_sds(log, log.c), least, strict=True))


def test_the_noisier_reserves_are_stated_the_less_a_log_says(log: _Log) -> None:
    assert any(row.reserve is not None and not row.to_failure for row in log.rows)
    noisier = replace(log.c, report=replace(log.c.report, noise=4.0 * log.c.report.noise))
    before, after = _sds(log, log.c), _sds(log, noisier)
    assert all(more > less for less, more in zip(before, after, strict=True))


def test_a_log_of_which_nothing_is_said_says_less(log: _Log) -> None:
    silent = [replace(row, reserve=None, to_failure=None) for row in log.rows]
    assert sum(_sds(log, log.c, silent)) > 1.01 * sum(_sds(log, log.c))


def test_a_log_of_loads_from_memory_says_less(log: _Log) -> None:
    whole = [replace(row, load=max(5.0, 5.0 * round(row.load_kg / 5.0)), remembered=True) for row in log.rows]
    exact = [replace(row, load=row.load_kg, remembered=True) for row in log.rows]
    assert _sds(log, log.c, exact) == _sds(log, log.c)
    assert all(more > less for less, more in zip(_sds(log, log.c), _sds(log, log.c, whole), strict=True))


def test_a_log_without_sets_leaves_what_the_world_lets_change(log: _Log) -> None:
    lift, side, first, last = next(log.trends())
    walked = (last - first) / 7.0 * (log.c.walk_person**2 + log.c.walk_exercise**2)
    assert log.informed(log.c, []).least_sd(lift, side, first, last, REPETITIONS) ** 2 > walked
