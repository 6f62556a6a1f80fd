"""In which order exercises stand, and what each is there for.

Heavy and skilled lifts come first, then one-sided ones, then single-joint ones, the trunk last: what is done
first gains most strength, size hardly minds [Nunes2021]_.
"""

from typing import Literal

from service.core.planning.request import Candidate, LimbSide

Role = Literal["main", "second", "accessory"]


def tier(candidate: Candidate) -> int:
    """Return the place in the order: 0 compound, 1 compound on one side, 2 single-joint, 3 trunk."""
    if candidate.trunk:
        return 3
    if not candidate.compound:
        return 2
    return 1 if candidate.limbs == "one_sided" else 0


def heaviness(candidate: Candidate) -> int:
    """Return how much a lift asks of skill, spine and care; the higher, the earlier. [ordinals added]"""
    return candidate.skill + candidate.axial_load + candidate.failure_exit


def order_key(candidate: Candidate, share: float) -> tuple[float, ...]:
    """Return what sorts a plan: tier, whether the lift is an aim, heaviness, what it gives."""
    return (tier(candidate), 0.0 if candidate.aimed else 1.0, -heaviness(candidate), -round(share, 9))


def first_side(candidate: Candidate, left: int, right: int) -> LimbSide | None:
    """Return the side that goes first and sets the load: the lagging one; None for lifts of both limbs."""
    if candidate.limbs != "one_sided":
        return None
    if not left or not right:
        return "left" if left else "right"
    return candidate.lagging or "left"
