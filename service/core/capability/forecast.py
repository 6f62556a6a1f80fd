"""What the state says about a day: loads for repetitions, repetitions at loads, each with its interval."""

from dataclasses import dataclass
from typing import Literal

from service.core.capability.evidence import Side
from service.core.capability.state import CapabilityState, Vector
from service.core.estimates import DEFAULT_MASS, Basis, Estimate, Interval
from service.core.units import Days, Kilograms, Repetitions, Share

#: ``capability``: what the athlete can lift, the day's ups and downs averaged out (a credible interval).
#: ``next_set``: what the next set will show, those ups and downs included (a prediction interval).
Of = Literal["capability", "next_set"]


@dataclass(frozen=True, slots=True)
class RepetitionForecast:
    """Distribution of the repetitions to failure of the next set at one load (continuous; n done means N >= n)."""

    forecast: "CapabilityForecast"
    load_kg: Kilograms
    hard_sets_before: float

    @property
    def mean(self) -> Repetitions:
        raise NotImplementedError

    @property
    def sd(self) -> Repetitions:
        raise NotImplementedError

    def quantile(self, probability: Share) -> Repetitions:
        raise NotImplementedError

    def probability_at_least(self, repetitions: Repetitions) -> Share:
        raise NotImplementedError

    def interval(self, mass: Share = DEFAULT_MASS) -> Interval:
        raise NotImplementedError


@dataclass(frozen=True, slots=True)
class CapabilityForecast:
    """Strength on one day and side."""

    state: CapabilityState
    mean: Vector
    covariance: Vector
    day: Days
    side: Side

    @property
    def basis(self) -> Basis:
        raise NotImplementedError

    @property
    def trained_repetitions(self) -> Repetitions:
        raise NotImplementedError

    def load_for(
        self, repetitions: Repetitions, mass: Share = DEFAULT_MASS, of: Of = "capability"
    ) -> Estimate:
        raise NotImplementedError

    def one_rep_max(self, mass: Share = DEFAULT_MASS) -> Estimate:
        raise NotImplementedError

    def repetitions_at(self, load_kg: Kilograms, hard_sets_before: float = 0.0) -> RepetitionForecast:
        raise NotImplementedError


def predict(
    state: CapabilityState, day: Days, side: Side = "both", session: int | None = None
) -> CapabilityForecast:
    """Return the forecast for a day and side; within the running session the day's effect is kept."""
    raise NotImplementedError
