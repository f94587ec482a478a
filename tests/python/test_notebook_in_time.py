"""The notebook on insulation in time runs through, and its summary says what its pages promise."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def summary(tmp_path_factory):
    folder = tmp_path_factory.mktemp("notebook") / "out"
    notebook = ROOT / "notebooks" / "05_insulation_in_time.ipynb"
    done = subprocess.run(
        [sys.executable, ROOT / "notebooks" / "execute.py", notebook, folder],
        capture_output=True,
        check=False,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    assert (folder / "index.html").is_file()
    return (folder / "summary.txt").read_text(encoding="utf-8").splitlines()


def test_two_minutes_agree_with_ten_on_the_large_machines(summary):
    forecasts = [line for line in summary if "after two minutes" in line]
    assert len(forecasts) == 4
    for line in forecasts:
        low, high = (float(text) for text in line.split("(")[1].split(")")[0].split(" … "))
        shown = float(line.split("two minutes, ")[1].split()[0])
        assert low <= shown <= high


def test_it_tells_what_a_motor_can_show_and_names_the_planted_drifts(summary):
    assert "a truck's motor at 1 GΩ can show an index of 1.02 at most" in summary
    (changed,) = (line for line in summary if line.startswith("changed over two years"))
    for part in ("T-05 motor_rear", "T-12 load_side", "PRESS-1 winding"):
        assert part in changed
