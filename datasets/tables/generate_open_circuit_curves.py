"""Writes open_circuit_curves.csv and open_circuit_entropy.csv: open-circuit voltage of one cell against charge.

Run `python datasets/tables/generate_open_circuit_curves.py` after a change; `--check` compares with the files instead.
Lead-acid rows are published tables, linear between their points. Lithium rows are computed from published half-cell
functions: charge 0 and 1 are where the full cell meets its published voltage limits, and the windows of both electrodes
follow from lithium balance. Steep ends get finer steps, so that linear interpolation stays within 1 mV of the function
above 5 % charge.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.optimize import brentq

HERE = Path(__file__).parent
STEPS = [np.arange(0, 0.06, 0.0025), np.arange(0.06, 0.97, 0.01), np.arange(0.97, 1.0001, 0.0025)]
CHARGE = np.unique(np.round(np.concatenate(STEPS), 4))
LEAD_CELLS = 6
ENHANCED_SHIFT_VOLT = 1.280 - 1.265  # cell rule V = SG + 0.845: the shift of the acid is the shift of the voltage

exp, tanh = np.exp, np.tanh
Potential = Callable[[np.ndarray], np.ndarray]


@dataclass(frozen=True, kw_only=True)
class Electrode:
    potential: Potential
    active_fraction: float
    thickness_metre: float
    maximum_concentration: float  # mol/m3

    @property
    def capacity(self) -> float:
        return self.active_fraction * self.thickness_metre * self.maximum_concentration  # mol/m2


@dataclass(frozen=True, kw_only=True)
class Window:
    """Stoichiometries at charge 0 and 1 of the negative (x) and the positive (y) electrode."""

    x0: float
    x1: float
    y0: float
    y1: float


def window_by_balance(
    negative: Electrode, positive: Electrode, *, x: float, y: float, low_volt: float, high_volt: float
) -> Window:
    """Lithium is conserved: y = (n - x Qn) / Qp. Charge 0 and 1 are where the cell meets its limits."""
    lithium = x * negative.capacity + y * positive.capacity

    def cell(x_: float) -> float:
        y_ = (lithium - x_ * negative.capacity) / positive.capacity
        return float(positive.potential(y_) - negative.potential(x_))

    lowest = max(1e-6, (lithium - (1 - 1e-9) * positive.capacity) / negative.capacity)
    highest = min(1 - 1e-6, (lithium - 1e-6 * positive.capacity) / negative.capacity)
    x0 = brentq(lambda s: cell(s) - low_volt, lowest, highest, xtol=1e-14)
    x1 = brentq(lambda s: cell(s) - high_volt, lowest, highest, xtol=1e-14)
    at = [(lithium - s * negative.capacity) / positive.capacity for s in (x0, x1)]
    return Window(x0=x0, x1=x1, y0=at[0], y1=at[1])


def full_cell(negative: Potential, positive: Potential, window: Window) -> Potential:
    def volt(charge: np.ndarray) -> np.ndarray:
        x = window.x0 + charge * (window.x1 - window.x0)
        y = window.y0 + charge * (window.y1 - window.y0)
        return positive(y) - negative(x)

    return volt


# Half-cell functions against lithium, by published parameter set.
def graphite_chen(x):
    return (
        1.9793 * exp(-39.3631 * x) + 0.2482 - 0.0909 * tanh(29.8538 * (x - 0.1234))
        - 0.04478 * tanh(14.9159 * (x - 0.2769)) - 0.0205 * tanh(30.4444 * (x - 0.6103))
    )  # fmt: skip


def nmc811_chen(y):
    return (
        -0.8090 * y + 4.4875 - 0.0428 * tanh(18.5138 * (y - 0.5542)) - 17.7326 * tanh(15.7890 * (y - 0.3117))
        + 17.5842 * tanh(15.9308 * (y - 0.3120))
    )  # fmt: skip


def lfp_afshar(y):
    return 3.4077 - 0.020269 * y + 0.5 * exp(-150 * y) - 0.9 * exp(-30 * (1 - y))


def graphite_mohtat(x):
    steps = [(0.0120, 0.127, 0.016), (0.0118, 0.155, 0.016), (0.0035, 0.220, 0.020), (0.0095, 0.190, 0.013),
             (0.0145, 0.490, 0.020), (0.0800, 1.030, 0.055)]  # fmt: skip
    return 0.063 + 0.8 * exp(-75 * (x + 0.001)) - sum(a * tanh((x - c) / w) for a, c, w in steps)


def nmc_mohtat(y):
    return (
        np.polyval([-2.2166, 3.5146, -2.0843, 1.6225, -1.6518, 4.3452], y) - 0.5623e-4 * exp(109.451 * y - 100.006)
    )  # fmt: skip


def graphite_kim(x):
    steps = [(0.0351, 0.286, 0.083), (0.0045, 0.9, 0.119), (0.035, 0.99, 0.05), (0.0147, 0.5, 0.034),
             (0.102, 0.194, 0.142), (0.022, 0.98, 0.0164), (0.011, 0.124, 0.0226), (-0.0155, 0.105, 0.029)]  # fmt: skip
    return 0.124 + 1.5 * exp(-70 * x) - sum(a * tanh((x - c) / w) for a, c, w in steps)


def nca_kim(y):
    polynomial = [1.638, -2.222, 15.056, -23.488, 81.246, -344.566, 621.3475, -554.774, 264.427, -66.3691, 11.8058]
    return np.polyval(polynomial, y) - 0.61386 * exp(5.8201 * y**136.4)


def graphite_exchange_lfp(x):
    return (
        5.29210878e01 * exp(-1.72699386e02 * x) - 1.17963399e03
        + 1.20956356e03 * tanh(6.72033948e01 * (x + 2.44746396e-02))
        + 4.52430314e-02 * tanh(-1.47542326e01 * (x - 1.62746053e-01))
        + 2.01855800e01 * tanh(-2.46666302e01 * (x - 1.12986136e00))
        + 2.01708039e-02 * tanh(-1.19900231e01 * (x - 5.49773440e-01))
        + 4.99616805e01 * tanh(-6.11370883e01 * (x + 4.69382558e-03))
    )  # fmt: skip


def lfp_exchange(y):
    return (
        3.41285712e00 - 1.49721852e-02 * y + 3.54866018e14 * exp(-3.95729493e02 * y)
        - 1.45998465e00 * exp(-1.10108622e02 * (1 - y))
    )  # fmt: skip


def graphite_exchange_nmc(x):
    return (
        9.47057878e-01 * exp(-1.59418743e02 * x) - 3.50928033e04
        + 1.64230269e-01 * tanh(-4.55509094e01 * (x - 3.24116012e-02))
        + 3.69968491e-02 * tanh(-1.96718868e01 * (x - 1.68334476e-01))
        + 1.91517003e04 * tanh(3.19648312e00 * (x - 1.85139824e00))
        + 5.42448511e04 * tanh(-3.19009848e00 * (x - 2.01660395e00))
    )  # fmt: skip


def nmc111_exchange(y):
    return (
        -3.04420906 * y + 10.04892207 - 0.65637536 * tanh(-4.02134095 * (y - 0.80063948))
        + 4.24678547 * tanh(12.17805062 * (y - 7.57659337)) - 0.3757068 * tanh(59.33067782 * (y - 0.99784492))
    )  # fmt: skip


# Entropic coefficients [V/K] of the exchange-format example.
def graphite_entropy(x):
    return (-0.1112 * x + 0.02914 + 0.3561 * exp(-((x - 0.08309) ** 2) / 0.004616)) / 1000


# Measured on full cells; the ends are held.
LFP_ENTROPY = ([0.1, 0.2, 0.3, 0.5, 0.7], [-1.6e-4, -1.2e-4, -0.4e-4, 1.1e-4, 1.4e-4])


def nmc_entropy(y):
    return np.full_like(np.asarray(y, dtype=float), -1e-4)


EXCHANGE_LFP = Window(x0=0.0016261, x1=0.82258, y0=0.95038, y1=0.0875)
EXCHANGE_NMC = Window(x0=0.005504, x1=0.75668, y0=0.96210, y1=0.42424)


def by_balance(negative: Electrode, positive: Electrode, **limits: float) -> Potential:
    return full_cell(negative.potential, positive.potential, window_by_balance(negative, positive, **limits))


def lithium_curves() -> dict[str, tuple[Potential, str]]:
    def electrode(potential, fraction, thickness_metre, concentration):
        return Electrode(
            potential=potential,
            active_fraction=fraction,
            thickness_metre=thickness_metre,
            maximum_concentration=concentration,
        )

    return {
        "nmc811_chen_2020": (
            by_balance(
                electrode(graphite_chen, 0.75, 85.2e-6, 33133), electrode(nmc811_chen, 0.665, 75.6e-6, 63104),
                x=29866 / 33133, y=17038 / 63104, low_volt=2.5, high_volt=4.2,
            ), "half-cell-chen-2020",
        ),
        "nmc111_exchange_2022": (
            full_cell(graphite_exchange_nmc, nmc111_exchange, EXCHANGE_NMC), "parameter-exchange-nmc",
        ),
        "nmc_mohtat_2020": (
            by_balance(
                electrode(graphite_mohtat, 0.61, 62e-6, 28746), electrode(nmc_mohtat, 0.445, 67e-6, 35380),
                x=48.8682 / 28746, y=31513 / 35380, low_volt=2.8, high_volt=4.2,
            ), "half-cell-mohtat-2020",
        ),
        "nca_kim_2011": (
            by_balance(
                electrode(graphite_kim, 0.51, 70e-6, 28700), electrode(nca_kim, 0.41, 50e-6, 49000),
                x=18081 / 28700, y=20090 / 49000, low_volt=2.7, high_volt=4.2,
            ), "half-cell-kim-2011",
        ),
        "lfp_exchange_2022": (
            full_cell(graphite_exchange_lfp, lfp_exchange, EXCHANGE_LFP), "parameter-exchange-lfp",
        ),
        "lfp_prada_2013": (
            by_balance(
                electrode(graphite_chen, 0.58, 34e-6, 30555), electrode(lfp_afshar, 0.374, 80e-6, 22806),
                x=0.81, y=0.0038, low_volt=2.0, high_volt=3.6,
            ), "half-cell-prada-2013",
        ),
    }  # fmt: skip


def lead_curves() -> dict[str, tuple[list[float], list[float], str]]:
    """Published tables: charge, volt of a 12 V battery, source."""
    tenths = [i / 10 for i in range(11)]
    quarters = [0, 0.25, 0.5, 0.75, 1]
    flooded = [11.89, 12.06, 12.24, 12.45, 12.65]
    enhanced = [volt + LEAD_CELLS * ENHANCED_SHIFT_VOLT for volt in flooded]
    return {
        "flooded": (quarters, flooded, "lead-acid-flooded-table"),
        "enhanced_flooded": (quarters, enhanced, "lead-acid-enhanced-flooded"),
        "vrla_linear_rule": ([0, 1], [11.80, 12.80], "lead-acid-linear-rule"),
        "vrla_26_ah": (
            tenths, [11.70, 11.85, 11.96, 12.11, 12.26, 12.37, 12.48, 12.59, 12.67, 12.78, 12.89],
            "lead-acid-26-ah-test",
        ),
        "vrla_91_ah": (
            tenths, [11.406, 11.73, 11.904, 12.096, 12.216, 12.384, 12.492, 12.636, 12.75, 12.918, 12.99],
            "lead-acid-91-ah-data",
        ),
        "gel": (quarters, [11.80, 12.00, 12.40, 12.60, 12.80], "lead-acid-gel-table"),
    }  # fmt: skip


HEADER = "# Made by generate_open_circuit_curves.py; do not edit. Linear interpolation between rows. One cell.\n"


def curve_table() -> str:
    rows = ["curve,charge,cell_volt,source"]
    for name, (charge, volt, source) in lead_curves().items():
        steps = np.round(np.linspace(0, 1, 101), 2)
        for s, v in zip(steps, np.interp(steps, charge, volt) / LEAD_CELLS, strict=True):
            rows.append(f"{name},{s:.4f},{v:.9f},{source}")
    for name, (volt, source) in lithium_curves().items():
        rows += [f"{name},{s:.4f},{v:.9f},{source}" for s, v in zip(CHARGE, volt(CHARGE), strict=True)]
    return HEADER + "\n".join(rows) + "\n"


def entropy_table() -> str:
    rows = ["chemistry,charge,volt_per_kelvin,standard_uncertainty_volt_per_kelvin,source"]
    charge = np.round(np.linspace(0, 1, 21), 2)
    nmc = EXCHANGE_NMC
    x, y = nmc.x0 + charge * (nmc.x1 - nmc.x0), nmc.y0 + charge * (nmc.y1 - nmc.y0)
    nmc_values = nmc_entropy(y) - graphite_entropy(x)
    for chemistry, values, uncertainty, source in [
        ("lead", np.full(21, 2e-4), 0.0, "lead-acid-temperature"),
        ("lfp", np.interp(charge, *LFP_ENTROPY), 1e-4, "lfp-entropic-coefficient"),
        ("nmc", nmc_values, 1e-4, "parameter-exchange-nmc"),
        ("nca", np.zeros(21), 2e-4, "entropic-coefficient-unknown"),
    ]:
        rows += [f"{chemistry},{s:.2f},{v:.6e},{uncertainty:.1e},{source}" for s, v in zip(charge, values, strict=True)]
    return HEADER + "\n".join(rows) + "\n"


def main() -> int:
    tables = {"open_circuit_curves.csv": curve_table(), "open_circuit_entropy.csv": entropy_table()}
    if "--check" in sys.argv[1:]:
        stale = [name for name, text in tables.items() if (HERE / name).read_text(encoding="utf-8") != text]
        print("\n".join(f"{name} differs from what the generator makes" for name in stale))
        return 1 if stale else 0
    for name, text in tables.items():
        (HERE / name).write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
