"""Marks on a readings table: what only sets of rows show, with the evidence. A mark is a suspicion, never a verdict."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ohmward import _core
from ohmward.instruments import Instruments
from ohmward.readings import Readings

__all__ = ["Evidence", "Marks", "marks"]

_NAMES = [name for name, _, _ in _core.core.finding_table]
_SETTINGS = tuple(name for name in dir(_core.screening.Settings) if not name.startswith("_"))


@dataclass(frozen=True)
class Evidence:
    """
    Why readings were marked.

    Attributes
    ----------
    finding : str
        Such as ``"unit_slip_suspected"``.
    rows : ndarray of int64
        Positions of the accepted readings that carry the mark.
    shown_by : ndarray of int64
        Positions of other readings that show it: the source of a copy, checks of a meter.
    statistic, threshold : float
        What was found and what it was compared with; ``sentence`` says of what. NaN where nothing was compared.
    sentence : str
        In words.
    """

    finding: str
    rows: NDArray[np.int64]
    shown_by: NDArray[np.int64]
    statistic: float
    threshold: float
    sentence: str


class Marks:
    """
    What screening found. Made by :func:`marks`.

    Attributes
    ----------
    findings : ndarray of uint64
        Set of findings of each accepted reading, as bits.
    meter_factor : ndarray of float64
        How far the reading's meter was off its sheet at known values at that time, in what the sheet allows; 1 where
        nothing shows that it left it.
    """

    def __init__(self, raw: _core.screening.Marks, readings: Readings) -> None:
        self._raw = raw
        self._table = readings.accepted.table
        self.findings: NDArray[np.uint64] = raw.findings
        self.meter_factor: NDArray[np.float64] = raw.meter_factor

    @cached_property
    def evidence(self) -> tuple[Evidence, ...]:
        """Every piece of evidence, by kind of mark, then by the first reading that carries it."""
        return tuple(
            Evidence(_NAMES[each.finding], each.rows, each.shown_by, each.statistic, each.threshold, each.sentence)
            for each in self._raw.evidence
        )

    @cached_property
    def _of_row(self) -> Mapping[int, list[Evidence]]:
        found: dict[int, list[Evidence]] = {}
        for each in self.evidence:
            for row in each.rows.tolist():
                found.setdefault(row, []).append(each)
        return found

    def of(self, reading_id: str) -> tuple[Evidence, ...]:
        """
        Return the evidence for the marks of one reading.

        Parameters
        ----------
        reading_id : str
            Such as ``"R-00417"``.

        Returns
        -------
        tuple of Evidence
            Empty where the reading carries no mark.

        Raises
        ------
        KeyError
            If there is no such reading.
        """
        row = self._table.row_of(reading_id)
        if row is None:
            raise KeyError(f"no reading '{reading_id}'")
        return tuple(self._of_row.get(row, ()))

    def rows(self, finding: str) -> NDArray[np.int64]:
        """Return the positions of the readings that carry a mark, ascending."""
        if finding not in _NAMES:
            raise ValueError(f"finding is {finding!r}, expected one of {', '.join(_NAMES)}")
        bit = np.uint64(_NAMES.index(finding))
        return np.flatnonzero(self.findings >> bit & np.uint64(1))

    def counts(self) -> dict[str, int]:
        """Count the readings that carry each mark, in the fixed order of the findings."""
        counted = Counter(bit for bits in self.findings.tolist() for bit in range(len(_NAMES)) if bits >> bit & 1)
        return {_NAMES[bit]: counted[bit] for bit in sorted(counted)}

    def __repr__(self) -> str:
        """Counts by kind."""
        return f"<Marks on {np.count_nonzero(self.findings)} of {len(self.findings)} readings>"


def _counts_of_range(line: _core.instruments.Range) -> float:
    """A share of the range, counted in display steps."""
    return line.range_percent / 100 * line.high / line.display_step if line.range_percent and line.display_step else 0.0


def _meter(raw: _core.instruments.Instrument) -> _core.screening.Meter:
    return _core.screening.Meter(
        id=raw.id,
        from_day=raw.valid_from_day,
        until_day=raw.valid_until_day,
        correction=raw.correction,
        source_ampere=raw.source_ampere,
        ranges=[
            _core.screening.MeterRange(
                quantity=line.quantity,
                test_voltage_volt=line.test_voltage_volt,
                low=line.low,
                high=line.high,
                display_step=line.display_step,
                reading_bound=line.reading_percent / 100,
                counts=line.counts + _counts_of_range(line),
            )
            for line in raw.ranges
        ],
    )


def marks(readings: Readings, instruments: Instruments | None = None, *, threads: int = 0, **settings: float) -> Marks:
    r"""
    Mark what only sets of readings show: unit slips, copied jobs, a monitor left on, leads not nulled, and more.

    Parameters
    ----------
    readings : Readings
        As :func:`ohmward.read_readings` returns them.
    instruments : Instruments, optional
        Their meters. Without them ceilings, drift against the accuracy sheet and wrong functions are looked for less.
    threads : int, default 0
        0 takes all cores. The result does not depend on it.
    **settings : float
        What counts as suspicious, by the names of the C++ ``ohmward::screening::Settings``, such as ``slip_share``,
        ``copy_margin_bit`` or ``unlike_deviations``. Trade judgement, never limits.

    Returns
    -------
    Marks
        Findings of each reading as bits, and the evidence.

    Raises
    ------
    ValueError
        For a setting that does not exist.

    Notes
    -----
    A unit slip of 10\ :sup:`±3` or 10\ :sup:`±6` is marked where it is more probable than a sound reading and than any
    other outlier, given the point's own history drawn towards its kind as a random effect; a visit before or after that
    agrees clears it. A copy is marked where the equal fields carry more bits of evidence than chance and the number of
    comparisons explain. Everything else is a difference of medians against its robust spread. Source
    ``screening-practice``.

    Measured over 200 made depots: see ``tests/power/screening_power.py``.

    Examples
    --------
    >>> import ohmward as ow
    >>> from ohmward import screening
    >>> depot = ow.demo()
    >>> found = screening.marks(depot.readings, depot.instruments)
    >>> "copied_suspected" in found.counts()
    True
    >>> found.evidence[0].finding
    'unit_slip_suspected'
    """
    chosen = _core.screening.Settings()
    for name, value in settings.items():
        if name not in _SETTINGS:
            raise ValueError(f"no setting {name!r}, expected one of {', '.join(_SETTINGS)}")
        setattr(chosen, name, float(value))
    meters = [] if instruments is None else [_meter(raw) for raw in instruments._raw.all()]
    raw = _core.screening.marks(table=readings.accepted.table, meters=meters, settings=chosen, threads=threads)
    return Marks(raw, readings)
