from collections.abc import Sequence
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

_Doubles = NDArray[np.float64]
_Fields = tuple[float, bool, int, int, dict[str, float], float]

class LawKind(IntEnum):
    none = 0
    halving = 1
    thermosetting = 2
    arrhenius = 3
    table = 4
    conductor = 5

class Law:
    def __init__(self) -> None: ...
    @property
    def kind(self) -> LawKind: ...
    @property
    def constant(self) -> float: ...
    @property
    def relative_standard_uncertainty(self) -> float: ...
    @property
    def fitted_low_celsius(self) -> float: ...
    @property
    def fitted_high_celsius(self) -> float: ...

def halving(
    *,
    step_kelvin: float,
    step_standard_uncertainty_kelvin: float,
    fitted_low_celsius: float,
    fitted_high_celsius: float,
) -> Law: ...
def arrhenius(
    *,
    activation_energy_electronvolt: float,
    activation_energy_standard_uncertainty_electronvolt: float,
    fitted_low_celsius: float,
    fitted_high_celsius: float,
) -> Law: ...
def conductor(
    *,
    tau_kelvin: float,
    tau_standard_uncertainty_kelvin: float,
    fitted_low_celsius: float,
    fitted_high_celsius: float,
) -> Law: ...
def thermosetting(*, relative_standard_uncertainty: float) -> Law: ...
def factor_table(*, points: Sequence[tuple[float, float]], relative_standard_uncertainty: float) -> Law: ...
def oil_immersed() -> Law: ...
def solid() -> Law: ...
def copper() -> Law: ...
def relative_standard_uncertainty(law: Law) -> float: ...

class FitReason(IntEnum):
    fitted = 0
    too_few_readings = 1
    span_too_small = 2
    does_not_fall = 3
    scatters_too_much = 4

def factors_to_reference(
    law: Law, part_celsius: _Doubles, *, reference_celsius: float
) -> tuple[_Doubles, NDArray[np.int8]]: ...
def to_reference(
    quantity: _Fields,
    *,
    law: Law,
    part_celsius: float,
    standard_uncertainty_kelvin: float,
    reference_celsius: float,
    default_standard_uncertainty_kelvin: float = ...,
    default_relative_standard_uncertainty: float = ...,
) -> _Fields: ...
def fit_law(
    resistance: list[_Fields],
    celsius: _Doubles,
    standard_uncertainty_kelvin: _Doubles,
    *,
    kind: LawKind,
    least_span_kelvin: float,
    level: float,
) -> tuple[Law, int, int, float, float, float, float]: ...
