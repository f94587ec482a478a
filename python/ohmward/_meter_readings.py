"""What a meter's sheet says about many readings of insulation at once."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ohmward._core.core import Censoring, QuantityKind

if TYPE_CHECKING:
    from ohmward.instruments import Instrument

_RANGE_NOT_KNOWN = -1


@dataclass(frozen=True)
class MeterReadings:
    """Readings with what the sheet adds to them; columns of one length."""

    resistance_ohm: NDArray[np.float64]
    censoring: NDArray[np.int8]
    relative_standard_uncertainty: NDArray[np.float64]
    display_step_ohm: NDArray[np.float64]
    range: NDArray[np.int32]
    common_relative_standard_uncertainty: float


def _range_of(instrument: Instrument, ohm: float, volt: float) -> int:
    """Position of the first range that holds a reading; the sheet lists them from fine to coarse."""
    for i, line in enumerate(instrument._raw.ranges):
        fits = math.isnan(line.test_voltage_volt) or line.test_voltage_volt == volt
        if line.quantity == QuantityKind.insulation_resistance and fits and line.low <= ohm <= line.high:
            return i
    return _RANGE_NOT_KNOWN


def meter_readings(
    instrument: Instrument, ohm: NDArray[np.float64], censoring: NDArray[np.int8], test_voltage_volt: float
) -> MeterReadings:
    """Take each reading through the sheet: correction, bound of an overload, uncertainty, display step, range."""
    value, kinds = ohm.copy(), censoring.copy()
    u, step = np.full(ohm.shape, np.nan), np.full(ohm.shape, np.nan)
    ranges = np.full(ohm.shape, _RANGE_NOT_KNOWN, dtype=np.int32)
    common = 0.0
    for i, shown in enumerate(ohm):
        found = instrument.quantity(
            "insulation_resistance",
            float(shown),
            test_voltage_volt=test_voltage_volt,
            censoring=Censoring(int(censoring[i])).name,
        )
        if found.status < 0:
            continue
        value[i], kinds[i] = found.value, int(found.censoring)
        u[i] = math.hypot(*(part for name, part in found.parts.items() if name != "gain"))
        common = max(common, found.parts.get("gain", 0.0))
        ranges[i] = _range_of(instrument, float(shown), test_voltage_volt)
        if ranges[i] != _RANGE_NOT_KNOWN:
            step[i] = instrument._raw.ranges[ranges[i]].display_step
    return MeterReadings(value, kinds, u, step, ranges, common)
