"""Identifiers that sort by the time of their making: UUID version 7 [Davis2024]_, section 5.7.

They show when a record was made; they are no secret.
"""

import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from uuid import UUID

_RANDOM_BITS = 74
_RAND_B_BITS = 62
_VARIANT = 0b10
_VERSION = 7
#: Largest step between two identifiers of one millisecond: room for 2^42 of them, and the next cannot be guessed.
_STEP_BITS = 32
_LARGEST_MS = 2**48 - 1


@dataclass(frozen=True, slots=True)
class Uuid7Fields:
    """The fields of a version 7 identifier; the time in milliseconds since 1970-01-01 UTC. [ms]"""

    unix_ts_ms: int
    version: int
    rand_a: int
    variant: int
    rand_b: int


def decode(identifier: UUID) -> Uuid7Fields:
    """Return the fields of an identifier; ValueError if it is not of version 7."""
    whole = identifier.int
    fields = Uuid7Fields(
        unix_ts_ms=whole >> 80,
        version=whole >> 76 & 0xF,
        rand_a=whole >> 64 & 0xFFF,
        variant=whole >> 62 & 0b11,
        rand_b=whole & (1 << _RAND_B_BITS) - 1,
    )
    if fields.version != _VERSION or fields.variant != _VARIANT:
        raise ValueError(f"{identifier} is not a UUID of version 7")
    return fields


def encode(unix_ts_ms: int, random: int) -> UUID:
    """Return the identifier of a millisecond and 74 random bits; ValueError if either does not fit. [ms]"""
    if not (0 <= unix_ts_ms <= _LARGEST_MS and 0 <= random < 1 << _RANDOM_BITS):
        raise ValueError("the time takes 48 bits and the random part 74")
    rand_a, rand_b = random >> _RAND_B_BITS, random & (1 << _RAND_B_BITS) - 1
    return UUID(int=unix_ts_ms << 80 | _VERSION << 76 | rand_a << 64 | _VARIANT << 62 | rand_b)


def _clock_ms() -> int:
    return time.time_ns() // 1_000_000


class Uuid7Generator:
    """Makes identifiers that rise strictly within this generator, from any number of threads.

    Within one millisecond, and while the clock runs behind, the random part rises by a random step ([Davis2024]_,
    section 6.2, method 2); when it runs over, the next millisecond is taken in advance.
    """

    def __init__(
        self, clock_ms: Callable[[], int] = _clock_ms, random_bits: Callable[[int], int] = secrets.randbits
    ) -> None:
        self._clock_ms = clock_ms
        self._random_bits = random_bits
        self._lock = threading.Lock()
        self._last_ms = -1
        self._last_random = 0

    def __call__(self) -> UUID:
        """Return the next identifier."""
        with self._lock:
            self._advance(self._clock_ms())
            return encode(self._last_ms, self._last_random)

    def _advance(self, now_ms: int) -> None:
        if now_ms > self._last_ms:
            self._last_ms, self._last_random = now_ms, self._random_bits(_RANDOM_BITS)
            return
        self._last_random += 1 + self._random_bits(_STEP_BITS)
        if self._last_random >> _RANDOM_BITS:
            self._last_ms, self._last_random = self._last_ms + 1, self._random_bits(_RANDOM_BITS)


#: The generator of this process.
uuid7 = Uuid7Generator()
