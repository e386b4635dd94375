"""People who may use the yard over the network, their sign-ins, and errands: work done outside a request.

Existing rows stay as they are. A yard without people works on its own machine as it did.
"""

import sqlalchemy as sa
from alembic import op

revision: str = "0004"
down_revision: str | None = "0003"
branch_labels = None
depends_on = None

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def moment(name: str, nullable: bool = False) -> sa.Column[object]:
    return sa.Column(name, sa.DateTime(timezone=True), nullable=nullable)


def upgrade() -> None:
    op.create_table(
        "person",
        sa.Column("id", BIG, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("folded", sa.Text(), nullable=False),
        sa.Column(
            "role",
            sa.Enum("reader", "maker", name="role", native_enum=False, create_constraint=True, length=24),
            nullable=False,
        ),
        sa.Column("password", sa.Text(), nullable=False),
        sa.Column("has_left", BIG, nullable=False),
        moment("at"),
        sa.Column("who", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_person")),
        sa.UniqueConstraint("folded", name=op.f("uq_person_folded")),
    )
    op.create_table(
        "sign_in",
        sa.Column("token", sa.Text(), nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        moment("started"),
        moment("seen"),
        moment("ends"),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_sign_in_person_id_person")),
        sa.PrimaryKeyConstraint("token", name=op.f("pk_sign_in")),
    )
    op.create_index(op.f("ix_sign_in_person_id"), "sign_in", ["person_id"])
    op.create_table(
        "sign_in_failure",
        sa.Column("id", BIG, nullable=False),
        sa.Column("folded", sa.Text(), nullable=False),
        sa.Column("address", sa.Text(), nullable=False),
        moment("at"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sign_in_failure")),
    )
    op.create_index(op.f("ix_sign_in_failure_folded_at"), "sign_in_failure", ["folded", "at"])
    op.create_index(op.f("ix_sign_in_failure_address_at"), "sign_in_failure", ["address", "at"])
    op.create_table(
        "errand",
        sa.Column("id", BIG, nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("wanted", sa.JSON(), nullable=False),
        sa.Column(
            "state",
            sa.Enum(
                "waiting",
                "running",
                "done",
                "failed",
                "dropped",
                name="state",
                native_enum=False,
                create_constraint=True,
                length=24,
            ),
            nullable=False,
        ),
        sa.Column("stop", sa.Text(), nullable=False),
        sa.Column("progress", sa.JSON(), nullable=True),
        sa.Column("result", sa.JSON(), nullable=True),
        sa.Column("complaint", sa.JSON(), nullable=True),
        sa.Column("attempts", BIG, nullable=False),
        sa.Column("worker", sa.Text(), nullable=True),
        moment("beat", nullable=True),
        moment("begun", nullable=True),
        moment("ended", nullable=True),
        moment("at"),
        sa.Column("who", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_errand")),
    )
    op.create_index(op.f("ix_errand_state_id"), "errand", ["state", "id"])
    op.create_table(
        "errand_file",
        sa.Column("errand_id", BIG, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["errand_id"], ["errand.id"], name=op.f("fk_errand_file_errand_id_errand")),
        sa.PrimaryKeyConstraint("errand_id", "name", name=op.f("pk_errand_file")),
    )


def downgrade() -> None:
    for table in ("errand_file", "errand", "sign_in_failure", "sign_in", "person"):
        op.drop_table(table)
