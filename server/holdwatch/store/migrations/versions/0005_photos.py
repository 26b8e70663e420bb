"""photos"""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "photo",
        sa.Column("household_id", sa.String(), nullable=False),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("person_id", sa.Text(), nullable=False),
        sa.Column("width", sa.BigInteger(), nullable=False),
        sa.Column("height", sa.BigInteger(), nullable=False),
        sa.Column("kept_bytes", sa.BigInteger(), nullable=False),
        sa.Column("kept_at", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["household_id"], ["household.household_id"], name=op.f("fk_photo_household_id_household")),
        sa.PrimaryKeyConstraint("household_id", "sha256", name=op.f("pk_photo")),
    )
    op.create_table(
        "photo_upload",
        sa.Column("household_id", sa.String(), nullable=False),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("promised_bytes", sa.BigInteger(), nullable=False),
        sa.Column("had_bytes", sa.BigInteger(), nullable=False),
        sa.Column("changed_at", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(
            ["household_id"], ["household.household_id"], name=op.f("fk_photo_upload_household_id_household")
        ),
        sa.PrimaryKeyConstraint("household_id", "sha256", name=op.f("pk_photo_upload")),
    )
    with op.batch_alter_table("photo_upload", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_photo_upload_changed_at"), ["changed_at"], unique=False)
