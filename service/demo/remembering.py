"""What a demo remembers between runs: its tenant, its first day and its keys, in a file that only its owner reads."""

import json
import os
from dataclasses import asdict, dataclass, field
from datetime import date
from hashlib import sha256
from pathlib import Path
from uuid import UUID

#: Raised when the scenario changes: an older demo is then left alone and a new one is made beside it.
SCENARIO = "1"


@dataclass(slots=True)
class Memory:
    """One demo in one database. ``loaded`` is set once everything is in."""

    tenant_id: str
    first_day: str
    keys: dict[str, str] = field(default_factory=dict)
    loaded: bool = False
    scenario: str = SCENARIO

    @property
    def tenant(self) -> UUID:
        """The tenant's id."""
        return UUID(self.tenant_id)

    @property
    def day(self) -> date:
        """The day of the first run, from which all logs are dated back."""
        return date.fromisoformat(self.first_day)


def memory_file(data_dir: Path, database_url: str | None) -> Path:
    """Return where a demo is remembered; a database of one's own has a file of its own."""
    which = "" if database_url is None else "-" + sha256(database_url.encode()).hexdigest()[:12]
    return data_dir / f"demo{which}.json"


def recall(file: Path) -> Memory | None:
    """Return what is remembered; None where nothing is, or of another scenario."""
    try:
        kept = Memory(**json.loads(file.read_text("utf-8")))
    except (OSError, ValueError, TypeError):
        return None
    return kept if kept.scenario == SCENARIO else None


def remember(file: Path, memory: Memory) -> None:
    """Keep a memory, whole or not at all; it holds keys, so nobody else may read it."""
    file.parent.mkdir(parents=True, exist_ok=True)
    unfinished = file.with_suffix(".unfinished")
    unfinished.unlink(missing_ok=True)
    descriptor = os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "w", encoding="utf-8") as stream:
        json.dump(asdict(memory), stream, indent=2)
    unfinished.replace(file)
