"""Whether a column holds one of very many values, which go to the database as one."""

from __future__ import annotations

import json
from collections.abc import Iterable

import sqlalchemy as sa
from sqlalchemy.dialects.postgresql import ARRAY


def among(db: sa.Connection, column: sa.ColumnElement[str], texts: Iterable[str]) -> sa.ColumnElement[bool]:
    """The condition that the column holds one of these texts.

    `IN` would take a parameter for each, and its statement would be written anew for every number of them: of five
    hundred ids that takes three times as long as to find them.
    """
    wanted = sorted(set(texts))
    if db.dialect.name == "sqlite":
        return column.in_(sa.select(sa.func.json_each(json.dumps(wanted)).table_valued("value").c.value))
    return column == sa.any_(sa.literal(wanted, ARRAY(sa.String)))
