"""long values in history"""

from hashlib import sha256
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

KEY = ["household_id", "record_id", "field", "stamp", "digest"]


def upgrade() -> None:
    # PostgreSQL keeps no key longer than 2,704 bytes, and a note may be longer than that.
    op.add_column("history", sa.Column("digest", sa.String(), nullable=True))
    connection = op.get_bind()
    if connection.dialect.name == "sqlite":
        driver: Any = connection.connection.dbapi_connection
        driver.create_function("digest_of", 1, _digest, deterministic=True)
        op.execute("UPDATE history SET digest = digest_of(value)")
    else:
        op.execute("UPDATE history SET digest = left(encode(sha256(convert_to(value, 'UTF8')), 'hex'), 32)")
    with op.batch_alter_table("history", schema=None) as batch_op:
        batch_op.alter_column("digest", existing_type=sa.String(), nullable=False)
        batch_op.alter_column("value", existing_type=sa.String(), type_=sa.Text(), existing_nullable=False)
        batch_op.drop_constraint("pk_history", type_="primary")
        batch_op.create_primary_key("pk_history", KEY)


def _digest(value: str) -> str:
    return sha256(value.encode()).hexdigest()[:32]
