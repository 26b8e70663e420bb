"""mornings"""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("reminder_wish", sa.Column("morning_at", sa.Text(), nullable=True))
    op.add_column("reminder_wish", sa.Column("next_morning_at", sa.BigInteger(), nullable=True))
    op.create_index(op.f("ix_reminder_wish_next_morning_at"), "reminder_wish", ["next_morning_at"])
