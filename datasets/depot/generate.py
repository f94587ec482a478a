"""Write the files of the invented demo depot again: the same seed gives the same bytes."""

import argparse
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))

from demo_depot import CalibrationRows, Depot, calibration_rows, generate  # noqa: E402

COMMITTED_SEED = 2291

__all__ = ["COMMITTED_SEED", "CalibrationRows", "Depot", "calibration_rows", "generate"]


def files(depot: Depot) -> dict[str, str]:
    return {
        "readings.csv": depot.readings_csv(),
        "truth.csv": depot.truth_csv(),
        "workshop/bonding.csv": depot.workshop_csv,
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=COMMITTED_SEED)
    parser.add_argument("--out", type=Path, default=HERE, help="folder to write into (default: beside this file)")
    arguments = parser.parse_args()
    for name, text in files(generate(arguments.seed)).items():
        path = arguments.out / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode())


if __name__ == "__main__":
    main()
