"""What went wrong with the embedded server, and how long to keep trying."""

import time
from pathlib import Path

_TAIL_LINES = 25


class EmbeddedPostgresFailed(Exception):
    """The embedded server could not be made, started, reached or stopped; the message says which and why."""

    def __init__(self, what: str, log: str = "") -> None:
        self.log = log.strip()
        super().__init__(f"{what}\n{self.log}" if self.log else what)


class Deadline:
    """A moment after which an attempt is given up."""

    def __init__(self, seconds: float) -> None:
        self.seconds = seconds
        self._ends = time.monotonic() + seconds

    def remaining(self) -> float:
        """Time left [s], never negative."""
        return max(0.0, self._ends - time.monotonic())

    def pause(self, waiting_for: str, log: str = "") -> None:
        """Sleep a little before the next attempt.

        Raises :class:`EmbeddedPostgresFailed` when no time is left.
        """
        if self.remaining() <= 0:
            raise EmbeddedPostgresFailed(f"Gave up after {self.seconds:g} s waiting for {waiting_for}.", log)
        time.sleep(min(0.02, self.remaining()))


def tail(text: str) -> str:
    """The last lines of a log."""
    return "\n".join(text.splitlines()[-_TAIL_LINES:])


def tail_of_file(path: Path) -> str:
    """The last lines of a log file; empty when it cannot be read."""
    try:
        return tail(path.read_text("utf-8", errors="replace"))
    except OSError:
        return ""
