"""Judged readings: what must not go out, what can not be believed, what to do next."""

from __future__ import annotations

import datetime
import html
from collections.abc import Iterable, Mapping
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ohmward import _attention, _core, _meters, _together
from ohmward._frame import Frame
from ohmward._rows import Rows, Together

if TYPE_CHECKING:
    import pandas as pd
    import polars as pl
    import pyarrow as pa

    from ohmward.instruments import Instruments
    from ohmward.limits import Limits
    from ohmward.readings import Readings
    from ohmward.screening import Evidence, Marks

__all__ = ["Explanation", "Results"]

Verdict = {name or "none": number for number, name in enumerate(_core.assessment.verdict_names)}
_PASS, _CONDITIONAL_PASS, _CONDITIONAL_FAIL, _FAIL, _UNDETERMINED = (
    Verdict[name] for name in ("pass", "conditional_pass", "conditional_fail", "fail", "undetermined")
)
_FINDINGS = {name: number for number, (name, _, _) in enumerate(_core.core.finding_table)}
_HIDING = sum(1 << number for number, (_, hides, _) in enumerate(_core.core.finding_table) if hides)
# A reading with one of these may not be a reading of that part at all: it comes before the fails that everybody sees.
_NOT_BELIEVED = sum(
    1 << _FINDINGS[name]
    for name in (
        "open_contactor_suspected", "wrong_function_suspected", "copied_suspected", "source_check_missing",
        "null_below_zero", "unit_slip_suspected", "object_mistyped_suspected",
    )
)  # fmt: skip
_COMPARED = {
    _FAIL: "misses the limit",
    _CONDITIONAL_FAIL: "misses the limit, within its uncertainty",
    _CONDITIONAL_PASS: "meets the limit, within its uncertainty",
}
# Of one vehicle a plain miss is said first: it needs no further reading.
_SEVERITY = {_FAIL: 0, _CONDITIONAL_FAIL: 1}
_STATES = ("hold", "look again", "no finding", "not examined")


def _known(name: str, wanted: str, numbers: Mapping[str, int]) -> int:
    if wanted not in numbers:
        raise ValueError(f"{name} is {wanted!r}, expected one of {', '.join(numbers)}")
    return int(numbers[wanted])


class Explanation:
    """How the verdict of one reading came about, step by step."""

    def __init__(self, reading_id: str, steps: list[tuple[str, str]]) -> None:
        self.reading_id = reading_id
        self.steps = steps

    def __repr__(self) -> str:
        """Return the steps as text."""
        width = max(len(step) for step, _ in self.steps)
        return "\n".join([self.reading_id, *(f"  {step.ljust(width)}  {text}" for step, text in self.steps)])

    def _repr_html_(self) -> str:
        rows = "".join(
            f"<tr><th>{html.escape(step)}</th><td>{html.escape(text)}</td></tr>" for step, text in self.steps
        )
        return f"<table><caption>{html.escape(self.reading_id)}</caption><tbody>{rows}</tbody></table>"


class Results:
    """
    The judged readings of one batch. Made by :func:`ohmward.assess`.

    Verdicts are ``pass``, ``conditional_pass``, ``conditional_fail``, ``fail`` and ``undetermined``; a reading that no
    limit fits, a check of a meter, and a reading that a person marked as doubtful have none. Nothing here says that a
    vehicle is safe: it says what the readings show, what they can not exclude, and what is missing.
    """

    def __init__(
        self,
        *,
        readings: Readings,
        instruments: Instruments,
        limits: Limits,
        judging: _core.assessment.Judging,
        screening: Marks | None,
        metadata: dict[str, str],
    ) -> None:
        self.readings = readings
        self.instruments = instruments
        self.limits = limits
        self.metadata = metadata
        self._judging = judging
        self.screening = screening  #: marks with their evidence; None where it was switched off
        self._screened: dict[str, NDArray[Any] | None] = {
            "marks": screening.findings if screening else None,
            "meter_factor": screening.meter_factor if screening else None,
        }
        self._limit_entries = list(limits)
        judged = judging.assess(readings.accepted.table, **self._screened)
        self._rows = Rows(
            readings, [Together(tuple(rows), place, late, early) for _, rows, place, late, early in judged.derived]
        )
        self._columns: dict[str, NDArray[Any]] = judged.columns()

    def __len__(self) -> int:
        """Count what was judged: the accepted readings, then what follows from several of them."""
        return len(self._rows)

    # What a row says -------------------------------------------------------------------------------------------------

    def _words(self, name: str) -> NDArray[Any]:
        return self._rows.words(name)

    def _shown(self, row: int) -> tuple[str, str]:
        return _core.assessment.shown_quantity(
            value=float(self._columns["value"][row]),
            standard_uncertainty=float(self._columns["standard_uncertainty"][row]),
            censoring=_core.core.Censoring(int(self._columns["censoring"][row])),
            quantity=self._rows.quantity(row),
        )

    def _limit_shown(self, row: int) -> str:
        index = int(self._columns["limit"][row])
        if index < 0:
            return ""
        limit = self._limit_entries[index]
        return f"{self._ends_shown(limit, self._rows.quantity(row))} ({limit.id})"

    @staticmethod
    def _ends_shown(limit: _core.assessment.LimitEntry, kind: _core.core.QuantityKind) -> str:
        ends = []
        if limit.lower_value == limit.lower_value:
            ends.append(("> " if limit.strict else "≥ ") + _core.assessment.shown_value(limit.lower_value, kind))
        if limit.upper == limit.upper:
            ends.append(("< " if limit.strict else "≤ ") + _core.assessment.shown_value(limit.upper, kind))
        return " and ".join(ends)

    def _reason(self, row: int) -> str:
        verdict, cause = self._columns["verdict"][row], int(self._columns["cause"][row])
        parts = (
            [_COMPARED[verdict]] if verdict in _COMPARED and not (verdict == _CONDITIONAL_PASS and cause >= 0) else []
        )
        if cause >= 0:
            parts.append(_core.core.finding_table[cause][2])
        return "; ".join(parts) or _core.assessment.reason_texts[self._columns["reason"][row]]

    # Selections ------------------------------------------------------------------------------------------------------

    def _in_attention(self, *, history: bool) -> NDArray[Any]:
        verdict, findings = self._columns["verdict"], self._columns["findings"]
        hiding = (findings & np.uint64(_HIDING)) != 0
        chosen: NDArray[Any] = (verdict > _PASS) | hiding
        in_doubt = (findings & np.uint64(1 << _FINDINGS["in_doubt"])) != 0
        chosen &= ~in_doubt
        if not history:
            chosen &= self._columns["current"] == 1
        return chosen

    def _weight(self) -> NDArray[Any]:
        """Order of attention: not to be believed, fail, conditional fail, other hidden risks, the rest."""
        verdict, findings = self._columns["verdict"], self._columns["findings"]
        weight = np.full(len(self), 5, dtype=np.int8)
        weight[verdict == _UNDETERMINED] = 4
        weight[(findings & np.uint64(_HIDING)) != 0] = 3
        weight[verdict == _CONDITIONAL_FAIL] = 2
        weight[verdict == _FAIL] = 1
        weight[(findings & np.uint64(_NOT_BELIEVED)) != 0] = 0
        return weight

    def _urgency(self) -> NDArray[np.int64]:
        """Rank of every reading in the order of attention; 0 comes first."""
        probability = np.nan_to_num(self._columns["probability_of_conformity"], nan=0.5)
        rank = np.empty(len(self), dtype=np.int64)
        rank[np.lexsort((probability, self._weight()))] = np.arange(len(self))
        return rank

    def _attention_rows(self, *, history: bool) -> NDArray[np.int64]:
        rows = np.flatnonzero(self._in_attention(history=history))
        return rows[np.argsort(self._urgency()[rows])]

    def _action_text(self, row: int) -> str:
        return str(_core.assessment.action_texts[self._columns["action"][row]])

    def _listed(self, rows: Iterable[int]) -> Frame:
        rows = [int(row) for row in rows]
        words = {name: self._words(name) for name in ("object_id", "part", "from_point", "to_point", "instrument_id")}
        shown = [self._shown(row) for row in rows]
        columns: dict[str, list[Any]] = {
            "reading_id": [self._rows.id(row) for row in rows],
            "object_id": [words["object_id"][row] for row in rows],
            "part": [words["part"][row] for row in rows],
            "between": [" – ".join(w for w in (words["from_point"][row], words["to_point"][row]) if w) for row in rows],
            "quantity": [self._rows.quantity(row).name for row in rows],
            "taken_at": [self._rows.taken_at(row) for row in rows],
            "as_written": [self._rows.as_written(row) for row in rows],
            "value": [value for value, _ in shown],
            "interval": [interval for _, interval in shown],
            "limit": [self._limit_shown(row) for row in rows],
            "verdict": [_core.assessment.verdict_names[self._columns["verdict"][row]] for row in rows],
            "reason": [self._reason(row) for row in rows],
            "next_action": [self._action_text(row) for row in rows],
        }
        return Frame(columns, self.metadata)

    def _marked(self, row: int, name: str) -> bool:
        """Whether screening put a mark on one of the readings behind an entry."""
        if self.screening is None:
            return False
        bit = np.uint64(1 << _FINDINGS[name])
        return any(self.screening.findings[each] & bit for each in self._rows.together_of(row))

    def attention(self, *, history: bool = False, each: bool = False) -> Frame:
        """
        List what is not a plain pass, false-pass risks first, each with reason and next action.

        Parameters
        ----------
        history : bool, default False
            Also list readings that a later one of the same point replaced.
        each : bool, default False
            One row a reading. Otherwise readings that share reason, next action and what these are about (a vehicle, a
            meter, a session, a job, or a habit of all) make one entry, shown by the most urgent of them, with
            ``readings``, ``objects`` and ``reading_ids``; and a meter that left its sheet is one entry, see
            :meth:`suspect_meters`.

        Returns
        -------
        Frame
            As written, value with interval (k = 2), limit, verdict, reason, next action. Readings that may not be of
            that part at all come first, then fails, then what else can hide a bad part.

        Examples
        --------
        >>> import ohmward as ow
        >>> results = ow.assess(ow.demo())
        >>> "next_action" in results.attention().columns
        True
        >>> len(results.attention()) < len(results.attention(each=True)) / 3
        True
        """
        return self._listed(self._attention_rows(history=history)) if each else _attention.listed(self, history=history)

    def by_cause(self) -> Frame:
        """
        Group the attention list by what stands behind it, so that a cause shared by many readings counts once.

        Returns
        -------
        Frame
            One row a reason and next action: ``cause``, ``readings``, ``objects`` (how many vehicles or machines),
            ``share`` of the list (0 … 1), ``next_action`` and ``first_reading``. Greatest first.

        Examples
        --------
        >>> import ohmward as ow
        >>> causes = ow.assess(ow.demo()).by_cause()
        >>> causes["readings"] == sorted(causes["readings"], reverse=True)
        True
        """
        rows = self._attention_rows(history=False)
        objects = self._words("object_id")
        groups: dict[tuple[str, str], list[int]] = {}
        for row in rows.tolist():
            groups.setdefault((self._reason(row), self._action_text(row)), []).append(row)
        ordered = sorted(groups.items(), key=lambda group: -len(group[1]))
        return Frame(
            {
                "cause": [cause for (cause, _), _ in ordered],
                "readings": [len(at) for _, at in ordered],
                "objects": [len({objects[row] for row in at}) for _, at in ordered],
                "share": [len(at) / len(rows) for _, at in ordered],
                "next_action": [action for (_, action), _ in ordered],
                "first_reading": [self._rows.id(at[0]) for _, at in ordered],
            },
            self.metadata,
        )

    def summary(self) -> Frame:
        """
        Count readings by quantity and verdict.

        Returns
        -------
        Frame
            One row a quantity; columns ``readings``, each verdict, and ``without_verdict``.
        """
        kinds = self._rows.quantity_numbers
        columns: dict[str, list[Any]] = {"quantity": [], "readings": []}
        names = [*_core.assessment.verdict_names[1:]]
        columns.update({name: [] for name in [*names, "without_verdict"]})
        for kind in _core.core.QuantityKind:
            here = kinds == int(kind)
            if not here.any():
                continue
            counts = np.bincount(self._columns["verdict"][here].astype(np.int64), minlength=len(names) + 1)
            columns["quantity"].append(kind.name)
            columns["readings"].append(int(here.sum()))
            for number, name in enumerate(names, start=1):
                columns[name].append(int(counts[number]))
            columns["without_verdict"].append(int(counts[0]))
        return Frame(columns, self.metadata)

    def by_object(self) -> Frame:
        """
        One row a vehicle or machine: its state in words, the worst finding, since when, what next.

        Returns
        -------
        Frame
            ``state`` is *hold* (a fail or conditional fail, or the last dead check without proof), *look again* (a
            conditional pass, an undetermined verdict or a finding that can hide a bad part), *no finding* (every
            reading passes) or *not examined*, most urgent first. Only the latest reading of each point counts; checks
            of a meter are of no object. Never "safe".
        """
        objects, stages = self._words("object_id"), self._words("stage")
        order: dict[str, list[int]] = {}
        for row in range(len(self)):
            if objects[row] is not None and stages[row] != "meter_check":
                order.setdefault(objects[row], []).append(row)
        urgency = self._urgency()
        found = [self._object_row(name, rows, urgency) for name, rows in order.items()]
        found.sort(key=lambda row: (_STATES.index(row["state"]), row["rank"], row["object_id"]))
        keys = (
            "object_id", "state", "verdict", "point", "value", "worst", "since", "last_read", "next_action", "judged",
            "not_passed", "evidence",
        )  # fmt: skip
        return Frame({key: [row[key] for row in found] for key in keys}, self.metadata)

    def _object_row(self, name: str, rows: list[int], urgency: NDArray[np.int64]) -> dict[str, Any]:
        verdict, findings, current = (self._columns[key] for key in ("verdict", "findings", "current"))
        judged = [row for row in rows if current[row] and verdict[row] != 0]
        open_rows = [row for row in judged if verdict[row] != _PASS or int(findings[row]) & _HIDING]
        unproven = self._last_dead_check_without_proof(judged)
        holds = [row for row in judged if verdict[row] in (_FAIL, _CONDITIONAL_FAIL) or row in unproven]
        state = "hold" if holds else "look again" if open_rows else "no finding" if judged else "not examined"
        rank = {row: (_SEVERITY.get(int(verdict[row]), len(_SEVERITY)), int(urgency[row])) for row in open_rows}
        worst = min(holds or open_rows, key=rank.__getitem__, default=None)
        return {
            "object_id": name,
            "state": state,
            "rank": (len(self), 0) if worst is None else rank[worst],
            "verdict": "" if worst is None else _core.assessment.verdict_names[verdict[worst]],
            "point": "" if worst is None else self._point_name(worst),
            "value": "" if worst is None else self._shown(worst)[0],
            "worst": self._worst_text(worst),
            "last_read": "" if worst is None else self._rows.taken_at(worst)[:10],
            "since": self._since(worst, rows),
            "next_action": "" if worst is None else self._action_text(worst),
            "judged": len(judged),
            "not_passed": len(open_rows),
            "evidence": self._evidence(judged),
        }

    def _last_dead_check_without_proof(self, judged: list[int]) -> set[int]:
        """Rows of the last day of dead checks that no known source proves; earlier ones are of work that is over."""
        dead = [row for row in judged if self._rows.quantity(row).name in ("dc_voltage", "ac_voltage")]
        last = max((self._rows.taken_at(row)[:10] for row in dead), default="")
        void = self._columns["findings"] >> np.uint64(_FINDINGS["source_check_missing"]) & np.uint64(1)
        return {row for row in dead if void[row] and self._rows.taken_at(row)[:10] == last}

    def _worst_text(self, row: int | None) -> str:
        if row is None:
            return ""
        value, interval = self._shown(row)
        shown = f"{self._point_name(row)}: {value}" + (f" ({interval})" if interval else "")
        return f"{shown}, limit {self._limit_shown(row)}: {self._reason(row)}"

    def _point_name(self, row: int) -> str:
        """Part, or the quantity where none is written, and between what."""
        ends = [word for word in (self._words("from_point")[row], self._words("to_point")[row]) if word]
        named = self._words("part")[row] or self._rows.quantity(row).name
        return f"{named} {' – '.join(ends)}" if ends else str(named)

    def _point(self, row: int) -> tuple[Any, ...]:
        return (
            self._rows.quantity(row),
            *(self._words(name)[row] for name in ("part", "from_point", "to_point", "circuit_side")),
        )

    def _since(self, worst: int | None, rows: list[int]) -> str:
        """Date since when the point of the worst reading has not passed any more."""
        if worst is None:
            return ""
        point = self._point(worst)
        same = sorted(
            (row for row in rows if self._point(row) == point and self._columns["verdict"][row]), key=self._rows.second
        )
        first = worst
        for row in reversed(same):
            if self._columns["verdict"][row] == _PASS:
                break
            first = row
        return self._rows.taken_at(first)[:10]

    def _evidence(self, judged: list[int]) -> str:
        """Say how much the judged readings rest on: complete, partly, weak."""
        if not judged:
            return "none"
        lacking = sum(
            1 << _FINDINGS[name]
            for name in (
                "instrument_missing",
                "sheet_missing",
                "temperature_assumed",
                "contact_not_shown",
                "test_voltage_missing",
            )
        )
        share = sum(1 for row in judged if int(self._columns["findings"][row]) & lacking) / len(judged)
        return "complete" if share == 0 else "partly" if share < 0.5 else "weak"

    def where(self, **conditions: str) -> Frame:
        """
        Return the readings that meet all conditions.

        Parameters
        ----------
        **conditions
            ``verdict="fail"``, ``finding="contact_not_shown"``, ``quantity="bonding_resistance"`` or any text column of
            the readings, such as ``object_id="T-07"``.

        Returns
        -------
        Frame
            As :meth:`attention`, in the order of the file.

        Raises
        ------
        ValueError
            Where a condition or its value is not known; says what is.

        Examples
        --------
        >>> import ohmward as ow
        >>> fails = ow.assess(ow.demo()).where(verdict="fail")
        >>> set(fails["verdict"])
        {'fail'}
        """
        chosen = np.ones(len(self), dtype=bool)
        for name, wanted in conditions.items():
            chosen &= self._meets(name, wanted)
        return self._listed(np.flatnonzero(chosen))

    def _meets(self, name: str, wanted: str) -> NDArray[np.bool_]:
        if name == "verdict":
            met: NDArray[np.bool_] = self._columns["verdict"] == _known(name, wanted, Verdict)
        elif name == "finding":
            met = (self._columns["findings"] >> np.uint64(_known(name, wanted, _FINDINGS)) & np.uint64(1)) == 1
        elif name == "quantity":
            met = self._rows.quantity_numbers == _known(name, wanted, _core.core.QuantityKind.__members__)
        elif name in _core.readings.text_names:
            met = np.array([word == wanted for word in self._words(name)], dtype=bool)
        else:
            raise ValueError(
                f"no condition {name!r}, expected verdict, finding, quantity or a text column of the readings"
            )
        return met

    def explain(self, reading_id: str) -> Explanation:
        """
        Explain one verdict: as read, value with uncertainty, corrected or not and why, limit, verdict, what settles it.

        Parameters
        ----------
        reading_id : str
            As in :meth:`attention`, such as ``"R-00417"``.

        Returns
        -------
        Explanation

        Raises
        ------
        KeyError
            If there is no such reading.
        """
        row = self._rows.row_of(reading_id)
        steps = self._judging.explain(self._rows.table, row, **self._screened)
        told = [("screening", each.sentence) for each in self._evidence_of(row)]
        told += [("run", sentence) for sentence in _together.sentences_of_runs(self).get(row, ())]
        told += [("pair", sentence) for sentence in _together.sentences_of_pairs(self).get(row, ())]
        return Explanation(reading_id, [*steps, *told])

    def _evidence_of(self, row: int) -> list[Evidence]:
        if self.screening is None:
            return []
        rows = self._rows.together_of(row)
        found = [each for of in rows for each in self.screening.of(self._rows.id(of))]
        return list({id(each): each for each in found}.values())

    @cached_property
    def _runs(self) -> list[dict[str, Any]]:
        return self._judging.runs(self._rows.table)

    @cached_property
    def _pairs(self) -> list[tuple[int, int, dict[str, Any], str]]:
        return self._judging.pairs(self._rows.table)

    def runs(self) -> Frame:
        """
        List the timed runs: what each ratio is, what the part could have shown, and whether it had settled.

        A run is the readings of one part after one switching on: rows of insulation resistance with a ``run_id`` and an
        ``elapsed_second``, read on one day with one meter. Between them ln R runs straight in ln t; nothing is
        extrapolated, and a ratio whose times the run does not reach stays empty.

        Returns
        -------
        Frame
            ``run_id``, ``object_id``, ``part``, ``taken_at``, ``readings``, ``one_minute`` (the resistance at 60 s),
            ``polarisation_index`` (600 s over 60 s), ``ratio_60_30`` and ``ratio_60_15`` with their intervals (k = 2;
            the common share of the meter's gain cancels), ``could_show`` (the greatest polarisation index that this
            part can bring about at that resistance and capacitance, at the generous loss factor 0.2), ``state`` at the
            last reading, ``verdict`` and ``reason`` of the polarisation index where a limit applies, and
            ``reading_id``, which
            :meth:`explain` takes. In the order of their dates.

        Examples
        --------
        >>> import ohmward as ow
        >>> runs = ow.assess(ow.demo()).runs()
        >>> [(row["taken_at"][:7], row["verdict"]) for row in runs.rows() if row["object_id"] == "PRESS-1"][0]
        ('2023-02', 'pass')
        """
        return _together.runs(self)

    def pairs(self) -> Frame:
        """
        List the pairs of readings that share a ``pair_id``: before and after drying, cleaning, with and without guard.

        Returns
        -------
        Frame
            ``pair_id``, ``object_id``, ``part``, ``quantity``, ``taken_at``, ``before``, ``after``, ``ratio`` (after
            over before, as read, with its interval, k = 2; the common share of the meter's gain cancels) and
            ``change``: *rose*, *fell*, *no difference that the meter can tell*, or *not known*.

        Examples
        --------
        >>> import ohmward as ow
        >>> "rose" in ow.assess(ow.demo()).pairs()["change"]
        True
        """
        return _together.pairs(self)

    def suspect_meters(self) -> Frame:
        """
        List the meters that left their accuracy sheet at known values, with the readings that this touches.

        Every reading of that time is judged twice: by the sheet, and with the meter's uncertainty widened by as much as
        its checks were off. A verdict that holds both times stays; one that does not is listed by itself in
        :meth:`attention`.

        Returns
        -------
        Frame
            ``meter``, ``quantity``, ``from``, ``factor`` (how far off, in what the sheet allows), ``sentence``,
            ``readings`` (how many of them are no checks), ``changed`` (how many verdicts do not hold), ``reading_ids``.

        Examples
        --------
        >>> import ohmward as ow
        >>> ow.assess(ow.demo()).suspect_meters()["meter"][0]
        'meter-01'
        """
        return _meters.suspect_meters(self)

    def column(self, name: str) -> NDArray[Any]:
        """
        Return one column of numbers by rows, without making a frame.

        Parameters
        ----------
        name : str
            ``verdict`` (words; "" where there is none), ``value``, ``standard_uncertainty``, ``compared``,
            ``compared_standard_uncertainty``, ``acceptance``, ``probability_of_conformity``, ``findings`` (bits),
            ``charge_low``, ``charge_median``, ``charge_high`` or ``current``.

        Returns
        -------
        ndarray
        """
        if name == "verdict":
            words: NDArray[Any] = np.array(_core.assessment.verdict_names)[self._columns["verdict"]]
            return words
        if name not in self._columns:
            raise KeyError(f"no column '{name}'; there are {', '.join(self._columns)}")
        return self._columns[name]

    # Handing on ------------------------------------------------------------------------------------------------------

    def frame(self) -> Frame:
        """Return every reading with its numbers: SI values, standard uncertainties, verdicts and findings as words."""
        columns = self._columns
        names = np.array([name or None for name in _core.assessment.verdict_names], dtype=object)
        limit_ids = [entry.id for entry in self._limit_entries]
        finding_names = [name for name, _, _ in _core.core.finding_table]
        spelled: dict[int, str] = {}
        for bits in np.unique(columns["findings"]):
            spelled[int(bits)] = " ".join(name for i, name in enumerate(finding_names) if int(bits) >> i & 1)
        return Frame(
            {
                "reading_id": [self._rows.id(row) for row in range(len(self))],
                "object_id": self._words("object_id"),
                "part": self._words("part"),
                "part_kind": self._words("part_kind"),
                "quantity": [self._rows.quantity(row).name for row in range(len(self))],
                "taken_at": [self._rows.taken_at(row) for row in range(len(self))],
                "as_written": [self._rows.as_written(row) for row in range(len(self))],
                "value": columns["value"],
                "censoring": [_core.core.Censoring(int(c)).name for c in columns["censoring"]],
                "standard_uncertainty": columns["standard_uncertainty"],
                "compared": columns["compared"],
                "compared_standard_uncertainty": columns["compared_standard_uncertainty"],
                "acceptance": columns["acceptance"],
                "probability_of_conformity": columns["probability_of_conformity"],
                "limit": [limit_ids[i] if i >= 0 else None for i in columns["limit"]],
                "verdict": list(names[columns["verdict"]]),
                "undecided": [_core.assessment.undecided_names[i] or None for i in columns["undecided"]],
                "findings": [spelled[int(bits)] for bits in columns["findings"]],
                "next_action": [_core.assessment.action_names[i] for i in columns["action"]],
                "current": columns["current"].astype(bool),
            },
            self.metadata,
        )

    def to_arrow(self) -> pa.Table:
        """Return :meth:`frame` as an Arrow table."""
        return self.frame().to_arrow()

    def to_pandas(self) -> pd.DataFrame:
        """Return :meth:`frame` as a pandas frame."""
        return self.frame().to_pandas()

    def to_polars(self) -> pl.DataFrame:
        """Return :meth:`frame` as a polars frame."""
        return self.frame().to_polars()

    def write_report(
        self, path: str | Path, *, today: datetime.date | None = None, previous: Results | None = None
    ) -> Path:
        """
        Write one self-contained HTML page: attention list, one row a vehicle, rejected rows, meters and limits used.

        Parameters
        ----------
        path : str or Path
            File to write.
        today : date, optional
            Date printed on the page; default: the day of the call.
        previous : Results, optional
            Results of the last report; the page then says what is new, same and resolved.

        Returns
        -------
        Path
            The file written.
        """
        from ohmward import _report

        return _report.write(self, Path(path), today or datetime.date.today(), previous)

    def __repr__(self) -> str:
        """Return the summary as text."""
        return repr(self.summary())

    def _repr_html_(self) -> str:
        return self.summary()._repr_html_()
