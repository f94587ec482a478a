"""How often the battery room finds the planted battery faults of made depots, and how often it names sound batteries.

    PYTHONPATH=build/dev/python python tests/power/battery_power.py --seeds 200

For each seed two depots are made, one with all planted faults and one with none, and their readings are taken as people
wrote them down: gaps, slips and habits included. Power comes from the first, false naming from the second. A unit
counts as clean where no slip of the pen was planted in its readings. The faults:

10  a 24 V pair drifts apart: named where two readings of A and B running are imbalanced
11  a 12 V battery of four iron-phosphate cells, no type written: named where more than half of its readings give iron
    phosphate a probability above 95 %
12  a cell is lost: named where a reading says so
14  a module 9 mV low on the iron-phosphate plateau: must be told as not decidable, with the uncertainty of the sheet,
    and even with nothing but the display step (14 fine)

Clean batteries are all judged as if no type had been written for fault 11. With the type written, iron phosphate must
never be judged in the words of lead, by the room or by the whole assessment.
"""

import argparse
import csv
import io
import math
import os
import sys
import tempfile
from collections import Counter, defaultdict
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import cache
from itertools import pairwise
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "datasets" / "depot"))

from demo_depot import generate  # noqa: E402

import ohmward as ow  # noqa: E402
from ohmward import battery  # noqa: E402

DEPOT = ROOT / "datasets" / "depot"
PEN = {"typing_error", "wrong_vehicle", "unit_slip"}
QUANTITIES = ("resting_voltage", "module_voltage")
MODULE_CELLS = 8
LIKELY = 0.95
FINE = "14 fine"
DISPLAY_STEP_VOLT = 0.01
FAULTS = {
    10: "pair drifts apart",
    11: "iron phosphate, no type written",
    12: "one cell lost",
    14: "9 mV on the plateau: not decidable",
    FINE: "the same, display step only",
}
# What only lead shows: above these voltages lead is on charge or unrested, iron phosphate rests.
LEAD_WORDS = {"on_charge", "not_rested", "discharged", "cell_missing_suspected", "freezing_risk"}
LEAD_FINDINGS = {"being_charged", "not_settled", "type_missing"}


@dataclass
class Counts:
    """Sums over seeds."""

    found: Counter = field(default_factory=Counter)
    planted: Counter = field(default_factory=Counter)
    named: Counter = field(default_factory=Counter)
    clean_units: Counter = field(default_factory=Counter)
    typed_as_lead: int = 0
    assessed_as_lead: int = 0
    typed: int = 0
    sums_told: int = 0
    sums: int = 0
    told: list = field(default_factory=list)

    def __iadd__(self, other):
        for name, value in vars(self).items():
            if isinstance(value, Counter):
                value.update(getattr(other, name))
            else:
                setattr(self, name, value + getattr(other, name))
        return self


@dataclass(frozen=True)
class Row:
    """One voltage as written down, with what its meter's sheet says of it."""

    line: int
    object_id: str
    part: str
    day: str
    type: str
    volt: float
    own_volt: float
    gain: float
    celsius: float
    rest_hour: float

    @property
    def standard_uncertainty(self):
        return math.hypot(self.own_volt, self.gain * self.volt)

    @property
    def context(self):
        return {"celsius": self.celsius, "rest_hour": self.rest_hour}


@cache
def instruments():
    return ow.read_instruments(DEPOT / "instruments.toml")


@cache
def battery_of(word):
    if word == "lfp":
        return battery.lithium("lfp", cells=4)
    return battery.lead_acid({"efb": "enhanced_flooded"}.get(word, word)) if word else battery.unknown_12v()


@cache
def pair_of(word):
    return battery.pair(battery_of(word))


def sheet(meter, quantity, volt):
    """Own and common part of the uncertainty; a reading without its meter carries all of the only sheet as its own."""
    read = instruments()[meter or "meter-06"].quantity(quantity, volt)
    gain = read.parts.get("gain", 0.0) if meter else 0.0
    return math.sqrt(max(0.0, read.standard_uncertainty**2 - gain**2)), gain / volt


class Written:
    """The battery rows of one made depot, read back."""

    def __init__(self, seed, faults):
        self.depot = generate(seed, faults=faults)
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "readings.csv"
            path.write_text(self.depot.readings_csv(), encoding="utf-8")
            accepted = ow.read_readings(path).accepted
        days = accepted["taken_at"].astype("datetime64[D]").astype(str).tolist()
        kinds = [ow.QuantityKind(number).name for number in accepted["quantity"].tolist()]
        names = ("object_id", "part", "battery_type", "instrument_id")
        texts = {name: accepted[name].tolist() for name in names}
        numbers = {name: accepted[name].tolist() for name in ("value", "part_celsius", "rest_hour", "line")}
        self.rows = {quantity: [] for quantity in QUANTITIES}
        for i, quantity in enumerate(kinds):
            volt, part = numbers["value"][i], texts["part"][i] or ""
            if quantity not in self.rows or not texts["object_id"][i] or not part or not volt > 0:
                continue
            own, gain = sheet(texts["instrument_id"][i], quantity, volt)
            if not own > 0:  # outside the meter's range: a slip of the pen
                continue
            self.rows[quantity].append(
                Row(
                    line=numbers["line"][i],
                    object_id=texts["object_id"][i],
                    part=part,
                    day=days[i],
                    type=texts["battery_type"][i] or "",
                    volt=volt,
                    own_volt=own,
                    gain=gain,
                    celsius=numbers["part_celsius"][i],
                    rest_hour=numbers["rest_hour"][i],
                )
            )
        self.slips = {int(line) for entry in self.depot.truth if entry.kind in PEN for line in entry.lines.split()}

    def planted(self, fault):
        number = "14" if fault == FINE else str(fault)
        return {int(line) for entry in self.depot.truth if entry.fault == number for line in entry.lines.split()}

    def batteries(self):
        """Rows of every single 12 V battery."""
        units = defaultdict(list)
        for row in self.rows["resting_voltage"]:
            if row.part in ("battery_a", "battery_b"):
                units[row.object_id, row.part].append(row)
        return units

    def pairs(self):
        """What was read of every pair, visit by visit."""
        visits = defaultdict(lambda: defaultdict(dict))
        for row in self.rows["resting_voltage"]:
            visits[row.object_id][row.day][row.part] = row
        return {
            name: [days[day] for day in sorted(days)]
            for name, days in visits.items()
            if any({"battery_b", "battery_sum"} & parts.keys() for parts in days.values())
        }

    def packs(self):
        packs = defaultdict(list)
        for row in self.rows["module_voltage"]:
            packs[row.object_id, row.day].append(row)
        return packs

    def is_clean(self, rows):
        return not any(row.line in self.slips for row in rows)


def imbalanced(parts):
    """Whether A and B of one visit are told to be imbalanced; None where they were not both read."""
    if not {"battery_a", "battery_b"} <= parts.keys():
        return None
    a, b = parts["battery_a"], parts["battery_b"]
    state = pair_of(a.type).at_rest(
        a_volt=a.volt,
        b_volt=b.volt,
        standard_uncertainty=a.own_volt,
        gain_relative_standard_uncertainty=min(a.gain, b.gain),
        **a.context,
    )
    return "imbalance" in state.findings


def drifts(visits):
    told = [one for one in map(imbalanced, visits) if one is not None]
    return any(before and now for before, now in pairwise(told))


def states(rows, word=None):
    return [
        battery_of(row.type if word is None else word).at_rest(
            row.volt, standard_uncertainty=row.standard_uncertainty, **row.context
        )
        for row in rows
    ]


def is_iron_phosphate(rows):
    return 2 * sum(state.types["lfp"] > LIKELY for state in states(rows, "")) > len(rows)


def lost_a_cell(rows):
    return any(state.condition.name == "cell_missing_suspected" for state in states(rows))


def pack_of(rows, fault):
    rows = sorted(rows, key=lambda row: row.part)
    own = DISPLAY_STEP_VOLT / math.sqrt(12) if fault == FINE else rows[0].own_volt
    return rows, battery.pack_at_rest(
        battery.lithium("lfp", cells=MODULE_CELLS),
        [row.volt for row in rows],
        standard_uncertainty=own,
        gain_relative_standard_uncertainty=rows[0].gain,
        pack_celsius=rows[0].celsius,
        rest_hour=rows[0].rest_hour,
    )


def found_among_batteries(written, lines):
    for visits in written.pairs().values():
        if {row.line for parts in visits for row in parts.values()} & lines[10] and drifts(visits):
            yield 10
    for rows in written.batteries().values():
        own = {row.line for row in rows}
        if own & lines[11] and is_iron_phosphate(rows):
            yield 11
        if own & lines[12] and lost_a_cell([row for row in rows if row.line in lines[12]]):
            yield 12


def found_in_packs(written, lines):
    for fault, pack in ((fault, pack) for fault in (14, FINE) for pack in written.packs().values()):
        rows, state = pack_of(pack, fault)
        decided = [m.decision.name for row, m in zip(rows, state.modules, strict=True) if row.line in lines[fault]]
        if decided == ["not_decidable"]:
            yield fault


def count_found(counts, written):
    """Every fault is planted once a depot."""
    lines = {fault: written.planted(fault) for fault in FAULTS}
    found = {*found_among_batteries(written, lines), *found_in_packs(written, lines)}
    counts.planted.update(FAULTS.keys())
    counts.found.update(found)
    counts.told += [(written.depot.seed, fault, "missed") for fault in FAULTS.keys() - found]
    count_typed(counts, written, [row for row in written.rows["resting_voltage"] if row.line in lines[11]])


def count_typed(counts, written, rows):
    """The planted iron-phosphate battery with its type written down: by the room, and by the whole assessment."""
    counts.typed += len(rows)
    for row, state in zip(rows, states(rows, "lfp"), strict=True):
        as_lead = state.condition.name in LEAD_WORDS or {note.type for note in state.notes} != {"lfp"}
        counts.typed_as_lead += as_lead
        counts.told += [(written.depot.seed, 11, row.line, state.condition.name)] if as_lead else []
    text = io.StringIO()
    cells = [written.depot.readings[row.line - 2].cells | {"battery_type": "lfp"} for row in rows]
    columns = sorted(set().union(*cells))
    writer = csv.DictWriter(text, columns, restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(cells)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "readings.csv"
        path.write_text(text.getvalue(), encoding="utf-8")
        found = ow.assess(
            path, instruments=instruments(), limits=DEPOT / "limits.toml", part_kinds=DEPOT / "part_kinds.toml"
        ).frame()["findings"]
    counts.assessed_as_lead += sum(bool(LEAD_FINDINGS & set(text.split())) for text in found)


def count_named(counts, written):
    seed = written.depot.seed

    def count(fault, unit, rows, name):
        if written.is_clean(rows):
            named = name()
            counts.clean_units[fault] += 1
            counts.named[fault] += named
            counts.told += [(seed, fault, "named", unit)] if named else []

    for unit, visits in written.pairs().items():
        count(10, unit, [row for parts in visits for row in parts.values()], lambda visits=visits: drifts(visits))
        for parts in visits:
            if "battery_sum" in parts and len(parts) == 1:
                count_sum(counts, parts["battery_sum"])
    for unit, rows in written.batteries().items():
        if len(rows) >= 3:
            count(11, unit, rows, lambda rows=rows: is_iron_phosphate(rows))
        count(12, unit, rows, lambda rows=rows: lost_a_cell(rows))
    for fault, (unit, pack) in ((fault, item) for fault in (14, FINE) for item in written.packs().items()):
        rows, state = pack_of(pack, fault)
        for row, module in zip(rows, state.modules, strict=True):
            count(fault, (*unit, row.part), [row], lambda module=module: module.decision.name == "differs")


def count_sum(counts, row):
    state = pair_of(row.type).at_rest(
        sum_volt=row.volt,
        standard_uncertainty=row.own_volt,
        gain_relative_standard_uncertainty=row.gain,
        **row.context,
    )
    counts.sums += 1
    counts.sums_told += state.status.name == "bound_only" and "pair_not_examined" in state.findings


def one_seed(seed):
    counts = Counts()
    count_found(counts, Written(seed, range(1, 16)))
    count_named(counts, Written(seed, ()))
    return counts


def measure(seeds, workers=1):
    total = Counts()
    if workers == 1:
        for seed in seeds:
            total += one_seed(seed)
    else:
        with ProcessPoolExecutor(workers) as pool:
            for counts in pool.map(one_seed, seeds):
                total += counts
    return total


def table(total, seeds):
    text = [f"{seeds} seeds", ""]
    text.append(f"{'planted fault':<45}{'found':>8}{'of':>8}{'power':>9}{'clean units':>13}{'named':>7}{'share':>9}")
    for fault, name in FAULTS.items():
        found, of = total.found[fault], total.planted[fault]
        named, units = total.named[fault], total.clean_units[fault]
        false = f"{units:>13}{named:>7}{named / max(units, 1):>9.2%}"
        text.append(f"{fault!s:<8}{name:<37}{found:>8}{of:>8}{found / of:>9.1%}{false}")
    text += [
        "",
        f"iron phosphate with its type written: {total.typed} readings, {total.typed_as_lead} in the words of lead,"
        f" {total.assessed_as_lead} assessed as lead",
        f"the sum of a pair alone: {total.sums} readings, {total.sums_told} told to leave the pair unexamined",
    ]
    return "\n".join(text)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", type=int, default=200)
    parser.add_argument("--first", type=int, default=1)
    parser.add_argument("--workers", type=int, default=os.cpu_count())
    parser.add_argument("--details", action="store_true", help="list what was missed and what was named falsely")
    arguments = parser.parse_args()
    total = measure(range(arguments.first, arguments.first + arguments.seeds), arguments.workers)
    print(table(total, arguments.seeds))
    if arguments.details:
        for entry in sorted(total.told, key=str):
            print(entry)


if __name__ == "__main__":
    main()
