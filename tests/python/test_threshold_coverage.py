"""What intervals of studies hold, on few made studies; tests/power/threshold_coverage.py prints the table for more."""

import math
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "power"))
import threshold_choice
import threshold_coverage as power
from threshold_shapes import SHAPES, area_of, with_area

STUDIES = 400
WITHIN = 3 * math.sqrt(0.95 * 0.05 / STUDIES)  # three standard errors beyond 93 to 97 %


@pytest.mark.parametrize(
    "case",
    [
        "area 0.80, 30 and 100",
        "area 0.95, 12 and 200",
        "area, 100 and 300 in 20 clusters",
        "difference of areas, 40 and 160",
        "sensitivity of 12 over all shares, Wilson",
        "sensitivity 0.80 of 150 in 40 clusters",
        "sensitivity by weights, 300 units",
        "positive predictive value at 3 %, 50 and 200",
        "net benefit at 0.1, a cohort of 200 with 6 %",
        "best threshold, 12 and 200",
        "best threshold, 20 and 100",
        "best threshold, 100 and 400 in 20 clusters",
        "best threshold, 12 and 200, failed twice as wide",
    ],
)
def test_intervals_hold_what_they_say(case):
    held, _, _, without, _ = power.coverage(case, STUDIES, workers=1)
    assert without == 0
    assert 0.93 - WITHIN < held < 0.97 + WITHIN


def test_the_plain_interval_would_not():
    """Without logit, half a unit and Student's factor: why they are there."""
    held, *_ = power.coverage("area 0.95, 12 and 200, plain ± 1.96 s", STUDIES, workers=1)
    assert held < 0.85


def test_a_smoothed_choice_costs_new_units_less():
    shape = SHAPES["normal"]
    runs = [threshold_choice.excess(k, name="normal", events=12, others=200) for k in range(300)]
    smoothed, plain = (sum(costs) / len(runs) - shape.cost(shape.best) for costs in zip(*runs, strict=True))
    assert 0 < smoothed < 0.7 * plain


def test_the_made_truths_are_true():
    assert SHAPES["normal"].best == pytest.approx(0.75, abs=1e-3)
    assert SHAPES["normal, a miss costs 3"].best == pytest.approx(0.75 - math.log(3) / 1.5, abs=1e-3)
    for kind in ("failed twice as wide", "failed half as wide", "exponential"):
        assert area_of(*with_area(kind, 0.9)) == pytest.approx(0.9, abs=1e-7)
