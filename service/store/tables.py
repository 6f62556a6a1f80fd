"""The tables. Every tenant table's keys begin with the tenant, so that sharding by tenant takes the schema as it is."""

from sqlalchemy import (
    ARRAY,
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    DateTime,
    Double,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    PrimaryKeyConstraint,
    SmallInteger,
    Table,
    Text,
    UniqueConstraint,
    Uuid,
    text,
)
from sqlalchemy.dialects.postgresql import JSONB

metadata = MetaData(
    naming_convention={
        "pk": "%(table_name)s_pk",
        "uq": "%(table_name)s_%(column_0_N_name)s_unique",
        "fk": "%(table_name)s_%(referred_table_name)s_fk",
        "ck": "%(table_name)s_%(constraint_name)s_check",
        "ix": "%(table_name)s_%(column_0_N_name)s_index",
    }
)

#: Partitions of ``sets`` by hash of the tenant: few enough for the planner, enough to vacuum in parallel.
SET_PARTITIONS = 16
#: Tables that hold no tenant's data and have no row-level policy.
UNSCOPED_TABLES = frozenset({"tenants"})
#: Rows are added and read, never changed.
APPEND_ONLY_TABLES = frozenset({"consents", "screenings", "changes"})


def _instant(name: str, *, nullable: bool = False) -> Column[object]:
    return Column(name, DateTime(timezone=True), nullable=nullable)


def _kept() -> list[Column[object]]:
    """The columns that every kind of resource has beside its own."""
    return [
        Column("version", Integer, nullable=False),
        Column("fingerprint", LargeBinary),
        _instant("received_at"),
        _instant("updated_at"),
        _instant("deleted_at", nullable=True),
    ]


def _tenant_resource(name: str, *own: Column[object]) -> Table:
    return Table(
        name,
        metadata,
        Column("tenant_id", Uuid, nullable=False),
        Column("id", Uuid, nullable=False),
        *own,
        Column("body", JSONB),
        *_kept(),
        PrimaryKeyConstraint("tenant_id", "id"),
        ForeignKeyConstraint(["tenant_id"], ["tenants.id"]),
    )


def _athlete_resource(name: str, *own: Column[object], by_time: str | None = None) -> Table:
    table = Table(
        name,
        metadata,
        Column("tenant_id", Uuid, nullable=False),
        Column("athlete_id", Uuid, nullable=False),
        Column("id", Uuid, nullable=False),
        *own,
        Column("body", JSONB),
        *_kept(),
        PrimaryKeyConstraint("tenant_id", "athlete_id", "id"),
        ForeignKeyConstraint(["tenant_id", "athlete_id"], ["athletes.tenant_id", "athletes.id"]),
    )
    if by_time:
        Index(None, table.c.tenant_id, table.c.athlete_id, table.c[by_time])
    return table


tenants = Table(
    "tenants",
    metadata,
    Column("id", Uuid, nullable=False),
    Column("name", Text, nullable=False),
    _instant("created_at"),
    PrimaryKeyConstraint("id"),
)

feed_counters = Table(
    "feed_counters",
    metadata,
    Column("tenant_id", Uuid, nullable=False),
    Column("epoch", Uuid, nullable=False),
    Column("position", BigInteger, nullable=False),
    Column("floor", BigInteger, nullable=False),
    PrimaryKeyConstraint("tenant_id"),
    ForeignKeyConstraint(["tenant_id"], ["tenants.id"]),
    postgresql_with={"fillfactor": "50"},
)

changes = Table(
    "changes",
    metadata,
    Column("tenant_id", Uuid, nullable=False),
    Column("position", BigInteger, nullable=False),
    Column("kind", Text, nullable=False),
    Column("id", Uuid, nullable=False),
    Column("athlete_id", Uuid),
    Column("op", Text, nullable=False),
    Column("etag", Text, nullable=False),
    _instant("at"),
    PrimaryKeyConstraint("tenant_id", "position"),
    CheckConstraint("op IN ('put', 'delete', 'recomputed')", name="op"),
)

athletes = _tenant_resource("athletes", Column("home_site_id", Uuid), Column("external_ref", Text))
Index(None, athletes.c.tenant_id, athletes.c.external_ref)
Index(None, athletes.c.tenant_id, athletes.c.home_site_id)
sites = _tenant_resource("sites")
implements = _tenant_resource("implements")
exercises = _tenant_resource("exercises")
groups = _tenant_resource("groups")

group_members = Table(
    "group_members",
    metadata,
    Column("tenant_id", Uuid, nullable=False),
    Column("group_id", Uuid, nullable=False),
    Column("athlete_id", Uuid, nullable=False),
    PrimaryKeyConstraint("tenant_id", "group_id", "athlete_id"),
    ForeignKeyConstraint(["tenant_id", "group_id"], ["groups.tenant_id", "groups.id"]),
    ForeignKeyConstraint(["tenant_id", "athlete_id"], ["athletes.tenant_id", "athletes.id"]),
)
Index(None, group_members.c.tenant_id, group_members.c.athlete_id)

sessions = _athlete_resource(
    "sessions", _instant("started_at", nullable=True), Column("site_id", Uuid), by_time="started_at"
)
checkins = _athlete_resource("checkins", _instant("at", nullable=True), by_time="at")
measurements = _athlete_resource(
    "measurements", _instant("at", nullable=True), Column("measured", Text), by_time="at"
)
limits = _athlete_resource("limits")
aims = _athlete_resource("aims")
frames = _athlete_resource("frames")
plans = _athlete_resource("plans")

sets = Table(
    "sets",
    metadata,
    Column("tenant_id", Uuid, nullable=False),
    Column("athlete_id", Uuid, nullable=False),
    _instant("performed_at"),
    Column("id", Uuid, nullable=False),
    Column("session_id", Uuid),
    Column("stage_of", Uuid),
    Column("load_value", Double),
    Column("load_kg", Double),
    Column("reps_in_reserve", Double),
    _instant("received_at"),
    _instant("updated_at"),
    _instant("deleted_at", nullable=True),
    Column("version", Integer, nullable=False),
    Column("ordinal", Integer),
    # How far the sender's clock was ahead of ours when it sent; times of sets are never rewritten.
    Column("clock_offset_s", Integer),
    Column("utc_offset_min", SmallInteger),
    Column("stage", SmallInteger),
    Column("reps", SmallInteger),
    Column("to_failure", Boolean),
    Column("exercise_id", Text),
    Column("side", Text),
    Column("load_unit", Text),
    Column("purpose", Text),
    Column("fingerprint", LargeBinary),
    Column("details", JSONB),
    PrimaryKeyConstraint("tenant_id", "athlete_id", "performed_at", "id"),
    # The athlete is locked and so known to exist before a set is written; a foreign key would check it once more a row.
    UniqueConstraint("tenant_id", "athlete_id", "id"),
    postgresql_partition_by="HASH (tenant_id)",
)


def _folded() -> list[Column[object]]:
    """A packed state and how far it reaches: ``session_count`` sessions in canonical order, the last one named."""
    return [
        Column("tenant_id", Uuid, nullable=False),
        Column("athlete_id", Uuid, nullable=False),
        _instant("folded_start", nullable=True),
        Column("folded_key", Text),
        # The latest instant at which any folded set was performed: an answer as of before it must not see this state.
        _instant("folded_through", nullable=True),
        Column("session_count", Integer, nullable=False),
        Column("set_count", Integer, nullable=False),
        Column("layout", Integer, nullable=False),
        Column("model_version", Text, nullable=False),
        Column("inputs", LargeBinary, nullable=False),
        Column("state", LargeBinary),
    ]


capability_states = Table(
    "capability_states",
    metadata,
    *_folded(),
    # The newest session of the log, which is not in the state: its sets are folded when they are read.
    _instant("open_start", nullable=True),
    Column("open_key", Text),
    _instant("stale_from", nullable=True),
    PrimaryKeyConstraint("tenant_id", "athlete_id"),
    ForeignKeyConstraint(["tenant_id", "athlete_id"], ["athletes.tenant_id", "athletes.id"]),
    postgresql_with={"fillfactor": "90"},
)

capability_checkpoints = Table(
    "capability_checkpoints",
    metadata,
    *_folded(),
    PrimaryKeyConstraint("tenant_id", "athlete_id", "session_count"),
    ForeignKeyConstraint(["tenant_id", "athlete_id"], ["athletes.tenant_id", "athletes.id"]),
)

consents = Table(
    "consents",
    metadata,
    Column("tenant_id", Uuid, nullable=False),
    Column("athlete_id", Uuid, nullable=False),
    Column("id", Uuid, nullable=False),
    _instant("recorded_at"),
    Column("body", JSONB, nullable=False),
    PrimaryKeyConstraint("tenant_id", "athlete_id", "id"),
    ForeignKeyConstraint(["tenant_id", "athlete_id"], ["athletes.tenant_id", "athletes.id"]),
)

screenings = Table(
    "screenings",
    metadata,
    Column("tenant_id", Uuid, nullable=False),
    Column("athlete_id", Uuid, nullable=False),
    Column("id", Uuid, nullable=False),
    _instant("recorded_at"),
    Column("body", JSONB, nullable=False),
    PrimaryKeyConstraint("tenant_id", "athlete_id", "id"),
    ForeignKeyConstraint(["tenant_id", "athlete_id"], ["athletes.tenant_id", "athletes.id"]),
)

api_keys = Table(
    "api_keys",
    metadata,
    Column("tenant_id", Uuid, nullable=False),
    Column("id", Uuid, nullable=False),
    Column("name", Text, nullable=False),
    Column("secret_hash", LargeBinary, nullable=False),
    Column("scopes", ARRAY(Text), nullable=False),
    Column("reach", JSONB, nullable=False),
    _instant("created_at"),
    _instant("expires_at", nullable=True),
    _instant("revoked_at", nullable=True),
    PrimaryKeyConstraint("tenant_id", "id"),
    ForeignKeyConstraint(["tenant_id"], ["tenants.id"]),
)

keyed_results = Table(
    "keyed_results",
    metadata,
    Column("tenant_id", Uuid, nullable=False),
    Column("key_id", Uuid, nullable=False),
    Column("key", Text, nullable=False),
    Column("fingerprint", LargeBinary, nullable=False),
    Column("result", JSONB),
    Column("created_at", DateTime(timezone=True), nullable=False, server_default=text("now()")),
    PrimaryKeyConstraint("tenant_id", "key_id", "key"),
    ForeignKeyConstraint(["tenant_id", "key_id"], ["api_keys.tenant_id", "api_keys.id"]),
)

#: Table of each kind of resource that is kept as a document.
DOCUMENT_TABLES: dict[str, Table] = {
    "athlete": athletes, "group": groups, "site": sites, "implements": implements, "exercise": exercises,
    "session": sessions, "checkin": checkins, "measurement": measurements, "limit": limits, "aim": aims,
    "frame": frames, "plan": plans,
}  # fmt: skip
