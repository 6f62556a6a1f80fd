"""What sets are worth: a concave weekly benefit for each muscle and side, less what a lift costs the body.

The benefit of a week's dose V with target T is sqrt(min(V, T) / T): growth by the root of the weekly sets
[Pelland2025]_, up to where one more set adds little. The objective adds these up by weight.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.core.planning.request import SIDES, Candidate, PlanRequest

Array = NDArray[np.float64]

#: What the objective loses, beside a total weight of 1: per exercise in the plan; per lift that is new, by its
#: skill squared; whose load cannot be named; that the body alone loads, where it is new; that the athlete would rather
#: not do; per set and squared ordinal of axial load, and per set and ordinal of joint stress. (judgement)
CHANGE_COST = 0.002
NEW_LIFT_COST = 0.004
LOAD_UNKNOWN_COST = 0.004
NO_LOAD_COST = 0.010
UNWANTED_COST = 0.03
AXIAL_COST = 0.0002
STRESS_COST = 0.0003


def once_cost(candidate: Candidate) -> float:
    """Return what it costs to have an exercise in the plan at all. [1]"""
    cost = CHANGE_COST + (0.0 if candidate.load_known else LOAD_UNKNOWN_COST)
    if not candidate.familiar:
        cost += NEW_LIFT_COST * (1.0 + 0.5 * candidate.skill**2)
        cost += 0.0 if candidate.loaded or candidate.trunk else NO_LOAD_COST
    return cost


def unwanted_cost(candidate: Candidate, left: int, right: int) -> float:
    """Return what it costs that sets work a side on which the athlete would rather not do an exercise. [1]"""
    worked = {side for side, sets in zip(SIDES, (left, right), strict=True) if sets}
    return UNWANTED_COST if worked & {*candidate.unwanted} else 0.0


def set_cost(candidate: Candidate) -> float:
    """Return what each set costs joints and spine. [1]"""
    stress = sum(ordinal for _, ordinal in candidate.joint_stress or ())
    return AXIAL_COST * candidate.axial_load**2 + STRESS_COST * stress


@dataclass(frozen=True, slots=True)
class Worth:
    """The columns that doses add up in, one a muscle and side, then one a wanted work; rows of candidates."""

    weights: Array
    targets: Array
    done: Array
    caps: Array
    sessions_left: int
    left: Array
    right: Array

    def of(self, dose: Array) -> Array:
        """Return the weighted benefit of doses of this session, one a row. [1]

        The week's remaining sessions are taken to be alike, and their gain is shared out evenly.
        """
        week = np.minimum(self.done + self.sessions_left * dose, self.targets)
        gained = np.sqrt(week / self.targets) - np.sqrt(np.minimum(self.done, self.targets) / self.targets)
        return np.asarray(gained @ self.weights / self.sessions_left)


def worth_of(request: PlanRequest, candidates: tuple[Candidate, ...]) -> Worth:
    """Return the columns and the dose that one set of each candidate gives, by side.

    A muscle that is not ready gets less from a set: its weight counts by the chance that it is.
    """
    keys = [(row.muscle_id, row.side) for row in request.muscles]
    place = {key: index for index, key in enumerate(keys)}
    works = {work.key: len(keys) + index for index, work in enumerate(request.works)}
    left, right = (np.zeros((len(candidates), len(keys) + len(works))) for _ in SIDES)
    for row, candidate in enumerate(candidates):
        for side, doses in zip(SIDES, (left, right), strict=True):
            for muscle_id, share in candidate.involvement:
                if (muscle_id, side) in place:
                    doses[row, place[muscle_id, side]] = share
            for key in candidate.serves:
                if key in works:
                    doses[row, works[key]] = 0.5
    whole = sum(row.weight for row in request.muscles) + sum(work.weight for work in request.works)
    weights = [row.weight * row.p_ready for row in request.muscles]
    targets = [row.target_sets for row in request.muscles]
    return Worth(
        weights=np.array(weights + [work.weight for work in request.works]) / max(whole, 1e-12),
        targets=np.maximum(targets + [work.target_sets for work in request.works], 1e-6),
        done=np.array(
            [row.done_sets for row in request.muscles] + [work.done_sets for work in request.works]
        ),
        caps=np.array([request.allowance.muscle_sets] * len(keys) + [np.inf] * len(works)),
        sessions_left=max(request.allowance.sessions_left, 1),
        left=left,
        right=right,
    )
