"""Where compiled kernels are kept: one folder per version of their sources, so that none outlives its code."""

import hashlib
import os
import tempfile
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
