"""The attention list: one entry a thing to do, not one a reading."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ohmward import _core
from ohmward._frame import Frame
from ohmward._meters import suspect_meters

if TYPE_CHECKING:
    from ohmward.results import Results

__all__ = ["Entry", "entries", "listed"]

_NAMES = tuple(name for name, _, _ in _core.core.finding_table)
_FAIL = _core.assessment.verdict_names.index("fail")
_CHECK_METER = _core.assessment.action_texts[_core.assessment.action_names.index("check_meter")]
# What one and the same habit brings about on many vehicles, and one and the same habit ends.
_OF_ALL = frozenset({
    "contact_not_shown", "source_check_missing", "pair_not_named", "pair_not_examined", "instrument_missing",
    "sheet_missing", "test_voltage_missing", "test_voltage_too_low", "ceiling_unknown", "temperature_assumed",
    "whole_vehicle_minimum", "rest_time_missing", "type_missing", "ratio_times_missing", "ratio_alone",
})  # fmt: skip
_OF_A_METER = frozenset({"out_of_calibration_date"})
_OF_A_SESSION = frozenset({"null_below_zero", "null_not_taken_suspected"})
_OF_A_JOB = frozenset({"copied_suspected"})


@dataclass(frozen=True)
class Entry:
    """Readings that share reason, next action and what these are about; the most urgent comes first."""

    rows: tuple[int, ...]


def entries(results: Results, *, history: bool) -> list[Entry]:
    """Readings that need attention, those with a common cause together, in the order of their most urgent reading."""
    groups: dict[tuple[Any, ...], list[int]] = {}
    for row in results._attention_rows(history=history).tolist():
        key = (results._reason(row), results._action_text(row), *_about(results, row))
        groups.setdefault(key, []).append(row)
    return [Entry(tuple(rows)) for rows in groups.values()]


def _about(results: Results, row: int) -> tuple[Any, ...]:
    """What has to be looked at: the reading, its vehicle, a meter, a session, a job, or the way all of them work."""
    cause = int(results._columns["cause"][row])
    name = _NAMES[cause] if cause >= 0 else ""
    if results._columns["verdict"][row] == _FAIL:
        return ("reading", row)
    day, meter = results._rows.taken_at(row)[:10], results._words("instrument_id")[row]
    if name == "contact_not_shown" and results._marked(row, name):
        return ("session", meter, day)
    if name in _OF_ALL:
        return ("all",)
    if name in _OF_A_METER:
        return ("meter", meter)
    if name in _OF_A_SESSION:
        return ("session", meter, day)
    if name in _OF_A_JOB:
        return ("job", results._words("object_id")[row], day)
    return ("object", results._words("object_id")[row])


def listed(results: Results, *, history: bool) -> Frame:
    """Entries as a table; meters that left their sheet first."""
    found = entries(results, history=history)
    frame = results._listed(entry.rows[0] for entry in found)
    objects = results._words("object_id")
    columns: dict[str, list[Any]] = {name: list(frame[name]) for name in frame.columns}
    columns["readings"] = [len(entry.rows) for entry in found]
    columns["objects"] = [len({objects[row] for row in entry.rows}) for entry in found]
    columns["reading_ids"] = [[results._rows.id(row) for row in entry.rows] for entry in found]
    for meter in reversed(list(suspect_meters(results).rows())):
        for name, value in _meter_entry(results, meter).items():
            columns[name].insert(0, value)
    return Frame(columns, results.metadata)


def _meter_entry(results: Results, meter: dict[str, Any]) -> dict[str, Any]:
    objects = results._words("object_id")
    touched = {objects[results._rows.row_of(name)] for name in meter["reading_ids"]}
    holds = f"{meter['changed']} verdicts do not hold" if meter["changed"] else "every verdict holds"
    return {
        "reading_id": f"{meter['meter']} from {meter['from']}",
        "object_id": meter["meter"],
        "part": None,
        "between": "",
        "quantity": meter["quantity"],
        "taken_at": meter["from"],
        "as_written": "",
        "value": f"{meter['readings']} readings",
        "interval": "",
        "limit": "",
        "verdict": "",
        "reason": f"{meter['sentence']}; with its uncertainty widened by as much, {holds}",
        "next_action": _CHECK_METER,
        "readings": meter["readings"],
        "objects": len(touched),
        "reading_ids": meter["reading_ids"],
    }
