"""The accepted readings row by row, as results and reports name them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ohmward._core.core import QuantityKind
from ohmward.readings import Readings

_HAS_TIME = 1
_MISSING_SECOND = np.iinfo(np.int64).min
_KINDS = {int(kind): kind for kind in QuantityKind}


@dataclass(frozen=True)
class Together:
    """What several readings say: the ratio of a run, or the mean of repeats."""

    rows: tuple[int, ...]
    place: int  #: row that lends object, part, points, date and meter
    late_second: float  #: NaN: no ratio
    early_second: float

    @property
    def is_ratio(self) -> bool:
        """Whether it is the ratio of a timed run."""
        return self.late_second == self.late_second

    @property
    def name(self) -> str:
        """As it stands in a list, in the place of what a person wrote down."""
        if self.is_ratio:
            return f"{self.late_second:g} s over {self.early_second:g} s of the run"
        return f"mean of {len(self.rows)} readings"


class Rows:
    """Accepted readings by position, then what follows from several of them."""

    def __init__(self, readings: Readings, together: Sequence[Together] = ()) -> None:
        self.readings = readings
        self.table = readings.accepted.table
        self.together = list(together)
        self._places = np.array([each.place for each in self.together], dtype=np.int64)
        self._words: dict[str, NDArray[Any]] = {}

    def __len__(self) -> int:
        return self.table.rows + len(self.together)

    def _together(self, row: int) -> Together | None:
        return self.together[row - self.table.rows] if row >= self.table.rows else None

    def together_of(self, row: int) -> tuple[int, ...]:
        """Rows of the table behind an entry: itself, or those that it follows from."""
        together = self._together(row)
        return (row,) if together is None else together.rows

    def _place(self, row: int) -> int:
        together = self._together(row)
        return row if together is None else together.place

    def id(self, row: int) -> str:
        """Name of a reading: as given, else by its line; of a run or of repeats: what it follows from."""
        together = self._together(row)
        if together is None:
            return self.table.id(row)
        if together.is_ratio:
            return f"{self.words('run_id')[row]} {together.late_second:g}/{together.early_second:g}"
        return f"{self.table.id(together.place)} mean"

    @cached_property
    def _row_of_together(self) -> dict[str, int]:
        return {self.id(row): row for row in range(self.table.rows, len(self))}

    def row_of(self, reading_id: str) -> int:
        """Position of a reading."""
        row = self.table.row_of(reading_id)
        if row is None:
            row = self._row_of_together.get(reading_id)
        if row is None:
            raise KeyError(f"no reading '{reading_id}'")
        return row

    def _with_together(self, column: NDArray[Any]) -> NDArray[Any]:
        return np.concatenate([column, column[self._places]]) if self.together else column

    def words(self, name: str) -> NDArray[Any]:
        """Text column by rows; None where missing or where the column is absent."""
        if name not in self._words:
            found = self.table.words(name)
            if found is None:
                self._words[name] = np.full(len(self), None, dtype=object)
            else:
                codes, words = found
                self._words[name] = self._with_together(np.array([*words, None], dtype=object)[codes])
        return self._words[name]

    def numbers(self, name: str) -> NDArray[np.float64] | None:
        """Number column by rows; None where the column is absent."""
        found = self.table.numbers(name)
        return None if found is None else self._with_together(found)

    @cached_property
    def quantity_numbers(self) -> NDArray[np.int8]:
        """Quantity of each row as its number."""
        found = self._with_together(self.table.quantity)
        if any(each.is_ratio for each in self.together):
            found = found.copy()
            ratios = [self.table.rows + at for at, each in enumerate(self.together) if each.is_ratio]
            found[ratios] = int(QuantityKind.insulation_ratio)
        return found

    def quantity(self, row: int) -> QuantityKind:
        """Quantity of a row."""
        return _KINDS[int(self.quantity_numbers[row])]

    @cached_property
    def seconds(self) -> NDArray[np.int64]:
        """Second of each row since 1970-01-01."""
        return self._with_together(self.table.taken_at_second)

    def second(self, row: int) -> int:
        """Second since 1970-01-01."""
        return int(self.table.taken_at_second[self._place(row)])

    def replaced(self) -> set[int]:
        """Rows of the table that an entry stands for: the repeats of a mean, a ratio written beside its run."""
        ratios = np.flatnonzero(self.quantity_numbers[: self.table.rows] == int(QuantityKind.insulation_ratio))
        runs = self.words("run_id")
        of_runs = {runs[self.table.rows + at] for at, each in enumerate(self.together) if each.is_ratio}
        of_means = {row for each in self.together if not each.is_ratio for row in each.rows}
        return of_means | {int(row) for row in ratios if runs[row] is not None and runs[row] in of_runs}

    def taken_at(self, row: int) -> str:
        """Date, or date and time where it was written down; empty where missing."""
        second = self.second(row)
        if second == _MISSING_SECOND:
            return ""
        moment = str(np.datetime64(second, "s"))
        return moment.replace("T", " ")[:16] if self.table.taken_at_form[self._place(row)] & _HAS_TIME else moment[:10]

    @cached_property
    def _value_texts(self) -> tuple[NDArray[Any], bytes]:
        offsets, data = self.table.value_text()
        return offsets, data.tobytes()

    def as_written(self, row: int) -> str:
        """Value and unit as a person wrote them; of a run or of repeats: what it follows from."""
        together = self._together(row)
        if together is not None:
            return together.name
        offsets, data = self._value_texts
        text = data[int(offsets[row]) : int(offsets[row + 1])].decode("utf-8")
        unit = self.words("unit")[row]
        return f"{text} {unit}" if unit else text
