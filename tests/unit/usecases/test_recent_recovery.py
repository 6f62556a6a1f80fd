"""What a plan is told of readiness: the athlete's own recovery where it is learned, and the trunk with its load."""

import pytest

from service.core.recovery import PRIOR_BELIEF, TRUNK, FatigueBelief
from service.usecases.answers.muscle_sessions import ChannelSide, Demand, RecoveryEvidence
from service.usecases.answers.recent_work import RecentWork

pytestmark = pytest.mark.quick

NOW = 100.0
SLOW = FatigueBelief(ln_tau=PRIOR_BELIEF.ln_tau + 0.8, loss_sd=0.2, tau_sd=0.15, prior_share=0.3)
BACK, CHEST = "erector-spinae-lumbar", "pectoralis-major-sternal"


def work(
    beliefs: dict[str, FatigueBelief] | None = None, soreness: float | None = None, days_ago: float = 2.0
) -> RecentWork:
    sides: tuple[ChannelSide, ...] = ("left", "right")
    demand = Demand(NOW - days_ago, NOW - days_ago, 6.0, 2.0, 0.0, 9.0, 6.0)
    demands = {(channel, side): {"s": demand} for channel in (CHEST, TRUNK) for side in sides}
    sore = {(CHEST, "left"): soreness} if soreness is not None else {}
    evidence = RecoveryEvidence(demands, beliefs or {}, sore)  # type: ignore[arg-type]
    return RecentWork({}, {}, 1, 2.0, evidence, NOW, frozenset({BACK}))


def test_a_slow_recoverer_is_told_to_wait_longer() -> None:
    assert work({CHEST: SLOW}).p_ready((CHEST, "left")) < 0.6 * work().p_ready((CHEST, "left"))


def test_what_loads_the_trunk_keeps_its_muscles_from_being_ready() -> None:
    assert work().p_ready((BACK, "left")) == work().p_ready((CHEST, "left")) < 1.0
    assert work({TRUNK: SLOW}).p_ready((BACK, "left")) < work().p_ready((BACK, "left"))


def test_a_muscle_that_was_not_asked_is_ready() -> None:
    assert work().p_ready(("soleus", "left")) == 1.0
    assert work(days_ago=8.0).p_ready((CHEST, "left")) == 1.0


def test_soreness_counts_on_its_own_side() -> None:
    sore = work(soreness=9.0)
    assert sore.p_ready((CHEST, "left")) < sore.p_ready((CHEST, "right"))
