"""What a site can make for an exercise: its implements as the core knows them, and each load as an effective one."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from uuid import UUID

from service.catalogue.records import Exercise, LoadBasis
from service.core import loadable
from service.core.errors import NothingLoadable, OutsideValidity
from service.core.loadable import Option
from service.core.progression import LoadOption
from service.core.units import Kilograms, MassUnit, mass_from_kg
from service.usecases.answers.loads import BodyMass, effective_of_external
from service.usecases.answers.situation import Situation
from service.usecases.errors import SiteRequired
from service.usecases.kinds import IMPLEMENTS, SITE
from service.usecases.ports import UnitOfWork
from service.usecases.records.base import Mass
from service.usecases.records.places import (
    BarImplement,
    DumbbellsImplement,
    GearImplement,
    Implement,
    LevelsImplement,
    PlatePairsImplement,
    Site,
    StackImplement,
)

#: Heavier loads than this are not looked for unless the athlete has come near them (judgement). [kg]
SEARCH_UP_TO_KG: Kilograms = 320.0
#: What a site lacks whose plates are too many, or their masses too finely divided, to add up.
UNCOUNTABLE = "implements that can be added up"


@dataclass(frozen=True, slots=True)
class SiteStock:
    """A site, what stands there now, and the version of the list."""

    site_id: UUID
    site: Site
    items: Sequence[Implement]
    etag: str | None

    @property
    def gear(self) -> frozenset[str]:
        """What carries no load of its own; safety bars come with the site, and every site has a floor."""
        named = {item.gear for item in self.items if isinstance(item, GearImplement)} | {"floor-space"}
        return frozenset(named | {"safety-bars"} if self.site.safety_bars else named)


def read_stock(work: UnitOfWork, situation: Situation, site_id: UUID | None) -> SiteStock:
    """Return the stock of the asked site, else of the frame's, else of the athlete's home site.

    Raises ``SiteRequired`` where none is named or it does not exist.
    """
    frame_site = situation.frame.site_id if situation.frame is not None else None
    chosen = site_id or frame_site or situation.athlete.home_site_id
    if chosen is None:
        raise SiteRequired
    site = work.resources.get(SITE, chosen)
    if site is None or site.record is None:
        raise SiteRequired("The named site does not exist.", site_id=str(chosen))
    inventory = work.resources.get(IMPLEMENTS, chosen)
    if inventory is None or inventory.record is None:
        return SiteStock(chosen, site.record, (), None)
    usable = [item for item in inventory.record.items if _in_service(item, situation.as_of)]
    return SiteStock(chosen, site.record, usable, inventory.etag)


def _in_service(item: Implement, at: datetime) -> bool:
    return item.out_of_service_until is None or item.out_of_service_until <= at


@dataclass(frozen=True, slots=True)
class SiteOptions:
    """The loads that a site can make for an exercise: what to set, and the effective load of each.

    ``needs_no_load`` says that the body alone is the load. ``missing`` names what the site lacks; then there is no option.
    """

    options: Sequence[Option]
    effective: Sequence[LoadOption]
    needs_no_load: bool = False
    missing: str | None = None


def missing_for(stock: SiteStock, exercise: Exercise) -> str | None:
    """Return what the site lacks for an exercise, None where it can be done; no load is worked out."""
    lacking = sorted(set(exercise.gear) - stock.gear)
    if lacking:
        return lacking[0]
    if exercise.load_basis == "none":
        return None
    carries = any(not isinstance(one, loadable.PlatePair) for one in _implements(stock.items, exercise))
    return None if carries else exercise.station or exercise.implement


def levels_for(stock: SiteStock, exercise: Exercise) -> LevelsImplement | None:
    """Return the station with labels at which a lift is done that is loaded in masses elsewhere, or None."""
    if exercise.station is None or exercise.load_basis == "level" or missing_for(stock, exercise) is None:
        return None
    found = (item for item in stock.items if isinstance(item, LevelsImplement))
    return next((item for item in found if item.station == exercise.station), None)


def with_bar_of(stock: SiteStock, top: Option) -> SiteStock:
    """Return the stock without the bars that a load was not made from: nobody changes bars between warm-up sets."""
    bars = [item for item in stock.items if isinstance(item, BarImplement)]
    first = top.made_of[0] if top.made_of else ""
    # A bar is told by its name, with its mass behind it where the name does not say it.
    named = [bar.name for bar in bars if first == bar.name or first.startswith(f"{bar.name} ")]
    if not named:
        return stock
    used = max(named, key=len)
    return replace(
        stock, items=[item for item in stock.items if not isinstance(item, BarImplement) or item.name == used]
    )


def options_for(
    stock: SiteStock, exercise: Exercise, body: BodyMass, highest_kg: Kilograms = SEARCH_UP_TO_KG
) -> SiteOptions:
    """Return the loads that the site can make for an exercise, lightest effective load first."""
    lacking = sorted(set(exercise.gear) - stock.gear)
    if lacking:
        return SiteOptions((), (), missing=lacking[0])
    if exercise.load_basis == "none":
        effective = effective_of_external(0.0, "none", exercise, body)
        alone = Option(0.0, 0.0, "kg", None, ())
        return SiteOptions((alone,), (LoadOption(max(effective, 1.0), 0),), needs_no_load=True)
    implements = tuple(_implements(stock.items, exercise))
    if not implements:
        return SiteOptions((), (), missing=exercise.station or exercise.implement)
    limit = None if exercise.load_basis == "level" else highest_kg
    try:
        made = _made(implements, exercise.load_basis, _held(exercise), limit)
    except NothingLoadable:
        return SiteOptions((), (), missing=exercise.station or exercise.implement)
    except OutsideValidity:
        return SiteOptions((), (), missing=UNCOUNTABLE)
    loaded = [
        (option, effective_of_external(option.load_kg, exercise.load_basis, exercise, body))
        for option in made
        if option.load_kg > 0.0 or exercise.load_basis in {"added", "assistance"}
    ]
    loaded = sorted((pair for pair in loaded if pair[1] > 0.0), key=lambda pair: pair[1])
    effective_loads = [LoadOption(kilograms, index) for index, (_, kilograms) in enumerate(loaded)]
    return SiteOptions([option for option, _ in loaded], effective_loads)


@lru_cache(maxsize=256)
def _made(
    implements: tuple[loadable.Implement, ...], basis: LoadBasis, held: int, highest_kg: Kilograms | None
) -> tuple[Option, ...]:
    """Return what implements make; a site's list is asked again for every lift and athlete there."""
    return loadable.options(implements, basis, dumbbells_held=held, highest_kg=highest_kg)


def _held(exercise: Exercise) -> int:
    """Return how many dumbbells make a load that is counted as a whole: a goblet squat holds one."""
    return 2 if exercise.load_basis == "total" and exercise.laterality == "two_loads" else 1


def _implements(items: Sequence[Implement], exercise: Exercise) -> Iterator[loadable.Implement]:
    wanted = exercise.implement
    for item in items:
        if isinstance(item, BarImplement) and _is_bar_for(item, exercise):
            yield loadable.Bar(item.name, core_mass(item.mass))
        elif isinstance(item, PlatePairsImplement) and wanted in {"bar", "plate_loaded", "body"}:
            yield loadable.PlatePair(core_mass(item.mass), item.pairs)
        elif isinstance(item, DumbbellsImplement) and wanted == "dumbbells":
            yield loadable.DumbbellRack(tuple(dumbbell_masses(item)), item.name)
        elif isinstance(item, StackImplement) and wanted == "stack" and item.station == exercise.station:
            yield core_stack(item, assists=exercise.load_basis == "assistance")
        elif (
            isinstance(item, LevelsImplement)
            and wanted in {"levels", "band"}
            and item.station == exercise.station
        ):
            yield loadable.Levels(item.station, tuple(item.labels))
    if wanted == "body" and exercise.load_basis == "added":
        yield loadable.Belt()


def _is_bar_for(item: BarImplement, exercise: Exercise) -> bool:
    if exercise.implement == "bar":
        return item.station == exercise.station
    return exercise.implement == "plate_loaded" and item.station == exercise.station


def core_mass(mass: Mass) -> loadable.Mass:
    """Return a mass as the core keeps it, in the unit in which it was entered."""
    return loadable.Mass(mass.value, mass.unit)


def dumbbell_masses(rack: DumbbellsImplement) -> Iterator[loadable.Mass]:
    """Yield every mass of a rack, whether it was listed or given as a range with a step."""
    if rack.masses:
        yield from (loadable.Mass(value, rack.unit) for value in rack.masses if value > 0)
        return
    if rack.first is None or rack.last is None or rack.step is None:
        return
    count = round((rack.last - rack.first) / rack.step + 0.5 - 1e-9)
    for place in range(min(count + 1, 500)):
        value = round(rack.first + place * rack.step, 3)
        if 0 < value <= rack.last + 1e-9:
            yield loadable.Mass(value, rack.unit)


def core_stack(item: StackImplement, *, assists: bool) -> loadable.Stack:
    """Return a stack as the core knows it."""
    masses = tuple(loadable.Mass(value, item.unit) for value in item.masses)
    add_ons = tuple(loadable.Mass(value, item.unit) for value in item.add_ons)
    return loadable.Stack(item.name, masses, add_ons, item.ratio, assists)


def shown_load(option: Option, unit: MassUnit) -> Mass:
    """Return a load as it is answered: as printed where the unit is the asked one, converted otherwise."""
    if option.unit == unit:
        return Mass(value=round(option.value, 3), unit=unit)
    return Mass(value=round(mass_from_kg(option.load_kg, unit), 3), unit=unit)
