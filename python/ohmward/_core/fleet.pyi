from enum import IntEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ohmward._core.temperature import Law

_Doubles = NDArray[np.float64]
_Fields = tuple[float, bool, int, int, dict[str, float], float]

class ChangeKind(IntEnum):
    none = 0
    steady = 1
    step = 2
    growing = 3

class ChangeDirection(IntEnum):
    either = 0
    fall = 1
    rise = 2

def trend(
    day: _Doubles,
    resistance: list[_Fields],
    part_celsius: _Doubles,
    standard_uncertainty_kelvin: _Doubles,
    after_repair: NDArray[np.bool_],
    *,
    law: Law,
    reference_celsius: float,
    lower_limit_ohm: float,
    level: float,
    horizon_day: float,
    like_scatter: float,
    like_degrees_of_freedom: float,
) -> dict[str, Any]: ...
def like_scatter(
    parts: list[tuple[_Doubles, list[_Fields], _Doubles, _Doubles, NDArray[np.bool_]]],
    *,
    law: Law,
    reference_celsius: float,
) -> tuple[float, float]: ...
def find_change(
    day: _Doubles,
    resistance: list[_Fields],
    part_celsius: _Doubles,
    standard_uncertainty_kelvin: _Doubles,
    after_repair: NDArray[np.bool_],
    *,
    law: Law,
    reference_celsius: float,
    false_rate: float,
    direction: ChangeDirection,
    like_scatter: float,
    like_degrees_of_freedom: float,
) -> dict[str, Any]: ...
def compare_like(readings: list[_Fields], *, factor: float) -> list[tuple[float, float, bool, int]]: ...
def censored_line(
    x: _Doubles, y: _Doubles, censoring: NDArray[np.int8], standard_uncertainty: _Doubles, *, estimate_scatter: bool
) -> tuple[int, list[float], list[float], float, float]: ...
