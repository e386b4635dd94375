"""The first tables: the workshop, its pieces and their history, jobs and plans, and the ledger.

The database itself refuses to change or delete what is history.
"""

import sqlalchemy as sa
from alembic import op

revision: str = "0001"
down_revision: str | None = None
branch_labels = None
depends_on = None

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")

HISTORY = (
    "setting",
    "delivery",
    "piece_change",
    "moisture_reading",
    "moisture_void",
    "defect_version",
    "job_version",
    "movement",
    "movement_line",
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


def upgrade() -> None:
    op.create_table(
        "job",
        sa.Column("id", BIG, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("version", BIG, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_job")),
        sa.UniqueConstraint("name", name=op.f("uq_job_name")),
    )
    op.create_table(
        "running_count",
        sa.Column("series", sa.Text(), nullable=False),
        sa.Column("last", BIG, nullable=False),
        sa.PrimaryKeyConstraint("series", name=op.f("pk_running_count")),
    )
    op.create_table(
        "setting",
        sa.Column("id", BIG, nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("value", sa.JSON(), nullable=False),
        sa.Column("effective", sa.Date(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_setting")),
    )
    op.create_index(op.f("ix_setting_key_id"), "setting", ["key", "id"])

    op.create_table(
        "species",
        sa.Column("id", BIG, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("prefix", sa.Text(), nullable=False),
        sa.Column("botanical", sa.JSON(), nullable=False),
        sa.Column("aliases", sa.JSON(), nullable=False),
        sa.Column("particulars", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_species")),
        sa.UniqueConstraint("name", name=op.f("uq_species_name")),
    )
    op.create_table(
        "supplier",
        sa.Column("id", BIG, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("particulars", sa.JSON(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_supplier")),
        sa.UniqueConstraint("name", name=op.f("uq_supplier_name")),
    )
    op.create_table(
        "delivery",
        sa.Column("id", BIG, nullable=False),
        sa.Column("supplier_id", BIG, nullable=False),
        sa.Column("docket", sa.Text(), nullable=False),
        sa.Column("attempt", BIG, nullable=False),
        sa.Column("received_on", sa.Date(), nullable=False),
        sa.Column("currency", sa.Text(), nullable=False),
        sa.Column("measure", words("measure", "gross net"), nullable=False),
        sa.Column("goods", sa.BigInteger(), nullable=False),
        sa.Column("charges", sa.JSON(), nullable=False),
        sa.Column("tax", sa.BigInteger(), nullable=False),
        sa.Column("total", sa.BigInteger(), nullable=False),
        sa.Column("provenance", sa.JSON(), nullable=False),
        sa.Column("source_file", sa.Text(), nullable=False),
        sa.Column("source_sha256", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["supplier_id"], ["supplier.id"], name=op.f("fk_delivery_supplier_id_supplier")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_delivery")),
        sa.UniqueConstraint(
            "supplier_id", "docket", "attempt", name=op.f("uq_delivery_supplier_id_docket_attempt")
        ),
    )
    op.create_index(op.f("ix_delivery_docket"), "delivery", ["docket"])

    op.create_table(
        "job_version",
        sa.Column("id", BIG, nullable=False),
        sa.Column("job_id", BIG, nullable=False),
        sa.Column("version", BIG, nullable=False),
        sa.Column("document", sa.JSON(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_job_version_job_id_job")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_job_version")),
        sa.UniqueConstraint("job_id", "version", name=op.f("uq_job_version_job_id_version")),
    )
    op.create_table(
        "plan",
        sa.Column("id", BIG, nullable=False),
        sa.Column("number", BIG, nullable=False),
        sa.Column("job_id", BIG, nullable=False),
        sa.Column("job_version", BIG, nullable=False),
        sa.Column("status", words("status", "proposed allocated cut released"), nullable=False),
        sa.Column("document", sa.JSON(), nullable=False),
        sa.Column("stock", sa.JSON(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_plan_job_id_job")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plan")),
        sa.UniqueConstraint("number", name=op.f("uq_plan_number")),
    )
    op.create_index(op.f("ix_plan_job_id"), "plan", ["job_id"])
    op.create_index(op.f("ix_plan_status"), "plan", ["status"])

    op.create_table(
        "movement",
        sa.Column("id", BIG, nullable=False),
        sa.Column(
            "kind",
            words("kind", "receive allocate release cut count write_down dispose reverse"),
            nullable=False,
        ),
        sa.Column("effective", sa.Date(), nullable=False),
        sa.Column("cause", sa.Text(), nullable=False),
        sa.Column("plan_id", BIG, nullable=True),
        sa.Column("delivery_id", BIG, nullable=True),
        sa.Column("reverses_id", BIG, nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["delivery_id"], ["delivery.id"], name=op.f("fk_movement_delivery_id_delivery")
        ),
        sa.ForeignKeyConstraint(["plan_id"], ["plan.id"], name=op.f("fk_movement_plan_id_plan")),
        sa.ForeignKeyConstraint(
            ["reverses_id"], ["movement.id"], name=op.f("fk_movement_reverses_id_movement")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_movement")),
        sa.UniqueConstraint("reverses_id", name=op.f("uq_movement_reverses_id")),
    )
    op.create_index(op.f("ix_movement_delivery_id"), "movement", ["delivery_id"])
    op.create_index(op.f("ix_movement_effective"), "movement", ["effective"])
    op.create_index(op.f("ix_movement_plan_id"), "movement", ["plan_id"])

    op.create_table(
        "piece",
        sa.Column("id", BIG, nullable=False),
        sa.Column("number", sa.Text(), nullable=False),
        sa.Column("kind", words("kind", "board stave offcut"), nullable=False),
        sa.Column("species_id", BIG, nullable=False),
        sa.Column("length_mm", sa.Double(), nullable=False),
        sa.Column("width_mm", sa.Double(), nullable=False),
        sa.Column("thickness_mm", sa.Double(), nullable=False),
        sa.Column("bow_mm", sa.Double(), nullable=False),
        sa.Column("spring_mm", sa.Double(), nullable=False),
        sa.Column("cup_mm", sa.Double(), nullable=False),
        sa.Column("twist_mm", sa.Double(), nullable=False),
        sa.Column("heart_face", words("heart_face", "A B both"), nullable=True),
        sa.Column("colour_a", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("colour_b", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("place", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("delivery_id", BIG, nullable=True),
        sa.Column("delivery_row", BIG, nullable=True),
        sa.Column("parent_id", BIG, nullable=True),
        sa.Column("x0", BIG, nullable=True),
        sa.Column("y0", BIG, nullable=True),
        sa.Column("x1", BIG, nullable=True),
        sa.Column("y1", BIG, nullable=True),
        sa.Column("cut_plan_id", BIG, nullable=True),
        sa.Column("panel", sa.Text(), nullable=True),
        sa.Column("stave", BIG, nullable=True),
        sa.Column("version", BIG, nullable=False),
        sa.Column("on_hand", BIG, nullable=False),
        sa.Column("promised_plan_id", BIG, nullable=True),
        sa.Column("value", sa.BigInteger(), nullable=False),
        sa.Column("volume_mm3", BIG, nullable=False),
        sa.Column(
            "ended_by",
            words("ended_by", "receive allocate release cut count write_down dispose reverse"),
            nullable=True,
        ),
        sa.Column("moisture_pct", sa.Double(), nullable=True),
        sa.Column("moisture_on", sa.Date(), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.CheckConstraint("length_mm > 0 AND width_mm > 0 AND thickness_mm > 0", name=op.f("ck_piece_size")),
        sa.CheckConstraint("on_hand IN (0, 1)", name=op.f("ck_piece_on_hand")),
        sa.CheckConstraint("value >= 0 AND volume_mm3 >= 0", name=op.f("ck_piece_not_negative")),
        sa.ForeignKeyConstraint(["cut_plan_id"], ["plan.id"], name=op.f("fk_piece_cut_plan_id_plan")),
        sa.ForeignKeyConstraint(["delivery_id"], ["delivery.id"], name=op.f("fk_piece_delivery_id_delivery")),
        sa.ForeignKeyConstraint(["parent_id"], ["piece.id"], name=op.f("fk_piece_parent_id_piece")),
        sa.ForeignKeyConstraint(
            ["promised_plan_id"], ["plan.id"], name=op.f("fk_piece_promised_plan_id_plan")
        ),
        sa.ForeignKeyConstraint(["species_id"], ["species.id"], name=op.f("fk_piece_species_id_species")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_piece")),
        sa.UniqueConstraint("number", name=op.f("uq_piece_number")),
    )
    op.create_index(op.f("ix_piece_delivery_id"), "piece", ["delivery_id"])
    op.create_index(op.f("ix_piece_on_hand_place"), "piece", ["on_hand", "place"])
    op.create_index(
        op.f("ix_piece_on_hand_species_id_thickness_mm"), "piece", ["on_hand", "species_id", "thickness_mm"]
    )
    op.create_index(op.f("ix_piece_parent_id"), "piece", ["parent_id"])
    op.create_index(op.f("ix_piece_promised_plan_id"), "piece", ["promised_plan_id"])
    op.create_index(op.f("ix_piece_species_id"), "piece", ["species_id"])

    op.create_table(
        "defect",
        sa.Column("id", BIG, nullable=False),
        sa.Column("piece_id", BIG, nullable=False),
        sa.Column("number", BIG, nullable=False),
        sa.Column("version", BIG, nullable=False),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name=op.f("fk_defect_piece_id_piece")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_defect")),
        sa.UniqueConstraint("piece_id", "number", name=op.f("uq_defect_piece_id_number")),
    )
    op.create_table(
        "moisture_reading",
        sa.Column("id", BIG, nullable=False),
        sa.Column("piece_id", BIG, nullable=False),
        sa.Column("taken_on", sa.Date(), nullable=False),
        sa.Column("raw_pct", sa.Double(), nullable=False),
        sa.Column("corrected_pct", sa.Double(), nullable=True),
        sa.Column("meter", sa.Text(), nullable=False),
        sa.Column("wood_c", sa.Double(), nullable=True),
        sa.Column("rule", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("copied_from_id", BIG, nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["copied_from_id"],
            ["moisture_reading.id"],
            name=op.f("fk_moisture_reading_copied_from_id_moisture_reading"),
        ),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name=op.f("fk_moisture_reading_piece_id_piece")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_moisture_reading")),
    )
    op.create_index(
        op.f("ix_moisture_reading_piece_id_taken_on"), "moisture_reading", ["piece_id", "taken_on"]
    )

    op.create_table(
        "movement_line",
        sa.Column("id", BIG, nullable=False),
        sa.Column("movement_id", BIG, nullable=False),
        sa.Column("effective", sa.Date(), nullable=False),
        sa.Column("account", sa.Text(), nullable=False),
        sa.Column("piece_id", BIG, nullable=True),
        sa.Column("job_id", BIG, nullable=True),
        sa.Column("on_hand", BIG, nullable=False),
        sa.Column("promised", BIG, nullable=False),
        sa.Column("value", sa.BigInteger(), nullable=False),
        sa.Column("volume_mm3", BIG, nullable=False),
        sa.CheckConstraint(
            "(piece_id IS NOT NULL) = (account = 'stock')", name=op.f("ck_movement_line_stock_is_pieces")
        ),
        sa.CheckConstraint(
            "on_hand BETWEEN -1 AND 1 AND promised BETWEEN -1 AND 1", name=op.f("ck_movement_line_one_piece")
        ),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_movement_line_job_id_job")),
        sa.ForeignKeyConstraint(
            ["movement_id"], ["movement.id"], name=op.f("fk_movement_line_movement_id_movement")
        ),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name=op.f("fk_movement_line_piece_id_piece")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_movement_line")),
    )
    op.create_index(op.f("ix_movement_line_account_effective"), "movement_line", ["account", "effective"])
    op.create_index(op.f("ix_movement_line_movement_id"), "movement_line", ["movement_id"])
    op.create_index(op.f("ix_movement_line_piece_id_effective"), "movement_line", ["piece_id", "effective"])

    op.create_table(
        "piece_change",
        sa.Column("id", BIG, nullable=False),
        sa.Column("piece_id", BIG, nullable=False),
        sa.Column("version", BIG, nullable=False),
        sa.Column("fact", sa.Text(), nullable=False),
        sa.Column("old", sa.JSON(), nullable=False),
        sa.Column("new", sa.JSON(), nullable=False),
        sa.Column("effective", sa.Date(), nullable=False),
        sa.Column("cause", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name=op.f("fk_piece_change_piece_id_piece")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_piece_change")),
    )
    op.create_index(op.f("ix_piece_change_fact_effective"), "piece_change", ["fact", "effective"])
    op.create_index(op.f("ix_piece_change_piece_id_fact"), "piece_change", ["piece_id", "fact"])

    op.create_table(
        "plan_board",
        sa.Column("plan_id", BIG, nullable=False),
        sa.Column("piece_id", BIG, nullable=False),
        sa.Column("seen_version", BIG, nullable=False),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name=op.f("fk_plan_board_piece_id_piece")),
        sa.ForeignKeyConstraint(["plan_id"], ["plan.id"], name=op.f("fk_plan_board_plan_id_plan")),
        sa.PrimaryKeyConstraint("plan_id", "piece_id", name=op.f("pk_plan_board")),
    )
    op.create_index(op.f("ix_plan_board_piece_id"), "plan_board", ["piece_id"])

    op.create_table(
        "defect_version",
        sa.Column("id", BIG, nullable=False),
        sa.Column("defect_id", BIG, nullable=False),
        sa.Column("version", BIG, nullable=False),
        sa.Column(
            "kind",
            words(
                "kind",
                "crack check split shake bark_inclusion sound_knot unsound_knot"
                " gum_vein gum_pocket borer_hole wane decay pith sapwood stain",
            ),
            nullable=False,
        ),
        sa.Column("face", words("face", "A B both"), nullable=False),
        sa.Column("outline", sa.JSON(), nullable=False),
        sa.Column("depth_mm", sa.Double(), nullable=True),
        sa.Column("opening_mm", sa.Double(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("state", words("state", "open stabilised filled"), nullable=False),
        sa.Column("origin", words("origin", "hand photo inherited"), nullable=False),
        sa.Column("removed", sa.Boolean(), nullable=False),
        sa.Column("cause", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["defect_id"], ["defect.id"], name=op.f("fk_defect_version_defect_id_defect")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_defect_version")),
        sa.UniqueConstraint("defect_id", "version", name=op.f("uq_defect_version_defect_id_version")),
    )
    op.create_table(
        "moisture_void",
        sa.Column("reading_id", BIG, nullable=False),
        sa.Column("cause", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("who", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["reading_id"], ["moisture_reading.id"], name=op.f("fk_moisture_void_reading_id_moisture_reading")
        ),
        sa.PrimaryKeyConstraint("reading_id", name=op.f("pk_moisture_void")),
    )
    op.create_table(
        "step",
        sa.Column("id", BIG, nullable=False),
        sa.Column("plan_id", BIG, nullable=False),
        sa.Column("piece_id", BIG, nullable=False),
        sa.Column("defect_id", BIG, nullable=False),
        sa.Column("kind", words("kind", "stabilise fill"), nullable=False),
        sa.Column("method", sa.Text(), nullable=False),
        sa.Column("quantity", sa.Text(), nullable=False),
        sa.Column("before", words("before", "cutting glue-up finishing"), nullable=False),
        sa.Column("state", words("state", "open done dropped"), nullable=False),
        sa.Column("product", sa.Text(), nullable=True),
        sa.Column("batch", sa.Text(), nullable=True),
        sa.Column("done_on", sa.Date(), nullable=True),
        sa.Column("done_by", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["defect_id"], ["defect.id"], name=op.f("fk_step_defect_id_defect")),
        sa.ForeignKeyConstraint(["piece_id"], ["piece.id"], name=op.f("fk_step_piece_id_piece")),
        sa.ForeignKeyConstraint(["plan_id"], ["plan.id"], name=op.f("fk_step_plan_id_plan")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_step")),
    )
    op.create_index(op.f("ix_step_piece_id"), "step", ["piece_id"])
    op.create_index(op.f("ix_step_plan_id"), "step", ["plan_id"])
    op.create_index(op.f("ix_step_state"), "step", ["state"])

    if op.get_bind().dialect.name == "postgresql":
        op.execute(
            "CREATE FUNCTION history_only_grows() RETURNS trigger LANGUAGE plpgsql AS "
            "$$ BEGIN RAISE EXCEPTION 'history only grows'; END $$"
        )
    for table in HISTORY:
        only_grow(table)


def downgrade() -> None:
    op.drop_table("step")
    op.drop_table("moisture_void")
    op.drop_table("defect_version")
    op.drop_table("plan_board")
    op.drop_table("piece_change")
    op.drop_table("movement_line")
    op.drop_table("moisture_reading")
    op.drop_table("defect")
    op.drop_table("piece")
    op.drop_table("movement")
    op.drop_table("plan")
    op.drop_table("job_version")
    op.drop_table("delivery")
    op.drop_table("supplier")
    op.drop_table("species")
    op.drop_table("setting")
    op.drop_table("running_count")
    op.drop_table("job")
    if op.get_bind().dialect.name == "postgresql":
        op.execute("DROP FUNCTION history_only_grows()")
