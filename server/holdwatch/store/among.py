"""Whether a column holds one of very many values, which go to the database as one."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any

import sqlalchemy as sa
from sqlalchemy.dialects.postgresql import ARRAY

Condition = sa.ColumnElement[bool]


def among(column: sa.ColumnElement[str], parameter: str) -> Mapping[str, Condition]:
    """The condition, by dialect, that the column holds one of the texts that are handed over under that name.

    `IN` would take a parameter for each, and its statement would be written anew for every number of them: of five
    hundred ids that takes three times as long as to find them.
    """
    array = sa.bindparam(parameter, type_=ARRAY(sa.String))
    listed = sa.func.json_each(sa.bindparam(parameter)).table_valued("value").c.value
    return {"sqlite": column.in_(sa.select(listed)), "postgresql": column == sa.any_(array)}


def as_one(db: sa.Connection, texts: Iterable[str]) -> Any:
    """These texts as `among` is handed them."""
    wanted = sorted(set(texts))
    return json.dumps(wanted) if db.dialect.name == "sqlite" else wanted
