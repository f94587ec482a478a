"""The fifteen planted faults: who has them, and what they do to the truth."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from demo_depot.climate import DAYS, day_of
from demo_depot.draw import Draw
from demo_depot.fleet import Battery, Fleet, Plant, Vehicle, by_visit
from demo_depot.table import Mark

ALL = tuple(range(1, 16))
INSPECTIONS = 4
WATCHED = 12
WATCH_DAYS = tuple(range(20, DAYS - 20, 92))


@dataclass(slots=True)
class Faults:
    """Which vehicle carries which fault. The choice is the same whether a fault is active or not."""

    effects: dict
    active: frozenset[int]
    carrier: dict[int, Vehicle]
    watched: list[Vehicle]
    inspection_days: dict[str, list[int]]
    clip_day: int
    fleet: Fleet
    draw: Draw

    def of(self, number: int) -> dict:
        return self.effects["fault"][str(number)]

    def mark(self, number: int, vehicle_id: str, effect: str = "") -> list[Mark]:
        return [Mark(self.of(number)["kind"], vehicle_id, effect, number)]

    def has(self, number: int, vehicle: Vehicle) -> bool:
        return number in self.active and self.carrier.get(number) is vehicle


def weekday(day: int) -> int:
    """The Friday before a weekend; day 0 is a Monday."""
    return day - max(0, day % 7 - 4)


def choose(seed: int, fleet: Fleet, effects: dict, active: Iterable[int]) -> Faults:
    draw = Draw(seed, "faults")
    trucks_650 = draw.shuffled(fleet.of_kind("truck_650v"))
    trucks_800 = draw.shuffled(fleet.of_kind("truck_800v"))
    sweepers = draw.shuffled(fleet.of_kind("sweeper"))
    carrier = {
        1: trucks_650[0],
        2: trucks_650[1],
        3: trucks_650[2],
        4: sweepers[0],
        6: trucks_800[0],
        8: trucks_800[1],
        9: trucks_650[3],
        10: trucks_650[4],
        11: sweepers[1],
        12: trucks_800[2],
        13: trucks_650[5],
        14: sweepers[2],
    }
    watched = [carrier[1], *trucks_650[6 : 6 + WATCHED - 1]]
    days = {}
    for vehicle in fleet.vehicles:
        first = int(draw.uniform(3, 168))
        days[vehicle.id] = [weekday(first + 178 * visit + int(draw.uniform(0, 6))) for visit in range(INSPECTIONS)]
    clip_day = weekday(int(draw.uniform(60, DAYS - 60)))
    return Faults(effects, frozenset(active), carrier, watched, days, clip_day, fleet, Draw(seed, "fault effects"))


def plant(faults: Faults) -> None:
    """Change the truth of the carriers; the effects on readings follow from it."""
    actions = {1: _motor_seal, 3: _coolant, 4: _strap, 6: _monitor, 11: _lithium_iron, 12: _cell, 15: _press}
    for number, action in actions.items():
        if number in faults.active:
            action(faults)


def _motor_seal(faults: Faults) -> None:
    effect, motor = faults.of(1), faults.carrier[1].parts["motor_rear"]
    motor.bulk_ohm = 0.25e9
    motor.surface_ohm = 1e11
    motor.factor = lambda day: 10.0 ** (effect["drying_decades"] * min(1.0, day / effect["drying_day"]))
    motor.leak_ohm = lambda day: effect["wet_ohm"] if day >= effect["drying_day"] else math.inf


def _coolant(faults: Faults) -> None:
    effect, vehicle = faults.of(3), faults.carrier[3]
    days = faults.inspection_days[vehicle.id]
    vehicle.load_leak_ohm = by_visit(
        days, [effect["first_ohm"] * 10.0 ** (effect["decades_per_visit"] * visit) for visit in range(INSPECTIONS)]
    )


def _strap(faults: Faults) -> None:
    vehicle = faults.carrier[4]
    vehicle.joint_ohm["motor_housing"] = by_visit(faults.inspection_days[vehicle.id], faults.of(4)["ohm"])


def _monitor(faults: Faults) -> None:
    faults.carrier[6].monitor_always_on = True


def _lithium_iron(faults: Faults) -> None:
    effect = faults.of(11)

    def resting(_day: int, _volt: float) -> float:
        return faults.draw.uniform(effect["volt_low"], effect["volt_high"])

    faults.carrier[11].batteries[0] = Battery("lfp", 0.0, resting)


def lost_cell_day(faults: Faults) -> int:
    return day_of(faults.of(12)["year"], faults.of(12)["month"], 5)


def cell_is_lost(faults: Faults, day: int) -> bool:
    return 0 <= day - lost_cell_day(faults) < faults.of(12)["replaced_after_day"]


def _cell(faults: Faults) -> None:
    def resting(day: int, _volt: float) -> float | None:
        return faults.of(12)["volt"] + faults.draw.normal(0.0, 0.05) if cell_is_lost(faults, day) else None

    faults.carrier[12].batteries[0].override = resting


def press_index(effect: dict, day: int) -> float:
    return effect["index_first"] + (effect["index_last"] - effect["index_first"]) * day / DAYS


def conduction_for_index(index: float, absorption_ohm: float, exponent: float) -> float:
    """Conduction that gives a polarisation index beside a given absorption at one minute."""
    fade = 10.0**-exponent
    return absorption_ohm * (index - 1.0) / (1.0 - index * fade)


def _press(faults: Faults) -> None:
    effect, press = faults.of(15), faults.fleet.large[0]
    part = press.part
    part.bulk_ohm = 1.0
    part.factor = lambda day: conduction_for_index(
        press_index(effect, day), effect["absorption_one_minute_ohm"], effect["absorption_exponent"]
    )
    faults.fleet.large[0] = Plant(
        press.id,
        part,
        press.test_volt,
        effect["absorption_one_minute_ohm"],
        effect["absorption_exponent"],
        effect["capacitance_farad"],
        press.day_normals,
    )
