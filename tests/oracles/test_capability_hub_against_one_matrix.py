"""The hub's conditionals against one covariance matrix of all series and the athlete's globals, done by NumPy."""

from dataclasses import dataclass

import numpy as np
import pytest
from numpy.typing import NDArray

from service.core.capability.hub import forget_day, join, new_day, part, update
from service.core.capability.layout import DAY, GLOBAL_COUNT, JOINT_COUNT, LOCAL_COUNT

pytestmark = pytest.mark.quick

Array = NDArray[np.float64]
SERIES = 3
#: No number of the joint learns more slowly than the others.
NO_ONE = -1


@dataclass
class Hub:
    """The state as the kernel keeps it: globals, and each series given the globals."""

    g: Array
    p: Array
    a: Array
    b: Array
    c: Array

    def joint(self, s: int) -> tuple[Array, Array]:
        mean, cov = np.zeros(JOINT_COUNT), np.zeros((JOINT_COUNT, JOINT_COUNT))
        join(LOCAL_COUNT, self.a[s], self.b[s], self.c[s], self.g, self.p, mean, cov)
        return mean, cov

    def keep(self, s: int, mean: Array, cov: Array) -> None:
        part(LOCAL_COUNT, mean, cov, self.a[s], self.b[s], self.c[s], self.g, self.p)

    def whole(self) -> tuple[Array, Array]:
        """Return mean and covariance of all series and the globals, the globals last."""
        size = SERIES * LOCAL_COUNT
        slopes = np.vstack([*self.b, np.eye(GLOBAL_COUNT)])
        mean = np.concatenate([self.a.ravel(), np.zeros(GLOBAL_COUNT)]) + slopes @ self.g
        cov = slopes @ self.p @ slopes.T
        for s in range(SERIES):
            here = slice(s * LOCAL_COUNT, (s + 1) * LOCAL_COUNT)
            cov[here, here] += self.c[s]
        assert len(mean) == size + GLOBAL_COUNT
        return mean, cov


def spread(rng: np.random.Generator, size: int, scale: float) -> Array:
    root = rng.normal(size=(size, size + 3)) * scale
    return np.asarray(root @ root.T)


def drawn(seed: int) -> tuple[Hub, np.random.Generator]:
    rng = np.random.default_rng(seed)
    hub = Hub(
        rng.normal(size=GLOBAL_COUNT),
        spread(rng, GLOBAL_COUNT, 0.3),
        rng.normal(size=(SERIES, LOCAL_COUNT)),
        rng.normal(size=(SERIES, LOCAL_COUNT, GLOBAL_COUNT)),
        np.array([spread(rng, LOCAL_COUNT, 0.2) for _ in range(SERIES)]),
    )
    return hub, rng


def places(s: int) -> Array:
    """Return where a series' locals and the globals stand in the one matrix."""
    return np.r_[
        s * LOCAL_COUNT : (s + 1) * LOCAL_COUNT, SERIES * LOCAL_COUNT : SERIES * LOCAL_COUNT + GLOBAL_COUNT
    ]


def learn(hub: Hub, mean: Array, cov: Array, s: int, rng: np.random.Generator) -> tuple[Array, Array]:
    """Measure one weighed sum of a series and the globals on both roads; return the one matrix's new moments."""
    h = rng.normal(size=JOINT_COUNT) * (rng.random(JOINT_COUNT) < 0.5)
    h[0] = 1.0
    of_set, of_reading, value = rng.uniform(0.05, 1.0), rng.uniform(0.05, 1.0), rng.normal()
    joint, joint_cov = hub.joint(s)
    before = h @ joint_cov @ h + of_set
    share = before / (before + of_reading)
    moved = share * (value - h @ joint)
    update(JOINT_COUNT, joint, joint_cov, joint_cov @ h, before, moved, -share * before, NO_ONE, 1.0, 1.0)
    hub.keep(s, joint, joint_cov)
    wide = np.zeros(len(mean))
    wide[places(s)] = h
    total = wide @ cov @ wide + of_set + of_reading
    gain = cov @ wide / total
    return mean + gain * (value - wide @ mean), cov - np.outer(gain, gain) * total


@pytest.mark.parametrize("seed", range(12))
def test_any_sequence_of_sets_moves_all_series_as_one_matrix_does(seed: int) -> None:
    hub, rng = drawn(seed)
    mean, cov = hub.whole()
    for s in rng.integers(SERIES, size=25):
        mean, cov = learn(hub, mean, cov, int(s), rng)
        own_mean, own_cov = hub.whole()
        np.testing.assert_allclose(own_mean, mean, rtol=1e-9, atol=1e-9)
        np.testing.assert_allclose(own_cov, cov, rtol=1e-9, atol=1e-9)


@pytest.mark.parametrize("seed", range(5))
def test_parting_a_joint_and_joining_it_again_is_the_joint(seed: int) -> None:
    hub, _ = drawn(seed)
    mean, cov = hub.joint(1)
    hub.keep(1, mean, cov)
    again, cov_again = hub.joint(1)
    np.testing.assert_allclose(again, mean, atol=1e-12)
    np.testing.assert_allclose(cov_again, cov, atol=1e-10)


@pytest.mark.parametrize("seed", range(5))
def test_a_series_of_fewer_locals_is_the_corner_of_the_same_matrix(seed: int) -> None:
    hub, _ = drawn(seed)
    few = 7
    mean, cov = np.zeros(JOINT_COUNT), np.zeros((JOINT_COUNT, JOINT_COUNT))
    join(few, hub.a[0], hub.b[0], hub.c[0], hub.g, hub.p, mean, cov)
    whole, whole_cov = hub.joint(0)
    kept = np.r_[0:few, LOCAL_COUNT : LOCAL_COUNT + GLOBAL_COUNT]
    np.testing.assert_allclose(mean[: few + GLOBAL_COUNT], whole[kept], atol=1e-12)
    np.testing.assert_allclose(
        cov[: few + GLOBAL_COUNT, : few + GLOBAL_COUNT], whole_cov[np.ix_(kept, kept)], atol=1e-12
    )


@pytest.mark.parametrize("seed", range(8))
def test_a_new_day_leaves_all_but_the_day_as_one_matrix_has_it(seed: int) -> None:
    hub, rng = drawn(seed)
    mean, cov = hub.whole()
    for s in (0, 1, 2, 1):
        mean, cov = learn(hub, mean, cov, s, rng)
    for s in range(SERIES):
        forget_day(hub.a[s], hub.b[s], hub.c[s], hub.g, hub.p)
    new_day(hub.g, hub.p, 0.7)
    day = LOCAL_COUNT + DAY
    kept = np.delete(np.arange(JOINT_COUNT), day)
    for s in range(SERIES):
        joint, joint_cov = hub.joint(s)
        old = places(s)[kept]
        np.testing.assert_allclose(joint[kept], mean[old], atol=1e-9)
        np.testing.assert_allclose(joint_cov[np.ix_(kept, kept)], cov[np.ix_(old, old)], atol=1e-9)
        assert joint[day] == 0.0
        assert joint_cov[day, day] == 0.7
        assert not joint_cov[day, kept].any()


@pytest.mark.parametrize("seed", range(5))
def test_a_number_that_learns_slowly_keeps_its_doubt_and_the_rest_learn_as_before(seed: int) -> None:
    hub, rng = drawn(seed)
    slow, pace, h = LOCAL_COUNT + 1, 0.1, rng.normal(size=JOINT_COUNT)
    full, full_cov = hub.joint(0)
    part_way, part_cov = full.copy(), full_cov.copy()
    tied = full_cov @ h
    before = h @ tied + 0.1
    start, doubt = full[slow], full_cov[slow, slow]
    update(JOINT_COUNT, full, full_cov, tied, before, 0.5, -0.6 * before, NO_ONE, 1.0, 1.0)
    update(JOINT_COUNT, part_way, part_cov, tied, before, 0.5, -0.6 * before, slow, pace, 1.0)
    rest = np.delete(np.arange(JOINT_COUNT), slow)
    np.testing.assert_array_equal(part_way[rest], full[rest])
    np.testing.assert_array_equal(part_cov[np.ix_(rest, rest)], full_cov[np.ix_(rest, rest)])
    assert part_way[slow] - start == pytest.approx(pace * (full[slow] - start))
    lost = (doubt - part_cov[slow, slow]) / (doubt - full_cov[slow, slow])
    assert lost == pytest.approx(1.0 - (1.0 - pace) ** 2)
    assert np.linalg.eigvalsh(part_cov).min() > -1e-9


def test_a_new_day_leaves_the_spread_symmetric_to_the_last_bit() -> None:
    # A packed state keeps one triangle: the other must be its mirror for a stored state to go on bit by bit.
    for seed in range(8):
        hub, _ = drawn(seed)
        spread_before = hub.c[0]
        hub.c[0] = np.tril(spread_before) + np.tril(spread_before, -1).T
        forget_day(hub.a[0], hub.b[0], hub.c[0], hub.g, hub.p)
        np.testing.assert_array_equal(hub.c[0], hub.c[0].T)
