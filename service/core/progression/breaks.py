"""Coming back after days without training: how much lighter, how many sets, how much in reserve."""

from dataclasses import dataclass
from typing import Final

from service.core.units import Days, Share


@dataclass(frozen=True, slots=True)
class ReturnBand:
    """Load as a share of the last one, share of the usual sets, and the least reserve [repetitions]."""

    longest_days: Days
    load_low: Share
    load_high: Share
    sets_share: Share
    reserve: float


#: Return after a break, for healthy adults (judgement): up to 10 days as before, then bands by length.
RETURN_BANDS: Final = (
    ReturnBand(10.0, 1.0, 1.0, 1.0, 0.0),
    ReturnBand(21.0, 0.90, 0.95, 2.0 / 3.0, 3.0),
    ReturnBand(42.0, 0.80, 0.90, 0.5, 3.0),
    ReturnBand(float("inf"), 0.60, 0.75, 0.5, 4.0),
)


def return_band(days_since_last: Days | None, after_illness: bool) -> ReturnBand | None:
    """Return the band of a break, one lower after illness, or ``None`` where training goes on as before."""
    if days_since_last is None:
        return None
    place = next(i for i, band in enumerate(RETURN_BANDS) if days_since_last <= band.longest_days)
    if after_illness:
        place = min(place + 1, len(RETURN_BANDS) - 1)
    return RETURN_BANDS[place] if place else None
