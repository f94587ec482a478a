"""Units and quantities in files, and their symbols for people: conversion happens only where text enters."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from ohmward import _core
from ohmward._core.core import QuantityKind
from ohmward._toml import TomlFile

UNIT_SYMBOLS = {"ohm": "Ω", "volt": "V", "farad": "F", "celsius": "°C", "": ""}


@cache
def quantity_kinds() -> dict[str, QuantityKind]:
    """Every quantity by its name."""
    return {kind.name: kind for kind in QuantityKind}


@cache
def _factor(unit: str, quantity: str) -> tuple[float, str]:
    value, _, _, _, reason = _core.readings.parse_value(
        text="1",
        unit=unit,
        unit_is_default=False,
        quantity=quantity,
        decimal="point",
        columns=_core.readings.ColumnMap(),
    )
    return value, reason


def unit_factor(file: TomlFile, entry: Mapping[str, Any], kind: QuantityKind, *path: str) -> float:
    """SI factor of the entry's unit; 1 where none is given."""
    unit = file.text(entry, "unit", *path)
    if not unit:
        return 1.0
    factor, reason = _factor(unit, kind.name)
    if reason:
        raise file.error(*path, "unit", what=f"is {unit!r}: {reason}")
    return factor
