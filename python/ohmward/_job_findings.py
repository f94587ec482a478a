"""What only several readings of a job show together: a leaking part, a slow discharge, a voltage behind a leak."""

from __future__ import annotations

import itertools
import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ohmward import highvoltage
from ohmward._core import assessment as _assessment
from ohmward._core import highvoltage as _hv
from ohmward._core.core import Censoring, QuantityKind, Status, finding_table
from ohmward._jobs import is_source_check, order_of, pair_of, reading_of_row
from ohmward.results import Results

__all__ = ["JobFinding", "findings_of_rows", "job_findings"]

_DAY = 86400
_LOW_INPUT_OHM = 1e6  # voltmeters have 10 MΩ, two-pole testers less than this; source `meter-input-resistance`
_COVERAGE = 2.0
_WAITING_SECOND = 300.0  # source `usual-waiting-time`
_NEAR_ZERO_VOLT = 6.0  # source `near-zero-voltage`
_LEVEL = 0.95
_HAZARDOUS_VOLT = _hv.DeadPolicy().hazardous_dc_volt  # source `un-r100-class-b`


# Readings that may not be of that part, or not of that size: nothing is built on them.
_NOT_THIS_PART = sum(
    1 << number
    for number, (name, _, _) in enumerate(finding_table)
    if name in ("in_doubt", "object_mistyped_suspected", "unit_slip_suspected")
)


def _may_be_equal(first: str | None, second: str | None) -> bool:
    return first is None or second is None or first == second


def _shown(ohm: float) -> str:
    return _assessment.shown_value(ohm, QuantityKind.insulation_resistance)


@dataclass(frozen=True)
class JobFinding:
    """One thing that several readings of a job show together."""

    kind: str  #: part_leaks, slow_discharge, voltage_behind_leak
    object_id: str
    job_id: str  #: empty where the rows name none
    part: str  #: the part that leaks; else the pair of points
    text: str
    next_action: str
    reading_ids: tuple[str, ...]
    evidence: highvoltage.Leak | highvoltage.Decay | Mapping[str, float]

    def __repr__(self) -> str:
        """Return it as a sentence."""
        return f"{self.object_id}, {self.job_id or 'no job named'}: {self.text}. Next: {self.next_action}."


def job_findings(
    results: Results,
    *,
    waiting_second: float = _WAITING_SECOND,
    near_zero_volt: float = _NEAR_ZERO_VOLT,
    level: float = _LEVEL,
) -> list[JobFinding]:
    """
    Find what the rows of each job show together.

    A part leaks where the unplug ladder gives it a leak whose whole interval lies below the limit of that part (where
    none applies, below that of the whole). A discharge is slow where 60 V are crossed later than the waiting time with
    its interval. A voltage stands behind a leak where a meter of high input resistance shows it and one of low input
    resistance pulls it below half.

    Parameters
    ----------
    results : Results
        Of :func:`ohmward.assess`. Rows belong together by object and ``job_id``, without one by object and day.
    waiting_second : float, default 300
        After which the circuit should be discharged; ``elapsed_second`` of the dead readings counts from isolation.
        Source ``usual-waiting-time``. [s]
    near_zero_volt : float, default 6
        Source ``near-zero-voltage``. [V]
    level : float, default 0.95
        Of the intervals.

    Returns
    -------
    list of JobFinding
        In the order of the table. No verdict: the readings have theirs.

    Examples
    --------
    >>> import ohmward as ow
    >>> sorted({found.kind for found in job_findings(ow.assess(ow.demo()))})
    ['part_leaks', 'slow_discharge', 'voltage_behind_leak']
    """
    if not 0 < level < 1:
        raise ValueError(f"level is {level!r}, expected a number between 0 and 1")
    return _found(_Finder(results, waiting_second, near_zero_volt, level), range(len(results._rows)))


def findings_of_rows(results: Results, rows: Iterable[int], *, near_zero_volt: float | None = None) -> list[JobFinding]:
    """What these rows of `results`, those of one job, show together; as :func:`job_findings`."""
    near_zero = _NEAR_ZERO_VOLT if near_zero_volt is None else near_zero_volt
    return _found(_Finder(results, _WAITING_SECOND, near_zero, _LEVEL), rows)


def _found(finder: _Finder, rows: Iterable[int]) -> list[JobFinding]:
    return [found for job in finder.jobs(rows) for found in finder.of_job(job)]


class _Finder:
    def __init__(self, results: Results, waiting_second: float, near_zero_volt: float, level: float) -> None:
        self.results = results
        self.rows = results._rows
        self.columns = results._columns
        self.limits = list(results.limits)
        self.waiting_second, self.near_zero_volt, self.level = waiting_second, near_zero_volt, level
        self.input_ohm = {name: float(results.instruments[name]._raw.input_ohm) for name in results.instruments}
        self.part_limit = self._limits_by_part()

    # Jobs ------------------------------------------------------------------------------------------------------------

    def jobs(self, wanted: Iterable[int]) -> Iterator[list[int]]:
        """The wanted rows of each job that can show something, in its order."""
        rows = self.rows
        objects, names, joined = rows.words("object_id"), rows.words("job_id"), rows.words("connected")
        groups: dict[tuple[Any, Any], list[int]] = defaultdict(list)
        for row in wanted:
            if objects[row] is not None and self._is_of_interest(row, joined[row]):
                groups[objects[row], names[row] or rows.second(row) // _DAY].append(row)
        for members in groups.values():
            order, _ = order_of([reading_of_row(rows, row) for row in members], members, rows.table)
            yield [members[i] for i in order]

    def _is_of_interest(self, row: int, joined: str | None) -> bool:
        quantity = self.rows.quantity(row).name
        if int(self.columns["findings"][row]) & _NOT_THIS_PART:
            return False
        return quantity == "dc_voltage" or (quantity == "insulation_resistance" and joined is not None)

    def of_job(self, job: Sequence[int]) -> Iterator[JobFinding]:
        """Everything that one job shows."""
        yield from self._ladders(job)
        readings = {row: reading_of_row(self.rows, row) for row in job if self.rows.quantity(row).name == "dc_voltage"}
        dead = {row: reading for row, reading in readings.items() if self._is_dead_reading(reading)}
        yield from self._discharges(dead)
        yield from self._behind_leaks(dead)

    @staticmethod
    def _is_dead_reading(reading: Mapping[str, Any]) -> bool:
        return not is_source_check(reading) and pair_of(reading) != _hv.Pair.unknown

    def _finding(self, kind: str, rows: Sequence[int], **fields: Any) -> JobFinding:
        return JobFinding(
            kind=kind,
            object_id=str(self.rows.words("object_id")[rows[0]]),
            job_id=self.rows.words("job_id")[rows[0]] or "",
            reading_ids=tuple(self.rows.id(row) for row in rows),
            **fields,
        )

    # Ladders ---------------------------------------------------------------------------------------------------------

    def _limits_by_part(self) -> dict[str, float]:
        """Lower limit that most insulation readings of a part are judged with, as read."""
        counted: dict[str, Counter[int]] = defaultdict(Counter)
        parts = self.rows.words("part")
        for row in np.flatnonzero(self.columns["limit"] >= 0).tolist():
            entry = self.limits[int(self.columns["limit"][row])]
            as_read = math.isnan(entry.reference_celsius) and not entry.whole
            if self.rows.quantity(row).name == "insulation_resistance" and parts[row] is not None and as_read:
                counted[parts[row]][int(self.columns["limit"][row])] += 1
        return {part: self.limits[limits.most_common(1)[0][0]].lower_value for part, limits in counted.items()}

    def _ladders(self, job: Sequence[int]) -> Iterator[JobFinding]:
        """Neighbouring readings of one run whose joined parts differ by the one that was unplugged."""
        runs: dict[Any, list[int]] = defaultdict(list)
        for row in job:
            if self.rows.quantity(row).name == "insulation_resistance":
                words = (self.rows.words(name)[row] for name in ("run_id", "part", "instrument_id"))
                runs[tuple(words)].append(row)
        for run in runs.values():
            joined = [frozenset(str(self.rows.words("connected")[row]).split("+")) for row in run]
            for i in range(1, len(run)):
                removed = joined[i - 1] - joined[i]
                if len(removed) == 1 and joined[i] < joined[i - 1]:
                    yield from self._leaking_part(next(iter(removed)), run[i - 1], run[i])

    def _leaking_part(self, part: str, before: int, after: int) -> Iterator[JobFinding]:
        least = self.part_limit.get(part, self._limit_of_row(before))
        readings = [self._quantity(row) for row in (before, after)]
        leak = highvoltage.Leak(**_hv.leak_of_removed_part(before=readings[0], after=readings[1], level=self.level))
        if leak.status >= 0 and leak.interval[1] < least:
            low, high = (_shown(end) for end in leak.interval)
            yield self._finding(
                "part_leaks",
                [before, after],
                part=part,
                text=f"the leak went with {part.replace('_', ' ')}: {low} to {high} of its own, below its limit of "
                f"{_shown(least)}",
                next_action="read the part alone, dry it and read again, or replace it",
                evidence=leak,
            )

    def _limit_of_row(self, row: int) -> float:
        index = int(self.columns["limit"][row])
        return self.limits[index].lower_value if index >= 0 else math.nan

    def _quantity(self, row: int) -> tuple[float, float, float, Censoring]:
        """Value, independent part, common part and censoring; what part is common the results do not tell."""
        value, u = float(self.columns["value"][row]), float(self.columns["standard_uncertainty"][row])
        return value, u, 0.0, Censoring(int(self.columns["censoring"][row]))

    # Voltages --------------------------------------------------------------------------------------------------------

    def _volt(self, row: int) -> tuple[float, float]:
        """Least and greatest size of a voltage; NaN where unknown."""
        value, u, _, censoring = self._quantity(row)
        size, widened = abs(value), _COVERAGE * u
        if censoring == Censoring.below:
            return 0.0, size
        if censoring != Censoring.exact:
            return size - widened, math.inf
        return size - widened, size + widened

    def _discharges(self, dead: Mapping[int, Mapping[str, Any]]) -> Iterator[JobFinding]:
        series: dict[tuple[Any, ...], list[int]] = defaultdict(list)
        for row, reading in dead.items():
            if int(self.columns["censoring"][row]) == int(Censoring.exact):
                series[pair_of(reading), reading.get("instrument_id")].append(row)
        for members in series.values():
            rows, times = self._seconds(self._of_one_side(members, dead), dead)
            if len(rows) < 2:
                continue
            volts = [float(self.columns["value"][row]) for row in rows]
            u = [float(self.columns["standard_uncertainty"][row]) for row in rows]
            fit = highvoltage.fit_decay(
                times, volts, standard_uncertainty_volt=u, threshold_volt=_HAZARDOUS_VOLT, coverage_factor=_COVERAGE
            )
            late = self._volt(rows[0])[0] >= _HAZARDOUS_VOLT and fit.threshold_interval[0] > self.waiting_second
            if late and fit.status in (Status.sound, Status.few_points, Status.no_solution):
                yield self._slow(rows, dead[rows[0]], fit)

    @staticmethod
    def _of_one_side(rows: Sequence[int], dead: Mapping[int, Mapping[str, Any]]) -> Sequence[int]:
        """Where both sides were read, the rows of the side most read: where those without one belong is not known."""
        sides = Counter(dead[row]["circuit_side"] for row in rows if "circuit_side" in dead[row])
        if len(sides) < 2:
            return rows
        most = sides.most_common(1)[0][0]
        return [row for row in rows if dead[row].get("circuit_side") == most]

    def _slow(self, rows: Sequence[int], reading: Mapping[str, Any], fit: highvoltage.Decay) -> JobFinding:
        low, high = fit.threshold_interval
        until = f"{low:.0f} to {high:.0f} s" if math.isfinite(high) else f"no sooner than {low:.0f} s"
        return self._finding(
            "slow_discharge",
            rows,
            part=self._between(reading),
            text=f"{self._between(reading)} falls to 60 V only after {until}, the waiting time is "
            f"{self.waiting_second:.0f} s" + ("; no decay is shown" if fit.stuck else ""),
            next_action="wait and read again; have the discharge resistor and the contactors examined",
            evidence=fit,
        )

    def _seconds(self, rows: Sequence[int], dead: Mapping[int, Mapping[str, Any]]) -> tuple[list[int], list[float]]:
        """
        Rows and their times: since isolation where every row tells it, else by the clock since the first reading.

        The clock starts later than the isolation, so what is late by it is late in any case. A row with the time of the
        one before it was written down twice. Nothing is returned where times are missing or run backwards.
        """
        elapsed = [dead[row].get("elapsed_second") for row in rows]
        if all(second is not None for second in elapsed):
            times = [float(second) for second in elapsed if second is not None]
        elif all(int(self.rows.table.taken_at_form[row]) & 1 for row in rows):
            times = [float(self.rows.second(row) - self.rows.second(rows[0])) for row in rows]
        else:
            return [], []
        kept = [i for i in range(len(rows)) if i == 0 or times[i] != times[i - 1]]
        if any(times[b] < times[a] for a, b in itertools.pairwise(kept)):
            return [], []
        return [rows[i] for i in kept], [times[i] for i in kept]

    def _behind_leaks(self, dead: Mapping[int, Mapping[str, Any]]) -> Iterator[JobFinding]:
        groups: dict[Any, dict[bool, list[int]]] = defaultdict(lambda: {True: [], False: []})
        for row, reading in dead.items():
            input_ohm = self.input_ohm.get(str(reading.get("instrument_id")), math.nan)
            to_chassis = pair_of(reading) in (_hv.Pair.plus_chassis, _hv.Pair.minus_chassis)
            if to_chassis and input_ohm > 0:
                groups[pair_of(reading)][input_ohm >= _LOW_INPUT_OHM].append(row)
        for group in groups.values():
            sides = {row: dead[row].get("circuit_side") for rows in group.values() for row in rows}
            both = (
                (high, low) for high in group[True] for low in group[False] if _may_be_equal(sides[high], sides[low])
            )
            if pair := next(both, None):
                yield from self._behind_leak(*pair, dead)

    def _behind_leak(self, by_high: int, by_low: int, dead: Mapping[int, Mapping[str, Any]]) -> Iterator[JobFinding]:
        least, _ = self._volt(by_high)
        _, pulled_to = self._volt(by_low)
        if not (least > self.near_zero_volt and pulled_to < 0.5 * least):
            return
        high_ohm, low_ohm = (self.input_ohm[str(dead[row]["instrument_id"])] for row in (by_high, by_low))
        ratio = least / pulled_to
        bounded = ratio < high_ohm / low_ohm
        leak_ohm = high_ohm * low_ohm * (ratio - 1) / (high_ohm - ratio * low_ohm) if bounded else math.nan
        told = f"a leak of at least {_shown(leak_ohm)}" if bounded else "a leak"
        evidence = {"shown_volt": abs(float(self.columns["value"][by_high])), "least_leak_ohm": leak_ohm}
        working = self._working_volt(by_high)
        if working > evidence["shown_volt"]:
            evidence["leak_ohm"] = high_ohm * (working / evidence["shown_volt"] - 1)
            told = f"about {_shown(evidence['leak_ohm'])} if the working voltage of {working:g} V stands behind"
        between = self._between(dead[by_high])
        yield self._finding(
            "voltage_behind_leak",
            [by_high, by_low],
            part=between,
            text=f"{between}: {self.rows.as_written(by_high)} into {_shown(high_ohm)}, nearly nothing into "
            f"{_shown(low_ohm)}: {told}, or a small capacitor that the second meter drained",
            next_action="read again with the meter of high input resistance: through a leak the voltage comes back; "
            "measure both sides of the contactors",
            evidence=evidence,
        )

    def _working_volt(self, row: int) -> float:
        """Working voltage that the limits tell for this kind of vehicle."""
        kind = self.rows.words("object_kind")[row]
        told = {limit.working_volt for limit in self.limits if dict(limit.applies_to).get("object_kind") == kind}
        known = [volt for volt in told if volt > 0]
        return known[0] if kind is not None and len(known) == 1 else math.nan

    @staticmethod
    def _between(reading: Mapping[str, Any]) -> str:
        points = (str(reading[name]) for name in ("from_point", "to_point"))
        return " to ".join(point.replace("hv_plus", "HV+").replace("hv_minus", "HV-") for point in points)
