"""The next set of a session that has begun: what a forecast says after the sets already done."""

from dataclasses import dataclass
from typing import Protocol

from service.core.capability import CapabilityForecast, Of, RepetitionForecast
from service.core.estimates import DEFAULT_MASS, Basis, Estimate, Reason
from service.core.units import HardSets, Kilograms, LogRatio, Repetitions, Seconds, Share


class LoadForecast(Protocol):
    """What the choice of a load needs of a forecast."""

    @property
    def basis(self) -> Basis: ...
    @property
    def trained_repetitions(self) -> Repetitions: ...
    @property
    def source_keys(self) -> tuple[str, ...]: ...
    def reasons_for(self, repetitions: Repetitions) -> tuple[Reason, ...]: ...
    def load_for(self, repetitions: Repetitions, mass: Share = ..., of: Of = ...) -> Estimate: ...
    def ln_load_for(self, repetitions: Repetitions, of: Of = ...) -> tuple[LogRatio, LogRatio]: ...
    def repetitions_at(self, load_kg: Kilograms) -> RepetitionForecast: ...


@dataclass(frozen=True, slots=True)
class InSession:
    """A forecast of the next set after so many hard sets of the lift today, and a rest. [hard sets], [s]"""

    forecast: CapabilityForecast
    hard_sets_before: HardSets
    rest_s: Seconds | None = None

    @property
    def basis(self) -> Basis:
        """What the forecast rests on."""
        return self.forecast.basis

    @property
    def trained_repetitions(self) -> Repetitions:
        """Repetitions that this athlete trains. [repetitions]"""
        return self.forecast.trained_repetitions

    @property
    def source_keys(self) -> tuple[str, ...]:
        """Keys of the works that the forecast rests on."""
        return self.forecast.source_keys

    def reasons_for(self, repetitions: Repetitions) -> tuple[Reason, ...]:
        """Return what limits the trust in a load for so many repetitions."""
        return self.forecast.reasons_for(repetitions)

    def load_for(self, repetitions: Repetitions, mass: Share = DEFAULT_MASS, of: Of = "next_set") -> Estimate:
        """Return the effective load that so many repetitions to failure are possible with, fresh. [kg]"""
        return self.forecast.load_for(repetitions, mass, of)

    def ln_load_for(self, repetitions: Repetitions, of: Of = "next_set") -> tuple[LogRatio, LogRatio]:
        """Return mean and sd of the log of that load after today's sets. [ln kg]"""
        return self.forecast.ln_load_for(repetitions, of, self.hard_sets_before, self.rest_s)

    def repetitions_at(self, load_kg: Kilograms) -> RepetitionForecast:
        """Return the distribution of the next set's repetitions to failure at a load."""
        return self.forecast.repetitions_at(load_kg, self.hard_sets_before, self.rest_s)
