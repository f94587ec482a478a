"""How often the rows of a job show what was planted in it, and how often they name what is sound.

    PYTHONPATH=build/dev/python python tests/power/job_power.py --seeds 200

For each seed two depots are made: one with the planted faults 2 (compressor leak), 8 (slow bleeder) and 9 (leak of a
contactor), one with none. Every visit to the faulty vehicle counts once for power: the right kind, vehicle and part
must be named. False naming comes from the other depot, where a unit (an unplug ladder, a proof of dead) counts as clean
unless the pen slipped in it or, on a ladder, a part truly misses its limit by heat and dirt. The effect sizes stand in
datasets/depot/effects.toml.
"""

import argparse
import itertools
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
from ohmward import record  # noqa: E402

# Planted fault: kind of the finding, the part that it must name.
FAULTS = {
    2: ("part_leaks", "compressor"),
    8: ("slow_discharge", "HV+ to HV-"),
    9: ("voltage_behind_leak", "HV+ to chassis"),
}
PEN = {"typing_error", "wrong_vehicle", "unit_slip"}


@dataclass
class Counts:
    """Sums over seeds."""

    found: Counter = field(default_factory=Counter)
    planted: Counter = field(default_factory=Counter)
    named: Counter = field(default_factory=Counter)
    clean_units: Counter = field(default_factory=Counter)
    missed: list = field(default_factory=list)
    falsely: list = field(default_factory=list)

    def __iadd__(self, other):
        for name in ("found", "planted", "named", "clean_units"):
            getattr(self, name).update(getattr(other, name))
        self.missed += other.missed
        self.falsely += other.falsely
        return self


class Judged:
    """One made depot, read and judged; what its jobs show by the lines of the file."""

    def __init__(self, seed, faults):
        self.depot = generate(seed, faults=faults)
        demo = ow.demo()
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "readings.csv"
            path.write_text(self.depot.readings_csv(), encoding="utf-8")
            readings = ow.read_readings(path)
        batch = ow.Batch(readings, demo.instruments, demo.limits, demo.part_kinds)
        results = ow.assess(batch, screen=False, threads=1)
        self.findings = record.job_findings(results)
        line_of = {results._rows.id(row): int(line) for row, line in enumerate(readings.accepted["line"])}
        self.lines = [frozenset(line_of[name] for name in found.reading_ids) for found in self.findings]
        self.read = frozenset(line_of.values())

    def names(self, fault, lines, part=None):
        """Whether a finding of the fault's kind rests on some of these lines."""
        kind, _ = FAULTS[fault]
        return any(
            found.kind == kind and part in (None, found.part) and rests & lines
            for found, rests in zip(self.findings, self.lines, strict=True)
        )


def visits(judged, fault):
    """Lines of each visit that the fault was planted in."""
    by_job = defaultdict(set)
    for entry in judged.depot.truth:
        if entry.fault == str(fault):
            for line in map(int, entry.lines.split()):
                by_job[judged.depot.readings[line - 2].job].add(line)
    return by_job


def least_ohm(part):
    """Limit of a part; of the whole where it has none."""
    limits = {dict(limit.applies_to).get("part_kind"): limit.lower for limit in ow.demo().limits if not limit.whole}
    return limits.get(part, ow.demo().limits["maker-load-side"].lower)


def is_sound_ladder(readings):
    """Whether each unplugged part of a ladder truly meets its limit: a hot and salted one may not, without a fault."""
    for before, after in itertools.pairwise(sorted(readings, key=lambda reading: reading.order)):
        removed = set(before.cells["connected"].split("+")) - set(after.cells["connected"].split("+"))
        siemens = 1 / before.true_value - 1 / after.true_value
        if any(siemens * least_ohm(part) > 1 for part in removed):
            return False
    return True


def clean_units(judged, fault):
    """Lines of each ladder of sound parts, or of each proof of dead, in which the pen did not slip."""
    units = defaultdict(set)
    spoilt = {int(line) for entry in judged.depot.truth if entry.kind in PEN for line in entry.lines.split()}
    for line in judged.read:
        reading = judged.depot.readings[line - 2]
        ladder = reading.cells.get("run_id", "").startswith("LADDER")
        dead = reading.quantity == "dc_voltage" and reading.cells.get("part_kind") == "hv_bus"
        if ladder if fault == 2 else dead:
            units[reading.job].add(line)
    units = {job: lines for job, lines in units.items() if not lines & spoilt}
    if fault != 2:
        return units
    return {job: at for job, at in units.items() if is_sound_ladder([judged.depot.readings[i - 2] for i in at])}


def one_seed(seed):
    counts = Counts()
    faulty, clean = Judged(seed, FAULTS), Judged(seed, ())
    for fault, (_, part) in FAULTS.items():
        for job, lines in visits(faulty, fault).items():
            counts.planted[fault] += 1
            if faulty.names(fault, lines, part):
                counts.found[fault] += 1
            else:
                counts.missed.append((seed, fault, job))
        for job, lines in clean_units(clean, fault).items():
            counts.clean_units[fault] += 1
            if clean.names(fault, lines):
                counts.named[fault] += 1
                counts.falsely.append((seed, fault, job))
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
    text.append(f"{'planted fault':<26}{'found':>7}{'of':>7}{'power':>9}{'clean units':>13}{'named':>7}{'share':>9}")
    for fault, (kind, _) in FAULTS.items():
        found, of = total.found[fault], total.planted[fault]
        named, units = total.named[fault], total.clean_units[fault]
        text.append(
            f"{fault:>2} {kind:<23}{found:>7}{of:>7}{found / of:>9.1%}"
            f"{units:>13}{named:>7}{named / max(units, 1):>9.2%}"
        )
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
