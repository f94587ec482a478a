"""What several readings say together: timed runs with their ratios, and pairs read before and after."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from ohmward import _core
from ohmward._frame import Frame

if TYPE_CHECKING:
    from ohmward.results import Results

__all__ = ["pairs", "runs", "sentences_of_pairs", "sentences_of_runs"]

_KIND = _core.core.QuantityKind
_STATES = {
    0: "within the meter's scatter",
    1: "still charging",
    2: "still absorbing",
    3: "settled",
    4: "nothing more to learn",
}
_ADDED = {"polarisation_index": (600.0, 60.0), "ratio_60_30": (60.0, 30.0), "ratio_60_15": (60.0, 15.0)}


def _ratio(run: dict[str, Any], times: tuple[float, float]) -> dict[str, Any]:
    found: dict[str, Any] = next(each for each in run["ratios"] if (each["late_second"], each["early_second"]) == times)
    return found


def _told(ratio: dict[str, Any]) -> str:
    if ratio["status"] < 0:
        return ""
    interval = f" ({ratio['interval']})" if ratio["interval"] else ""
    return f"{ratio['shown']}{interval}"


def _could_show(run: dict[str, Any]) -> str:
    """Say how great a polarisation index this part could have shown."""
    attainable = _ratio(run, _ADDED["polarisation_index"])["attainable"]
    if math.isnan(attainable):
        return "not known"
    return "nothing limits it" if math.isinf(attainable) else f"up to {attainable:.3g}"


def _judged(results: Results) -> dict[int, int]:
    """Entry of the polarisation index by the row that stands for its run."""
    first = results._rows.table.rows
    return {
        each.place: first + at
        for at, each in enumerate(results._rows.together)
        if (each.late_second, each.early_second) == _ADDED["polarisation_index"]
    }


def runs(results: Results) -> Frame:
    """List the timed runs; see :meth:`ohmward.Results.runs`."""
    rows, judged = results._rows, _judged(results)
    columns: dict[str, list[Any]] = {
        name: []
        for name in (
            "run_id", "object_id", "part", "taken_at", "readings", "one_minute", *_ADDED, "could_show", "state",
            "verdict", "reason", "reading_id",
        )
    }  # fmt: skip
    for run in sorted(results._runs, key=lambda run: rows.second(run["place"])):
        place = run["place"]
        entry = judged.get(place)
        told = {
            "run_id": rows.words("run_id")[place],
            "object_id": rows.words("object_id")[place],
            "part": rows.words("part")[place],
            "taken_at": rows.taken_at(place),
            "readings": len(run["rows"]),
            "one_minute": results._shown(place)[0],
            **{name: _told(_ratio(run, times)) for name, times in _ADDED.items()},
            "could_show": _could_show(run),
            "state": _STATES[run["settling"]],
            "verdict": "" if entry is None else _core.assessment.verdict_names[results._columns["verdict"][entry]],
            "reason": "no limit applies" if entry is None else results._reason(entry),
            "reading_id": rows.id(place if entry is None else entry),
        }
        for name, value in told.items():
            columns[name].append(value)
    return Frame(columns, results.metadata)


def sentences_of_runs(results: Results) -> dict[int, list[str]]:
    """For each row of a run (and its judged ratio): what the run as a whole shows."""
    judged = _judged(results)
    found: dict[int, list[str]] = {}
    for run in results._runs:
        ratios = [
            f"{times[0]:g} s over {times[1]:g} s: {_told(_ratio(run, times))}"
            for times in _ADDED.values()
            if _told(_ratio(run, times))
        ]
        sentence = f"{len(run['rows'])} readings, {_STATES[run['settling']]} at the last; " + "; ".join(ratios)
        for row in [*run["rows"], *([judged[run["place"]]] if run["place"] in judged else [])]:
            found[row] = [sentence]
    return found


def pairs(results: Results) -> Frame:
    """List the pairs read before and after; see :meth:`ohmward.Results.pairs`."""
    rows = results._rows
    columns: dict[str, list[Any]] = {
        name: []
        for name in ("pair_id", "object_id", "part", "quantity", "taken_at", "before", "after", "ratio", "change")
    }
    for before, after, ratio, change in sorted(results._pairs, key=lambda pair: rows.second(pair[1])):
        told = {
            "pair_id": rows.words("pair_id")[after],
            "object_id": rows.words("object_id")[after],
            "part": rows.words("part")[after],
            "quantity": rows.quantity(after).name,
            "taken_at": rows.taken_at(after),
            "before": results._shown(before)[0],
            "after": results._shown(after)[0],
            "ratio": _told(ratio),
            "change": change,
        }
        for name, value in told.items():
            columns[name].append(value)
    return Frame(columns, results.metadata)


def sentences_of_pairs(results: Results) -> dict[int, list[str]]:
    """For each reading of a pair: what the later says against the earlier one."""
    found: dict[int, list[str]] = {}
    for before, after, ratio, change in results._pairs:
        told = _told(ratio) or "no value"
        sentence = (
            f"{results._shown(before)[0]} before, {results._shown(after)[0]} after: ratio {told}, {change}; "
            "what both readings share of the meter's gain cancels"
        )
        for row in (before, after):
            found.setdefault(row, []).append(sentence)
    return found
