from enum import IntEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ohmward._core.core import Censoring, Status

_Doubles = NDArray[np.float64]
_Ticks = NDArray[np.uint32]
_Flags = NDArray[np.uint8]
_Codes = NDArray[np.int8]

class Resting(IntEnum):
    unknown = 0
    moving = 1
    at_rest = 2

class AbsorptionLog:
    def __init__(
        self,
        *,
        test_voltage_volt: float,
        early_second: float,
        late_second: float,
        source_ampere: float,
        relative_standard_uncertainty: float,
        gain_relative_standard_uncertainty: float,
        capacitance_farad: float,
        least_visible_change: float,
        loss_factor: float,
        drift_kelvin: float,
        current_per_kelvin: float,
        ticks: bool,
        forecast: bool,
        start_tick: int,
    ) -> None: ...
    def push(
        self,
        time_second: _Doubles,
        tick_millisecond: _Ticks,
        applied_volt: _Doubles,
        current_ampere: _Doubles,
        resistance_ohm: _Doubles,
        flags: _Flags,
    ) -> _Codes: ...
    def reset(self, *, start_tick: int) -> None: ...
    def ratio(self) -> tuple[float, float, Censoring, Status]: ...
    def spots(self) -> tuple[tuple[float, Censoring, Status], ...]: ...
    def settling(self) -> tuple[int, Status, float, float, float, float, float]: ...
    def forecast(self, level: float) -> dict[str, Any]: ...
    def charging(self) -> tuple[float, float, float, float, Status]: ...
    def contact(self) -> int: ...
    @property
    def counts(self) -> dict[str, int]: ...
    @property
    def cut(self) -> bool: ...
    def save(self) -> bytes: ...
    @staticmethod
    def resume(record: bytes, *, cut: bool) -> tuple[AbsorptionLog, Status]: ...

class RestingVoltageLog:
    def __init__(
        self,
        *,
        cells: int,
        standard_uncertainty_volt: float,
        tolerance_cell_volt: float,
        ticks: bool,
        start_tick: int,
    ) -> None: ...
    def push(
        self, time_second: _Doubles, tick_millisecond: _Ticks, voltage_volt: _Doubles, flags: _Flags
    ) -> _Codes: ...
    def reset(self, *, start_tick: int) -> None: ...
    def state(self) -> tuple[int, Status, float, float, float, float, float, float]: ...
    @property
    def counts(self) -> dict[str, int]: ...
    @property
    def cut(self) -> bool: ...
    def save(self) -> bytes: ...
    @staticmethod
    def resume(record: bytes, *, cut: bool) -> tuple[RestingVoltageLog, Status]: ...

class LinkDischargeLog:
    def __init__(
        self,
        *,
        standard_uncertainty_volt: float,
        threshold_volt: float,
        gain_relative_standard_uncertainty: float,
        coverage_factor: float,
        ticks: bool,
        start_tick: int,
    ) -> None: ...
    def push(
        self, time_second: _Doubles, tick_millisecond: _Ticks, voltage_volt: _Doubles, flags: _Flags
    ) -> _Codes: ...
    def reset(self, *, start_tick: int) -> None: ...
    def state(self) -> tuple[float, float, float, float, float, float, float, float, int, Status]: ...
    @property
    def counts(self) -> dict[str, int]: ...
    @property
    def cut(self) -> bool: ...
    def save(self) -> bytes: ...
    @staticmethod
    def resume(record: bytes, *, cut: bool) -> tuple[LinkDischargeLog, Status]: ...

class BondingLog:
    def __init__(
        self,
        *,
        standard_uncertainty_ohm: float,
        null_standard_uncertainty_ohm: float,
        gain_relative_standard_uncertainty: float,
        least_test_ampere: float,
        null_low_ohm: float,
        null_high_ohm: float,
        greatest_age_second: float,
        polarity_factor: float,
        ticks: bool,
        four_wire: bool,
        null_subtracted: bool,
        start_tick: int,
    ) -> None: ...
    def push(
        self,
        time_second: _Doubles,
        tick_millisecond: _Ticks,
        resistance_ohm: _Doubles,
        test_ampere: _Doubles,
        flags: _Flags,
        *,
        of_leads: bool,
    ) -> _Codes: ...
    def next_joint(self) -> None: ...
    def forget_null(self) -> None: ...
    def reset(self, *, start_tick: int) -> None: ...
    def joint(self) -> tuple[float, float, Censoring, Status, bool, bool, int, float]: ...
    @property
    def counts(self) -> dict[str, int]: ...
    @property
    def cut(self) -> bool: ...
    def save(self) -> bytes: ...
    @staticmethod
    def resume(record: bytes, *, cut: bool) -> tuple[BondingLog, Status]: ...

class RunningMean:
    def __init__(self, *, display_step: float) -> None: ...
    def push(self, values: _Doubles) -> _Codes: ...
    def merge(self, other: RunningMean) -> Status: ...
    def reset(self) -> None: ...
    @property
    def readings(self) -> float: ...
    def state(self) -> tuple[float, float, float, float, Status]: ...
    @property
    def counts(self) -> dict[str, int]: ...
    @property
    def cut(self) -> bool: ...
    def save(self) -> bytes: ...
    @staticmethod
    def resume(record: bytes, *, cut: bool) -> tuple[RunningMean, Status]: ...

flag_bits: dict[str, int]
bonding_remarks: tuple[tuple[str, int], ...]
decay_remarks: tuple[tuple[str, int], ...]

def from_float32(values: NDArray[np.float32]) -> _Doubles: ...
def accuracy(
    table: _Doubles,
    test_voltages_volt: _Doubles,
    *,
    log_scale: bool,
    divisor: float,
    test_voltage_volt: float,
    reading: float,
    decision_value: float,
) -> tuple[float, float, float, Status]: ...
