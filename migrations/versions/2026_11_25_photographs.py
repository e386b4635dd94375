"""Photographs: pictures kept by content, faces put to scale, suggestions, and what a person said to them.

Existing rows stay as they are.
"""

import sqlalchemy as sa
from alembic import op

revision: str = "0005"
down_revision: str | None = "0004"
branch_labels = None
depends_on = None

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")

TABLES = (
    "picture",
    "photo",
    "photo_picture",
    "photo_void",
    "detection",
    "suggestion",
    "suggestion_decision",
)


def words(name: str, listed: str) -> sa.Enum:
    """A column of one word out of those listed, held to them by a CHECK of that name."""
    return sa.Enum(*listed.split(), name=name, native_enum=False, create_constraint=True, length=24)


def signature() -> list[sa.Column]:
    """When a line of history was written down, and by whom."""
    return [
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
    ]


def refers(table: str, column: str, other: str) -> sa.ForeignKeyConstraint:
    """A reference to another table's id, named as all of them are."""
    return sa.ForeignKeyConstraint([column], [f"{other}.id"], name=op.f(f"fk_{table}_{column}_{other}"))


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
        "picture",
        sa.Column("id", BIG, nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.Column("given_digest", sa.Text(), nullable=False),
        sa.Column("extension", sa.Text(), nullable=False),
        sa.Column("thumb_digest", sa.Text(), nullable=False),
        sa.Column("size_bytes", BIG, nullable=False),
        sa.Column("width_px", BIG, nullable=False),
        sa.Column("height_px", BIG, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("taken", sa.Text(), nullable=True),
        sa.Column("located", sa.Boolean(), nullable=False),
        *signature(),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_picture")),
        sa.UniqueConstraint("digest", name=op.f("uq_picture_digest")),
    )
    op.create_index(op.f("ix_picture_given_digest"), "picture", ["given_digest"])
    op.create_table(
        "photo",
        sa.Column("id", BIG, nullable=False),
        sa.Column("number", BIG, nullable=False),
        sa.Column("piece_id", BIG, nullable=False),
        sa.Column("face", words("face", "A B both"), nullable=False),
        sa.Column("length_mm", sa.Double(), nullable=False),
        sa.Column("width_mm", sa.Double(), nullable=False),
        sa.Column("way", sa.Text(), nullable=False),
        sa.Column("scale", sa.JSON(), nullable=False),
        sa.Column("colour", sa.JSON(), nullable=True),
        sa.Column("face_digest", sa.Text(), nullable=False),
        sa.Column("thumb_digest", sa.Text(), nullable=False),
        *signature(),
        refers("photo", "piece_id", "piece"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_photo")),
        sa.UniqueConstraint("number", name=op.f("uq_photo_number")),
    )
    op.create_index(op.f("ix_photo_piece_id_face"), "photo", ["piece_id", "face"])
    op.create_table(
        "photo_picture",
        sa.Column("photo_id", BIG, nullable=False),
        sa.Column("place", BIG, autoincrement=False, nullable=False),
        sa.Column("picture_id", BIG, nullable=False),
        refers("photo_picture", "photo_id", "photo"),
        refers("photo_picture", "picture_id", "picture"),
        sa.PrimaryKeyConstraint("photo_id", "place", name=op.f("pk_photo_picture")),
    )
    op.create_index(op.f("ix_photo_picture_picture_id"), "photo_picture", ["picture_id"])
    op.create_table(
        "photo_void",
        sa.Column("photo_id", BIG, nullable=False),
        sa.Column("cause", sa.Text(), nullable=False),
        *signature(),
        refers("photo_void", "photo_id", "photo"),
        sa.PrimaryKeyConstraint("photo_id", name=op.f("pk_photo_void")),
    )
    op.create_table(
        "detection",
        sa.Column("id", BIG, nullable=False),
        sa.Column("photo_id", BIG, nullable=False),
        sa.Column("settings", sa.JSON(), nullable=False),
        sa.Column("fitted", sa.Text(), nullable=False),
        *signature(),
        refers("detection", "photo_id", "photo"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_detection")),
    )
    op.create_index(op.f("ix_detection_photo_id"), "detection", ["photo_id"])
    op.create_table(
        "suggestion",
        sa.Column("id", BIG, nullable=False),
        sa.Column("detection_id", BIG, nullable=False),
        sa.Column("piece_id", BIG, nullable=False),
        sa.Column("number", BIG, nullable=False),
        sa.Column(
            "kind",
            words(
                "kind",
                "crack check split shake bark_inclusion sound_knot unsound_knot"
                " gum_vein gum_pocket borer_hole wane decay pith sapwood stain",
            ),
            nullable=False,
        ),
        sa.Column("could_be", sa.JSON(), nullable=False),
        sa.Column("outline", sa.JSON(), nullable=False),
        sa.Column("confidence", sa.Double(), nullable=False),
        sa.Column("length_mm", sa.Double(), nullable=False),
        sa.Column("width_mm", sa.Double(), nullable=False),
        sa.Column("opening_mm", sa.Double(), nullable=True),
        sa.Column("at_end", sa.Boolean(), nullable=False),
        sa.Column("at_edge", sa.Boolean(), nullable=False),
        refers("suggestion", "detection_id", "detection"),
        refers("suggestion", "piece_id", "piece"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_suggestion")),
        sa.UniqueConstraint("piece_id", "number", name=op.f("uq_suggestion_piece_id_number")),
    )
    op.create_index(op.f("ix_suggestion_detection_id"), "suggestion", ["detection_id"])
    op.create_table(
        "suggestion_decision",
        sa.Column("id", BIG, nullable=False),
        sa.Column("suggestion_id", BIG, nullable=False),
        sa.Column("verdict", words("verdict", "accepted rejected same"), nullable=False),
        sa.Column("defect_id", BIG, nullable=True),
        sa.Column("changed", sa.JSON(), nullable=False),
        sa.Column("cause", sa.Text(), nullable=False),
        *signature(),
        refers("suggestion_decision", "suggestion_id", "suggestion"),
        refers("suggestion_decision", "defect_id", "defect"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_suggestion_decision")),
    )
    op.create_index(op.f("ix_suggestion_decision_suggestion_id"), "suggestion_decision", ["suggestion_id"])
    for table in TABLES:
        only_grow(table)


def downgrade() -> None:
    for table in reversed(TABLES):
        op.drop_table(table)
