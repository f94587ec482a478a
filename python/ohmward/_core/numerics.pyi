from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

class InstructionLevel(IntEnum):
    baseline = 0
    x86_64_v3 = 1
    x86_64_v4 = 2

def supported(level: InstructionLevel) -> bool: ...
def instruction_level() -> InstructionLevel: ...
def level_text(level: InstructionLevel) -> str: ...

exp: np.ufunc
exp2: np.ufunc
log: np.ufunc
log2: np.ufunc
log1p: np.ufunc
pow: np.ufunc  # noqa: A001 - the name of the function
erf: np.ufunc
erfc: np.ufunc
normal_probability: np.ufunc
normal_quantile: np.ufunc

def uniform(size: int, *, seed: int, block: int = 0, first: int = 0) -> NDArray[np.float64]: ...
def normal(size: int, *, seed: int, block: int = 0, first: int = 0) -> NDArray[np.float64]: ...
def interpolate_linear(
    *, x: NDArray[np.float64], y: NDArray[np.float64], at: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.int8]]: ...
def interpolate_monotone(
    *, x: NDArray[np.float64], y: NDArray[np.float64], at: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.int8]]: ...
def quantiles(values: NDArray[np.float64], levels: NDArray[np.float64]) -> NDArray[np.float64]: ...
