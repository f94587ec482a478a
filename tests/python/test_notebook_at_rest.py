"""The notebook on voltages at rest runs through, and its summary says what its pages promise."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def summary(tmp_path_factory):
    folder = tmp_path_factory.mktemp("notebook") / "out"
    notebook = ROOT / "notebooks" / "06_a_voltage_at_rest.ipynb"
    done = subprocess.run(
        [sys.executable, ROOT / "notebooks" / "execute.py", notebook, folder],
        capture_output=True,
        check=False,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    assert (folder / "index.html").is_file()
    return (folder / "summary.txt").read_text(encoding="utf-8")


def test_iron_phosphate_at_half_charge_can_not_be_read_from_volts(summary):
    (line,) = (line for line in summary.splitlines() if line.startswith("iron phosphate"))
    low, high = (int(text) for text in re.findall(r"(\d+)%", line))
    assert high - low > 40
    assert "volts can not tell" in line
    assert "9 mV on the iron-phosphate plateau: not_decidable" in summary


def test_a_sum_of_two_batteries_hides_the_weaker_one(summary):
    assert "the weaker battery may be as low as 12.25 V" in summary
