"""What all tables of the notebook share: which steps of the schema there are, how texts and JSON are kept."""

import json

from sqlalchemy import JSON, Dialect, Text, TypeDecorator
from sqlalchemy.orm import DeclarativeBase

APPLICATION_ID = 0x506F4E62  # "PoNb", in the header of the file: this SQLite file is a notebook
REVISIONS = ("0001", "0002", "0003", "0004", "0005", "0006", "0010", "0011")
"""Every step of the schema this program knows, oldest first; a file with another one is newer."""

Json = dict[str, object]


class JsonText(TypeDecorator[Json]):
    """JSON as the very text that SQLite keeps, so that an entry has the same seal on a server."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Json | None, dialect: Dialect) -> str | None:
        """Return an object as its text."""
        return None if value is None else json.dumps(value)

    def process_result_value(self, value: str | None, dialect: Dialect) -> Json | None:
        """Return the object of a text."""
        if value is None:
            return None
        found: Json = json.loads(value)
        return found


class Base(DeclarativeBase):
    """Base of all tables."""

    type_annotation_map = {  # noqa: RUF012  (SQLAlchemy's own way)
        str: Text(),
        Json: JSON(none_as_null=True).with_variant(JsonText(), "postgresql"),
    }
