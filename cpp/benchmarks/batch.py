"""Prints what reading and judging a batch of spot rows costs: time, rows a second, memory above the input.

PYTHONPATH=build/dev/python python cpp/benchmarks/batch.py --rows 1000000
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2] / "datasets" / "depot"))
from demo_depot import calibration_rows

import ohmward as ow

SPOT = ("insulation_resistance", "bonding_resistance")


def spot_rows(rows: int) -> str:
    """Return a readings table of about so many insulation and bonding rows, invented."""
    header, *lines = calibration_rows(1, rows * 9 // 7).csv_text().splitlines()
    return (
        "\n".join([header, *(line for line in lines if any(f",{name}," in line for name in SPOT))][: rows + 1]) + "\n"
    )


def peak_mebibyte(*, from_now: bool = False) -> float:
    """Return the greatest resident memory of this process; `from_now` begins anew (Linux)."""
    if from_now:
        Path("/proc/self/clear_refs").write_text("5")
    status = Path("/proc/self/status").read_text()
    return int(status.split("VmHWM:")[1].split()[0]) / 1024


def measure(path: Path) -> None:
    """Read and judge one file and print what it took. Runs in a process of its own, so that memory is its own too."""
    demo = ow.demo()
    size, before = path.stat().st_size / 2**20, peak_mebibyte(from_now=True)
    started = time.perf_counter()
    readings = ow.read_readings(path)
    read = time.perf_counter() - started
    started = time.perf_counter()
    results = ow.assess(ow.Batch(readings, demo.instruments, demo.limits, demo.part_kinds), screen=False)
    judged = time.perf_counter() - started
    print(
        f"{len(results):9d} rows, {size:6.1f} MiB: read {read:6.2f} s, judged {judged:6.2f} s, "
        f"peak memory grew by {peak_mebibyte() - before:6.0f} MiB",
        flush=True,
    )


def main() -> None:
    """Measure two sizes, to show that both are linear in rows."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--rows", type=int, default=1_000_000)
    parser.add_argument("--file", type=Path, help="measure this file only")
    arguments = parser.parse_args()
    if arguments.file:
        measure(arguments.file)
        return
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "readings.csv"
        for size in (arguments.rows // 10, arguments.rows):
            path.write_text(spot_rows(size), encoding="utf-8")
            subprocess.run([sys.executable, __file__, "--file", str(path)], check=True)  # noqa: S603 - this very file


if __name__ == "__main__":
    main()
