"""From the log to the state: assumed-density filtering of one athlete's sets on one exercise."""

from collections.abc import Iterable

from service.core.capability.evidence import SetEvidence
from service.core.capability.state import CapabilityPrior, CapabilityState


def fold(evidence: Iterable[SetEvidence], prior: CapabilityPrior) -> CapabilityState | None:
    """Return the state after all sets in canonical order, or ``None`` where nothing is known."""
    raise NotImplementedError
