# A value ufunc has one float64 output; its twin <name>_status one int8 output.
# Inputs first, then what all elements share.
import numpy as np
from numpy.typing import NDArray

from ohmward._core.numerics import InstructionLevel

halving_to_reference: np.ufunc
halving_to_reference_status: np.ufunc
thermosetting_to_reference: np.ufunc
thermosetting_to_reference_status: np.ufunc
arrhenius_to_reference: np.ufunc
arrhenius_to_reference_status: np.ufunc
conductor_to_reference: np.ufunc
conductor_to_reference_status: np.ufunc
halving_slope_per_kelvin: np.ufunc
halving_slope_per_kelvin_status: np.ufunc
thermosetting_slope_per_kelvin: np.ufunc
thermosetting_slope_per_kelvin_status: np.ufunc
arrhenius_slope_per_kelvin: np.ufunc
arrhenius_slope_per_kelvin_status: np.ufunc
conductor_slope_per_kelvin: np.ufunc
conductor_slope_per_kelvin_status: np.ufunc
dew_point_celsius: np.ufunc
dew_point_celsius_status: np.ufunc
resistance_ratio: np.ufunc
resistance_ratio_status: np.ufunc
absorption_resistance_ohm: np.ufunc
absorption_resistance_ohm_status: np.ufunc
attainable_ratio: np.ufunc
attainable_ratio_status: np.ufunc
time_constant_second: np.ufunc
time_constant_second_status: np.ufunc
resistance_by_loss_of_charge_ohm: np.ufunc
resistance_by_loss_of_charge_ohm_status: np.ufunc
capacitance_from_charge_farad: np.ufunc
capacitance_from_charge_farad_status: np.ufunc
dielectric_discharge: np.ufunc
dielectric_discharge_status: np.ufunc
parallel_resistance_ohm: np.ufunc
parallel_resistance_ohm_status: np.ufunc
unloaded_resistance_ohm: np.ufunc
unloaded_resistance_ohm_status: np.ufunc
leak_of_removed_part_ohm: np.ufunc
leak_of_removed_part_ohm_status: np.ufunc
discharge_time_second: np.ufunc
discharge_time_second_status: np.ufunc
capacitor_energy_joule: np.ufunc
capacitor_energy_joule_status: np.ufunc
capacitor_energy_above_joule: np.ufunc
capacitor_energy_above_joule_status: np.ufunc
isolation_by_pack_voltage_ohm: np.ufunc
isolation_by_pack_voltage_ohm_status: np.ufunc
isolation_by_pole_voltages_ohm: np.ufunc
isolation_by_pole_voltages_ohm_status: np.ufunc

# Constants of the dew point in the order of its arguments.
magnus_over_water: tuple[float, float, float, float]
thermosetting_ieee_43: tuple[float, float, float, float]

def halving_correction(
    resistance_ohm: NDArray[np.float64],
    celsius: NDArray[np.float64],
    relative_standard_uncertainty: NDArray[np.float64],
    standard_uncertainty_kelvin: NDArray[np.float64],
    *,
    step_kelvin: float,
    reference_celsius: float,
    low_celsius: float,
    high_celsius: float,
    step_standard_uncertainty_kelvin: float,
    threads: int = 0,
    level: InstructionLevel = ...,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int8]]: ...
def thermosetting_correction(
    resistance_ohm: NDArray[np.float64],
    celsius: NDArray[np.float64],
    relative_standard_uncertainty: NDArray[np.float64],
    standard_uncertainty_kelvin: NDArray[np.float64],
    *,
    coefficient_below_kelvin: float,
    coefficient_above_kelvin: float,
    knot_celsius: float,
    zero_kelvin: float,
    reference_celsius: float,
    low_celsius: float,
    high_celsius: float,
    coefficient_relative_standard_uncertainty: float,
    threads: int = 0,
    level: InstructionLevel = ...,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int8]]: ...
def arrhenius_correction(
    resistance_ohm: NDArray[np.float64],
    celsius: NDArray[np.float64],
    relative_standard_uncertainty: NDArray[np.float64],
    standard_uncertainty_kelvin: NDArray[np.float64],
    *,
    activation_energy_electronvolt: float,
    reference_celsius: float,
    low_celsius: float,
    high_celsius: float,
    activation_energy_standard_uncertainty_electronvolt: float,
    threads: int = 0,
    level: InstructionLevel = ...,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int8]]: ...
def conductor_correction(
    resistance_ohm: NDArray[np.float64],
    celsius: NDArray[np.float64],
    relative_standard_uncertainty: NDArray[np.float64],
    standard_uncertainty_kelvin: NDArray[np.float64],
    *,
    tau_kelvin: float,
    reference_celsius: float,
    low_celsius: float,
    high_celsius: float,
    tau_standard_uncertainty_kelvin: float,
    threads: int = 0,
    level: InstructionLevel = ...,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int8]]: ...
