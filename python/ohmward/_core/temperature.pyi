from collections.abc import Sequence
from enum import IntEnum

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
