"""wishes, links and feeds"""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

KEY = ["household_id", "duty_key", "version", "person_id", "channel", "matter"]


def upgrade() -> None:
    op.add_column("duty", sa.Column("was_due_at", sa.BigInteger(), nullable=True))
    op.add_column("duty", sa.Column("news", sa.Text(), nullable=True))
    op.create_index(op.f("ix_duty_news"), "duty", ["news"])
    # The loop looks for what is to be told by now, however much is planned and was.
    op.drop_index(op.f("ix_duty_until_at_tell_at"), "duty")
    op.create_index(op.f("ix_duty_queued_tell_at"), "duty", ["queued", "tell_at"])
    op.add_column("duty", sa.Column("skipped", sa.Boolean(), server_default=sa.false(), nullable=False))
    op.add_column("duty", sa.Column("put_off", sa.Text(), server_default="{}", nullable=False))
    with op.batch_alter_table("duty", schema=None) as batch_op:
        batch_op.alter_column("skipped", existing_type=sa.Boolean(), existing_nullable=False, server_default=None)
        batch_op.alter_column("put_off", existing_type=sa.Text(), existing_nullable=False, server_default=None)
    # What was queued so far is about a duty that is due.
    op.add_column("delivery", sa.Column("matter", sa.String(), server_default="due", nullable=False))
    with op.batch_alter_table("delivery", schema=None) as batch_op:
        batch_op.alter_column("matter", existing_type=sa.String(), existing_nullable=False, server_default=None)
        batch_op.drop_constraint("pk_delivery", type_="primary")
        batch_op.create_primary_key("pk_delivery", KEY)
    for name, *columns in (
        (
            "reminder_wish",
            sa.Column("quiet_from", sa.Text(), nullable=True),
            sa.Column("quiet_until", sa.Text(), nullable=True),
            sa.Column("zone", sa.Text(), nullable=False),
            sa.Column("catch_breaks_quiet", sa.Boolean(), nullable=False),
            sa.Column("email", sa.Text(), nullable=True),
        ),
        (
            "calendar_feed",
            sa.Column("secret_hash", sa.Text(), nullable=False),
            sa.Column("names", sa.Boolean(), nullable=False),
            sa.Column("created_at", sa.BigInteger(), nullable=False),
        ),
    ):
        op.create_table(
            name,
            sa.Column("household_id", sa.String(), nullable=False),
            sa.Column("person_id", sa.String(), nullable=False),
            *columns,
            *_keys(name, "person_id"),
        )
    op.create_table(
        "duty_link",
        sa.Column("household_id", sa.String(), nullable=False),
        sa.Column("link_id", sa.String(), nullable=False),
        sa.Column("person_id", sa.Text(), nullable=False),
        sa.Column("duty_key", sa.Text(), nullable=False),
        sa.Column("secret_hash", sa.Text(), nullable=False),
        sa.Column("until_at", sa.BigInteger(), nullable=False),
        *_keys("duty_link", "link_id"),
    )
    op.create_table(
        "away",
        sa.Column("household_id", sa.String(), nullable=False),
        sa.Column("record_id", sa.String(), nullable=False),
        sa.Column("person_id", sa.Text(), nullable=False),
        sa.Column("since_at", sa.BigInteger(), nullable=False),
        sa.Column("until_at", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["household_id"], ["household.household_id"], op.f("fk_away_household_id_household")),
        sa.PrimaryKeyConstraint("household_id", "record_id", name=op.f("pk_away")),
    )
    op.create_index(
        op.f("ix_away_household_id_person_id_until_at"), "away", ["household_id", "person_id", "until_at"]
    )


def _keys(table: str, own: str) -> tuple[sa.Constraint, ...]:
    return (
        sa.ForeignKeyConstraint(["household_id"], ["household.household_id"], op.f(f"fk_{table}_household_id_household")),
        sa.ForeignKeyConstraint(
            ["household_id", "person_id"],
            ["person.household_id", "person.person_id"],
            op.f(f"fk_{table}_household_id_person_id_person"),
        ),
        sa.PrimaryKeyConstraint("household_id", own, name=op.f(f"pk_{table}")),
    )
