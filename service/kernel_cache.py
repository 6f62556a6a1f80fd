"""Where compiled kernels are kept: one folder per version of their sources, so that none outlives its code."""

import hashlib
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_KERNELS = Path(__file__).parent / "core" / "capability"


def keep_kernels() -> None:
    """Say where the compiler may keep its work, before it is imported; a folder told in the environment stands.

    Where nothing can be written the kernels are compiled anew in each process: that costs time, and nothing else.
    """
    if os.environ.get("NUMBA_CACHE_DIR"):
        return
    sources = hashlib.sha256()
    for path in sorted(_KERNELS.glob("*.py")):
        sources.update(path.read_bytes())
    folder = Path.home() / ".cache" / "steelyard" / "kernels" / sources.hexdigest()[:16]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        writable = os.access(folder, os.W_OK)
    except OSError:
        writable = False
    os.environ["NUMBA_CACHE_DIR"] = str(folder) if writable else tempfile.mkdtemp(prefix="steelyard-kernels-")


@contextmanager
def compiling_meanwhile() -> Iterator[None]:
    """Compile in a process of its own while the body does other things, and wait for it at the end.

    The same copy of the package is compiled as runs here, wherever the shell stands (``-P``). A failure there only costs
    time: whoever needs the kernels then compiles them.
    """
    child = subprocess.Popen(
        [sys.executable, "-P", "-c", "from service.usecases.folding.engine import warm_up; warm_up()"],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        yield
        child.wait()
    finally:
        child.terminate()
        child.wait()
