"""Reading the project's TOML files strictly: an unknown key is an error that names key, file and line."""

from __future__ import annotations

import datetime
import math
import re
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from ohmward import _core

_EPOCH = datetime.date(1970, 1, 1)
_UNIT_FREE = {"": 1.0}


def load(path: str | Path) -> dict[str, Any]:
    """Parse a TOML file; an error names the file."""
    path = Path(path)
    try:
        text = path.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise ValueError(f"{path}: not UTF-8 at byte {error.start}") from error
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ValueError(f"{path}: {error}") from error


def line_of(path: str | Path, key: str) -> int | None:
    """Line of the first assignment to a key, for messages."""
    pattern = re.compile(rf"(^|[\s,{{\[.]){re.escape(key)}\s*(=|\]|\.)")
    for number, line in enumerate(Path(path).read_text(encoding="utf-8").splitlines(), start=1):
        if pattern.search(line.split("#")[0]):
            return number
    return None


def refuse_unknown(entry: Mapping[str, Any], known: Sequence[str], path: str | Path, where: str) -> None:
    """Raise for the first key of an entry that is not known."""
    for key in entry:
        if key not in known:
            line = line_of(path, key)
            place = f"{path}, line {line}" if line else str(path)
            raise ValueError(f"{place}: {where} has the unknown key '{key}'; known are {', '.join(known)}")


def number(entry: Mapping[str, Any], key: str, path: str | Path, where: str, default: float = math.nan) -> float:
    """A number of an entry, or the default."""
    value = entry.get(key, default)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"{path}: {where}.{key} is {value!r}, expected a number")
    return float(value)


def text(entry: Mapping[str, Any], key: str, path: str | Path, where: str, default: str | None = None) -> str:
    """A text of an entry, or the default; without a default the key is needed."""
    value = entry.get(key, default)
    if not isinstance(value, str):
        raise ValueError(f"{path}: {where}.{key} is {value!r}, expected a text")
    return value


def day(entry: Mapping[str, Any], key: str, path: str | Path, where: str, default: int) -> int:
    """A date of an entry as days since 1970-01-01, or the default."""
    value = entry.get(key)
    if value is None:
        return default
    if isinstance(value, datetime.datetime):
        value = value.date()
    if not isinstance(value, datetime.date):
        raise ValueError(f"{path}: {where}.{key} is {value!r}, expected a date such as 2024-11-18")
    return (value - _EPOCH).days


def choice(entry: Mapping[str, Any], key: str, choices: Mapping[str, Any], path: str | Path, where: str, default: Any = None) -> Any:
    """One of the named choices, or the default; without a default the key is needed."""
    value = entry.get(key)
    if value is None and default is not None:
        return default
    if value not in choices:
        raise ValueError(f"{path}: {where}.{key} is {value!r}, expected one of {', '.join(choices)}")
    return choices[value]


def quantity(entry: Mapping[str, Any], path: str | Path, where: str) -> _core.core.QuantityKind:
    """The quantity of an entry."""
    kinds = {kind.name: kind for kind in _core.core.QuantityKind}
    found: _core.core.QuantityKind = choice(entry, "quantity", kinds, path, where)
    return found


def unit_factor(entry: Mapping[str, Any], kind: _core.core.QuantityKind, path: str | Path, where: str) -> float:
    """SI factor of the entry's unit; 1 where none is given."""
    unit = entry.get("unit", "")
    if unit in _UNIT_FREE:
        return _UNIT_FREE[unit]
    try:
        return _core.readings.unit_factor(unit, kind)
    except ValueError as error:
        raise ValueError(f"{path}: {where}.unit: {error}") from error
