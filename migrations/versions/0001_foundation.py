"""Foundation: tenants, feed, people, places, the log, keys.

The statements are written out, not derived from the tables' metadata: a migration must stay what it was when it ran.
"""

from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

RUNTIME_ROLE = "steelyard_runtime"
SET_PARTITIONS = 16

TABLES = (
    """
    CREATE TABLE tenants (
        id UUID NOT NULL,
        name TEXT NOT NULL,
        created_at TIMESTAMP WITH TIME ZONE NOT NULL,
        CONSTRAINT tenants_pk PRIMARY KEY (id)
    )
    """,
    """
    CREATE TABLE changes (
        tenant_id UUID NOT NULL,
        position BIGINT NOT NULL,
        kind TEXT NOT NULL,
        id UUID NOT NULL,
        athlete_id UUID,
        op TEXT NOT NULL,
        etag TEXT NOT NULL,
        at TIMESTAMP WITH TIME ZONE NOT NULL,
        CONSTRAINT changes_pk PRIMARY KEY (tenant_id, position),
        CONSTRAINT changes_op_check CHECK (op IN ('put', 'delete'))
    )
    """,
    """
    CREATE TABLE sets (
        tenant_id UUID NOT NULL,
        athlete_id UUID NOT NULL,
        performed_at TIMESTAMP WITH TIME ZONE NOT NULL,
        id UUID NOT NULL,
        session_id UUID,
        stage_of UUID,
        load_value DOUBLE PRECISION,
        load_kg DOUBLE PRECISION,
        reps_in_reserve DOUBLE PRECISION,
        received_at TIMESTAMP WITH TIME ZONE NOT NULL,
        updated_at TIMESTAMP WITH TIME ZONE NOT NULL,
        deleted_at TIMESTAMP WITH TIME ZONE,
        version INTEGER NOT NULL,
        ordinal INTEGER,
        clock_offset_s INTEGER,
        utc_offset_min SMALLINT,
        stage SMALLINT,
        reps SMALLINT,
        to_failure BOOLEAN,
        exercise_id TEXT,
        side TEXT,
        load_unit TEXT,
        purpose TEXT,
        fingerprint BYTEA,
        details JSONB,
        CONSTRAINT sets_pk PRIMARY KEY (tenant_id, athlete_id, performed_at, id),
        CONSTRAINT sets_tenant_id_athlete_id_id_unique UNIQUE (tenant_id, athlete_id, id)
    )
     PARTITION BY HASH (tenant_id)
    """,
    """
    CREATE TABLE api_keys (
        tenant_id UUID NOT NULL,
        id UUID NOT NULL,
        name TEXT NOT NULL,
        secret_hash BYTEA NOT NULL,
        scopes TEXT[] NOT NULL,
        reach JSONB NOT NULL,
        created_at TIMESTAMP WITH TIME ZONE NOT NULL,
        expires_at TIMESTAMP WITH TIME ZONE,
        revoked_at TIMESTAMP WITH TIME ZONE,
        CONSTRAINT api_keys_pk PRIMARY KEY (tenant_id, id),
        CONSTRAINT api_keys_tenants_fk FOREIGN KEY(tenant_id) REFERENCES tenants (id)
    )
    """,
    """
    CREATE TABLE athletes (
        tenant_id UUID NOT NULL,
        id UUID NOT NULL,
        home_site_id UUID,
        external_ref TEXT,
        body JSONB,
        version INTEGER NOT NULL,
        fingerprint BYTEA,
        received_at TIMESTAMP WITH TIME ZONE NOT NULL,
        updated_at TIMESTAMP WITH TIME ZONE NOT NULL,
        deleted_at TIMESTAMP WITH TIME ZONE,
        CONSTRAINT athletes_pk PRIMARY KEY (tenant_id, id),
        CONSTRAINT athletes_tenants_fk FOREIGN KEY(tenant_id) REFERENCES tenants (id)
    )
    """,
    "CREATE INDEX athletes_tenant_id_external_ref_index ON athletes (tenant_id, external_ref)",
    "CREATE INDEX athletes_tenant_id_home_site_id_index ON athletes (tenant_id, home_site_id)",
    """
    CREATE TABLE exercises (
        tenant_id UUID NOT NULL,
        id UUID NOT NULL,
        body JSONB,
        version INTEGER NOT NULL,
        fingerprint BYTEA,
        received_at TIMESTAMP WITH TIME ZONE NOT NULL,
        updated_at TIMESTAMP WITH TIME ZONE NOT NULL,
        deleted_at TIMESTAMP WITH TIME ZONE,
        CONSTRAINT exercises_pk PRIMARY KEY (tenant_id, id),
        CONSTRAINT exercises_tenants_fk FOREIGN KEY(tenant_id) REFERENCES tenants (id)
    )
    """,
    """
    CREATE TABLE feed_counters (
        tenant_id UUID NOT NULL,
        epoch UUID NOT NULL,
        position BIGINT NOT NULL,
        floor BIGINT NOT NULL,
        CONSTRAINT feed_counters_pk PRIMARY KEY (tenant_id),
        CONSTRAINT feed_counters_tenants_fk FOREIGN KEY(tenant_id) REFERENCES tenants (id)
    )
     WITH (fillfactor = 50)
    """,
    """
    CREATE TABLE groups (
        tenant_id UUID NOT NULL,
        id UUID NOT NULL,
        body JSONB,
        version INTEGER NOT NULL,
        fingerprint BYTEA,
        received_at TIMESTAMP WITH TIME ZONE NOT NULL,
        updated_at TIMESTAMP WITH TIME ZONE NOT NULL,
        deleted_at TIMESTAMP WITH TIME ZONE,
        CONSTRAINT groups_pk PRIMARY KEY (tenant_id, id),
        CONSTRAINT groups_tenants_fk FOREIGN KEY(tenant_id) REFERENCES tenants (id)
    )
    """,
    """
    CREATE TABLE implements (
        tenant_id UUID NOT NULL,
        id UUID NOT NULL,
        body JSONB,
        version INTEGER NOT NULL,
        fingerprint BYTEA,
        received_at TIMESTAMP WITH TIME ZONE NOT NULL,
        updated_at TIMESTAMP WITH TIME ZONE NOT NULL,
        deleted_at TIMESTAMP WITH TIME ZONE,
        CONSTRAINT implements_pk PRIMARY KEY (tenant_id, id),
        CONSTRAINT implements_tenants_fk FOREIGN KEY(tenant_id) REFERENCES tenants (id)
    )
    """,
    """
    CREATE TABLE sites (
        tenant_id UUID NOT NULL,
        id UUID NOT NULL,
        body JSONB,
        version INTEGER NOT NULL,
        fingerprint BYTEA,
        received_at TIMESTAMP WITH TIME ZONE NOT NULL,
        updated_at TIMESTAMP WITH TIME ZONE NOT NULL,
        deleted_at TIMESTAMP WITH TIME ZONE,
        CONSTRAINT sites_pk PRIMARY KEY (tenant_id, id),
        CONSTRAINT sites_tenants_fk FOREIGN KEY(tenant_id) REFERENCES tenants (id)
    )
    """,
    """
    CREATE TABLE aims (
        tenant_id UUID NOT NULL,
        athlete_id UUID NOT NULL,
        id UUID NOT NULL,
        body JSONB,
        version INTEGER NOT NULL,
        fingerprint BYTEA,
        received_at TIMESTAMP WITH TIME ZONE NOT NULL,
        updated_at TIMESTAMP WITH TIME ZONE NOT NULL,
        deleted_at TIMESTAMP WITH TIME ZONE,
        CONSTRAINT aims_pk PRIMARY KEY (tenant_id, athlete_id, id),
        CONSTRAINT aims_athletes_fk FOREIGN KEY(tenant_id, athlete_id) REFERENCES athletes (tenant_id, id)
    )
    """,
    """
    CREATE TABLE checkins (
        tenant_id UUID NOT NULL,
        athlete_id UUID NOT NULL,
        id UUID NOT NULL,
        at TIMESTAMP WITH TIME ZONE,
        body JSONB,
        version INTEGER NOT NULL,
        fingerprint BYTEA,
        received_at TIMESTAMP WITH TIME ZONE NOT NULL,
        updated_at TIMESTAMP WITH TIME ZONE NOT NULL,
        deleted_at TIMESTAMP WITH TIME ZONE,
        CONSTRAINT checkins_pk PRIMARY KEY (tenant_id, athlete_id, id),
        CONSTRAINT checkins_athletes_fk FOREIGN KEY(tenant_id, athlete_id) REFERENCES athletes (tenant_id, id)
    )
    """,
    "CREATE INDEX checkins_tenant_id_athlete_id_at_index ON checkins (tenant_id, athlete_id, at)",
    """
    CREATE TABLE consents (
        tenant_id UUID NOT NULL,
        athlete_id UUID NOT NULL,
        id UUID NOT NULL,
        recorded_at TIMESTAMP WITH TIME ZONE NOT NULL,
        body JSONB NOT NULL,
        CONSTRAINT consents_pk PRIMARY KEY (tenant_id, athlete_id, id),
        CONSTRAINT consents_athletes_fk FOREIGN KEY(tenant_id, athlete_id) REFERENCES athletes (tenant_id, id)
    )
    """,
    """
    CREATE TABLE frames (
        tenant_id UUID NOT NULL,
        athlete_id UUID NOT NULL,
        id UUID NOT NULL,
        body JSONB,
        version INTEGER NOT NULL,
        fingerprint BYTEA,
        received_at TIMESTAMP WITH TIME ZONE NOT NULL,
        updated_at TIMESTAMP WITH TIME ZONE NOT NULL,
        deleted_at TIMESTAMP WITH TIME ZONE,
        CONSTRAINT frames_pk PRIMARY KEY (tenant_id, athlete_id, id),
        CONSTRAINT frames_athletes_fk FOREIGN KEY(tenant_id, athlete_id) REFERENCES athletes (tenant_id, id)
    )
    """,
    """
    CREATE TABLE group_members (
        tenant_id UUID NOT NULL,
        group_id UUID NOT NULL,
        athlete_id UUID NOT NULL,
        CONSTRAINT group_members_pk PRIMARY KEY (tenant_id, group_id, athlete_id),
        CONSTRAINT group_members_groups_fk FOREIGN KEY(tenant_id, group_id) REFERENCES groups (tenant_id, id),
        CONSTRAINT group_members_athletes_fk FOREIGN KEY(tenant_id, athlete_id) REFERENCES athletes (tenant_id, id)
    )
    """,
    "CREATE INDEX group_members_tenant_id_athlete_id_index ON group_members (tenant_id, athlete_id)",
    """
    CREATE TABLE keyed_results (
        tenant_id UUID NOT NULL,
        key_id UUID NOT NULL,
        key TEXT NOT NULL,
        fingerprint BYTEA NOT NULL,
        result JSONB,
        created_at TIMESTAMP WITH TIME ZONE DEFAULT now() NOT NULL,
        CONSTRAINT keyed_results_pk PRIMARY KEY (tenant_id, key_id, key),
        CONSTRAINT keyed_results_api_keys_fk FOREIGN KEY(tenant_id, key_id) REFERENCES api_keys (tenant_id, id)
    )
    """,
    """
    CREATE TABLE limits (
        tenant_id UUID NOT NULL,
        athlete_id UUID NOT NULL,
        id UUID NOT NULL,
        body JSONB,
        version INTEGER NOT NULL,
        fingerprint BYTEA,
        received_at TIMESTAMP WITH TIME ZONE NOT NULL,
        updated_at TIMESTAMP WITH TIME ZONE NOT NULL,
        deleted_at TIMESTAMP WITH TIME ZONE,
        CONSTRAINT limits_pk PRIMARY KEY (tenant_id, athlete_id, id),
        CONSTRAINT limits_athletes_fk FOREIGN KEY(tenant_id, athlete_id) REFERENCES athletes (tenant_id, id)
    )
    """,
    """
    CREATE TABLE measurements (
        tenant_id UUID NOT NULL,
        athlete_id UUID NOT NULL,
        id UUID NOT NULL,
        at TIMESTAMP WITH TIME ZONE,
        measured TEXT,
        body JSONB,
        version INTEGER NOT NULL,
        fingerprint BYTEA,
        received_at TIMESTAMP WITH TIME ZONE NOT NULL,
        updated_at TIMESTAMP WITH TIME ZONE NOT NULL,
        deleted_at TIMESTAMP WITH TIME ZONE,
        CONSTRAINT measurements_pk PRIMARY KEY (tenant_id, athlete_id, id),
        CONSTRAINT measurements_athletes_fk FOREIGN KEY(tenant_id, athlete_id) REFERENCES athletes (tenant_id, id)
    )
    """,
    "CREATE INDEX measurements_tenant_id_athlete_id_at_index ON measurements (tenant_id, athlete_id, at)",
    """
    CREATE TABLE plans (
        tenant_id UUID NOT NULL,
        athlete_id UUID NOT NULL,
        id UUID NOT NULL,
        body JSONB,
        version INTEGER NOT NULL,
        fingerprint BYTEA,
        received_at TIMESTAMP WITH TIME ZONE NOT NULL,
        updated_at TIMESTAMP WITH TIME ZONE NOT NULL,
        deleted_at TIMESTAMP WITH TIME ZONE,
        CONSTRAINT plans_pk PRIMARY KEY (tenant_id, athlete_id, id),
        CONSTRAINT plans_athletes_fk FOREIGN KEY(tenant_id, athlete_id) REFERENCES athletes (tenant_id, id)
    )
    """,
    """
    CREATE TABLE screenings (
        tenant_id UUID NOT NULL,
        athlete_id UUID NOT NULL,
        id UUID NOT NULL,
        recorded_at TIMESTAMP WITH TIME ZONE NOT NULL,
        body JSONB NOT NULL,
        CONSTRAINT screenings_pk PRIMARY KEY (tenant_id, athlete_id, id),
        CONSTRAINT screenings_athletes_fk FOREIGN KEY(tenant_id, athlete_id) REFERENCES athletes (tenant_id, id)
    )
    """,
    """
    CREATE TABLE sessions (
        tenant_id UUID NOT NULL,
        athlete_id UUID NOT NULL,
        id UUID NOT NULL,
        started_at TIMESTAMP WITH TIME ZONE,
        site_id UUID,
        body JSONB,
        version INTEGER NOT NULL,
        fingerprint BYTEA,
        received_at TIMESTAMP WITH TIME ZONE NOT NULL,
        updated_at TIMESTAMP WITH TIME ZONE NOT NULL,
        deleted_at TIMESTAMP WITH TIME ZONE,
        CONSTRAINT sessions_pk PRIMARY KEY (tenant_id, athlete_id, id),
        CONSTRAINT sessions_athletes_fk FOREIGN KEY(tenant_id, athlete_id) REFERENCES athletes (tenant_id, id)
    )
    """,
    "CREATE INDEX sessions_tenant_id_athlete_id_started_at_index ON sessions (tenant_id, athlete_id, started_at)",
)

#: What the runtime role may do to each table; ``tenants`` is the owner's own business.
FULL = "SELECT, INSERT, UPDATE"
GRANTS = {
    "feed_counters": "SELECT, UPDATE",
    "changes": "SELECT, INSERT",
    "athletes": FULL,
    "sites": FULL,
    "implements": FULL,
    "exercises": FULL,
    "groups": FULL,
    "group_members": "SELECT, INSERT, DELETE",
    "sessions": FULL,
    "checkins": FULL,
    "measurements": FULL,
    "limits": FULL,
    "aims": FULL,
    "frames": FULL,
    "plans": FULL,
    "sets": FULL,
    "consents": "SELECT, INSERT",
    "screenings": "SELECT, INSERT",
    "api_keys": FULL,
    "keyed_results": "SELECT, INSERT",
}

CREATE_ROLE = f"""
    DO $$
    BEGIN
        IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = '{RUNTIME_ROLE}') THEN
            CREATE ROLE {RUNTIME_ROLE} NOLOGIN NOSUPERUSER NOBYPASSRLS;
        END IF;
    EXCEPTION WHEN duplicate_object OR unique_violation THEN
        NULL;  -- Another database of the same cluster was migrated at the same moment.
    END $$
"""


def upgrade() -> None:
    """Create everything, then close it: policies forced, the runtime role granted the least."""
    op.execute(CREATE_ROLE)
    op.execute(f"GRANT {RUNTIME_ROLE} TO CURRENT_USER")
    for statement in TABLES:
        op.execute(statement)
    for remainder in range(SET_PARTITIONS):
        op.execute(
            f"CREATE TABLE sets_{remainder:02d} PARTITION OF sets "
            f"FOR VALUES WITH (MODULUS {SET_PARTITIONS}, REMAINDER {remainder}) WITH (fillfactor = 90)"
        )
    op.execute(f"GRANT USAGE ON SCHEMA public TO {RUNTIME_ROLE}")
    op.execute(f"GRANT SELECT ON alembic_version TO {RUNTIME_ROLE}")
    for table, rights in GRANTS.items():
        close(table)
        op.execute(f"GRANT {rights} ON {table} TO {RUNTIME_ROLE}")


def close(table: str) -> None:
    """Let a row be seen and written only by transactions that name its tenant."""
    belongs = "tenant_id = nullif(current_setting('steelyard.tenant_id', true), '')::uuid"
    op.execute(f"ALTER TABLE {table} ENABLE ROW LEVEL SECURITY")
    op.execute(f"ALTER TABLE {table} FORCE ROW LEVEL SECURITY")
    op.execute(f"CREATE POLICY tenant_isolation ON {table} USING ({belongs}) WITH CHECK ({belongs})")


def downgrade() -> None:
    """Refuse: the first migration is undone by dropping the database."""
    raise NotImplementedError("drop the database instead")
