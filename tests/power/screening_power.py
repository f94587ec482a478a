"""How often screening finds what was planted in made depots, and how often it names what is sound.

    PYTHONPATH=build/dev/python python tests/power/screening_power.py --seeds 200

For each seed two depots are made: one with all planted faults, one with none. Power comes from the first, false naming
and false marks from the second, where only rows without any entry in the truth count as clean, and units without a slip
of the pen.
"""

import argparse
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


def count_faults(counts, screened):
    for fault in FAULTS:
        entries = [entry for entry in screened.depot.truth if entry.fault == str(fault)]
        lines = [int(line) for entry in entries for line in entry.lines.split()]
        counts.planted[fault] += 1
        if names(screened, fault, [line for line in lines if line in screened.row_of_line]):
            counts.found[fault] += 1
        else:
            counts.missed.append((screened.depot.seed, fault))


def count_false_names(counts, screened):
    for fault in FAULTS:
        for unit, lines in units_of(screened, fault).items():
            if any(entry.kind in CONFUSED_WITH[fault] for line in lines for entry in screened.truth.get(line, ())):
                continue
            counts.clean_units[fault] += 1
            if names(screened, fault, lines):
                counts.named[fault] += 1
                counts.falsely.append((screened.depot.seed, fault, unit))


def count_slips(counts, screened):
    """Slips of single rows by rows, habits of jobs and sessions by jobs and sessions."""
    for entry in screened.depot.truth:
        lines = [int(line) for line in entry.lines.split() if int(line) in screened.row_of_line]
        if entry.kind not in SLIPS or not lines:
            continue
        marked = screened.marked[SLIPS[entry.kind]]
        counts.planted[entry.kind] += 1
        if any(line in marked for line in lines):
            counts.found[entry.kind] += 1
        else:
            cells = screened.cells(lines[0])
            written = (cells["part_kind"], cells["value"], cells["unit"])
            counts.missed.append((screened.depot.seed, entry.kind, lines, written, entry.effect))


def count_false_marks(counts, screened):
    untouched = [line for line in screened.row_of_line if not screened.truth.get(line)]
    counts.clean_rows = len(untouched)
    for kind in KINDS:
        false = [line for line in untouched if line in screened.marked[kind]]
        counts.false_marks[kind] += len(false)
        counts.falsely += [(screened.depot.seed, kind, line) for line in false]


def one_seed(seed):
    instruments = ow.read_instruments(INSTRUMENTS)
    counts = Counts()
    count_faults(counts, Screened(seed, range(1, 16), instruments))
    clean = Screened(seed, (), instruments)
    count_false_names(counts, clean)
    count_slips(counts, clean)
    count_false_marks(counts, clean)
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
    text = [f"{seeds} seeds, {total.clean_rows} clean rows", ""]
    text.append(f"{'planted fault':<34}{'found':>8}{'of':>8}{'power':>9}{'clean units':>13}{'named':>7}{'share':>9}")
    for fault, (mark, _, _) in FAULTS.items():
        found, of = total.found[fault], total.planted[fault]
        named, units = total.named[fault], total.clean_units[fault]
        false = f"{units:>13}{named:>7}{named / max(units, 1):>9.2%}"
        text.append(f"{fault:>2} {mark:<31}{found:>8}{of:>8}{found / of:>9.1%}{false}")
    text += ["", f"{'planted slip':<34}{'found':>8}{'of':>8}{'recall':>9}"]
    for slip in SLIPS:
        found, of = total.found[slip], total.planted[slip]
        text.append(f"{slip:<34}{found:>8}{of:>8}{found / max(of, 1):>9.1%}")
    text += ["", f"{'mark on clean rows':<34}{'marks':>8}{'per 1000 rows':>16}"]
    for kind in KINDS:
        marks = total.false_marks[kind]
        text.append(f"{kind:<34}{marks:>8}{1000 * marks / total.clean_rows:>16.3f}")
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
        for entry in sorted(total.missed + total.falsely, key=str):
            print(entry)


if __name__ == "__main__":
    main()
