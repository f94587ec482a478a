"""The column map: a workshop's headers, units, words and wide forms, from TOML."""

from __future__ import annotations

import datetime
import os
from collections.abc import Mapping
from typing import Any

from ohmward._core import readings as _core
from ohmward._toml import TomlFile

COLUMN_KEYS = ("from", "unit", "format", "constant")
WIDE_KEYS = ("from", "part", "quantity", "unit")
COLUMN_NAMES = (*_core.own_form_names, *_core.text_names, *_core.number_names)

ColumnRow = tuple[str, str | None, str, str, str | None]
WideRow = tuple[str, str, str, str]


def _constant(file: TomlFile, name: str, value: object) -> str | None:
    if value is None or isinstance(value, str):
        return value
    if isinstance(value, bool):
        raise file.error("columns", name, "constant", what=f"is {value}, expected a text, number or date")
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, datetime.date):
        return value.isoformat()
    raise file.error("columns", name, "constant", what=f"is {value!r}, expected a text, number or date")


def _column(file: TomlFile, name: str, table: object) -> ColumnRow:
    entry = file.check_keys(table, COLUMN_KEYS, "columns", name)

    def text(key: str) -> str | None:
        return file.text(entry, key, "columns", name)

    return name, text("from"), text("unit") or "", text("format") or "", _constant(file, name, entry.get("constant"))


def _wide(file: TomlFile, table: object) -> WideRow:
    entry = file.check_keys(table, WIDE_KEYS, "wide")

    def text(key: str, *, needed: bool = True) -> str:
        return file.text(entry, key, "wide", needed=needed) or ""

    return text("from"), text("part"), text("quantity"), text("unit", needed=False)


def _words(file: TomlFile, words: Mapping[str, Any], key: str) -> list[str]:
    found = words.get(key, [])
    if not isinstance(found, list) or not all(isinstance(word, str) for word in found):
        raise file.error("words", key, what=f"is {found!r}, expected a list of texts")
    return found


def _kinds(file: TomlFile, key: str, given: Mapping[str, str] | None) -> dict[str, str]:
    table = file.data.get(key, {})
    if not isinstance(table, Mapping):
        raise file.error(key, what=f"is {table!r}, expected a table")
    for name, kind in table.items():
        if not isinstance(kind, str):
            raise file.error(key, name, what=f"is {kind!r}, expected a text")
    return {**table, **(given or {})}


def read_column_map(
    source: str | os.PathLike[str] | Mapping[str, Any] | None,
    *,
    parts: Mapping[str, str] | None = None,
    objects: Mapping[str, str] | None = None,
) -> _core.ColumnMap:
    """Read a column map; `parts` and `objects` are added to its own maps and win over them."""
    file = TomlFile.read({} if source is None else source, name="column map")
    data = file.check_keys(file.data, ("columns", "wide", "words", "parts", "objects"))
    columns = file.check_keys(data.get("columns", {}), COLUMN_NAMES, "columns")
    wide = data.get("wide", [])
    if not isinstance(wide, list):
        raise file.error("wide", what=f"is {wide!r}, expected tables: [[wide]]")
    words = file.check_keys(data.get("words", {}), ("over_range", "missing"), "words")
    description: dict[str, Any] = {
        "columns": [_column(file, name, table) for name, table in columns.items()],
        "wide": [_wide(file, table) for table in wide],
        "over_range": _words(file, words, "over_range"),
        "missing": _words(file, words, "missing"),
        "parts": _kinds(file, "parts", parts),
        "objects": _kinds(file, "objects", objects),
    }
    try:
        return _core.ColumnMap(**description)
    except ValueError as error:
        raise ValueError(f"{file.name}: {error}") from None
