"""Meters that left their accuracy sheet at known values: one entry a meter and stretch of time."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ohmward import _core
from ohmward._frame import Frame

if TYPE_CHECKING:
    from ohmward.results import Results
    from ohmward.screening import Evidence

__all__ = ["suspect_meters"]

_COLUMNS = ("meter", "quantity", "from", "factor", "sentence", "readings", "changed", "reading_ids")
_DRIFT = next(number for number, (name, _, _) in enumerate(_core.core.finding_table) if name == "meter_drift_suspected")


def suspect_meters(results: Results) -> Frame:
    """List them; see :meth:`ohmward.Results.suspect_meters`."""
    evidence = results.screening.evidence if results.screening else ()
    found = [_entry(results, each) for each in evidence if each.finding == "meter_drift_suspected"]
    return Frame({name: [entry[name] for entry in found] for name in _COLUMNS}, results.metadata)


def _entry(results: Results, evidence: Evidence) -> dict[str, Any]:
    rows, stages = results._rows, results._words("stage")
    check = int(evidence.shown_by[0])
    touched = [row for row in evidence.rows.tolist() if stages[row] != "meter_check"]
    does_not_hold = results._columns["findings"] >> np.uint64(_DRIFT) & np.uint64(1)
    return {
        "meter": rows.words("instrument_id")[check],
        "quantity": rows.quantity(check).name,
        "from": rows.taken_at(check)[:10],
        "factor": abs(evidence.statistic),
        "sentence": evidence.sentence,
        "readings": len(touched),
        "changed": int(does_not_hold[touched].sum()) if touched else 0,
        "reading_ids": [rows.id(row) for row in touched],
    }
