"""Does a pass mean what it promises? Clean invented rows around their limits, with known true values, through the whole
chain from text to verdict.

Of the rows whose true value misses its limit at most 2.5 % may pass, in every bin of (true - limit)/u and every case;
of the rows at least 4 u inside their limit that lack nothing, 95 % or more must pass. Run:

    PYTHONPATH=build/dev/python python tests/power/chain_calibration.py --rows 1000000
"""

from __future__ import annotations

import argparse
import io
import itertools
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2] / "datasets" / "depot"))
from demo_depot import calibration_rows
from demo_depot.calibration import CASES

import ohmward as ow

PROMISE = 0.025
INSIDE = 4.0
BINS = np.array([-6.0, -4.0, -3.0, -2.0, -1.5, -1.0, -0.5, 0.0])


@dataclass(frozen=True)
class CaseTable:
    """Shares of passes of one case."""

    name: str
    lacks_nothing: bool  # neither a temperature that its limit needs nor, on a dead check, the proof of the meter
    rows: np.ndarray[Any, Any]  # per bin of rows that miss their limit
    passes: np.ndarray[Any, Any]
    inside_rows: int
    inside_passes: int

    def broken_promises(self) -> list[str]:
        """Name the bins in which more rows pass than promised, three standard deviations allowed."""
        allowed = PROMISE * self.rows + 3 * np.sqrt(PROMISE * (1 - PROMISE) * self.rows)
        broken = [
            f"{self.name}: {passed} of {rows} pass in ({low:g}, {high:g}) u"
            for passed, rows, most, low, high in zip(self.passes, self.rows, allowed, BINS[:-1], BINS[1:], strict=True)
            if passed > most
        ]
        if self.lacks_nothing and self.inside_passes < 0.95 * self.inside_rows:
            broken.append(f"{self.name}: {self.inside_passes} of {self.inside_rows} pass at least {INSIDE:g} u inside")
        return broken


def assess_rows(seed: int, rows: int) -> tuple[Any, ow.Results, float]:
    """Write the rows as a file, read and judge it as its user would."""
    made = calibration_rows(seed, rows)
    demo = ow.demo()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "readings.csv"
        path.write_text(made.csv_text(), encoding="utf-8")
        started = time.perf_counter()
        readings = ow.read_readings(path)
        read = time.perf_counter()
        batch = ow.Batch(readings, demo.instruments, demo.limits, demo.part_kinds)
        results = ow.assess(batch, screen=False)
    print(
        f"read {rows} rows in {read - started:.2f} s, assessed in {time.perf_counter() - read:.2f} s", file=sys.stderr
    )
    return made, results, time.perf_counter() - started


def case_tables(made: Any, results: ow.Results) -> list[CaseTable]:
    """Count passes by case and by distance of the true value from its limit."""
    passed = results.column("verdict") == "pass"
    index = np.array([int(name[2:]) for name in results.readings.accepted["reading_id"]])
    distance, case = made.distance[index], made.case[index]
    tables = []
    for number, each in enumerate(CASES):
        here = case == number
        bins = np.digitize(distance, BINS) - 1
        inside = here & (distance >= INSIDE)
        tables.append(
            CaseTable(
                name=each.name,
                lacks_nothing=(each.with_temperature or not each.corrected) and each.quantity != "dc_voltage",
                rows=np.array([int((here & (bins == b) & (distance < 0)).sum()) for b in range(len(BINS) - 1)]),
                passes=np.array(
                    [int((here & (bins == b) & (distance < 0) & passed).sum()) for b in range(len(BINS) - 1)]
                ),
                inside_rows=int(inside.sum()),
                inside_passes=int((inside & passed).sum()),
            )
        )
    return tables


def table_text(tables: list[CaseTable]) -> str:
    """Return the table for people: share of passes in per cent."""
    out = io.StringIO()
    heads = [f"{low:g}…{high:g}" for low, high in itertools.pairwise(BINS)]
    print("share of passes among rows that miss their limit, by (true - limit)/u; last: at least 4 u inside", file=out)
    print(f"{'case':44s}" + "".join(f"{head:>10s}" for head in heads) + f"{'inside':>10s}", file=out)
    for table in tables:
        shares = [f"{100 * p / r:9.2f}%" if r else f"{'':>10s}" for p, r in zip(table.passes, table.rows, strict=True)]
        inside = f"{100 * table.inside_passes / table.inside_rows:9.2f}%" if table.inside_rows else ""
        print(f"{table.name:44s}" + "".join(shares) + inside, file=out)
    return out.getvalue()


def main() -> int:
    """Print the table; exit 1 where a promise is broken."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    made, results, _ = assess_rows(arguments.seed, arguments.rows)
    tables = case_tables(made, results)
    print(table_text(tables))
    broken = [line for table in tables for line in table.broken_promises()]
    print("\n".join(broken) if broken else "every promise holds")
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
