"""The notebooks on thresholds run through, and their summaries say what their pages promise."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def executed(name, tmp_path_factory):
    folder = tmp_path_factory.mktemp("notebook") / "out"
    done = subprocess.run(
        [sys.executable, ROOT / "notebooks" / "execute.py", ROOT / "notebooks" / name, folder],
        capture_output=True,
        check=False,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    assert (folder / "index.html").is_file()
    return (folder / "summary.txt").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def depot(tmp_path_factory):
    return executed("08_is_the_threshold_right.ipynb", tmp_path_factory)


@pytest.fixture(scope="module")
def open_data(tmp_path_factory):
    return executed("09_an_open_diagnostic_data_set.ipynb", tmp_path_factory)


def test_the_depots_study_tells_bounds_and_repeats(depot):
    low, high = (float(text) for text in re.search(r"as bounds: sensitivity between (\S+) and (\S+)", depot).groups())
    known = float(re.search(r"below 1 MΩ: sensitivity (\S+)", depot)[1])
    assert low < known < high
    assert "the study file repeats bit for bit: True" in depot


def test_the_open_data_give_the_known_area_and_get_it_back_from_a_bad_meter(open_data):
    area = float(re.search(r"area under the curve (\S+)", open_data)[1])
    assert area == pytest.approx(0.938, abs=0.001)
    read, clean = (float(text) for text in re.search(r"the area is (\S+), without it (\S+)", open_data).groups())
    assert read < area - 0.03
    assert abs(clean - area) < 0.02
