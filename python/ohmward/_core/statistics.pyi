from collections.abc import Callable, Sequence
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from ohmward._core.core import Status

_Doubles = NDArray[np.float64]

class BootstrapInterval(IntEnum):
    percentile = 0
    bias_corrected = 1

def clopper_pearson(*, events: int, trials: int, level: float) -> tuple[float, float, float, Status]: ...
def wilson(*, events: int, trials: int, level: float) -> tuple[float, float, float, Status]: ...
def bootstrap(
    statistic: Callable[[NDArray[np.uint32]], _Doubles],
    *,
    units: int,
    clusters: Sequence[int],
    estimates: int,
    replicates: int,
    level: float,
    interval: BootstrapInterval,
    seed: int,
    threads: int,
) -> list[tuple[float, float, float, float, int, _Doubles, Status]]: ...

class SurvivalCurve:
    last_time: float
    status: Status
    time: _Doubles
    at_risk: NDArray[np.uint64]
    failed: NDArray[np.uint64]
    survival: _Doubles
    standard_uncertainty: _Doubles
    low: _Doubles
    high: _Doubles
    def at(self, time: float) -> tuple[float, float, float, float]: ...

def kaplan_meier(*, entry: _Doubles, until: _Doubles, failed: NDArray[np.bool_], level: float) -> SurvivalCurve: ...
def log_rank(
    *, entry: _Doubles, until: _Doubles, failed: NDArray[np.bool_], groups: Sequence[int]
) -> tuple[list[tuple[int, int, int, float]], float, float, float, Status]: ...

_Sample = tuple[float, float, float, float, float, float, int, int, int, Status]

def censored_normal(*, low: _Doubles, high: _Doubles) -> _Sample: ...
def censored_lognormal(*, low: _Doubles, high: _Doubles) -> _Sample: ...

_Component = tuple[float, float, int]
_Components = tuple[float, float, _Component, _Component, _Component, _Component, Status]

def nested_components(readings: _Doubles, *, outer: Sequence[int], inner: Sequence[int]) -> _Components: ...
def crossed_components(
    readings: _Doubles, *, first: Sequence[int], second: Sequence[int], interaction: bool
) -> _Components: ...
def robust_slope(
    x: _Doubles, y: _Doubles, censoring: NDArray[np.int8], *, level: float
) -> tuple[float, float, float, float, Status]: ...
