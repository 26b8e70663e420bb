"""sequence"""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("duty", sa.Column("sequence", sa.BigInteger(), nullable=True))
    # As calendars were told so far, for they must never be told less.
    op.execute("UPDATE duty SET sequence = 2 * (version - 1) + CASE WHEN withdrawn_at IS NULL THEN 0 ELSE 1 END")
    with op.batch_alter_table("duty", schema=None) as batch_op:
        batch_op.alter_column("sequence", existing_type=sa.BigInteger(), nullable=False)
