"""TOML files whose unknown keys are an error that names key, file and line."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any


class TomlFile:
    """The content of a TOML file (or a mapping that stands for one) and where its keys stand."""

    def __init__(self, data: Mapping[str, Any], name: str, text: str = "") -> None:
        self.data = data
        self.name = name
        self._lines = text.splitlines()

    @classmethod
    def read(cls, source: str | os.PathLike[str] | Mapping[str, Any], *, name: str) -> TomlFile:
        """Read a file; a mapping is taken as it is and called `name` in messages."""
        if isinstance(source, Mapping):
            return cls(source, name)
        path = Path(source)
        try:
            text = path.read_bytes().decode("utf-8-sig")
            return cls(tomllib.loads(text), str(path), text)
        except UnicodeDecodeError as error:
            raise ValueError(f"{path}: byte {error.start} is no UTF-8, expected a TOML file in UTF-8") from None
        except tomllib.TOMLDecodeError as error:
            raise ValueError(f"{path}: {error}") from None

    def place(self, *keys: str) -> str:
        """`columns.toml, line 7`: the first line on which the keys occur one after the other."""
        start = 0
        for key in keys:
            is_key = re.compile(rf"""(^|[\[{{,.\s])["']?{re.escape(key)}["']?\s*([=.\]]|$)""")
            found = next((i for i in range(start, len(self._lines)) if is_key.search(self._lines[i])), None)
            if found is None:
                break
            start = found
        else:
            if self._lines:
                return f"{self.name}, line {start + 1}"
        return self.name

    def error(self, *keys: str, what: str) -> ValueError:
        """An error that names file, line where it is known, and key."""
        return ValueError(f"{self.place(*keys)}: {'.'.join(keys)} {what}")

    def check_keys(self, table: object, allowed: Iterable[str], *path: str) -> Mapping[str, Any]:
        """Refuse what is no table and keys that nobody reads; return the table."""
        if not isinstance(table, Mapping):
            raise self.error(*path, what=f"is {table!r}, expected a table")
        names = sorted(allowed)
        for key in table:
            if key not in names:
                raise self.error(*path, str(key), what=f"is an unknown key, expected one of {', '.join(names)}")
        return table

    def text(self, table: Mapping[str, Any], key: str, *path: str, needed: bool = False) -> str | None:
        """The text under a key; None where there is none."""
        value = table.get(key)
        if isinstance(value, str):
            return value
        if value is not None:
            raise self.error(*path, key, what=f"is {value!r}, expected a text")
        if needed:
            raise self.error(*path, what=f"has no {key}")
        return None
