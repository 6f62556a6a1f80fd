"""The warm-up on the way to a top load."""

from collections.abc import Sequence

from service.core.progression.situation import LoadOption, RampSet
from service.core.units import Kilograms


def ramp(top_load_kg: Kilograms, options: Sequence[LoadOption]) -> tuple[RampSet, ...]:
    """Return the warm-up sets below a top load."""
    raise NotImplementedError
