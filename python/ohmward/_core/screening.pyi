import numpy as np
from numpy.typing import NDArray

from ohmward._core.core import QuantityKind
from ohmward._core.readings import Table

class MeterRange:
    def __init__(
        self,
        *,
        quantity: QuantityKind,
        test_voltage_volt: float,
        low: float,
        high: float,
        display_step: float,
        reading_bound: float,
        counts: float,
    ) -> None: ...

class Meter:
    def __init__(
        self,
        *,
        id: str,
        from_day: int,
        until_day: int,
        correction: float,
        source_ampere: float,
        ranges: list[MeterRange],
    ) -> None: ...

class Settings:
    slip_probability: float
    slip_share: float
    outlier_share: float
    outlier_span_decade: float
    own_spread_decade: float
    kind_spread_decade: float
    tail_share: float
    tail_decade: float
    agreeing_decade: float
    agreeing_day: float
    copy_margin_bit: float
    copy_fidelity: float
    monitor_warm_celsius: float
    monitor_low_ohm: float
    monitor_high_ohm: float
    monitor_ohm: float
    monitor_fit_decade: float
    monitor_drop_decade: float
    monitor_spread_decade: float
    null_raised_ohm: float
    null_lowered_ohm: float
    negative_ohm: float
    open_jump_decade: float
    whole_above_part: float
    clip_rows: float
    class_bound: float
    settling_ratio: float
    settling_second: float
    unlike_deviations: float
    unlike_object_deviations: float
    joint_jump_ohm: float
    pair_drift_volt: float
    pair_jump_volt: float
    unlike_part_decade: float
    unlike_battery_share: float
    low_battery_share: float

class Evidence:
    @property
    def finding(self) -> int: ...
    @property
    def rows(self) -> NDArray[np.int64]: ...
    @property
    def shown_by(self) -> NDArray[np.int64]: ...
    @property
    def statistic(self) -> float: ...
    @property
    def threshold(self) -> float: ...
    @property
    def sentence(self) -> str: ...

class Marks:
    @property
    def findings(self) -> NDArray[np.uint64]: ...
    @property
    def meter_factor(self) -> NDArray[np.float64]: ...
    @property
    def evidence(self) -> list[Evidence]: ...

def marks(*, table: Table, meters: list[Meter], settings: Settings, threads: int) -> Marks: ...
