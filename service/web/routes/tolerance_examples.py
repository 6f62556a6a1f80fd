"""Examples of tolerance, as the service answered for an invented athlete."""

from typing import Any

PAINFUL_ARC: dict[str, Any] = {}
LOCKING: dict[str, Any] = {}
