"""The rows as they are written, and what is true about them."""

import csv
import io
from dataclasses import dataclass, field
from typing import NamedTuple

# fmt: off
COLUMNS = (
    "reading_id", "object_id", "object_kind", "part", "part_kind", "quantity", "value", "unit", "taken_at",
    "instrument_id", "test_voltage_volt", "from_point", "to_point", "job_id", "step", "stage", "connected",
    "circuit_side", "part_celsius", "part_celsius_u", "ambient_celsius", "humidity_percent", "surface",
    "elapsed_second", "run_id", "early_second", "reference_value", "applied_volt", "capacitance_farad", "null_ohm",
    "wires", "test_ampere", "polarity", "rest_hour", "battery_type", "cells", "guard", "range", "pair_id", "origin",
    "taken_by", "doubt", "note",
)
# fmt: on


class Mark(NamedTuple):
    """Something planted in a reading; marks of one kind and group become one row of the truth."""

    kind: str
    group: str
    effect: str = ""
    fault: int = 0


class Shown(NamedTuple):
    """What the display shows: a number with its decimals, or over range, or a zero below the meter's threshold."""

    value: float
    decimals: int
    unit: str
    over: bool = False
    ceiling: str = ""


@dataclass(slots=True, eq=False)
class Reading:
    """One row before and after the pen: cells as text, the true value of the measurand in SI units."""

    day: int
    minute: int
    quantity: str
    true_value: float
    shown: Shown
    cells: dict[str, str]
    job: str
    order: int
    kept: frozenset[str] = frozenset()
    marks: list[Mark] = field(default_factory=list)

    def planted(self) -> bool:
        return bool(self.marks)


class Truth(NamedTuple):
    fault: str
    kind: str
    object_id: str
    part: str
    job_id: str
    from_date: str
    to_date: str
    effect: str
    lines: str


@dataclass(frozen=True, slots=True)
class Depot:
    """Everything that one seed makes."""

    seed: int
    readings: list[Reading]
    truth: list[Truth]
    workshop_csv: str

    @property
    def true_values(self) -> list[float]:
        """True value of the measurand of each row, in SI units, in the order of the rows."""
        return [reading.true_value for reading in self.readings]

    def readings_csv(self) -> str:
        text = io.StringIO()
        writer = csv.writer(text, lineterminator="\n")
        writer.writerow(COLUMNS)
        for reading in self.readings:
            cells = reading.cells
            writer.writerow([cells.get(column, "") for column in COLUMNS])
        return text.getvalue()

    def truth_csv(self) -> str:
        text = io.StringIO()
        writer = csv.writer(text, lineterminator="\n")
        writer.writerow(Truth._fields)
        writer.writerows(self.truth)
        return text.getvalue()
