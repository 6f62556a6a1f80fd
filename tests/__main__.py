"""Every check of the project, the same here and in continuous integration: ``python -m tests``.

Further arguments go to pytest, as in ``python -m tests -m quick``.
"""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent
BESIDE_PYTHON = Path(sys.executable).parent
STATIC_CHECKS = (
    ("ruff", "check", "."),
    ("ruff", "format", "--check", "."),
    ("mypy",),
    ("lint-imports", "--no-logo"),
    ("steelyard", "openapi", "--check"),
)
PYTEST = (sys.executable, "-m", "pytest", "-q", "-n", "2")


def _run(command: tuple[str, ...]) -> bool:
    sys.stderr.write(f"== {Path(command[0]).name} {' '.join(command[1:])}\n")
    return subprocess.run(command, cwd=ROOT, check=False).returncode == 0


def main() -> int:
    """Run every check, pytest last; return 0 if all passed."""
    failed = [check for check in STATIC_CHECKS if not _run((str(BESIDE_PYTHON / check[0]), *check[1:]))]
    passed = _run((*PYTEST, *sys.argv[1:]))
    for check in failed:
        sys.stderr.write(f"FAILED before pytest: {' '.join(check)}\n")
    return 0 if passed and not failed else 1


if __name__ == "__main__":
    sys.exit(main())
