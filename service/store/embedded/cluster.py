"""Making the database cluster, with the service's role and database in it: whole, or not at all."""

import os
import shutil

from service.store.embedded.binaries import Programs
from service.store.embedded.failure import Deadline, EmbeddedPostgresFailed
from service.store.embedded.layout import Layout

SUPERUSER = "postgres"
OWNER = "steelyard_owner"
DATABASE = "steelyard"
MAJOR_VERSION = "18"

_INITDB = (
    f"--username={SUPERUSER}",
    "--encoding=UTF8",
    "--locale-provider=builtin",
    "--builtin-locale=C.UTF-8",
    "--data-checksums",
    "--auth-local=trust",
    "--auth-host=reject",
    "--no-instructions",
)
_FIRST_STATEMENTS = f"""\
CREATE ROLE {OWNER} LOGIN CREATEROLE NOSUPERUSER NOCREATEDB;
CREATE DATABASE {DATABASE} OWNER {OWNER};
"""


def make_cluster(layout: Layout, programs: Programs, deadline: Deadline) -> None:
    """Make the cluster if there is none.

    Raises :class:`EmbeddedPostgresFailed` when that fails, or when the one there is of another version.
    """
    if layout.cluster.exists():
        _refuse_other_version(layout)
        return
    unfinished = layout.unfinished_cluster
    shutil.rmtree(unfinished, ignore_errors=True)
    doing = f"Making a database cluster in {layout.folder}"
    programs.run("initdb", [*_INITDB, "--pgdata", str(unfinished)], deadline, doing=doing)
    # Single-user mode, so that no server ever runs in which the role or the database is missing.
    single = ["--single", "-D", str(unfinished), "-c", "exit_on_error=on", SUPERUSER]
    doing = f"Creating the database {DATABASE}"
    programs.run("postgres", single, deadline, doing=doing, script=_FIRST_STATEMENTS)
    unfinished.rename(layout.cluster)
    descriptor = os.open(layout.folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _refuse_other_version(layout: Layout) -> None:
    try:
        found = (layout.cluster / "PG_VERSION").read_text("ascii").strip()
    except OSError as error:
        raise EmbeddedPostgresFailed(f"{layout.cluster} is not a whole database cluster: {error}.") from error
    if found != MAJOR_VERSION:
        raise EmbeddedPostgresFailed(
            f"{layout.cluster} was made by PostgreSQL {found}, and this is {MAJOR_VERSION}. Dump it with the "
            "release that made it and restore the dump into a new data folder."
        )
