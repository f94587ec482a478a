"""What stands in the depot and how well it insulates, conducts and keeps its charge; medians are trade judgement."""

import math
from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import NamedTuple

from demo_depot.climate import DAYS, Air, date_of
from demo_depot.draw import Draw

# part, part kind, median ohm of the bulk, decades between units, decades from day to day, K per halving (0: none),
# median ohm of a network beside it (0: none)
VEHICLE_PARTS = (
    ("motor_rear", "motor_winding", 4e9, 0.6, 0.12, 15.0, 0.0),
    ("converter", "converter", 2e9, 0.3, 0.03, 0.0, 20e6),
    ("dcdc", "dcdc", 2e9, 0.3, 0.03, 0.0, 13e6),
    ("charger", "charger", 2e9, 0.3, 0.03, 0.0, 13e6),
    ("compressor", "compressor", 30e6, 0.35, 0.15, 12.0, 0.0),
    ("heater", "heater", 100e6, 0.5, 0.2, 0.0, 0.0),
    ("cable_main", "cable", 10e9, 0.5, 0.1, 0.0, 0.0),
    ("pack", "battery_pack", 2e9, 0.3, 0.05, 0.0, 22e6),
)
LOAD_SIDE = ("motor_rear", "converter", "dcdc", "charger", "compressor", "heater", "cable_main")
CAPACITANCE_FARAD = {
    "motor_winding": 9e-9,
    "converter": 220e-9,
    "dcdc": 150e-9,
    "charger": 150e-9,
    "compressor": 4e-9,
    "heater": 2e-9,
    "cable": 4e-9,
    "battery_pack": 400e-9,
    "load_side": 560e-9,
    "whole_system": 960e-9,
    "stationary_motor": 20e-9,
    "form_wound_machine": 200e-9,
    "transformer": 8e-9,
    "fixed_installation": 10e-9,
    "connector": 0.1e-9,
}
HOUSINGS = (
    "converter_housing",
    "motor_housing",
    "dcdc_housing",
    "charger_housing",
    "compressor_housing",
    "heater_housing",
    "pack_case",
    "junction_box",
)
WORKING_VOLT = {"truck_650v": 650.0, "truck_800v": 800.0, "sweeper_400v": 400.0}


def parallel(*resistances_ohm: float) -> float:
    return 1.0 / sum(1.0 / resistance for resistance in resistances_ohm)


@dataclass(slots=True)
class Part:
    """One insulated part: bulk, surface and network in parallel, plus whatever leak a fault brings."""

    name: str
    kind: str
    bulk_ohm: float
    day_decades: float
    halving_kelvin: float
    network_ohm: float
    surface_ohm: float
    factor: Callable[[int], float] | None = None
    leak_ohm: Callable[[int], float] | None = None

    def resistance(self, day: int, day_normal: float, celsius: float, air: Air) -> float:
        """1/R = 1/bulk + 1/surface + 1/network."""
        bulk = self.bulk_ohm * 10.0 ** (self.day_decades * day_normal)
        if self.halving_kelvin:
            bulk *= 2.0 ** (-(celsius - 20.0) / self.halving_kelvin)
        if self.factor is not None:
            bulk *= self.factor(day)
        surface = self.surface_ohm * 10.0 ** (-max(0.0, air.hall_humidity_percent - 60.0) / 25.0)
        if celsius <= air.hall_dew_point_celsius:
            surface *= 10.0 ** (-1.5)
        conductance = 1.0 / bulk + 1.0 / surface
        if self.network_ohm:
            conductance += 1.0 / self.network_ohm
        if self.leak_ohm is not None:
            leak = self.leak_ohm(day)
            conductance += 1.0 / leak if math.isfinite(leak) else 0.0
        return 1.0 / conductance


# Open-circuit voltage of a 12 V battery by charge, in quarters from 0 to 1; lfp has four cells.
OPEN_VOLT = {
    "flooded": (11.89, 12.06, 12.24, 12.45, 12.65),
    "efb": (11.94, 12.12, 12.32, 12.54, 12.75),
    "agm": (11.80, 12.05, 12.35, 12.62, 12.85),
    "gel": (11.80, 12.00, 12.40, 12.60, 12.80),
    "lfp": (12.00, 12.95, 13.08, 13.20, 13.30),
}


def open_volt(battery_type: str, charge: float) -> float:
    table = OPEN_VOLT[battery_type]
    place = min(max(charge, 0.0), 1.0) * (len(table) - 1)
    low = min(int(place), len(table) - 2)
    return table[low] + (place - low) * (table[low + 1] - table[low])


@dataclass(slots=True)
class Battery:
    type: str
    charge_offset: float
    override: Callable[[int, float], float | None] | None = None

    def at_rest(self, day: int, draw: Draw) -> float:
        """Resting voltage after full relaxation; charge 86 ± 10 % in summer, 74 ± 15 % in winter."""
        winter = 0.5 + 0.5 * math.cos(2.0 * math.pi * (date_of(day).timetuple().tm_yday - 15) / 365.25)
        spread = 0.10 + 0.05 * winter
        charge = 0.86 - 0.12 * winter + spread * (0.8 * self.charge_offset + 0.6 * draw.normal())
        volt = open_volt(self.type, min(max(charge, 0.30), 1.0))
        forced = self.override(day, volt) if self.override is not None else None
        return volt if forced is None else forced


@dataclass(slots=True)
class Vehicle:
    id: str
    kind: str
    parts: dict[str, Part]
    joint_ohm: dict[str, Callable[[int], float]]
    batteries: list[Battery]
    day_normals: list[float]
    load_leak_ohm: Callable[[int], float] | None = None
    monitor_always_on: bool = False

    @property
    def working_volt(self) -> float:
        return WORKING_VOLT[self.kind]

    def part(self, name: str, day: int, celsius: float, air: Air) -> float:
        return self.parts[name].resistance(day, self.day_normals[day], celsius, air)

    def joined(self, names: tuple[str, ...] | list[str], day: int, celsius: float, air: Air) -> float:
        """Named parts in parallel, with the load side's own leak (a connector)."""
        conductance = sum(1.0 / self.part(name, day, celsius, air) for name in names)
        if self.load_leak_ohm is not None and math.isfinite(leak := self.load_leak_ohm(day)):
            conductance += 1.0 / leak
        return 1.0 / conductance


class Plant(NamedTuple):
    id: str
    part: Part
    test_volt: float
    absorption_ohm: float
    exponent: float
    capacitance_farad: float
    day_normals: list[float]


@dataclass(slots=True)
class Fleet:
    vehicles: list[Vehicle] = field(default_factory=list)
    motors: list[Plant] = field(default_factory=list)
    large: list[Plant] = field(default_factory=list)
    feeders: list[Plant] = field(default_factory=list)

    def of_kind(self, start: str) -> list[Vehicle]:
        return [vehicle for vehicle in self.vehicles if vehicle.kind.startswith(start)]


def make_fleet(seed: int) -> Fleet:
    draw = Draw(seed, "fleet")
    fleet = Fleet()
    names = [(f"T-{n:02d}", "truck_650v" if n <= 18 else "truck_800v") for n in range(1, 27)]
    names += [(f"SW-{n:02d}", "sweeper_400v") for n in range(1, 15)]
    for name, kind in names:
        fleet.vehicles.append(_vehicle(name, kind, draw))
    for n in range(1, 21):
        part = Part("winding", "stationary_motor", draw.decades(1e9, 0.6), 0.15, 10.0, 0.0, draw.decades(1e11, 0.5))
        fleet.motors.append(
            Plant(f"{draw.choice(('PUMP', 'FAN', 'SAW'))}-{n:02d}", part, 500, 0.0, 0.0, 20e-9, _days(draw))
        )
    for name, kind, conduction, absorption, capacitance in (
        ("PRESS-1", "form_wound_machine", 9.8e9, 2.4e9, 200e-9),
        ("MILL-1", "form_wound_machine", 7.5e9, 2.1e9, 230e-9),
        ("TR-1", "transformer", 6.0e9, 6.0e9, 80e-9),
    ):
        part = Part("winding", kind, conduction, 0.02, 10.0, 0.0, 1e13)
        fleet.large.append(Plant(name, part, 1000, absorption, 0.8, capacitance, _days(draw)))
    for n in range(1, 9):
        part = Part("feeder", "fixed_installation", draw.decades(3e8, 0.4), 0.15, 0.0, 0.0, draw.decades(1e11, 0.5))
        fleet.feeders.append(Plant(f"CP-{n:02d}", part, 500, 0.0, 0.0, 10e-9, _days(draw)))
    return fleet


def _days(draw: Draw) -> list[float]:
    normals: list[float] = draw.generator.standard_normal(DAYS).tolist()
    return normals


def _vehicle(name: str, kind: str, draw: Draw) -> Vehicle:
    aged = draw.chance(0.3)
    parts = {}
    for part, part_kind, median, decades, daily, halving, network in VEHICLE_PARTS:
        step = draw.uniform(10.0, 20.0) if part_kind == "motor_winding" else halving
        salted = aged and part_kind == "motor_winding"  # five years of salt and washing
        bulk = draw.decades(0.6e9 if salted else median, decades)
        surface = draw.decades(3e9 if aged else 1e11, 0.4)
        parts[part] = Part(
            part,
            part_kind,
            bulk,
            0.2 if salted else daily,
            step,
            draw.decades(network, 0.25) if network else 0.0,
            surface,
        )
    joints = {}
    for housing in HOUSINGS:
        ohm = draw.uniform(0.020, 0.080) if draw.chance(0.03) else 0.006 * math.exp(draw.normal(0.0, 0.7))
        joints[housing] = _constant(ohm)
    if kind == "sweeper_400v":
        batteries = [Battery(draw.weighted(("flooded", "efb", "agm"), (5, 2, 3)), draw.normal())]
    else:
        battery_type, offset = draw.weighted(("flooded", "agm", "gel"), (6, 3, 1)), draw.normal()
        batteries = [Battery(battery_type, offset), Battery(battery_type, offset)]
    return Vehicle(name, kind, parts, joints, batteries, _days(draw))


def _constant(value: float) -> Callable[[int], float]:
    return lambda _day: value


def by_visit(days: list[int], values: list[float]) -> Callable[[int], float]:
    """Value of the latest visit up to a day; the first before all of them."""
    return lambda day: values[max(0, bisect_right(days, day) - 1)]
