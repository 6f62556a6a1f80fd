"""Examples of recovery, as the service answered for an invented athlete."""

from typing import Any

LEARNED: dict[str, Any] = {}
NEW_ATHLETE: dict[str, Any] = {}
