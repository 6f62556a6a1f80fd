"""The feed may say that an athlete's answers were computed anew, though nobody wrote anything of theirs."""

from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def _allow(operations: str) -> None:
    """Swap the check without reading the table under its lock: rows from before hold what was allowed before."""
    op.execute("ALTER TABLE changes DROP CONSTRAINT changes_op_check")
    op.execute(f"ALTER TABLE changes ADD CONSTRAINT changes_op_check CHECK (op IN ({operations})) NOT VALID")
    op.execute("ALTER TABLE changes VALIDATE CONSTRAINT changes_op_check")


def upgrade() -> None:
    """Allow the third operation."""
    _allow("'put', 'delete', 'recomputed'")


def downgrade() -> None:
    """Forget what was fed of answers, which readers of the feed can do without."""
    op.execute("DELETE FROM changes WHERE op = 'recomputed'")
    _allow("'put', 'delete'")
