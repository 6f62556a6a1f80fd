"""What a site's implements can make: every load, how it is made, and the loads around a wanted one."""

from service.core.loadable.implements import (
    Bar,
    Belt,
    DumbbellRack,
    Handle,
    Implement,
    Levels,
    LoadBasis,
    Mass,
    PlatePair,
    Stack,
)
from service.core.loadable.options import (
    Nearest,
    Option,
    explain,
    loads_near,
    nearest,
    options,
    plates_per_side,
)

__all__ = [
    "Bar",
    "Belt",
    "DumbbellRack",
    "Handle",
    "Implement",
    "Levels",
    "LoadBasis",
    "Mass",
    "Nearest",
    "Option",
    "PlatePair",
    "Stack",
    "explain",
    "loads_near",
    "nearest",
    "options",
    "plates_per_side",
]
