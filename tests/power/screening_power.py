"""How often screening finds what was planted in made depots, and how often it names what is sound.

    PYTHONPATH=build/dev/python python tests/power/screening_power.py --seeds 200

For each seed two depots are made: one with all planted faults, one with none. Power comes from the first, false naming
and false marks from the second, where only rows without any entry in the truth count as
clean, and units without a slip of the pen.
"""

import argparse
import io
import os
import sys
import tempfile
from collections import Counter, defaultdict
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "datasets" / "depot"))

from demo_depot import generate  # noqa: E402

import ohmward as ow  # noqa: E402
from ohmward import screening  # noqa: E402

INSTRUMENTS = ROOT / "datasets" / "depot" / "instruments.toml"
# The marks that suspect something. Joined poles and readings that did not settle are physics told, not suspicions.
KINDS = (
    "unit_slip_suspected", "object_mistyped_suspected", "copied_suspected", "ceiling_as_number_suspected",
    "monitor_connected_suspected", "null_not_taken_suspected", "null_below_zero", "leakage_of_leads_suspected",
    "open_contactor_suspected", "contact_not_shown", "meter_drift_suspected", "wrong_function_suspected",
    "unlike_its_like", "imbalance", "not_settled",
)  # fmt: skip
# What was planted in single rows, and the mark that should find it.
SLIPS = {
    "unit_slip": "unit_slip_suspected",
    "wrong_vehicle": "object_mistyped_suspected",
    "copied_job": "copied_suspected",
    "over_range_as_number": "ceiling_as_number_suspected",
    "monitor_left_on": "monitor_connected_suspected",
    "never_nulled_session": "null_not_taken_suspected",
    "null_on_dirty_contact_session": "null_below_zero",
    "open_contactor": "open_contactor_suspected",
    "wrong_function": "wrong_function_suspected",
}
# Planted fault: mark that names it, the unit that is named, and the quantity whose rows belong to the unit.
FAULTS = {
    4: ("unlike_its_like", "joint", "bonding_resistance"),
    5: ("meter_drift_suspected", "instrument", ""),
    6: ("monitor_connected_suspected", "always", "insulation_resistance"),
    7: ("contact_not_shown", "session", "insulation_resistance"),
    10: ("imbalance", "object", "resting_voltage"),
    11: ("unlike_its_like", "object", "resting_voltage"),
    12: ("unlike_its_like", "battery", "resting_voltage"),
    13: ("copied_suspected", "object", ""),
}
# A unit counts as clean unless one of these was planted in its rows; every other slip and habit stays in.
PEN = {"typing_error", "wrong_vehicle", "unit_slip"}
CONFUSED_WITH = {
    4: PEN,
    5: set(),
    6: PEN,
    7: {"open_contactor"},
    10: PEN,
    11: PEN,
    12: PEN,
    13: {"copied_job"},
}


@dataclass
class Counts:
    """Sums over seeds."""

    found: Counter = field(default_factory=Counter)
    planted: Counter = field(default_factory=Counter)
    named: Counter = field(default_factory=Counter)
    clean_units: Counter = field(default_factory=Counter)
    false_marks: Counter = field(default_factory=Counter)
    clean_rows: int = 0
    missed: list = field(default_factory=list)
    falsely: list = field(default_factory=list)

    def __iadd__(self, other):
        for name in ("found", "planted", "named", "clean_units", "false_marks"):
            getattr(self, name).update(getattr(other, name))
        self.clean_rows += other.clean_rows
        self.missed += other.missed
        self.falsely += other.falsely
        return self


class Screened:
    """One made depot, read and screened; rows of the depot by their line in the file."""

    def __init__(self, seed, faults, instruments):
        self.depot = generate(seed, faults=faults)
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "readings.csv"
            path.write_text(self.depot.readings_csv(), encoding="utf-8")
            readings = ow.read_readings(path)
        self.marks = screening.marks(readings, instruments, threads=1)
        self.lines = readings.accepted["line"]
        self.row_of_line = {int(line): row for row, line in enumerate(self.lines)}
        self.truth = defaultdict(list)  # line -> entries of the truth
        for entry in self.depot.truth:
            for line in entry.lines.split():
                self.truth[int(line)].append(entry)
        self.marked = {kind: {int(self.lines[row]) for row in self.marks.rows(kind)} for kind in KINDS}

    def cells(self, line):
        return self.depot.readings[line - 2].cells

    def unit(self, kind, line):
        cells = self.cells(line)
        day = cells["taken_at"][:10]
        return {
            "object": (cells["object_id"],),
            "always": (cells["object_id"],),
            "joint": (cells["object_id"], cells["part"]),
            "battery": (cells["object_id"], cells["part"]),
            "instrument": (cells["instrument_id"],),
            "session": (cells["instrument_id"], day),
        }[kind]


def units_of(screened, fault):
    """Lines of every unit of a fault's kind."""
    _, kind, quantity = FAULTS[fault]
    units = defaultdict(list)
    for line in screened.row_of_line:
        cells = screened.cells(line)
        if quantity and cells["quantity"] != quantity:
            continue
        if fault == 5 and not (cells["quantity"] == "insulation_resistance" and cells["instrument_id"]):
            continue
        if fault == 6 and cells["part_kind"] != "load_side":
            continue
        unit = screened.unit(kind, line)
        if all(unit):
            units[unit].append(line)
    return units


def names(screened, fault, lines):
    """Whether the marks on these lines name the fault."""
    mark, _, _ = FAULTS[fault]
    hit = [line for line in lines if line in screened.marked[mark]]
    if fault == 6:  # one vehicle always: most of its readings, not a single visit
        return 2 * len(hit) > len(lines) and len(lines) > 2
    if fault == 11:  # the battery as such, not one reading of it
        return 2 * len(hit) > len(lines)
    return bool(hit)


def one_seed(seed):  # noqa: C901 - one pass that counts everything
    instruments = ow.read_instruments(INSTRUMENTS)
    counts = Counts()
    planted = Screened(seed, range(1, 16), instruments)
    for fault in FAULTS:
        lines = [
            int(line) for entry in planted.depot.truth if entry.fault == str(fault) for line in entry.lines.split()
        ]
        counts.planted[fault] += 1
        if fault == 6:
            lines = [line for line in lines if line in planted.row_of_line]
        if names(planted, fault, lines):
            counts.found[fault] += 1
        else:
            counts.missed.append((seed, fault))
    clean = Screened(seed, (), instruments)
    for fault in FAULTS:
        for unit, lines in units_of(clean, fault).items():
            if any(entry.kind in CONFUSED_WITH[fault] for line in lines for entry in clean.truth.get(line, ())):
                continue
            counts.clean_units[fault] += 1
            if names(clean, fault, lines):
                counts.named[fault] += 1
                counts.falsely.append((seed, fault, unit))
    for entry in clean.depot.truth:
        if entry.kind not in SLIPS:
            continue
        mark = SLIPS[entry.kind]
        lines = [int(line) for line in entry.lines.split() if int(line) in clean.row_of_line]
        if entry.kind in ("unit_slip", "over_range_as_number", "wrong_vehicle"):
            for line in lines:
                counts.planted[entry.kind] += 1
                counts.found[entry.kind] += line in clean.marked[mark]
                if line not in clean.marked[mark]:
                    counts.missed.append(
                        (
                            seed,
                            entry.kind,
                            line,
                            clean.cells(line)["part_kind"],
                            clean.cells(line)["value"],
                            clean.cells(line)["unit"],
                            entry.effect,
                        )
                    )
        elif lines:
            counts.planted[entry.kind] += 1
            hit = any(line in clean.marked[mark] for line in lines)
            counts.found[entry.kind] += hit
            if not hit:
                counts.missed.append((seed, entry.kind, lines, entry.effect))
    untouched = [line for line in clean.row_of_line if not clean.truth.get(line)]
    counts.clean_rows = len(untouched)
    for kind in KINDS:
        false = [line for line in untouched if line in clean.marked[kind]]
        counts.false_marks[kind] += len(false)
        counts.falsely += [(seed, kind, line) for line in false]
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
    text = io.StringIO()
    print(f"{seeds} seeds, {total.clean_rows} clean rows\n", file=text)
    print(
        f"{'planted fault':<34}{'found':>8}{'of':>8}{'power':>9}{'clean units':>13}{'named':>7}{'share':>9}", file=text
    )
    for fault, (mark, _, _) in FAULTS.items():
        found, of = total.found[fault], total.planted[fault]
        named, units = total.named[fault], total.clean_units[fault]
        print(
            f"{fault:>2} {mark:<31}{found:>8}{of:>8}{found / of:>9.1%}{units:>13}{named:>7}"
            f"{named / max(units, 1):>9.2%}",
            file=text,
        )
    print(f"\n{'planted slip':<34}{'found':>8}{'of':>8}{'recall':>9}", file=text)
    for slip in SLIPS:
        found, of = total.found[slip], total.planted[slip]
        print(f"{slip:<34}{found:>8}{of:>8}{found / max(of, 1):>9.1%}", file=text)
    print(f"\n{'mark on clean rows':<34}{'marks':>8}{'per 1000 rows':>16}", file=text)
    for kind in KINDS:
        marks = total.false_marks[kind]
        print(f"{kind:<34}{marks:>8}{1000 * marks / total.clean_rows:>16.3f}", file=text)
    return text.getvalue()


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", type=int, default=200)
    parser.add_argument("--first", type=int, default=1)
    parser.add_argument("--workers", type=int, default=os.cpu_count())
    parser.add_argument("--details", action="store_true", help="list what was missed and what was named falsely")
    arguments = parser.parse_args()
    total = measure(range(arguments.first, arguments.first + arguments.seeds), arguments.workers)
    print(table(total, arguments.seeds), end="")
    if arguments.details:
        for entry in sorted(total.missed + total.falsely, key=str):
            print(entry)


if __name__ == "__main__":
    main()
