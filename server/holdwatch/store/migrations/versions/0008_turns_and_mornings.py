"""turns and mornings"""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

# What is planned already is looked at when people are told of it, as before; and calendars must never be told a lower
# number than they were so far.
ASK_AT = "tell_at"
SEQUENCE = "2 * (version - 1) + CASE WHEN withdrawn_at IS NULL THEN 0 ELSE 1 END"


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
    for name in ("ask_at", "sequence"):
        op.add_column("duty", sa.Column(name, sa.BigInteger(), nullable=True))
    op.execute(f"UPDATE duty SET ask_at = {ASK_AT}, sequence = {SEQUENCE}")
    with op.batch_alter_table("duty", schema=None) as batch_op:
        for name in ("ask_at", "sequence"):
            batch_op.alter_column(name, existing_type=sa.BigInteger(), nullable=False)
    op.drop_index(op.f("ix_duty_queued_tell_at"), "duty")
    op.create_index(op.f("ix_duty_queued_ask_at"), "duty", ["queued", "ask_at"])
    op.add_column("reminder_wish", sa.Column("morning_at", sa.Text(), nullable=True))
    op.add_column("reminder_wish", sa.Column("next_morning_at", sa.BigInteger(), nullable=True))
    op.create_index(op.f("ix_reminder_wish_next_morning_at"), "reminder_wish", ["next_morning_at"])
