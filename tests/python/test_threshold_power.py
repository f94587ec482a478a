"""What intervals of studies of thresholds hold, on a few cases; tests/power/threshold_coverage.py prints them all."""

import math
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "power"))
import threshold_choice
import threshold_coverage
from threshold_shapes import SHAPES, area_of, with_area

STUDIES = 400
WITHIN = 3 * math.sqrt(0.95 * 0.05 / STUDIES)  # three standard errors beyond 93 to 97 %


@pytest.mark.parametrize(
    "case",
    [
        "area 0.80, 12 and 200",
        "area 0.95, 12 and 200",
        "area, 100 and 300 in 20 clusters",
        "sensitivity of 12 over all shares, Wilson",
        "sensitivity by weights, 300 units",
        "best threshold, 12 and 200",
        "best threshold, 20 and 100",
        "best threshold, 100 and 400 in 20 clusters",
        "best threshold, 12 and 200, failed twice as wide",
    ],
)
def test_intervals_hold_what_they_say(case):
    held = threshold_coverage.coverage(case, STUDIES, workers=1)[0]
    assert 0.93 - WITHIN < held < 0.97 + WITHIN


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
