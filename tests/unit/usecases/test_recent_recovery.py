"""What a plan is told of readiness: the athlete's own recovery where it is learned, and the trunk with its load."""

from datetime import UTC, datetime
from types import SimpleNamespace
from uuid import UUID

import pytest

from service.catalogue.loading import load_catalogue
from service.core.recovery import PRIOR_BELIEF, TRUNK, FatigueBelief
from service.usecases.answers.counting import Counting
from service.usecases.answers.history import SeenSet
from service.usecases.answers.muscle_sessions import (
    TRUNK_KEY,
    ChannelKey,
    Demand,
    RecoveryEvidence,
    hard_sets_of,
)
from service.usecases.answers.recent_work import RecentWork
from service.usecases.answers.recovery import usual_of
from service.usecases.records.log import LoggedSet

pytestmark = pytest.mark.quick

NOW = 100.0
SLOW = FatigueBelief(ln_tau=PRIOR_BELIEF.ln_tau + 0.8, loss_sd=0.2, tau_sd=0.15, prior_share=0.3)
BACK, CHEST = "erector-spinae-lumbar", "pectoralis-major-sternal"


def work(
    beliefs: dict[str, FatigueBelief] | None = None, soreness: float | None = None, days_ago: float = 2.0
) -> RecentWork:
    keys: tuple[ChannelKey, ...] = ((CHEST, "left"), (CHEST, "right"), TRUNK_KEY)
    demand = Demand(NOW - days_ago, NOW - days_ago, 6.0, 2.0, 0.0, 9.0, 6.0)
    demands = {key: {"s": demand} for key in keys}
    sore = {(CHEST, "left"): soreness} if soreness is not None else {}
    evidence = RecoveryEvidence(demands, beliefs or {}, sore)  # type: ignore[arg-type]
    return RecentWork({}, {}, 1, 2.0, evidence, NOW, frozenset({BACK}))


def test_a_slow_recoverer_is_told_to_wait_longer() -> None:
    assert work({CHEST: SLOW}).p_ready((CHEST, "left")) < 0.6 * work().p_ready((CHEST, "left"))


def test_what_loads_the_trunk_keeps_its_muscles_from_being_ready() -> None:
    assert work().p_ready((BACK, "left")) == work().p_ready((CHEST, "left")) < 1.0
    assert work({TRUNK: SLOW}).p_ready((BACK, "left")) < work().p_ready((BACK, "left"))


def test_both_sides_of_the_trunks_muscles_feel_what_one_limb_asked_of_it() -> None:
    tired = work()
    assert tired.p_ready((BACK, "left")) == tired.p_ready((BACK, "right")) < 1.0


def test_a_muscle_that_was_not_asked_is_ready() -> None:
    assert work().p_ready(("soleus", "left")) == 1.0
    assert work(days_ago=8.0).p_ready((CHEST, "left")) == 1.0


def test_soreness_counts_on_its_own_side() -> None:
    sore = work(soreness=9.0)
    assert sore.p_ready((CHEST, "left")) < sore.p_ready((CHEST, "right"))


@pytest.mark.parametrize(
    ("days", "hours"),
    [
        ([0.0, 0.375, 2.0, 2.375, 4.0], 9.0),  # twice a day, every other day: 9 h and 39 h in turn
        ([0.0, 2.0, 5.0], 48.0),
        ([0.0, 2.0, 5.0, 7.0], 48.0),
    ],
)
def test_the_usual_wait_is_one_that_occurs(days: list[float], hours: float) -> None:
    usual = usual_of({str(day): Demand(day, day, 3.0) for day in days})
    assert usual is not None
    assert usual.hours == pytest.approx(hours)


def seen(number: int, stage: int = 0, **said: object) -> SeenSet:
    record = LoggedSet(
        exercise_id="cable-pressdown",
        performed_at=datetime(2026, 11, 20, 18, number, tzinfo=UTC),
        reps=10,
        stage=stage,
        **said,
    )  # type: ignore[arg-type]
    lift = load_catalogue().exercises["cable-pressdown"]
    warm_up = 1.0 if record.purpose == "warm_up" else 0.0
    return SeenSet(
        UUID(int=number), record, lift, "both", 0, "s", NOW, record.performed_at.date(), None, warm_up, 0.0, False, "x"
    )  # fmt: skip


def counted(sets: list[SeenSet]) -> float:
    situation = SimpleNamespace(training="trained", now_day=NOW)
    counting = Counting(situation, SimpleNamespace())  # type: ignore[arg-type]
    return sum(one.value for one in hard_sets_of(sets, counting).values())


def test_drops_tire_as_much_as_they_count_and_no_more_than_a_cluster_may() -> None:
    failed = seen(1, to_failure=True)
    drops = [seen(number, stage=1, stage_of=UUID(int=1)) for number in range(2, 7)]
    assert counted([failed, drops[0]]) == pytest.approx(1.5)
    assert counted([failed, *drops]) == pytest.approx(2.5)


def test_a_drop_after_a_warm_up_or_after_nothing_tires_nobody() -> None:
    warm_up = seen(1, purpose="warm_up")
    assert counted([warm_up, seen(2, stage=1, stage_of=UUID(int=1))]) == 0.0
    assert counted([seen(2, stage=1)]) == 0.0


def test_a_muscle_told_to_be_sore_is_not_surely_ready_though_nothing_was_logged_lately() -> None:
    sore = work(soreness=10.0, days_ago=8.0)
    assert 0.5 < sore.p_ready((CHEST, "left")) < 0.75
    assert sore.p_ready((CHEST, "right")) == 1.0
