"""Has a joint's range changed, beyond what the test itself varies by?

A change counts only past the minimal detectable change, 1.96 sqrt 2 SEM. No test here has a norm to fall short of.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import sqrt
from types import MappingProxyType
from typing import Literal

from service.core.estimates import Reason
from service.core.units import Days, Degrees

RetestVerdict = Literal["more_range", "less_range", "within_error", "error_not_known", "first_test"]

#: Days after which a test is due again while a limit is being improved. (judgement)
RETEST_AFTER: Days = 28.0


@dataclass(frozen=True, slots=True)
class JointTest:
    """What is published of how far a test varies by itself: its minimal detectable change, 95 %. [deg]

    ``motions`` are the motions whose range its angle tells, as limits name them.
    """

    minimal_detectable_change: Degrees
    source: str
    motions: tuple[str, ...]


def detectable_from_error(sem: Degrees) -> Degrees:
    """Return the minimal detectable change that follows from a standard error of measurement. [deg]

    References
    ----------
    [Weir2005]_: 1.96 sqrt 2 SEM.
    """
    return 1.96 * sqrt(2.0) * sem


#: Tests by the ids that measurements use; more range is a larger angle in each.
JOINT_TESTS: Mapping[str, JointTest] = MappingProxyType(
    {
        "weight-bearing-lunge": JointTest(4.6, "Powden2015", ("ankle_dorsiflexion", "loaded_dorsiflexion")),
        "modified-thomas": JointTest(
            detectable_from_error(7.0), "Peeler2008", ("hip_extension", "knee_flexion")
        ),
    }
)


def measures(test: str, what: str) -> bool:
    """Whether a test tells of a motion, or of a region: by its own name, or as one of `JOINT_TESTS`.

    A test names what it measures where its name holds the words of it one after the other, however they are joined.
    """
    known = JOINT_TESTS.get(test)
    names = (test, *(known.motions if known is not None else ()))
    wanted = _words(what)
    return bool(wanted.strip()) and any(wanted in _words(name) for name in names)


def _words(name: str) -> str:
    return f" {' '.join(name.lower().replace('-', ' ').replace('_', ' ').split())} "


@dataclass(frozen=True, slots=True)
class Retest:
    """The newest reading of a test against the one before it. [deg]"""

    verdict: RetestVerdict
    change: Degrees | None
    minimal_detectable_change: Degrees | None
    source: str | None
    reason: Reason


def read_retest(test: str, newest: Degrees, before: Degrees | None) -> Retest:
    """Return what a test's newest reading says beside the one before; None where there was none.

    References
    ----------
    [Powden2015]_ (between raters), [Peeler2008]_ (from its standard error).
    """
    known = JOINT_TESTS.get(test)
    detectable = known.minimal_detectable_change if known is not None else None
    source = known.source if known is not None else None
    if before is None:
        return Retest("first_test", None, detectable, source, Reason("tolerance.joint_first_test"))
    change = newest - before
    if detectable is None:
        reason = Reason("tolerance.joint_error_not_known", {"change": change})
        return Retest("error_not_known", change, None, None, reason)
    params = {"change": abs(change), "detectable": detectable}
    if abs(change) <= detectable:
        return Retest(
            "within_error", change, detectable, source, Reason("tolerance.joint_within_error", params)
        )
    if change > 0.0:
        return Retest("more_range", change, detectable, source, Reason("tolerance.joint_more_range", params))
    return Retest("less_range", change, detectable, source, Reason("tolerance.joint_less_range", params))
