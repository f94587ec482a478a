from collections.abc import Sequence
from enum import IntEnum
from typing import Any

from ohmward._core.core import Censoring, Status

_Plain = tuple[float, float, float, Censoring]

copper_tau_kelvin: float

class Function(IntEnum):
    unknown = 0
    dc = 1
    ac = 2

class Side(IntEnum):
    unknown = 0
    load = 1
    battery = 2

class Pair(IntEnum):
    unknown = 0
    plus_minus = 1
    plus_chassis = 2
    minus_chassis = 3
    phase_phase = 4
    phase_chassis = 5

def pair_of(from_point: str, to_point: str) -> Pair: ...
def side_of(word: str) -> Side: ...

class Pole(IntEnum):
    unknown = 0
    plus = 1
    minus = 2

class VoltageRow:
    def __init__(self) -> None: ...
    is_check: bool
    instrument: int
    function: Function
    range: int
    value_volt: float
    censoring: Censoring
    standard_uncertainty_volt: float
    zero_volt: float
    input_ohm: float
    reference_volt: float
    pair: Pair
    side: Side
    superseded: bool

class DeadPolicy:
    def __init__(self) -> None: ...
    near_zero_volt: float
    hazardous_dc_volt: float
    hazardous_ac_volt: float
    coverage_factor: float
    check_tolerance: float
    pairs: list[Pair]
    sides: list[Side]

def prove_dead(rows: Sequence[VoltageRow], policy: DeadPolicy) -> dict[str, Any]: ...
def reading_through_leak_volt(*, source_volt: float, leak_ohm: float, meter_ohm: float) -> tuple[float, Status]: ...
def unseen_leak_ohm(*, source_volt: float, shown_volt: float, meter_ohm: float) -> tuple[float, Status]: ...
def hidden_source(
    *, first_volt: float, first_ohm: float, second_volt: float, second_ohm: float
) -> tuple[float, float, Status]: ...
def order_of(*, step: Sequence[float], second: Sequence[int], has_time: Sequence[bool]) -> tuple[list[int], bool]: ...
def isolation_by_voltmeter(
    *,
    pack: tuple[float, float],
    negative: tuple[float, float],
    positive: tuple[float, float],
    loaded: tuple[float, float],
    resistor_ohm: float,
    resistor_relative_standard_uncertainty: float,
    meter_ohm: float,
    meter_relative_standard_uncertainty: float,
    fixed: bool,
    loaded_pole: Pole,
    required_ohm_per_volt: float,
) -> dict[str, Any]: ...
def best_resistor_ohm(*, weak_ohm: float, strong_ohm: float, meter_ohm: float) -> tuple[float, Status]: ...
def isolation_by_tester(
    *,
    plus: _Plain,
    minus: _Plain,
    display_step_ohm: float,
    working_volt: float,
    whole: bool,
    test_voltage_volt: float,
    required_test_voltage_volt: float,
) -> dict[str, Any]: ...
def leak_of_removed_part(*, before: _Plain, after: _Plain, level: float) -> dict[str, Any]: ...
def ladder(*, readings: Sequence[_Plain], level: float) -> dict[str, Any]: ...
def parts_explain_whole(*, parts: Sequence[_Plain], whole: _Plain, level: float, seed: int) -> dict[str, Any]: ...
def without_declared_path(*, reading: _Plain, path: _Plain, declared: bool, level: float) -> dict[str, Any]: ...
def parallel_budget(*, parts: Sequence[_Plain]) -> dict[str, Any]: ...
def ratio_after_before(*, before: _Plain, after: _Plain) -> dict[str, Any]: ...
def fit_decay(
    *,
    points: Sequence[tuple[float, float, float]],
    threshold_volt: float,
    gain_relative_standard_uncertainty: float,
    coverage_factor: float,
) -> dict[str, Any]: ...
def volt_after_touch(
    *, volt: float, capacitance_farad: float, resistance_ohm: float, meter_ohm: float, second: float
) -> tuple[float, Status]: ...
def bonding_resistance(
    *,
    forward_ohm: float,
    reverse_ohm: float,
    four_wire: bool,
    null: tuple[float, float, float],
    null_subtracted: bool,
    test_ampere: float,
    standard_uncertainty_ohm: float,
    gain_relative_standard_uncertainty: float,
) -> dict[str, Any]: ...
def chain_of_joints(*, joints: Sequence[_Plain]) -> dict[str, Any]: ...
def compare_part_to_part(*, between: _Plain, first_to_chassis: _Plain, second_to_chassis: _Plain) -> str: ...
def compare_like_joints(*, joints: Sequence[_Plain]) -> list[dict[str, Any]]: ...
def winding_symmetry(
    *, terminals: Sequence[tuple[float, float, float, float]], tau_kelvin: float, reference_celsius: float
) -> dict[str, Any]: ...
