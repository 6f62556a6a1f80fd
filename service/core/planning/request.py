"""What a plan of one session is asked with: candidates, muscles that want work, restrictions, allowance."""

from dataclasses import dataclass
from typing import Literal

from service.core.units import Degrees, HardSets, Seconds, Share

LimbSide = Literal["left", "right"]
BodySide = Literal["left", "right", "both"]
Limbs = Literal["two_sided", "one_sided", "two_loads"]

#: Both limbs, in the order of the arrays inside this package.
SIDES: tuple[LimbSide, LimbSide] = ("left", "right")


@dataclass(frozen=True, slots=True)
class Demand:
    """A range that an exercise moves a joint through, with the spread over people and set-ups. [deg]"""

    motion: str
    from_deg: Degrees
    to_deg: Degrees
    sd_deg: Degrees = 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """An exercise that may stand in the plan, as far as planning must know it.

    ``involvement`` pairs a muscle with its share of a set's dose. Ordinals run from 0 to 3. ``demands`` and
    ``joint_stress`` None = unknown, which fails every veto about joints; ``burdened`` are the joints that cannot rest under
    it, those that it stresses apart, and ``either_side`` those that the sets of either side load or move, whose vetoes bind
    both. ``loaded`` lifts can be made harder by what
    the site has, ``ramped`` ones can be warmed up to with lighter loads. ``work_s`` is the time under load of one set
    on one side, ``rest_s`` the rest after it. ``lagging`` is the side that is behind, None unless the evidence
    decides it; with ``closing`` that side does a set more from the start. ``familiar`` lifts are in the log;
    ``load_known`` says that a load can be named; ``aimed`` that the athlete wants to raise this lift; ``unwanted``
    names the sides on which they would rather not. ``serves`` are the keys of wanted work that its sets count
    towards. ``fewer_sets`` names a side of a one-sided lift that may do no more than so many, for what holds that
    side alone: pain, or its careful weeks; ``without_extra`` is a lagging side that gets no set beyond the other,
    since it hurts, comes back, or does less itself.
    """

    exercise_id: str
    involvement: tuple[tuple[str, Share], ...]
    limbs: Limbs = "two_sided"
    compound: bool = True
    trunk: bool = False
    loaded: bool = True
    ramped: bool = True
    skill: int = 1
    axial_load: int = 0
    failure_exit: int = 0
    joint_stress: tuple[tuple[str, int], ...] | None = ()
    demands: tuple[Demand, ...] | None = ()
    burdened: frozenset[str] = frozenset()
    either_side: frozenset[str] = frozenset()
    available: bool = True
    familiar: bool = True
    load_known: bool = True
    unwanted: tuple[LimbSide, ...] = ()
    aimed: bool = False
    serves: tuple[str, ...] = ()
    lagging: LimbSide | None = None
    closing: bool = False
    fewest_sets: int = 2
    most_sets: int = 4
    fewer_sets: tuple[tuple[LimbSide, int], ...] = ()
    without_extra: LimbSide | None = None
    work_s: Seconds = 40.0
    rest_s: Seconds = 120.0

    def most_on(self, side: LimbSide) -> int:
        """Return the most sets of a side: its own, but no more than the lagging side's where a gap is to be closed."""
        held = dict(self.fewer_sets)
        most = held.get(side, self.most_sets)
        lagging = self.lagging if self.closing else None
        return most if lagging is None else min(most, held.get(lagging, self.most_sets))


@dataclass(frozen=True, slots=True)
class MuscleSide:
    """One muscle on one side: what more work there is worth, the week's target and dose, and readiness.

    ``weight`` is relative to the other muscles; ``target_sets`` the weekly hard sets beyond which nothing is
    sought. [1, hard sets, hard sets, 1]
    """

    muscle_id: str
    side: LimbSide
    weight: float
    target_sets: HardSets
    done_sets: HardSets = 0.0
    p_ready: Share = 1.0


@dataclass(frozen=True, slots=True)
class WantedWork:
    """Sets of a lift or a movement that are wanted for their own sake, for strength, beside any muscle.

    Candidates whose ``serves`` holds the key count towards it.
    """

    key: str
    weight: float
    target_sets: HardSets
    done_sets: HardSets = 0.0


@dataclass(frozen=True, slots=True)
class JointRange:
    """The range within which a motion is allowed or possible; ``both`` binds both sides. [deg]"""

    motion: str
    from_deg: Degrees
    to_deg: Degrees
    side: BodySide = "both"


@dataclass(frozen=True, slots=True)
class RuledOut:
    """An exercise that must not be done on a side, and the code of why."""

    exercise_id: str
    code: str
    side: BodySide = "both"


@dataclass(frozen=True, slots=True)
class RestingRegion:
    """A joint that must rest on a side, neither stressed nor moved under load, and the code of why."""

    region: str
    code: str
    side: BodySide = "both"


@dataclass(frozen=True, slots=True)
class Restrictions:
    """Everything that rules an exercise out; ``no_extra_sets`` names sides that get none for lagging."""

    joint_ranges: tuple[JointRange, ...] = ()
    ruled_out: tuple[RuledOut, ...] = ()
    resting_regions: tuple[RestingRegion, ...] = ()
    no_extra_sets: tuple[LimbSide, ...] = ()


@dataclass(frozen=True, slots=True)
class Allowance:
    """How much the session may hold.

    ``sessions_left`` counts this week's sessions with this one; ``muscle_sets`` caps one muscle's hard sets
    in this session, eleven unless given [Remmert2025]_ (from memory); ``first_times`` caps lifts that are not
    in the log.
    """

    minutes: float
    sessions_left: int = 1
    muscle_sets: HardSets = 11.0
    exercises: int = 8
    first_times: int = 8


@dataclass(frozen=True, slots=True)
class PlanRequest:
    """A whole question: what may be done, what is wanted, what rules out, how much."""

    candidates: tuple[Candidate, ...]
    muscles: tuple[MuscleSide, ...]
    works: tuple[WantedWork, ...] = ()
    restrictions: Restrictions = Restrictions()
    allowance: Allowance = Allowance(60.0)
