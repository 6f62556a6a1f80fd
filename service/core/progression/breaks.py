"""Coming back after days without training: how much lighter, how many sets, how much in reserve, how long."""

from dataclasses import dataclass
from typing import Final

from service.core.units import Days, Kilograms, Share


@dataclass(frozen=True, slots=True)
class ReturnBand:
    """Load as a share of the one before, share of the usual sets, the least reserve [repetitions], and how long
    this lasts after the first session back (0: that session only). [d]"""

    longest_days: Days
    load_low: Share
    load_high: Share
    sets_share: Share
    reserve: float
    lasts_days: Days


#: Return after a break, for healthy adults (judgement): up to 10 days as before, then bands by length.
RETURN_BANDS: Final = (
    ReturnBand(10.0, 1.0, 1.0, 1.0, 0.0, 0.0),
    ReturnBand(21.0, 0.90, 0.95, 2.0 / 3.0, 3.0, 0.0),
    ReturnBand(42.0, 0.80, 0.90, 0.5, 3.0, 14.0),
    ReturnBand(float("inf"), 0.60, 0.75, 0.5, 4.0, 28.0),
)


@dataclass(frozen=True, slots=True)
class EndedBreak:
    """A break that is over: its length and the days since its first session back [d], the load before it [kg], and
    whether illness was told before it."""

    days: Days
    days_since_return: Days
    load_before_kg: Kilograms
    after_illness: bool = False


def return_band(days_since_last: Days | None, after_illness: bool) -> ReturnBand | None:
    """Return the band of a break, one lower after illness, or ``None`` where training goes on as before."""
    if days_since_last is None:
        return None
    place = next(i for i, band in enumerate(RETURN_BANDS) if days_since_last <= band.longest_days)
    if after_illness:
        place = min(place + 1, len(RETURN_BANDS) - 1)
    return RETURN_BANDS[place] if place else None


def standing_band(ended: EndedBreak | None) -> ReturnBand | None:
    """Return the band of a break whose careful weeks are not over yet, or ``None``."""
    band = return_band(ended.days, ended.after_illness) if ended is not None else None
    if ended is None or band is None or ended.days_since_return > band.lasts_days:
        return None
    return band
