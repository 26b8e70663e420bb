"""The kinds of columns that tables are made of, and where all tables are gathered."""

from __future__ import annotations

import sqlalchemy as sa

metadata = sa.MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
    }
)

# Stamps sort by code point on both databases.
Stamp = sa.String().with_variant(sa.String(collation="C"), "postgresql")


def household_id() -> sa.Column:
    """The household that a row belongs to, first of its primary key."""
    return sa.Column("household_id", sa.String, sa.ForeignKey("household.household_id"), primary_key=True)


def own(name: str) -> sa.Column:
    """What tells a row from the others of its household."""
    return sa.Column(name, sa.String, primary_key=True)


def at(name: str, nullable: bool = False) -> sa.Column:
    """An instant in whole milliseconds since 1970-01-01 UTC."""
    return sa.Column(name, sa.BigInteger, nullable=nullable)


def text(name: str, nullable: bool = False) -> sa.Column:
    """A text, or canonical JSON."""
    return sa.Column(name, sa.Text, nullable=nullable)


def number(name: str, default: int | None = None) -> sa.Column:
    """A whole number."""
    return sa.Column(name, sa.BigInteger, nullable=False, default=default)
