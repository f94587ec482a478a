"""What results rest on: how many readings, which meters with their dates, which limits with their editions."""

from __future__ import annotations

import datetime
from collections import Counter
from typing import TYPE_CHECKING, Any

import numpy as np

from ohmward import _core
from ohmward._frame import Frame

if TYPE_CHECKING:
    from ohmward.results import Results

__all__ = ["counts", "limits_used", "meters_used"]

_FAR = 2**61
_UNDECIDED_WORDS = {
    "one_more_reading": "decidable by one more reading",
    "better_meter": "decidable by a better meter",
    "missing_context": "decidable once what is missing is written down",
    "not_decidable": "not decidable by this quantity",
}


def counts(results: Results) -> dict[str, int]:
    """Count readings from the file to the verdict; only the latest reading of each point is judged in the end."""
    columns = results._columns
    verdict, current = columns["verdict"], columns["current"] == 1
    undecided = Counter(_core.assessment.undecided_names[i] for i in columns["undecided"][current & (verdict != 0)])
    found = {
        "rows in the file": len(results.readings),
        "rejected": len(results.readings.rejected),
        "accepted": len(results.readings.accepted),
        "judged together (the ratio of a run, the mean of repeats)": len(results) - len(results.readings.accepted),
        "without verdict (no limit, a check of a meter, or marked as doubtful)": int((verdict == 0).sum()),
        "replaced by a later reading of the same point": int((~current & (verdict != 0)).sum()),
        "judged": int((current & (verdict != 0)).sum()),
    }
    for name in ("pass", "conditional_pass", "conditional_fail", "fail"):
        found[name.replace("_", " ")] = int((verdict[current] == _core.assessment.verdict_names.index(name)).sum())
    found["not decided"] = sum(undecided[name] for name in _UNDECIDED_WORDS)
    return found | {words: undecided[name] for name, words in _UNDECIDED_WORDS.items()}


def meters_used(results: Results) -> Frame:
    """
    List the meters behind the accepted readings, each entry of the sheet file by itself.

    Returns
    -------
    Frame
        ``meter``, ``kind``, ``readings``, ``first``, ``last``, ``valid_from``, ``valid_until`` and ``in_date``: how
        many readings lie inside those dates. Meters without a sheet, and readings without a meter, have their own rows.
    """
    names = results._words("instrument_id")[: results._rows.table.rows]
    entries = results._columns["instrument"][: results._rows.table.rows]
    rows: dict[tuple[int, str], list[int]] = {}
    for row, (entry, name) in enumerate(zip(entries.tolist(), names, strict=True)):
        rows.setdefault((entry, name or ""), []).append(row)
    found = [_meter(results, entry, name, at) for (entry, name), at in rows.items()]
    found.sort(key=lambda meter: (not meter["meter"], meter["meter"], meter["first"]))
    keys = ("meter", "kind", "readings", "first", "last", "valid_from", "valid_until", "in_date")
    return Frame({key: [meter[key] for meter in found] for key in keys}, results.metadata)


def _meter(results: Results, entry: int, name: str, rows: list[int]) -> dict[str, Any]:
    days = sorted(day for day in (results._rows.taken_at(row)[:10] for row in rows) if day)
    raw = results.instruments._entries[entry] if entry >= 0 else None
    low, high = (_day(raw.valid_from_day), _day(raw.valid_until_day)) if raw else ("", "")
    inside = sum(1 for day in days if (not low or low <= day) and (not high or day <= high))
    return {
        "meter": name,
        "kind": (raw.kind.replace("_", " ") if raw else "no accuracy sheet") if name else "not written down",
        "readings": len(rows),
        "first": days[0] if days else "",
        "last": days[-1] if days else "",
        "valid_from": low,
        "valid_until": high,
        "in_date": f"{inside} of {len(rows)}" if raw else "not known",
    }


def _day(day: int) -> str:
    """Date of a day count since 1970-01-01; empty where a sheet names none."""
    return "" if abs(day) > _FAR else (datetime.date(1970, 1, 1) + datetime.timedelta(days=day)).isoformat()


def limits_used(results: Results) -> Frame:
    """
    List the limits that decided at least one reading, as they were stated.

    Returns
    -------
    Frame
        ``limit``, ``quantity``, ``requires``, ``authority``, ``source``, ``edition``, ``valid_from``, ``readings``.
    """
    index, uses = np.unique(results._columns["limit"][results._columns["limit"] >= 0], return_counts=True)
    columns: dict[str, list[Any]] = {
        key: [] for key in ("limit", "quantity", "requires", "authority", "source", "edition", "valid_from", "readings")
    }
    for number, count in zip(index.tolist(), uses.tolist(), strict=True):
        entry = results._limit_entries[number]
        for key, value in _limit(results, entry, count).items():
            columns[key].append(value)
    return Frame(columns, results.metadata)


def _limit(results: Results, entry: Any, count: int) -> dict[str, Any]:
    return {
        "limit": entry.id,
        "quantity": entry.quantity.name.replace("_", " "),
        "requires": results._ends_shown(entry, entry.quantity),
        "authority": _core.assessment.authority_names[entry.authority],
        "source": entry.source,
        "edition": entry.edition,
        "valid_from": _day(entry.valid_from_day),
        "readings": count,
    }
