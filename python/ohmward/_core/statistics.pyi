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
