"""Which muscles lie under a tape at each place of a limb, and how much of the cross-section they are."""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources

import msgspec

from service.catalogue.loading import load_catalogue
from service.catalogue.records import UNCITED_BASES, BasisKey
from service.catalogue.rules import BrokenCatalogue
from service.core.sources import SOURCES
from service.core.units import Share

#: Shares of what lies under a tape may add up to so much: three decimals were kept.
_MOST = 1.002


@dataclass(frozen=True, slots=True, kw_only=True)
class MuscleUnderTape:
    """A muscle's share of the muscle area at a place. [1]"""

    share: Share
    basis: BasisKey


@dataclass(frozen=True, slots=True, kw_only=True)
class GirthSite:
    """A place of the tape.

    ``words`` are the ways in which a log may name it: all words of one must occur. ``muscle_share`` is the part of the
    whole cross-section that is muscle [1], ``doubt`` the relative sd of what this table makes of a growth. The shares of
    ``muscles`` add up to less than 1 where some are in no exercise.
    """

    site: str
    words: tuple[str, ...]
    muscle_share: Share
    muscle_share_basis: BasisKey
    doubt: float
    note: str
    muscles: Mapping[str, MuscleUnderTape]

    def named_by(self, told: frozenset[str]) -> bool:
        """Whether a log that uses these words means this place."""
        return any(frozenset(one.split()) <= told for one in self.words)


@cache
def girth_sites() -> tuple[GirthSite, ...]:
    """Return the places that ship with the service, the more special ones first; ``BrokenCatalogue`` lists faults."""
    text = (resources.files("service.catalogue") / "data" / "girth_sites.json").read_text("utf-8")
    found = msgspec.convert(json.loads(text)["sites"], tuple[GirthSite, ...])
    faults = [fault for site in found for fault in faults_of(site)]
    if faults:
        raise BrokenCatalogue(faults)
    return found


def girth_site(told: str) -> GirthSite | None:
    """Return the place that a log's name means, None where nothing is known of what lies under it."""
    words = frozenset(told.lower().replace("_", "-").split("-"))
    return next((site for site in girth_sites() if site.named_by(words)), None)


def faults_of(site: GirthSite) -> list[str]:
    """Return what is wrong with a place: unknown or divided muscles, bases without a work, shares that are none."""
    catalogue = load_catalogue()
    trainable = {muscle.muscle_id for muscle in catalogue.trainable_muscles()}
    faults = [
        f"{site.site}: {muscle} is no muscle that is trained" for muscle in site.muscles.keys() - trainable
    ]
    bases = {site.muscle_share_basis, *(part.basis for part in site.muscles.values())}
    faults += [f"{site.site}: {basis} is no basis" for basis in bases - SOURCES.keys() - set(UNCITED_BASES)]
    shares = [part.share for part in site.muscles.values()]
    if min((*shares, site.muscle_share)) <= 0.0 or sum(shares) > _MOST or site.muscle_share >= 1.0:
        faults.append(f"{site.site}: shares are not between 0 and 1")
    return faults
