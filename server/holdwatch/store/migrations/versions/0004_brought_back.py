"""brought back, and invited again"""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    # Not in batches: both databases add an empty column without touching a row.
    op.add_column("record", sa.Column("brought_by", sa.Text(), nullable=True))
    op.add_column("invitation", sa.Column("person_id", sa.Text(), nullable=True))
