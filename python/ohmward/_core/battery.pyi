from collections.abc import Sequence
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from ohmward._core.core import Status

_Doubles = NDArray[np.float64]
_Forecast = tuple[float, float, float]

class Condition(IntEnum):
    cell_missing_suspected = 5
    on_charge = 0
    freezing_risk = 6
    discharged = 4
    not_rested = 1
    low = 3
    rested = 2
    unknown = 7

class History(IntEnum):
    unknown = 0
    after_charge = 1
    after_discharge = 2

class Position(IntEnum):
    below = -1
    inside = 0
    above = 1

class OpenCircuitCurve:
    def __init__(
        self,
        *,
        name: str,
        charge: _Doubles,
        cell_volt: _Doubles,
        volt_per_kelvin: float,
        volt_per_kelvin_standard_uncertainty: float,
        standard_uncertainty_volt: float,
        reference_celsius: float,
    ) -> None: ...
    @property
    def name(self) -> str: ...
    @property
    def charge(self) -> _Doubles: ...
    @property
    def cell_volt(self) -> _Doubles: ...
    @property
    def reference_celsius(self) -> float: ...
    def volt(self, charge: float, celsius: float) -> float: ...
    def slope(self, charge: float) -> float: ...

class ChargePrior:
    def __init__(self) -> None: ...
    @staticmethod
    def normal(*, mean: float, standard_uncertainty: float) -> ChargePrior: ...
    @staticmethod
    def density(*, charge: _Doubles, density: _Doubles) -> ChargePrior: ...
    @staticmethod
    def since(earlier: RestState, *, change: float, standard_uncertainty: float) -> ChargePrior: ...

class ChargePosterior:
    @property
    def empty(self) -> bool: ...
    def cumulative(self, charge: float) -> float: ...
    def density(self, charge: float) -> float: ...
    def quantile(self, level: float) -> float: ...
    @property
    def mean(self) -> float: ...
    @property
    def standard_uncertainty(self) -> float: ...
    @property
    def modes(self) -> list[tuple[float, float]]: ...
    @property
    def type_share_of_variance(self) -> float: ...

class ConditionNote:
    @property
    def condition(self) -> Condition: ...
    @property
    def type(self) -> str: ...
    @property
    def probability(self) -> float: ...
    @property
    def reason(self) -> str: ...
    @property
    def next_action(self) -> str: ...

class RestState:
    @property
    def condition(self) -> Condition: ...
    @property
    def status(self) -> Status: ...
    @property
    def findings(self) -> int: ...
    @property
    def charge(self) -> ChargePosterior: ...
    @property
    def voltage_uncertainty(self) -> dict[str, float]: ...
    @property
    def candidates(self) -> list[tuple[Position, Condition, float, int]]: ...

class RestingReading:
    def __init__(
        self,
        *,
        voltage_volt: float,
        standard_uncertainty_volt: float,
        celsius: float,
        celsius_standard_uncertainty_kelvin: float,
        rest_hour: float,
        history: History,
    ) -> None: ...

class Battery:
    def at_rest(self, reading: RestingReading, prior: ChargePrior) -> RestState: ...
    def at_rest_batch(
        self,
        *,
        voltage_volt: _Doubles,
        standard_uncertainty_volt: _Doubles,
        celsius: _Doubles,
        celsius_standard_uncertainty_kelvin: _Doubles,
        rest_hour: _Doubles,
        history: NDArray[np.int8],
        level: float,
        threads: int,
    ) -> tuple[_Doubles, _Doubles, _Doubles, NDArray[np.int8], NDArray[np.int8], NDArray[np.uint64]]: ...
    def notes(self, reading: RestingReading, state: RestState) -> list[ConditionNote]: ...
    @property
    def candidates(self) -> list[tuple[str, int, float, list[OpenCircuitCurve]]]: ...

class ChargeDecision(IntEnum):
    alike = 0
    differs = 1
    not_decidable = 2
    not_read = 3

class ModuleState:
    @property
    def difference_volt(self) -> tuple[float, float]: ...
    @property
    def stands_out(self) -> bool: ...
    @property
    def charge_difference(self) -> tuple[float, float, float]: ...
    @property
    def probability_differs(self) -> float: ...
    @property
    def decision(self) -> ChargeDecision: ...

class PackState:
    @property
    def status(self) -> Status: ...
    @property
    def middle_volt(self) -> float: ...
    @property
    def spread_volt(self) -> float: ...
    @property
    def middle(self) -> RestState: ...
    @property
    def modules(self) -> list[ModuleState]: ...

class PairState:
    @property
    def status(self) -> Status: ...
    @property
    def findings(self) -> int: ...
    @property
    def a(self) -> RestState: ...
    @property
    def b(self) -> RestState: ...
    @property
    def sum(self) -> RestState: ...
    @property
    def imbalance_volt(self) -> tuple[float, float]: ...
    @property
    def probability_imbalanced(self) -> float: ...
    @property
    def closure_volt(self) -> tuple[float, float]: ...
    @property
    def weaker_may_be_volt(self) -> float: ...

class Pair:
    def __init__(self, battery: Battery, *, healthy_difference_volt: float) -> None: ...
    @property
    def both(self) -> Battery: ...
    @property
    def healthy_difference_volt(self) -> float: ...
    def at_rest(
        self,
        *,
        a_volt: float,
        b_volt: float,
        sum_volt: float,
        standard_uncertainty_volt: float,
        gain_relative_standard_uncertainty: float,
        celsius: float,
        celsius_standard_uncertainty_kelvin: float,
        rest_hour: float,
        history: History,
    ) -> PairState: ...

def condition_text(condition: Condition) -> str: ...
def shipped_curve(name: str) -> OpenCircuitCurve: ...
def shipped_curve_names() -> list[str]: ...
def shipped_type_names() -> list[str]: ...
def lead_acid(type: str, *, cells: int) -> Battery: ...
def lithium(type: str, *, cells: int) -> Battery: ...
def unknown_12v() -> Battery: ...
def with_curve(curve: OpenCircuitCurve, *, behaves_like: str, cells: int) -> Battery: ...
def mixture(parts: Sequence[tuple[Battery, float]]) -> Battery: ...
def relaxation(
    battery: Battery,
    *,
    rest_hour: _Doubles,
    voltage_volt: _Doubles,
    standard_uncertainty_volt: float,
    history: History,
    target_hour: float,
    level: float,
    tolerance_volt: float,
) -> tuple[Status, tuple[float, float], _Forecast, _Forecast, bool, dict[str, float]]: ...
def self_discharge(
    curve: OpenCircuitCurve,
    *,
    cells: int,
    first_volt: float,
    second_volt: float,
    standard_uncertainty_volt: float,
    first_celsius: float,
    second_celsius: float,
    elapsed_hour: float,
    capacity_ampere_hour: float,
) -> tuple[Status, tuple[float, float], tuple[float, float]]: ...
def storage_time(
    *,
    charge: float,
    charge_standard_uncertainty: float,
    floor: float,
    current_ampere: float,
    current_standard_uncertainty_ampere: float,
    capacity_ampere_hour: float,
) -> tuple[Status, tuple[float, float]]: ...
def self_discharge_factor(*, from_celsius: float, to_celsius: float) -> float: ...
def pack_at_rest(
    module: Battery,
    *,
    voltage_volt: _Doubles,
    standard_uncertainty_volt: float,
    gain_relative_standard_uncertainty: float,
    celsius: _Doubles,
    pack_celsius: float,
    rest_hour: float,
    history: History,
    risk: float,
    charge_difference: float,
    level: float,
) -> PackState: ...
def lag_test(
    *, now_volt: _Doubles, earlier_volt: _Doubles, standard_uncertainty_volt: float
) -> tuple[Status, int, int, float]: ...
def stand_out(
    values: _Doubles, *, risk: float, least_spread: float
) -> tuple[Status, list[bool], float, float]: ...
def molality(specific_gravity: float) -> tuple[float, Status]: ...
def specific_gravity(molality: float) -> tuple[float, Status]: ...
def cell_emf_volt(molality: float) -> tuple[float, Status]: ...
def specific_gravity_at_rest(cell_volt: float) -> tuple[float, Status]: ...
def freezing_celsius(specific_gravity: float) -> tuple[float, Status]: ...
def self_discharge_per_day(celsius: float) -> tuple[float, Status]: ...
def cell_rule_volt(specific_gravity: float) -> float: ...
def corrected_specific_gravity(*, specific_gravity: float, celsius: float) -> float: ...
