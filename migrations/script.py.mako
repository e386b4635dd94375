"""${message}

Rules: what ships is never edited. Moving rows is a migration of its own. Say here what happens to the boards
that exist. Rename and drop in three steps, each its own migration: add the new, copy, drop the old.
A table of history that is rebuilt on SQLite loses its triggers: make them again in the same migration.
"""

from collections.abc import Sequence

import sqlalchemy as sa
from alembic import op
${imports if imports else ""}

revision: str = ${repr(up_revision)}
down_revision: str | None = ${repr(down_revision)}
branch_labels: Sequence[str] | None = ${repr(branch_labels)}
depends_on: Sequence[str] | None = ${repr(depends_on)}


def upgrade() -> None:
    ${upgrades if upgrades else "pass"}


def downgrade() -> None:
    ${downgrades if downgrades else "pass"}
