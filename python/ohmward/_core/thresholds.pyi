from typing import Any

import numpy as np
from numpy.typing import NDArray

_Doubles = NDArray[np.float64]
_Columns = tuple[_Doubles, _Doubles, _Doubles]

class Units:
    def __init__(
        self,
        low: _Doubles,
        high: _Doubles,
        event: NDArray[np.uint8],
        weight: _Doubles,
        cluster: NDArray[np.int64],
        stratum: NDArray[np.int64],
    ) -> None: ...

def area_under_curve(units: Units, *, level: float) -> dict[str, Any]: ...
def compare_areas(units: Units, low: _Doubles, high: _Doubles, *, level: float) -> dict[str, Any]: ...
def roc_curve(units: Units) -> tuple[_Doubles, _Doubles, _Doubles, _Doubles, _Doubles, int]: ...
def rates_at(units: Units, threshold: float, *, level: float, exact: bool, prevalence: float) -> dict[str, Any]: ...
def threshold_for(
    units: Units, *, sensitivity: bool, target: float, level: float, exact: bool
) -> tuple[float, float, float, int]: ...
def best_threshold(
    units: Units,
    *,
    cost_of_miss: float,
    cost_of_false_alarm: float,
    prevalence: float,
    replicates: int,
    level: float,
    seed: int,
    threads: int,
) -> dict[str, Any]: ...
def rule_at(
    units: Units, threshold: float, *, cost_of_miss: float, cost_of_false_alarm: float, prevalence: float
) -> dict[str, Any]: ...
def decision_curve(
    units: Units, threshold: float, probability: _Doubles, *, prevalence: float, level: float
) -> dict[str, Any]: ...
def attenuation(
    with_event: _Columns,
    without_event: _Columns,
    *,
    area: float,
    standard_error: float,
    degrees_of_freedom: float,
    level: float,
) -> dict[str, Any]: ...
