"""The next load: the boldest one that is likely enough to feel as wanted."""

from collections.abc import Sequence

from service.core.capability import CapabilityForecast
from service.core.progression.situation import (
    Caps,
    Choice,
    LoadOption,
    NoForecast,
    ProgressionContext,
    RepetitionTarget,
)


def choose(
    forecast: CapabilityForecast | None,
    options: Sequence[LoadOption],
    target: RepetitionTarget,
    caps: Caps,
    context: ProgressionContext,
) -> Choice | NoForecast:
    """Return the load for the next set, or why none can be named."""
    raise NotImplementedError
