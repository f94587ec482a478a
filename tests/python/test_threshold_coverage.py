"""What intervals of studies hold, on few made studies; tests/power/threshold_coverage.py prints the table for more."""

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "power"))
import threshold_coverage as power

STUDIES = 500  # a coverage of 95 % then has a standard error of 1 %


@pytest.mark.parametrize(
    ("case", "least"),
    [
        ("area 0.80, 30 and 100", 0.92),
        ("area, 100 and 300 in 40 clusters", 0.92),
        ("difference of areas, 40 and 160", 0.92),
        ("sensitivity 0.80 of 150, Wilson", 0.92),
        ("sensitivity 0.80 of 150 in 40 clusters", 0.92),
        ("positive predictive value at 3 %, 50 and 200", 0.92),
        ("area 0.95, 12 and 200", 0.86),  # few events near the edge: short of its level, and told so
    ],
)
def test_intervals_hold_what_they_say(case, least):
    held, _, _, without = power.coverage(case, STUDIES, workers=1)
    assert without == 0
    assert least <= held <= 0.98


def test_the_plain_interval_would_not():
    """Without logit and Student's factor: why they are there."""
    held, *_ = power.coverage("area 0.95, 12 and 200, plain ± 1.96 s", STUDIES, workers=1)
    assert held < 0.85
