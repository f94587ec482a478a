"""Jobs: what one piece of work left behind, from its own file or from the rows of a readings table."""

from __future__ import annotations

import csv
import datetime
import io
import math
import os
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ohmward import _datasets
from ohmward._core import highvoltage as _hv
from ohmward._core import readings as _core
from ohmward._plans import SCOPE
from ohmward._rows import Rows
from ohmward._toml import TomlFile

__all__ = ["Job", "demo_jobs", "is_source_check", "job_of_rows", "pair_of", "read_job"]

_COLUMNS = (
    "reading_id", "object_id", "object_kind", "part", "part_kind", "quantity", "value", "unit", "taken_at",
    "instrument_id", "test_voltage_volt", "from_point", "to_point", "job_id", "step", "stage", "connected",
    "circuit_side", "part_celsius", "part_celsius_u", "ambient_celsius", "humidity_percent", "surface",
    "elapsed_second", "run_id", "early_second", "reference_value", "applied_volt", "capacitance_farad", "null_ohm",
    "wires", "test_ampere", "polarity", "rest_hour", "battery_type", "cells", "guard", "range", "pair_id", "origin",
    "taken_by", "doubt", "note",
)  # fmt: skip


@dataclass(frozen=True)
class Job:
    """What one job left behind, as written down."""

    job_id: str
    object_id: str
    plan: str
    readings: tuple[Mapping[str, Any], ...] = ()
    evidence: tuple[Mapping[str, Any], ...] = ()
    not_applicable: tuple[Mapping[str, Any], ...] = ()
    repeats: tuple[Mapping[str, Any], ...] = ()
    work: str = ""
    file: str = ""

    def readings_as_csv(self) -> bytes:
        """The readings as a table of the documented columns, with `check` kept."""
        names = [name for name in _COLUMNS if any(name in reading for reading in self.readings)]
        names = list(dict.fromkeys(["reading_id", "object_id", "job_id", *names, "check"]))
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(names)
        for number, reading in enumerate(self.readings):
            cells = {"reading_id": self.reading_id(number), "object_id": self.object_id, "job_id": self.job_id} | dict(
                reading
            )
            cells["reading_id"] = self.reading_id(number)
            writer.writerow([_cell(cells.get(name)) for name in names])
        return out.getvalue().encode()

    def reading_id(self, number: int) -> str:
        """Name of a reading by its position."""
        return f"{self.job_id}/{number + 1}"


def _cell(value: Any) -> str:
    if value is None:
        return ""
    return value.isoformat() if isinstance(value, datetime.date | datetime.time) else str(value)


def read_job(source: str | os.PathLike[str] | Mapping[str, Any]) -> Job:
    """
    Read the record of one job.

    Parameters
    ----------
    source : path or mapping
        ``[job]`` with ``job_id``, ``object_id``, ``plan``; ``[[reading]]`` with the columns of a reading and ``check``;
        ``[[evidence]]`` with ``step, check, done, because`` and durations ``waited_second`` or ``waited_hour``;
        ``[[not_applicable]]`` with ``check, because``; ``[[repeat]]`` with ``step, of, because``.

    Returns
    -------
    Job

    Raises
    ------
    ValueError
        Naming file, line and key.

    Examples
    --------
    >>> read_job({"job": {"job_id": "J-1", "object_id": "SW-14", "plan": "motor"}}).plan
    'motor'
    """
    file = TomlFile.read(source, name="record")
    file.check_keys(file.data, ("job", "reading", "evidence", "not_applicable", "repeat"))
    head = file.check_keys(file.data.get("job", {}), ("job_id", "object_id", "plan", "work"), "job")
    keys = {
        "reading": ("check", *_COLUMNS),
        "evidence": ("step", "check", "done", "because", "waited_second", "waited_hour", *SCOPE),
        "not_applicable": ("check", "because", *SCOPE),
        "repeat": ("step", "of", "because"),
    }
    tables: dict[str, tuple[Mapping[str, Any], ...]] = {}
    for name, allowed in keys.items():
        entries = file.data.get(name, [])
        if not isinstance(entries, list):
            raise file.error(name, what=f"is {entries!r}, expected tables [[{name}]]")
        tables[name] = tuple(file.check_keys(entry, allowed, name) for entry in entries)
    return Job(
        job_id=file.needed_text(head, "job_id", "job"),
        object_id=file.needed_text(head, "object_id", "job"),
        plan=file.text(head, "plan", "job") or "",
        work=file.text(head, "work", "job") or "",
        readings=tables["reading"],
        evidence=tables["evidence"],
        not_applicable=tables["not_applicable"],
        repeats=tables["repeat"],
        file=file.name,
    )


def demo_jobs() -> dict[str, Job]:
    """
    Return the invented jobs that ship with the package, each with one gap or none, by name.

    Examples
    --------
    >>> demo_jobs()["complete"].plan
    'converter'
    """
    files = sorted(_datasets.path("jobs").glob("*.toml"))
    return {path.stem: read_job(path) for path in files if path.stem != "truth"}


# From the rows of a table ---------------------------------------------------------------------------------------------


def is_source_check(reading: Mapping[str, Any]) -> bool:
    """Whether a reading checks its meter on a known source."""
    return str(reading.get("check", "")).startswith("source_") or (
        reading.get("stage") == "meter_check" and reading.get("part") == "known_source"
    )


def pair_of(reading: Mapping[str, Any]) -> _hv.Pair:
    """Between which points a voltage was read."""
    return _hv.pair_of(str(reading.get("from_point", "")), str(reading.get("to_point", "")))


def number_or_nan(value: object) -> float:
    """A number as written into a record; NaN for anything else."""
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else math.nan


def order_of(readings: Sequence[Mapping[str, Any]], rows: Sequence[int], table: _core.Table) -> tuple[list[int], bool]:
    """Positions in the order of the job (step, then clock, then line), and whether the clock contradicts the steps."""
    return _hv.order_of(
        step=[number_or_nan(reading.get("step")) for reading in readings],
        second=[int(table.taken_at_second[row]) for row in rows],
        has_time=[bool(int(table.taken_at_form[row]) & 1) for row in rows],
    )


def reading_of_row(rows: Rows, row: int) -> dict[str, Any]:
    """The columns of one row that are there, as a record would hold them."""
    reading: dict[str, Any] = {"reading_id": rows.id(row), "quantity": rows.quantity(row).name}
    for name in (*_core.text_names, *(name for name in ("check",) if name in rows.table.unknown)):
        if (word := rows.words(name)[row]) is not None:
            reading[name] = word
    for name in _core.number_names:
        numbers = rows.table.numbers(name)
        if numbers is not None and not math.isnan(number := float(numbers[row])):
            reading[name] = number
    return reading | {"value": rows.as_written(row), "taken_at": rows.taken_at(row)}


def job_of_rows(
    rows: Rows,
    job_id: str,
    *,
    plan: str,
    evidence: Sequence[Mapping[str, Any]] = (),
    not_applicable: Sequence[Mapping[str, Any]] = (),
    repeats: Sequence[Mapping[str, Any]] = (),
) -> tuple[Job, list[int], list[str]]:
    """
    Gather a job from the rows that name it: the job, the row of each of its readings, and what is to be told.

    The object is the one that most rows name; a row of another object, or of none, is left out and told. Rows without
    a `check` get the one that quantity, part and stage stand for.
    """
    named = [row for row, word in enumerate(rows.words("job_id")) if word == job_id]
    if not named:
        raise ValueError(f"job_id is {job_id!r}, expected one that the readings name")
    objects = rows.words("object_id")
    counted = Counter(objects[row] for row in named if objects[row] is not None)
    object_id = counted.most_common(1)[0][0] if counted else ""
    own = [row for row in named if objects[row] == object_id]
    notes = [
        f"row {rows.id(row)} names the job and {objects[row] or 'no vehicle'}: left out"
        for row in named
        if objects[row] != object_id
    ]
    readings = [reading_of_row(rows, row) for row in own]
    order, _ = order_of(readings, own, rows.table)
    readings, own = [readings[i] for i in order], [own[i] for i in order]
    if any("check" not in reading for reading in readings):
        notes.append("what a row checks is taken from its quantity, part and stage")
    _name_checks(readings)
    waited = list(evidence) + _waited(readings, evidence)
    job = Job(
        job_id=job_id,
        object_id=object_id,
        plan=plan,
        readings=tuple(readings),
        evidence=tuple(waited),
        not_applicable=tuple(not_applicable),
        repeats=tuple(repeats),
        file=rows.table.file,
    )
    return job, own, notes


def _name_checks(readings: Sequence[dict[str, Any]]) -> None:
    dead = [i for i, reading in enumerate(readings) if reading.setdefault("check", _usual_check(reading)) == "dead"]
    for i, reading in enumerate(readings):
        if reading["check"] == "source":
            before, after = not dead or i < dead[0], bool(dead) and i > dead[-1]
            reading["check"] = "source_before" if before else "source_after" if after else "source_between"


def _usual_check(reading: Mapping[str, Any]) -> str:
    """What a row without a name for it stands for."""
    quantity, stage = reading["quantity"], reading.get("stage")
    if is_source_check(reading):
        return "source"
    if stage == "meter_check":
        return "meter_check"
    if quantity in ("dc_voltage", "ac_voltage"):
        of_circuit = reading.get("part_kind") == "hv_bus" or pair_of(reading) != _hv.Pair.unknown
        return "dead" if of_circuit else str(quantity)
    if quantity == "insulation_resistance":
        known = {"incoming_part": "incoming_part", "after_work": "whole_after", "fault_finding": "fault_finding"}
        return known.get(str(stage), "isolation")
    return {"bonding_resistance": "bonding", "capacitance": "contact_proof"}.get(str(quantity), str(quantity))


def _waited(readings: Sequence[Mapping[str, Any]], evidence: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    """The time since isolation that the first dead reading tells, unless the evidence says more."""
    if any(entry.get("check") == "waited" for entry in evidence):
        return []
    times = [
        reading["elapsed_second"] for reading in readings if reading["check"] == "dead" and "elapsed_second" in reading
    ]
    because = "time since isolation, as the dead readings tell it"
    return [{"check": "waited", "done": True, "waited_second": min(times), "because": because}] if times else []
