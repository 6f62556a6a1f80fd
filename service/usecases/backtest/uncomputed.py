"""Numbers that break: one athlete's are told and left blank, and nobody else's output is lost for them."""

from dataclasses import dataclass
from typing import Final

from service.core.errors import CoreError

#: What arithmetic raises where a belief has run away; anything else is a fault of the program and is not hidden.
CANNOT_BE_COMPUTED: Final = (ArithmeticError, ValueError, CoreError)
NOT_FINITE: Final = "no finite number"


@dataclass(frozen=True, slots=True)
class Uncomputed:
    """What could not be computed for an athlete, and what the arithmetic said."""

    athlete: str
    what: str
    reason: str

    def __str__(self) -> str:
        return f"athlete {self.athlete or '(not named)'!r}: {self.what} ({self.reason})"
