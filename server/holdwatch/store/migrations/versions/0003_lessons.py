"""lessons"""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "lesson",
        sa.Column("household_id", sa.String(), nullable=False),
        sa.Column("brood_id", sa.String(), nullable=False),
        sa.Column("species", sa.Text(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["household_id"], ["household.household_id"], name=op.f("fk_lesson_household_id_household")),
        sa.PrimaryKeyConstraint("household_id", "brood_id", name=op.f("pk_lesson")),
    )
