"""rota"""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "rota",
        sa.Column("household_id", sa.String(), nullable=False),
        sa.Column("record_id", sa.String(), nullable=False),
        sa.Column("person_id", sa.Text(), nullable=False),
        sa.Column("weekdays", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["household_id"], ["household.household_id"], op.f("fk_rota_household_id_household")),
        sa.PrimaryKeyConstraint("household_id", "record_id", name=op.f("pk_rota")),
    )
    op.create_index(op.f("ix_rota_household_id_person_id"), "rota", ["household_id", "person_id"])
    # What is planned already is looked at when people are told of it, as before.
    op.add_column("duty", sa.Column("ask_at", sa.BigInteger(), nullable=True))
    op.execute("UPDATE duty SET ask_at = tell_at")
    with op.batch_alter_table("duty", schema=None) as batch_op:
        batch_op.alter_column("ask_at", existing_type=sa.BigInteger(), nullable=False)
    op.drop_index(op.f("ix_duty_queued_tell_at"), "duty")
    op.create_index(op.f("ix_duty_queued_ask_at"), "duty", ["queued", "ask_at"])
