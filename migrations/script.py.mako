"""${message}."""

from alembic import op

revision = ${repr(up_revision)}
down_revision = ${repr(down_revision)}
branch_labels = ${repr(branch_labels)}
depends_on = ${repr(depends_on)}


def upgrade() -> None:
    """Say what changes and why the running release still works on it."""
    ${upgrades if upgrades else "raise NotImplementedError"}


def downgrade() -> None:
    """Undo it."""
    ${downgrades if downgrades else "raise NotImplementedError"}
