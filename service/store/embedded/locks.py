"""Locks that end with their holders, and so cannot be left behind."""

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from service.store.embedded.failure import Deadline, EmbeddedPostgresFailed


def try_lock(path: Path) -> int | None:
    """Take the lock and return its file descriptor; none when somebody else holds it.

    The lock ends when every process that inherited the descriptor has ended or closed it.
    """
    try:
        descriptor = os.open(path, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW, 0o600)
    except OSError as error:
        raise EmbeddedPostgresFailed(f"Cannot open the lock {path}: {error}.") from error
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        os.close(descriptor)
        return None
    except OSError as error:
        os.close(descriptor)
        raise EmbeddedPostgresFailed(f"Cannot lock {path}: {error}.") from error
    return descriptor


@contextmanager
def held(path: Path, deadline: Deadline) -> Iterator[None]:
    """Hold the lock, waiting for other holders until the deadline."""
    while (descriptor := try_lock(path)) is None:
        deadline.pause(f"another process that starts or stops the server ({path})")
    try:
        yield
    finally:
        os.close(descriptor)
