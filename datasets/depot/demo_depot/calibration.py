"""Clean rows spread over ± 6 standard uncertainties around their limits, each with its true value.

They ask whether the whole chain keeps its promise: of the rows whose true value misses its limit hardly any may pass.
"""

import tomllib
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from demo_depot.meters import HERE, Range, scale_of, sheets

SPREAD = 6.0
TEMPERATURE_STANDARD_UNCERTAINTY_KELVIN = 2.0
REFERENCE_CELSIUS = 40.0
KNOWN_CELSIUS = (10.0, 70.0)
UNKNOWN_CELSIUS = (-15.0, 70.0)
HEADER = (
    "reading_id,object_id,object_kind,part,part_kind,quantity,value,unit,taken_at,instrument_id,test_voltage_volt,"
    "from_point,to_point,part_celsius,part_celsius_u,test_ampere,wires,null_ohm,rest_hour,battery_type,connected"
)


class Case(NamedTuple):
    """One limit read with one meter. The sheet's entry is found by quantity, voltage and the limit itself."""

    name: str
    limit: str
    instrument: str
    quantity: str
    test_voltage_volt: float
    log_scale: bool
    corrected: bool
    with_temperature: bool
    cells: dict[str, str]


MOTOR = {
    "object_kind": "plant_400v",
    "part": "winding",
    "part_kind": "stationary_motor",
    "from_point": "phases",
    "to_point": "housing",
    "connected": "alone",
}
CASES = (
    Case(
        "motor at 40 °C, temperature written",
        "workshop-stationary-motor",
        "meter-03",
        "insulation_resistance",
        500,
        True,
        True,
        True,
        MOTOR,
    ),
    Case(
        "motor at 40 °C, temperature missing",
        "workshop-stationary-motor",
        "meter-03",
        "insulation_resistance",
        500,
        True,
        True,
        False,
        MOTOR,
    ),
    Case(
        "compressor as read",
        "maker-compressor",
        "meter-02",
        "insulation_resistance",
        500,
        True,
        False,
        True,
        {
            "object_kind": "truck_650v",
            "part": "compressor",
            "part_kind": "compressor",
            "from_point": "hv_plus",
            "to_point": "housing",
            "connected": "alone",
        },
    ),
    Case(
        "compressor as read, temperature missing",
        "maker-compressor",
        "meter-02",
        "insulation_resistance",
        500,
        True,
        False,
        False,
        {
            "object_kind": "truck_650v",
            "part": "compressor",
            "part_kind": "compressor",
            "from_point": "hv_plus",
            "to_point": "housing",
            "connected": "alone",
        },
    ),
    Case(
        "load side as read",
        "maker-load-side",
        "meter-01",
        "insulation_resistance",
        500,
        True,
        False,
        False,
        {
            "object_kind": "truck_650v",
            "part": "load_side",
            "part_kind": "load_side",
            "from_point": "hv_plus",
            "to_point": "chassis",
            "connected": "converter+dcdc+charger+compressor+heater",
        },
    ),
    Case(
        "bonding, two-wire",
        "workshop-bonding",
        "meter-04",
        "bonding_resistance",
        0,
        False,
        False,
        False,
        {
            "object_kind": "truck_650v",
            "part": "converter_housing",
            "part_kind": "housing",
            "from_point": "housing",
            "to_point": "chassis",
            "test_ampere": "0.2",
            "wires": "2",
            "null_ohm": "0.00",
        },
    ),
    Case(
        "bonding, four-wire",
        "workshop-bonding",
        "meter-05",
        "bonding_resistance",
        0,
        False,
        False,
        False,
        {
            "object_kind": "truck_650v",
            "part": "converter_housing",
            "part_kind": "housing",
            "from_point": "housing",
            "to_point": "chassis",
            "test_ampere": "1",
            "wires": "4",
        },
    ),
    Case(
        "near zero",
        "near-zero",
        "meter-06",
        "dc_voltage",
        0,
        False,
        False,
        False,
        {
            "object_kind": "truck_650v",
            "part": "hv_bus",
            "part_kind": "hv_bus",
            "from_point": "hv_plus",
            "to_point": "hv_minus",
        },
    ),
    Case(
        "battery at rest",
        "workshop-resting-12v",
        "meter-06",
        "resting_voltage",
        0,
        False,
        False,
        True,
        {
            "object_kind": "sweeper_400v",
            "part": "battery_a",
            "part_kind": "battery_12v",
            "rest_hour": "24",
            "battery_type": "flooded",
        },
    ),
)


@dataclass(frozen=True, slots=True)
class CalibrationRows:
    """Arrays of one length; values, limits and true values in SI units, true values at the limit's reference.

    `standard_uncertainty` is what the sheet, the temperature and the law give at the limit: in parts of the natural
    logarithm where `log_scale`, else in SI units. `distance` is (true - limit)/u, positive on the better side.
    """

    case: np.ndarray
    true_value: np.ndarray
    limit: np.ndarray
    standard_uncertainty: np.ndarray
    distance: np.ndarray
    value: np.ndarray
    part_celsius: np.ndarray
    decimals: np.ndarray
    unit: np.ndarray

    def csv_text(self) -> str:
        """The rows as a readings table; row n has the reading_id `K-n`, counted from 0 over all cases."""
        lines = [HEADER]
        for index, case in enumerate(CASES):
            rows = np.flatnonzero(self.case == index)
            if rows.size:
                lines += _lines(case, rows, self)
        return "\n".join(lines) + "\n"


def _lines(case: Case, rows: np.ndarray, all_rows: CalibrationRows) -> list[str]:
    decimals, unit = int(all_rows.decimals[rows[0]]), str(all_rows.unit[rows[0]])
    get = case.cells.get
    head = f",C-{case.limit},{get('object_kind', '')},{get('part', '')},{get('part_kind', '')},{case.quantity},"
    volt = f"{case.test_voltage_volt:g}" if case.test_voltage_volt else ""
    middle = f",{unit},2024-03-04,{case.instrument},{volt},{get('from_point', '')},{get('to_point', '')},"
    tail = "," + ",".join(
        get(name, "") for name in ("test_ampere", "wires", "null_ohm", "rest_hour", "battery_type", "connected")
    )
    values = all_rows.value[rows].tolist()
    if not case.with_temperature:
        return [f"K-{n}{head}{v:.{decimals}f}{middle},{tail}" for n, v in zip(rows.tolist(), values, strict=True)]
    u = f"{TEMPERATURE_STANDARD_UNCERTAINTY_KELVIN:g}"
    celsius = all_rows.part_celsius[rows].tolist()
    return [
        f"K-{n}{head}{v:.{decimals}f}{middle}{t:.1f},{u}{tail}"
        for n, v, t in zip(rows.tolist(), values, celsius, strict=True)
    ]


def calibration_rows(seed: int, rows: int = 1_000_000) -> CalibrationRows:
    """`rows` clean rows, the same number for every case."""
    generator = np.random.Generator(np.random.PCG64([seed, 0xCA11]))
    limits, laws = _limits(), _laws()
    parts = [
        _one_case(generator, case, index, limits[case.limit], laws, size)
        for index, (case, size) in enumerate(zip(CASES, _sizes(rows), strict=True))
    ]
    return CalibrationRows(*(np.concatenate(columns) for columns in zip(*parts, strict=True)))


def _sizes(rows: int) -> list[int]:
    share, rest = divmod(rows, len(CASES))
    return [share + (index < rest) for index in range(len(CASES))]


def _one_case(generator: np.random.Generator, case: Case, index: int, limit: dict, laws: dict, size: int) -> tuple:
    better_is_higher = "lower" in limit
    bound = limit["lower" if better_is_higher else "upper"] * scale_of(limit["unit"])
    ranges = sheets()[case.instrument][0].ranges[case.quantity, case.test_voltage_volt]
    distance = generator.uniform(-SPREAD, SPREAD, size)
    side = 1.0 if better_is_higher else -1.0
    celsius = np.round(generator.uniform(*KNOWN_CELSIUS, size), 1)
    if case.log_scale:
        temperature_part = np.zeros(size)
        true_factor = np.ones(size)
        if case.corrected:
            celsius, temperature_part, true_factor = _temperature(generator, case, laws, size)
        # the sheet's bound at the resistance that is really read where the true value sits at its limit
        read_at_limit = bound * true_factor
        meter_part = _bound(ranges, read_at_limit)[0] / read_at_limit / np.sqrt(3.0)
        u = np.hypot(meter_part, temperature_part)
        true = bound * np.exp(side * distance * u)
        seen = true * true_factor
    else:
        u = np.full(size, float(_bound(ranges, np.array([bound]))[0][0]) / np.sqrt(3.0))
        true = bound + side * distance * u
        seen = true
    unit, decimals, scale = ranges[0].unit, ranges[0].decimals, ranges[0].scale
    value = np.round(_shown(ranges, seen, generator.uniform(-1.0, 1.0, size)) / scale, decimals) + 0.0
    return (
        np.full(size, index, np.int8),
        true,
        np.full(size, bound),
        u,
        distance,
        value,
        celsius,
        np.full(size, decimals, np.int8),
        np.full(size, unit, "U2"),
    )


def _temperature(generator: np.random.Generator, case: Case, laws: dict, size: int) -> tuple:
    """Written temperature, its and the law's share of u(ln R), and what the true law makes of the resistance."""
    law = laws[case.cells["part_kind"]]
    step, step_u = law["step_kelvin"], law["step_standard_uncertainty_kelvin"]
    u_kelvin = TEMPERATURE_STANDARD_UNCERTAINTY_KELVIN
    written = np.round(generator.uniform(*(KNOWN_CELSIUS if case.with_temperature else UNKNOWN_CELSIUS), size), 1)
    true_celsius = written + (u_kelvin * generator.standard_normal(size) if case.with_temperature else 0.0)
    true_step = step + step_u * np.clip(generator.standard_normal(size), -4.0, 4.0)
    factor = np.exp2((REFERENCE_CELSIUS - true_celsius) / true_step)
    law_part = np.abs(written - REFERENCE_CELSIUS) * np.log(2.0) / step**2 * step_u
    reading_part = np.log(2.0) / step * u_kelvin if case.with_temperature else 0.0
    return written, np.hypot(law_part, reading_part), factor


def _limits() -> dict[str, dict]:
    with (HERE / "limits.toml").open("rb") as file:
        return {limit["id"]: limit for limit in tomllib.load(file)["limit"]}


def _laws() -> dict[str, dict]:
    with (HERE / "part_kinds.toml").open("rb") as file:
        return {kind["id"]: kind["law"] for kind in tomllib.load(file)["part_kind"]}


def _bound(ranges: list[Range], value: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Bound of the error and display step in SI units, by the range that shows the value."""
    index = np.searchsorted([r.high * r.scale for r in ranges[:-1]], value)
    share = np.array([r.share for r in ranges])[index]
    step = np.array([r.step * r.scale for r in ranges])[index]
    counts = np.array([r.counts for r in ranges])[index]
    return share * np.abs(value) + counts * step, step


def _shown(ranges: list[Range], seen: np.ndarray, error: np.ndarray) -> np.ndarray:
    """Display in SI units, rounded to its step, for an error given as a part of the bound."""
    shown = np.full(seen.shape, np.nan)
    floor = -np.inf
    for r in ranges:
        step, high = r.step * r.scale, r.high * r.scale
        # half a count is the display's own rounding
        reading = seen + error * (r.share * np.abs(seen) + (r.counts - 0.5) * step)
        # what the range below could not hold never reads as if it could
        reading = np.maximum(np.round(reading / step) * step, floor + step)
        shown = np.where(np.isnan(shown) & (reading <= high), reading, shown)
        floor = high
    return shown
