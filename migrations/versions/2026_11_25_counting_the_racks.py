"""Counts: which place, what was expected there, and what was read off the rack.

Existing rows stay as they are.
"""

import sqlalchemy as sa
from alembic import op

revision: str = "0003"
down_revision: str | None = "0002"
branch_labels = None
depends_on = None

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")

HISTORY = ("stocktake_expected", "stocktake_scan")


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
        "stocktake",
        sa.Column("id", BIG, nullable=False),
        sa.Column("number", BIG, nullable=False),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("open_place", sa.Text(), nullable=True),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("closed_by", sa.Text(), nullable=True),
        sa.Column("outcome", sa.JSON(), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stocktake")),
        sa.UniqueConstraint("number", name=op.f("uq_stocktake_number")),
        sa.UniqueConstraint("open_place", name=op.f("uq_stocktake_open_place")),
    )
    op.create_table(
        "stocktake_expected",
        sa.Column("stocktake_id", BIG, nullable=False),
        sa.Column("piece_id", BIG, nullable=False),
        sa.ForeignKeyConstraint(
            ["stocktake_id"], ["stocktake.id"], name=op.f("fk_stocktake_expected_stocktake_id_stocktake")
        ),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["piece.id"], name=op.f("fk_stocktake_expected_piece_id_piece")
        ),
        sa.PrimaryKeyConstraint("stocktake_id", "piece_id", name=op.f("pk_stocktake_expected")),
    )
    op.create_table(
        "stocktake_scan",
        sa.Column("id", BIG, nullable=False),
        sa.Column("stocktake_id", BIG, nullable=False),
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("counted", BIG, nullable=False),
        sa.Column("length_mm", sa.Double(), nullable=True),
        sa.Column("width_mm", sa.Double(), nullable=True),
        sa.Column("thickness_mm", sa.Double(), nullable=True),
        sa.Column("seen", sa.JSON(), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["stocktake_id"], ["stocktake.id"], name=op.f("fk_stocktake_scan_stocktake_id_stocktake")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stocktake_scan")),
    )
    op.create_index(op.f("ix_stocktake_scan_stocktake_id"), "stocktake_scan", ["stocktake_id"])
    for table in HISTORY:
        only_grow(table)


def downgrade() -> None:
    op.drop_table("stocktake_scan")
    op.drop_table("stocktake_expected")
    op.drop_table("stocktake")
