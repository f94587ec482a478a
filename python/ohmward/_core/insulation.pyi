from enum import IntEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ohmward._core.temperature import Law

_Doubles = NDArray[np.float64]
_Codes = NDArray[np.int8]
_Fields = tuple[float, bool, int, int, dict[str, float], float]
_Columns = dict[str, NDArray[Any]]

class Settling(IntEnum):
    unknown = 0
    charging = 1
    absorbing = 2
    settled = 3
    nothing_more_to_learn = 4

class Contact(IntEnum):
    not_shown = 0
    by_reading = 1
    by_capacitance = 2
    by_resistor = 3
    by_lead = 4
    by_charging = 5

class IndexCriterion(IntEnum):
    applies = 0
    does_not_apply = 1
    undetermined = 2

class Winding(IntEnum):
    before_1970_field_or_other = 0
    form_wound = 1
    random_wound = 2
    form_wound_below_1000_volt = 3
    dc_armature = 4

class Index(IntEnum):
    polarisation = 0
    absorption_60_30 = 1
    dielectric_discharge = 2

class AbsorptionModel(IntEnum):
    conduction = 0
    absorption = 1
    charging = 2
    absorption_and_charging = 3

class Pattern(IntEnum):
    moisture = 0
    surface = 1
    contact = 2
    monitor_left_on = 3
    leftover_charge = 4
    cooling = 5

class TimedRun:
    def __init__(
        self,
        time_second: _Doubles,
        resistance_ohm: _Doubles,
        *,
        censoring: _Codes | None,
        applied_volt: _Doubles | None,
        part_celsius: _Doubles | None,
        reading_standard_uncertainty: _Doubles | None,
        display_step_ohm: _Doubles | None,
        range: NDArray[np.int32] | None,
        test_voltage_volt: float,
        source_ampere: float,
        relative_standard_uncertainty: float,
        common_relative_standard_uncertainty: float,
        corrected_to_steady_temperature: bool,
    ) -> None: ...
    @property
    def status(self) -> int: ...
    @property
    def marks(self) -> NDArray[np.uint16]: ...
    @property
    def usable(self) -> tuple[_Doubles, _Doubles, _Codes]: ...
    @property
    def corrected_to_steady_temperature(self) -> bool: ...
    @property
    def quality(self) -> dict[str, Any]: ...
    def first(self, second: float) -> TimedRun: ...
    def at_steady_temperature(self, *, law: Law, reference_celsius: float) -> TimedRun: ...
    def at(self, second: float) -> _Fields: ...
    def ratio(self, *, late_second: float, early_second: float) -> _Fields: ...
    def settling(
        self,
        *,
        capacitance_low_farad: float,
        capacitance_high_farad: float,
        least_visible_change: float,
        loss_factor: float,
        mode: str,
    ) -> dict[str, Any]: ...
    def fit(self) -> _Columns: ...
    def forecast(
        self,
        *,
        early_second: float,
        late_second: float,
        level: float,
        drift_kelvin: float,
        current_per_kelvin: float,
        steady: bool,
        mode: str,
        threads: int,
    ) -> _Columns: ...

def fit_runs(
    time_second: _Doubles,
    resistance_ohm: _Doubles,
    offset: NDArray[np.int64],
    *,
    relative_standard_uncertainty: float,
    threads: int,
) -> _Columns: ...
def forecast_runs(
    time_second: _Doubles,
    resistance_ohm: _Doubles,
    offset: NDArray[np.int64],
    *,
    early_second: float,
    late_second: float,
    level: float,
    drift_kelvin: float,
    current_per_kelvin: float,
    mode: str,
    threads: int,
) -> _Columns: ...
def ratio(*, late: _Fields, early: _Fields, same_range: bool) -> _Fields: ...
def index_criterion(*, as_read: _Fields, at_40_celsius: _Fields) -> int: ...
def contact(
    *,
    reading: _Fields,
    capacitance: _Fields,
    known_resistor_ohm: float,
    reading_with_resistor_ohm: float,
    lead_ohm: float,
    charging_seen: bool,
) -> int: ...
def machine_minimum_ohm(*, winding: Winding, rated_volt: float, edition: int) -> tuple[float, int, str]: ...
def minimum_polarisation_index(*, thermal_class_celsius: float, edition: int) -> tuple[float, int, str]: ...
def machine_test_voltage(rated_volt: float) -> tuple[float, float, float, int, str]: ...
def apparatus_test(rated_volt: float) -> tuple[float, float, float, int, str]: ...
def installation_test(nominal_volt: float) -> tuple[float, float, float, int, str]: ...
def band(index: Index, value: float) -> tuple[float, float, str, int, str]: ...
def applied_voltage_volt(*, set_volt: float, source_ampere: float, resistance_ohm: float) -> tuple[float, int]: ...
def steps(
    applied_volt: _Doubles, resistance_ohm: _Doubles, relative_standard_uncertainty: _Doubles
) -> dict[str, Any]: ...
def discharge(
    time_second: _Doubles,
    current_ampere: _Doubles,
    *,
    test_voltage_volt: float,
    charge_second: float,
    capacitance_farad: float,
) -> dict[str, Any]: ...
def attainable_ratio(
    *,
    early: _Fields,
    capacitance_farad: float,
    late_second: float,
    early_second: float,
    loss_factor: float,
    absorption_exponent: float,
) -> tuple[float, int]: ...
def consistent_with(
    *,
    resistance: _Fields,
    index: _Fields,
    attainable: float,
    guarded_over_plain: _Fields,
    dried_over_before: _Fields,
    falls: bool,
    drifts: bool,
    slope: float,
    part_warmer_than_air_kelvin: float,
    cooled_kelvin: float,
    above_dew_point_kelvin: float,
    rested_over_tested: float,
    contact_shown: bool,
    alone: bool,
) -> list[tuple[int, str, str]]: ...

mark_bits: dict[str, int]
