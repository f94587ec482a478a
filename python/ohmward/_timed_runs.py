"""From a table of readings to its timed runs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ohmward._core.core import QuantityKind

if TYPE_CHECKING:
    from ohmward.instruments import Instruments
    from ohmward.insulation import TimedRun
    from ohmward.readings import Readings


_LEAST_TIMES = 5  # a ladder or a step test has a run_id too, and at most a few elapsed times by chance


@dataclass(frozen=True, eq=False)
class RunRead:
    """
    A timed run as the readings table holds it.

    Attributes
    ----------
    object_id, part, run_id : str
        Whose; the part is empty where it was not written down.
    taken_at : datetime64
        Of its first reading.
    instrument_id : str
        The meter; empty where none is named, or more than one.
    capacitance_farad : float
        Median of what the tester showed in this run; NaN where nothing was written down. [F]
    part_celsius : float
        Median of what was written down. [°C]
    reading_id : tuple of str
        The readings, in their order.
    run : TimedRun
        The run itself.
    """

    object_id: str
    part: str
    run_id: str
    taken_at: np.datetime64
    instrument_id: str
    capacitance_farad: float
    part_celsius: float
    reading_id: tuple[str, ...]
    run: TimedRun


def _only(words: NDArray[Any]) -> str:
    """The one word that is there; empty where there is none, or more than one."""
    known = {word for word in words if word is not None}
    return str(known.pop()) if len(known) == 1 else ""


def _median(values: NDArray[np.float64]) -> float:
    return float(np.nanmedian(values)) if np.any(~np.isnan(values)) else math.nan


def timed_runs(readings: Readings, *, instruments: Instruments | None = None) -> list[RunRead]:
    """
    Find the timed insulation runs of a readings table: rows with a ``run_id`` at five times or more.

    Parameters
    ----------
    readings : Readings
        From `ohmward.read_readings`.
    instruments : Instruments, optional
        Gives each reading the uncertainty, range and display step of its meter's sheet.

    Returns
    -------
    list of RunRead
        In the order of the file. Temperatures take part as logged temperatures only where every row has one.

    Examples
    --------
    >>> import ohmward as ow
    >>> runs = timed_runs(ow.demo().readings, instruments=ow.demo().instruments)
    >>> first = next(read for read in runs if read.object_id == "PRESS-1")
    >>> print(first.run_id, first.run.ratio(late_second=600, early_second=60))
    RUN-PRESS-1-1 3.119 (u 11 %)
    """
    from ohmward.insulation import TimedRun

    accepted = readings.accepted

    def numbers(name: str) -> NDArray[np.float64]:
        return accepted[name] if name in accepted else np.full(len(accepted), np.nan)

    def words(name: str) -> NDArray[Any]:
        return accepted[name] if name in accepted else np.full(len(accepted), None, dtype=object)

    elapsed, volts, celsius = numbers("elapsed_second"), numbers("test_voltage_volt"), numbers("part_celsius")
    applied, farads = numbers("applied_volt"), numbers("capacitance_farad")
    parts, meters = words("part"), words("instrument_id")
    insulation = accepted["quantity"] == int(QuantityKind.insulation_resistance)
    found = []
    for series in readings.timed_series():
        rows = np.array([row for row in series.rows if insulation[row] and not np.isnan(elapsed[row])], dtype=np.int64)
        if np.unique(elapsed[rows]).size < _LEAST_TIMES:
            continue
        meter = _only(meters[rows])
        sheet = instruments[meter] if instruments is not None and meter in set(instruments) else None
        all_logged = not np.any(np.isnan(celsius[rows]))
        run = TimedRun(
            time_second=elapsed[rows],
            resistance_ohm=accepted["value"][rows],
            censoring=accepted["censoring"][rows],
            applied_volt=applied[rows],
            part_celsius=celsius[rows] if all_logged else None,
            display_step_ohm=accepted["resolution"][rows],
            instrument=sheet,
            test_voltage_volt=_median(volts[rows]),
        )
        found.append(
            RunRead(
                object_id=series.object_id,
                part=_only(parts[rows]),
                run_id=series.run_id,
                taken_at=accepted["taken_at"][rows[0]],
                instrument_id=meter,
                capacitance_farad=_median(farads[rows]),
                part_celsius=_median(celsius[rows]),
                reading_id=tuple(str(name) for name in accepted["reading_id"][rows]),
                run=run,
            )
        )
    return found
