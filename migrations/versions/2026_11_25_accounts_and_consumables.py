"""Consumables with their quantities, the time jobs took, quotes as given, and movements of more kinds.

Existing rows stay as they are. Going back is refused by the old list of kinds where a newer kind was booked.
"""

import sqlalchemy as sa
from alembic import op

revision: str = "0006"
down_revision: str | None = "0005"
branch_labels = None
depends_on = None

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")

HISTORY = ("job_time", "quote")

OLD_KINDS = "receive allocate release cut count write_down dispose reverse"
NEW_KINDS = f"{OLD_KINDS} finish add_cost write_up use"

SUPPLY = "CONSTRAINT fk_movement_line_supply_id_supply REFERENCES supply (id)"
COUNTED = (
    "CONSTRAINT ck_movement_line_supplies_are_counted CHECK ((supply_id IS NOT NULL) = (account = 'supplies')"
    " AND (supply_id IS NULL OR quantity IS NOT NULL))"
)


def words(name: str, listed: str) -> sa.Enum:
    """A column of one word out of those listed, held to them by a CHECK of that name."""
    return sa.Enum(*listed.split(), name=name, native_enum=False, create_constraint=True, length=24)


def only_grow(table: str) -> None:
    """Refuse every UPDATE and DELETE of a table from now on."""
    if op.get_bind().dialect.name == "postgresql":
        op.execute(
            f"CREATE TRIGGER only_grows BEFORE UPDATE OR DELETE ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION history_only_grows()"
        )
        op.execute(
            f"CREATE TRIGGER never_emptied BEFORE TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION history_only_grows()"
        )
        return
    for act in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER {table}_no_{act.lower()} BEFORE {act} ON {table} "
            "BEGIN SELECT RAISE(ABORT, 'history only grows'); END"
        )


def listed(column: str, kinds: str) -> str:
    """The condition that holds a column to some words."""
    return f"{column} IN ({', '.join(repr(kind) for kind in kinds.split())})"


def rebuilt(table: str, now: str, then: str) -> None:
    """Make an SQLite table anew with `then` in its definition for `now`; rows, indexes and triggers stay.

    SQLite changes no constraint of a table that is there; this is the way its own manual gives ("Making Other
    Kinds Of Table Schema Changes"). Foreign keys are off while migrations run.
    """
    bind = op.get_bind()
    asked = "SELECT sql FROM sqlite_master WHERE tbl_name = ? AND type = ? AND sql IS NOT NULL"
    (definition,) = bind.exec_driver_sql(asked, (table, "table")).scalars().all()
    others = [
        sql for kind in ("index", "trigger") for sql in bind.exec_driver_sql(asked, (table, kind)).scalars()
    ]
    if now not in definition:
        raise RuntimeError(f"{table} is not defined as it should be; nothing was changed.")
    head, _, body = definition.replace(now, then).partition("(")
    fresh = f"{table}_anew"
    op.execute(f"{head.replace(table, fresh)}({body}")
    kept = {row[1] for row in bind.exec_driver_sql(f"PRAGMA table_info({fresh})")}
    names = [row[1] for row in bind.exec_driver_sql(f"PRAGMA table_info({table})") if row[1] in kept]
    columns = ", ".join(f'"{name}"' for name in names)
    op.execute(f"INSERT INTO {fresh} ({columns}) SELECT {columns} FROM {table}")
    op.execute(f"DROP TABLE {table}")
    op.execute(f"ALTER TABLE {fresh} RENAME TO {table}")
    for sql in others:
        op.execute(sql)


def know_kinds(now: str, then: str) -> None:
    """Let movements be of the kinds `then`, and pieces be ended by them."""
    for table, column in (("movement", "kind"), ("piece", "ended_by")):
        if op.get_bind().dialect.name == "sqlite":
            rebuilt(table, listed(column, now), listed(column, then))
            continue
        name = f"ck_{table}_{column}"
        op.execute(f"ALTER TABLE {table} DROP CONSTRAINT {name}")
        op.execute(f"ALTER TABLE {table} ADD CONSTRAINT {name} CHECK ({listed(column, then)})")


def upgrade() -> None:
    op.create_table(
        "supply",
        sa.Column("id", BIG, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column(
            "kind",
            words("kind", "glue cyanoacrylate epoxy finish fastener abrasive other"),
            nullable=False,
        ),
        sa.Column("unit", words("unit", "g mL each"), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_supply")),
        sa.UniqueConstraint("name", name=op.f("uq_supply_name")),
    )
    op.create_table(
        "job_time",
        sa.Column("id", BIG, nullable=False),
        sa.Column("job_id", BIG, nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("minutes", BIG, nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_job_time_job_id_job")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_job_time")),
    )
    op.create_index(op.f("ix_job_time_job_id"), "job_time", ["job_id"])
    op.create_table(
        "quote",
        sa.Column("id", BIG, nullable=False),
        sa.Column("job_id", BIG, nullable=False),
        sa.Column("plan_id", BIG, nullable=True),
        sa.Column("document", sa.JSON(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_quote_job_id_job")),
        sa.ForeignKeyConstraint(["plan_id"], ["plan.id"], name=op.f("fk_quote_plan_id_plan")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_quote")),
    )
    op.create_index(op.f("ix_quote_job_id"), "quote", ["job_id"])
    know_kinds(OLD_KINDS, NEW_KINDS)
    whole = "BIGINT" if op.get_bind().dialect.name == "postgresql" else "INTEGER"
    op.execute(f"ALTER TABLE movement_line ADD COLUMN supply_id {whole} {SUPPLY}")
    op.execute(f"ALTER TABLE movement_line ADD COLUMN quantity BIGINT {COUNTED}")
    for table in HISTORY:
        only_grow(table)


def downgrade() -> None:
    if op.get_bind().dialect.name == "sqlite":
        rebuilt("movement_line", f", supply_id INTEGER {SUPPLY}, quantity BIGINT {COUNTED}", "")
    else:
        op.execute("ALTER TABLE movement_line DROP COLUMN quantity, DROP COLUMN supply_id")
    know_kinds(NEW_KINDS, OLD_KINDS)
    op.drop_table("quote")
    op.drop_table("job_time")
    op.drop_table("supply")
