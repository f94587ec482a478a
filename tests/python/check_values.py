"""Reads tests/check_values/*.csv, as tests/cpp/check_values.hpp does.

>>> @pytest.mark.parametrize("case", check_values("halving_law"), ids=str)
... def test_halving_law(case): case.expect(f(case.number("resistance_ohm")))
"""

import csv
import math
from pathlib import Path

FOLDER = Path(__file__).resolve().parents[1] / "check_values"


class CheckValue:
    """One row: cells by column name."""

    def __init__(self, cells: dict[str, str]) -> None:
        self._cells = cells

    def __str__(self) -> str:
        return self.id

    def text(self, column: str) -> str:
        return self._cells[column]

    def number(self, column: str) -> float:
        """An empty cell is NaN."""
        cell = self._cells[column]
        return float(cell) if cell else math.nan

    @property
    def id(self) -> str:
        return self._cells["id"]

    def expect(self, actual: float, column: str = "expected") -> None:
        """Compare with a column under `relative_tolerance` and `absolute_tolerance`; NaN equals NaN."""
        expected = self.number(column)
        if math.isnan(expected):
            assert math.isnan(actual), f"{self.id}: {column} is {actual}, expected no value"
            return
        if math.isinf(expected):
            assert actual == expected, f"{self.id}: {column} is {actual}, expected {expected}"
            return
        allowed = self.number("absolute_tolerance") + abs(expected) * self.number("relative_tolerance")
        message = f"{self.id}: {column} is {actual}, expected {expected} within {allowed}"
        assert abs(actual - expected) <= allowed, message


def read_check_values(path: Path) -> list[CheckValue]:
    """Read one file; lines that begin with # are comments."""
    with path.open(encoding="utf-8", newline="") as file:
        lines = [line for line in file if line.strip() and not line.startswith("#")]
    columns, *rows = csv.reader(lines)
    for cells in rows:
        if len(cells) != len(columns):
            raise ValueError(f"{path.name}: wrong number of cells in {','.join(cells)}")
    if not rows:
        raise ValueError(f"no rows in check values {path.name}")
    return [CheckValue(dict(zip(columns, cells, strict=True))) for cells in rows]


def check_values(name: str) -> list[CheckValue]:
    """Read tests/check_values/<name>.csv."""
    return read_check_values(FOLDER / f"{name}.csv")
