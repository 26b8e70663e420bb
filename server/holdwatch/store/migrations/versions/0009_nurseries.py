"""nurseries"""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "nursery_watch",
        sa.Column("household_id", sa.String(), nullable=False),
        sa.Column("batch_id", sa.String(), nullable=False),
        sa.Column("due_at", sa.BigInteger(), nullable=True),
        sa.ForeignKeyConstraint(
            ["household_id"], ["household.household_id"], op.f("fk_nursery_watch_household_id_household")
        ),
        sa.PrimaryKeyConstraint("household_id", "batch_id", name=op.f("pk_nursery_watch")),
    )
    op.create_index(op.f("ix_nursery_watch_due_at"), "nursery_watch", ["due_at"])
    op.add_column("duty", sa.Column("amount", sa.Text(), nullable=True))
