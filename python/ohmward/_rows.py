"""The accepted readings row by row, as results and reports name them."""

from __future__ import annotations

from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ohmward._core.core import QuantityKind
from ohmward.readings import Readings

_HAS_TIME = 1
_MISSING_SECOND = np.iinfo(np.int64).min
_KINDS = {int(kind): kind for kind in QuantityKind}


class Rows:
    """Accepted readings by position."""

    def __init__(self, readings: Readings) -> None:
        self.readings = readings
        self.table = readings.accepted.table
        self._words: dict[str, NDArray[Any]] = {}

    def __len__(self) -> int:
        return self.table.rows

    def id(self, row: int) -> str:
        """Name of a reading: as given, else by its line."""
        return self.table.id(row)

    def row_of(self, reading_id: str) -> int:
        """Position of a reading."""
        row = self.table.row_of(reading_id)
        if row is None:
            raise KeyError(f"no reading '{reading_id}'")
        return row

    def words(self, name: str) -> NDArray[Any]:
        """Text column by rows; None where missing or where the column is absent."""
        if name not in self._words:
            found = self.table.words(name)
            if found is None:
                self._words[name] = np.full(len(self), None, dtype=object)
            else:
                codes, words = found
                self._words[name] = np.array([*words, None], dtype=object)[codes]
        return self._words[name]

    @cached_property
    def quantity_numbers(self) -> NDArray[np.int8]:
        """Quantity of each row as its number."""
        return self.table.quantity

    def quantity(self, row: int) -> QuantityKind:
        """Quantity of a row."""
        return _KINDS[int(self.quantity_numbers[row])]

    def second(self, row: int) -> int:
        """Second since 1970-01-01."""
        return int(self.table.taken_at_second[row])

    def taken_at(self, row: int) -> str:
        """Date, or date and time where it was written down; empty where missing."""
        second = self.second(row)
        if second == _MISSING_SECOND:
            return ""
        moment = str(np.datetime64(second, "s"))
        return moment.replace("T", " ")[:16] if self.table.taken_at_form[row] & _HAS_TIME else moment[:10]

    @cached_property
    def _value_texts(self) -> tuple[NDArray[Any], bytes]:
        offsets, data = self.table.value_text()
        return offsets, data.tobytes()

    def as_written(self, row: int) -> str:
        """Value and unit as a person wrote them."""
        offsets, data = self._value_texts
        text = data[int(offsets[row]) : int(offsets[row + 1])].decode("utf-8")
        unit = self.words("unit")[row]
        return f"{text} {unit}" if unit else text
