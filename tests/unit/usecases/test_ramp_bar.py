"""Warm-up sets are made with the bar of the working set."""

from uuid import UUID

import pytest

from service.core.loadable import Option
from service.usecases.answers.site_loads import SiteStock, with_bar_of
from service.usecases.records.base import Mass
from service.usecases.records.places import BarImplement, PlatePairsImplement, Site

pytestmark = pytest.mark.quick


def _stock() -> SiteStock:
    long_bar = BarImplement(name="long bar", mass=Mass(value=20, unit="kg"))
    short_bar = BarImplement(name="short bar", mass=Mass(value=15, unit="kg"))
    plates = PlatePairsImplement(name="tens", mass=Mass(value=10, unit="kg"), pairs=2)
    return SiteStock(UUID(int=1), Site(name="invented hall"), (long_bar, short_bar, plates), '"1"')


def test_other_bars_are_left_out_on_the_way_to_a_load() -> None:
    kept = with_bar_of(_stock(), Option(40.0, 40.0, "kg", None, ("long bar", "10 kg")))
    assert [item.name for item in kept.items] == ["long bar", "tens"]


def test_a_load_without_a_bar_keeps_the_whole_stock() -> None:
    stock = _stock()
    assert with_bar_of(stock, Option(10.0, 10.0, "kg", "3", ("cable", "10 kg"))) is stock


def test_a_bar_is_known_by_its_name_with_its_mass_behind_it() -> None:
    """As loads are told: the implement's name, and its mass where the name does not say it."""
    kept = with_bar_of(_stock(), Option(40.0, 40.0, "kg", None, ("long bar 20 kg", "10 kg")))
    assert [item.name for item in kept.items if isinstance(item, BarImplement)] == ["long bar"]
