"""How often the change of a part is found in made depots, and how often a part that did not change is named.

    PYTHONPATH=build/dev/python python tests/power/trend_power.py --seeds 200

For each seed two depots are made: one with all planted faults, of which 1 (a motor that dries and then gets wet), 3
(coolant in a connector, worse each visit) and 15 (a press motor that ages) change a part; and one with none. Their
sizes are those of datasets/depot/effects.toml. Power comes from the first, false naming from the second, where a part
counts as clean unless one of the entries of CONFUSED_WITH was planted in the readings of its history; every other slip
and habit stays in. A monitor left on is in parallel with the load side and lowers what is read: what those parts add is
told apart. What is judged is what `fleet.histories` leaves after screening.
"""

import argparse
import os
import sys
import tempfile
from collections import Counter, defaultdict
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
DEPOT = ROOT / "datasets" / "depot"
sys.path.insert(0, str(DEPOT))

from demo_depot import generate  # noqa: E402

import ohmward as ow  # noqa: E402
from ohmward import fleet  # noqa: E402


class Kind(NamedTuple):
    """Parts that a drift is looked for in."""

    name: str
    quantity: str
    part: str
    at_like_temperature: bool  # by the law that like parts show; else as read
    like: fleet.LikeScatter | None  # None: from the parts themselves


# Two indices of one machine differ by some 3 % though nothing changed: the meter's repeat, a choice without a source.
INDEX_REPEAT = fleet.LikeScatter(scatter=0.03, degrees_of_freedom=8)
KINDS = {
    1: Kind("motor dries, then wet", "insulation_resistance", "motor_rear", at_like_temperature=False, like=None),
    3: Kind("coolant in a connector", "insulation_resistance", "load_side", at_like_temperature=True, like=None),
    15: Kind("press motor ages", "insulation_ratio", "winding", at_like_temperature=False, like=INDEX_REPEAT),
}
LEAST_DAYS = 4
PEN = {"typing_error", "wrong_vehicle", "unit_slip"}
CONFUSED_WITH = {1: PEN | {"flooded_and_drying"}, 3: PEN | {"monitor_left_on"}, 15: PEN}
MONITOR = "monitor_left_on"


@dataclass
class Counts:
    """Sums over seeds."""

    found: Counter = field(default_factory=Counter)
    planted: Counter = field(default_factory=Counter)
    named: Counter = field(default_factory=Counter)
    clean: Counter = field(default_factory=Counter)
    named_with_monitor: int = 0
    with_monitor: int = 0
    missed: list = field(default_factory=list)
    falsely: list = field(default_factory=list)

    def __iadd__(self, other):
        for name in ("found", "planted", "named", "clean"):
            getattr(self, name).update(getattr(other, name))
        self.named_with_monitor += other.named_with_monitor
        self.with_monitor += other.with_monitor
        self.missed += other.missed
        self.falsely += other.falsely
        return self


def assessed(depot):
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "readings.csv"
        path.write_text(depot.readings_csv(), encoding="utf-8")
        readings = ow.read_readings(path)
    return ow.assess(
        readings,
        instruments=DEPOT / "instruments.toml",
        limits=DEPOT / "limits.toml",
        part_kinds=DEPOT / "part_kinds.toml",
        threads=1,
    )


def changes(results, fault):
    """The history and the change of every part that has readings on enough days."""
    kind = KINDS[fault]
    histories = fleet.histories(results, quantity=kind.quantity, part=kind.part).values()
    histories = [history for history in histories if len(history) >= LEAST_DAYS]
    law = None
    if kind.at_like_temperature:
        law, histories = fleet.at_like_temperature(histories)
    like = kind.like or fleet.like_scatter(histories, law=law)
    return [(history, fleet.find_change(history, law=law, like=like)) for history in histories]


def count_found(counts, depot):
    results = assessed(depot)
    for fault in KINDS:
        carrier = next(entry.object_id for entry in depot.truth if entry.fault == str(fault))
        found = {history.object_id: change for history, change in changes(results, fault)}
        counts.planted[fault] += 1
        if carrier in found and found[carrier].kind != fleet.ChangeKind.none:
            counts.found[fault] += 1
        else:
            counts.missed.append((depot.seed, fault, carrier, found.get(carrier)))


def count_false_names(counts, depot):
    results = assessed(depot)
    accepted = results.readings.accepted
    line_of_row = [int(number) for number in accepted["line"]]
    slips = defaultdict(set)  # of a line
    for entry in depot.truth:
        for line in entry.lines.split():
            slips[int(line)].add(entry.kind)
    for fault in KINDS:
        for history, change in changes(results, fault):
            entries = [results._rows.row_of(name) for names in history.reading_id for name in names]
            lines = [line_of_row[row] for entry in entries for row in results._rows.together_of(entry)]
            planted = set().union(*(slips[line] for line in lines)) & CONFUSED_WITH[fault]
            named = change.kind != fleet.ChangeKind.none
            if planted:
                counts.with_monitor += planted == {MONITOR}
                counts.named_with_monitor += named and planted == {MONITOR}
                continue
            counts.clean[fault] += 1
            if named:
                counts.named[fault] += 1
                counts.falsely.append((depot.seed, fault, history.object_id, change))


def one_seed(seed):
    counts = Counts()
    count_found(counts, generate(seed, faults=range(1, 16)))
    count_false_names(counts, generate(seed, faults=()))
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
    text = [f"{seeds} seeds, parts with readings on at least {LEAST_DAYS} days", ""]
    text.append(f"{'planted drift':<38}{'found':>8}{'of':>8}{'power':>9}{'clean parts':>13}{'named':>7}{'share':>9}")
    for fault, kind in KINDS.items():
        found, of, named, clean = (each[fault] for each in (total.found, total.planted, total.named, total.clean))
        name = f"{fault:>2} {kind.name} ({kind.part})"
        text.append(f"{name:<38.38}{found:>8}{of:>8}{found / of:>9.1%}{clean:>13}{named:>7}{named / clean:>9.2%}")
    share = total.named_with_monitor / max(total.with_monitor, 1)
    text.append(
        f"load sides with a monitor left on: {total.named_with_monitor} of {total.with_monitor} named, {share:.1%}"
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
        for entry in total.missed + total.falsely:
            print(entry)


if __name__ == "__main__":
    main()
