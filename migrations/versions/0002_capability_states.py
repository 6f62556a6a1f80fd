"""What is known of each athlete's strength: one packed state before the newest session, and a few earlier ones."""

from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

RUNTIME_ROLE = "steelyard_runtime"

TABLES = (
    """
    CREATE TABLE capability_states (
        tenant_id UUID NOT NULL,
        athlete_id UUID NOT NULL,
        folded_start TIMESTAMP WITH TIME ZONE,
        folded_key TEXT,
        folded_through TIMESTAMP WITH TIME ZONE,
        session_count INTEGER NOT NULL,
        set_count INTEGER NOT NULL,
        layout INTEGER NOT NULL,
        model_version TEXT NOT NULL,
        inputs BYTEA NOT NULL,
        state BYTEA,
        open_start TIMESTAMP WITH TIME ZONE,
        open_key TEXT,
        stale_from TIMESTAMP WITH TIME ZONE,
        CONSTRAINT capability_states_pk PRIMARY KEY (tenant_id, athlete_id),
        CONSTRAINT capability_states_athletes_fk FOREIGN KEY(tenant_id, athlete_id)
            REFERENCES athletes (tenant_id, id)
    )
    WITH (fillfactor = 90)
    """,
    """
    CREATE TABLE capability_checkpoints (
        tenant_id UUID NOT NULL,
        athlete_id UUID NOT NULL,
        folded_start TIMESTAMP WITH TIME ZONE,
        folded_key TEXT,
        folded_through TIMESTAMP WITH TIME ZONE,
        session_count INTEGER NOT NULL,
        set_count INTEGER NOT NULL,
        layout INTEGER NOT NULL,
        model_version TEXT NOT NULL,
        inputs BYTEA NOT NULL,
        state BYTEA,
        CONSTRAINT capability_checkpoints_pk PRIMARY KEY (tenant_id, athlete_id, session_count),
        CONSTRAINT capability_checkpoints_athletes_fk FOREIGN KEY(tenant_id, athlete_id)
            REFERENCES athletes (tenant_id, id)
    )
    """,
)


def upgrade() -> None:
    """Create both tables, closed to every transaction that does not name the tenant."""
    belongs = "tenant_id = nullif(current_setting('steelyard.tenant_id', true), '')::uuid"
    for statement in TABLES:
        op.execute(statement)
    for table in ("capability_states", "capability_checkpoints"):
        op.execute(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY")
        op.execute(f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY")
        op.execute(f"CREATE POLICY tenant_isolation ON {table} USING ({belongs}) WITH CHECK ({belongs})")
        # Packed floats do not shrink; trying to costs time on every fold.
        op.execute(f"ALTER TABLE {table} ALTER COLUMN state SET STORAGE EXTERNAL")
        op.execute(f"GRANT SELECT, INSERT, UPDATE, DELETE ON {table} TO {RUNTIME_ROLE}")


def downgrade() -> None:
    """Drop both: everything in them can be folded anew from the log."""
    op.execute("DROP TABLE capability_checkpoints, capability_states")
