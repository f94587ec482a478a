"""TOML files whose unknown keys are an error that names key, file and line."""

from __future__ import annotations

import datetime
import math
import os
import re
import tomllib
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any, TypeVar

_T = TypeVar("_T")
_EPOCH = datetime.date(1970, 1, 1)


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

    def needed_text(self, table: Mapping[str, Any], key: str, *path: str) -> str:
        """The text under a key that has to be there."""
        value = self.text(table, key, *path, needed=True)
        assert value is not None  # `needed` has raised otherwise
        return value

    def number(self, table: Mapping[str, Any], key: str, *path: str, default: float = math.nan) -> float:
        """The number under a key, or the default."""
        value = table.get(key, default)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self.error(*path, key, what=f"is {value!r}, expected a number")
        return float(value)

    def flag(self, table: Mapping[str, Any], key: str, *path: str) -> bool:
        """True or false under a key; false where there is none."""
        value = table.get(key, False)
        if not isinstance(value, bool):
            raise self.error(*path, key, what=f"is {value!r}, expected true or false")
        return value

    def day(self, table: Mapping[str, Any], key: str, *path: str, default: int) -> int:
        """The date under a key as days since 1970-01-01, or the default."""
        value = table.get(key)
        if value is None:
            return default
        if isinstance(value, datetime.datetime):
            value = value.date()
        if not isinstance(value, datetime.date):
            raise self.error(*path, key, what=f"is {value!r}, expected a date such as 2024-11-18")
        return (value - _EPOCH).days

    def choice(
        self, table: Mapping[str, Any], key: str, choices: Mapping[str, _T], *path: str, default: _T | None = None
    ) -> _T:
        """What a word under a key stands for, or the default; without a default the key is needed."""
        value = table.get(key)
        if value is None and default is not None:
            return default
        if not isinstance(value, str) or value not in choices:
            raise self.error(*path, key, what=f"is {value!r}, expected one of {', '.join(choices)}")
        return choices[value]

    def tables(self, key: str) -> list[Mapping[str, Any]]:
        """The tables `[[key]]` of the file, which holds nothing else."""
        self.check_keys(self.data, (key,))
        found = self.data.get(key, [])
        if not isinstance(found, list):
            raise self.error(key, what=f"is {found!r}, expected tables [[{key}]]")
        return found
