"""Meters that err inside their own sheets, read from instruments.toml."""

import math
import tomllib
from datetime import date
from functools import cache
from pathlib import Path
from typing import NamedTuple

from demo_depot.climate import date_of
from demo_depot.draw import Draw
from demo_depot.table import Shown

# A meter in date errs by about a third of the counts its sheet allows (trade judgement).
COUNTS_USED = 0.3
HERE = Path(__file__).resolve().parent.parent
PREFIX = {"": 1.0, "k": 1e3, "M": 1e6, "G": 1e9, "m": 1e-3, "µ": 1e-6}


def scale_of(unit: str) -> float:
    return PREFIX[unit[:-1]]


class Range(NamedTuple):
    high: float
    step: float
    decimals: int
    unit: str
    scale: float
    share: float
    counts: float
    gain_share: float


class Sheet(NamedTuple):
    valid_from: date | None
    valid_until: date | None
    correction: float
    source_ampere: float
    zero_below: float
    ranges: dict[tuple[str, float], list[Range]]


@cache
def sheets() -> dict[str, list[Sheet]]:
    """Every meter of instruments.toml with its successive sheets."""
    meters: dict[str, list[Sheet]] = {}
    with (HERE / "instruments.toml").open("rb") as file:
        for entry in tomllib.load(file)["instrument"]:
            ranges: dict[tuple[str, float], list[Range]] = {}
            for r in entry.get("range", []):
                step = r["display_step"]
                ranges.setdefault((r["quantity"], r.get("test_voltage_volt", 0)), []).append(
                    Range(
                        high=r["high"],
                        step=step,
                        decimals=max(0, -math.floor(math.log10(step))),
                        unit=r["unit"],
                        scale=scale_of(r["unit"]),
                        share=r["reading_percent"] / 100.0,
                        counts=r["counts"],
                        gain_share=r.get("gain_share", 0.0),
                    )
                )
            meters.setdefault(entry["id"], []).append(
                Sheet(
                    entry.get("valid_from"),
                    entry.get("valid_until"),
                    entry.get("correction", 0.0),
                    entry.get("source_ampere", 0.0),
                    entry.get("reads_zero_below", 0.0),
                    ranges,
                )
            )
    return meters


class Meters:
    """The depot's meters of one seed: each range has its own fixed share of the gain error."""

    def __init__(self, seed: int, drifting: str | None, drift_per_month: float) -> None:
        self.draw = Draw(seed, "meters")
        self.drifting, self.drift_per_month = drifting, drift_per_month
        self.gains: dict[tuple[str, str, float, int], float] = {}
        for name, successive in sheets().items():
            for (quantity, volt), ranges in successive[0].ranges.items():
                for index in range(len(ranges)):
                    self.gains[name, quantity, volt, index] = self.draw.uniform(-1.0, 1.0)

    def sheet(self, name: str, day: int) -> Sheet:
        successive = sheets()[name]
        if len(successive) == 1:
            return successive[0]
        on = date_of(day)
        return next((s for s in successive if s.valid_until is None or on <= s.valid_until), successive[-1])

    def gain(self, name: str, day: int) -> float:
        """Gain that the sheet does not know: drift, or what a certificate's correction undoes."""
        gain = 1.0 / (1.0 + self.sheet(name, day).correction)
        if name == self.drifting:
            gain *= 1.0 + self.drift_per_month * day / 30.44
        return gain

    def read(self, name: str, quantity: str, value: float, day: int, test_volt: float = 0) -> Shown:
        """What the display shows for a value in SI units: the sheet's bound is never left, drift apart."""
        sheet = self.sheet(name, day)
        if abs(value) < sheet.zero_below:
            return Shown(0.0, 0, sheet.ranges[quantity, test_volt][0].unit)
        value *= self.gain(name, day)
        ranges = sheet.ranges[quantity, test_volt]
        own, counts = self.draw.uniform(-1.0, 1.0), COUNTS_USED * self.draw.uniform(-1.0, 1.0)
        floor = -math.inf
        for index, r in enumerate(ranges):
            inside = value / r.scale
            gain = r.gain_share * self.gains[name, quantity, test_volt, index] + (1.0 - r.gain_share) * own
            shown = inside + r.share * abs(inside) * gain + counts * r.counts * r.step
            if shown <= r.high:
                # what the range below could not hold never reads as if it could
                shown = max(shown, floor / r.scale)
                return Shown(round(round(shown / r.step) * r.step, r.decimals), r.decimals, r.unit)
            above = ranges[min(index + 1, len(ranges) - 1)]
            floor = r.high * r.scale + above.step * above.scale
        last = ranges[-1]
        return Shown(math.inf, last.decimals, last.unit, True, f"{last.high:g}")

    def source_ampere(self, name: str) -> float:
        return sheets()[name][0].source_ampere


def on_board(value_ohm: float, draw: Draw) -> Shown:
    """The vehicle's own monitor: 15 % of the value, 0.01 MΩ steps, nothing above 10 MΩ."""
    shown = value_ohm * math.exp(draw.normal(0.0, 0.15)) / 1e6
    return Shown(math.inf, 2, "MΩ", True, "10") if shown > 10.0 else Shown(round(shown, 2), 2, "MΩ")
