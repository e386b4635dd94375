"""The air of the shop and of clients' rooms, and how a piece's growth rings meet its face.

Existing pieces keep an unknown ring angle.
"""

import sqlalchemy as sa
from alembic import op

revision: str = "0002"
down_revision: str | None = "0001"
branch_labels = None
depends_on = None

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")

HISTORY = ("climate_log", "climate_reading", "climate_void")


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


def upgrade() -> None:
    op.create_table(
        "climate_place",
        sa.Column("id", BIG, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("zone", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_climate_place")),
        sa.UniqueConstraint("name", name=op.f("uq_climate_place_name")),
    )
    op.create_table(
        "climate_log",
        sa.Column("id", BIG, nullable=False),
        sa.Column("place_id", BIG, nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("zone", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["place_id"], ["climate_place.id"], name=op.f("fk_climate_log_place_id_climate_place")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_climate_log")),
    )
    op.create_index(op.f("ix_climate_log_place_id"), "climate_log", ["place_id"])
    op.create_table(
        "climate_reading",
        sa.Column("id", BIG, nullable=False),
        sa.Column("log_id", BIG, nullable=False),
        sa.Column("read_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("temperature_c", sa.Double(), nullable=False),
        sa.Column("humidity", sa.Double(), nullable=False),
        sa.ForeignKeyConstraint(
            ["log_id"], ["climate_log.id"], name=op.f("fk_climate_reading_log_id_climate_log")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_climate_reading")),
    )
    op.create_index(op.f("ix_climate_reading_log_id_read_at"), "climate_reading", ["log_id", "read_at"])
    op.create_table(
        "climate_void",
        sa.Column("log_id", BIG, nullable=False),
        sa.Column("cause", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["log_id"], ["climate_log.id"], name=op.f("fk_climate_void_log_id_climate_log")
        ),
        sa.PrimaryKeyConstraint("log_id", name=op.f("pk_climate_void")),
    )
    op.add_column("piece", sa.Column("ring_angle_deg", sa.Double(), nullable=True))
    for table in HISTORY:
        only_grow(table)


def downgrade() -> None:
    op.drop_column("piece", "ring_angle_deg")
    op.drop_table("climate_void")
    op.drop_table("climate_reading")
    op.drop_table("climate_log")
    op.drop_table("climate_place")
