"""Trend and censored regression against lifelines, numpy and scipy."""

import math

import numpy as np
import pytest
from scipy.stats import theilslopes

from ohmward import Censoring, fleet, temperature
from ohmward._core import fleet as core
from ohmward._quantity import log_quantity


def data(seed, n=30, censored=0.3):
    random = np.random.default_rng(seed)
    x = np.sort(random.uniform(0, 10, n))
    y = 2 - 0.3 * x + 0.4 * random.standard_normal(n)
    ceiling = np.quantile(y, 1 - censored) if censored else np.inf
    above = y > ceiling
    return x, np.where(above, ceiling, y), above.astype(np.int8)


@pytest.mark.parametrize("seed", range(5))
def test_censored_line_is_lifelines(seed):
    lifelines = pytest.importorskip("lifelines")
    pandas = pytest.importorskip("pandas")
    x, y, above = data(seed)
    status, coefficient, covariance, scatter, log_likelihood = core.censored_line(
        x, y, above, np.zeros_like(x), estimate_scatter=True
    )
    frame = pandas.DataFrame({"t": np.exp(y), "seen": 1 - above, "x": x})
    fitter = lifelines.LogNormalAFTFitter(penalizer=0.0)
    fitter.fit(frame, duration_col="t", event_col="seen", ancillary=False)
    assert status == 0
    assert coefficient[0] == pytest.approx(fitter.params_[("mu_", "Intercept")], abs=2e-5)
    assert coefficient[1] == pytest.approx(fitter.params_[("mu_", "x")], abs=5e-6)
    assert math.log(scatter) == pytest.approx(fitter.params_[("sigma_", "Intercept")], abs=5e-5)
    # lifelines counts the density of t, not of ln t.
    assert log_likelihood - y[above == 0].sum() == pytest.approx(fitter.log_likelihood_, abs=1e-6)
    assert math.sqrt(covariance[3]) == pytest.approx(fitter.standard_errors_[("mu_", "x")], rel=0.05)


def test_without_censoring_it_is_least_squares():
    x, y, none = data(1, censored=0)
    _, coefficient, covariance, scatter, _ = core.censored_line(x, y, none, np.zeros_like(x), estimate_scatter=True)
    (slope, level), expected = np.polyfit(x, y, 1, cov=True)
    assert coefficient == pytest.approx([level, slope], rel=1e-9)
    assert np.reshape(covariance, (2, 2))[1, 1] == pytest.approx(expected[0, 0], rel=1e-6)
    assert scatter == pytest.approx(np.std(y - level - slope * x) * math.sqrt(30 / 28), rel=1e-6)
    u = np.random.default_rng(0).uniform(0.1, 0.5, x.size)
    _, coefficient, covariance, _, _ = core.censored_line(x, y, none, u, estimate_scatter=False)
    (slope, level), expected = np.polyfit(x, y, 1, w=1 / u, cov="unscaled")
    assert coefficient == pytest.approx([level, slope], rel=1e-9)
    assert np.reshape(covariance, (2, 2))[1, 1] == pytest.approx(expected[0, 0], rel=1e-9)


@pytest.mark.parametrize("seed", range(5))
def test_robust_slope_is_theilslopes(seed):
    x, y, none = data(seed, censored=0)
    x = np.round(x)  # ties in time
    status, slope, low, high, intercept = core.robust_slope(x, y, none, level=0.95)
    expected = theilslopes(y, x, 0.95)
    assert status == 0
    assert (slope, intercept) == pytest.approx((expected.slope, expected.intercept), rel=1e-12)
    assert (low, high) == pytest.approx((expected.low_slope, expected.high_slope), rel=1e-12)


def test_censored_robust_slope_is_less_biased_than_bounds_as_values():
    found, naive = [], []
    for seed in range(200):
        x, y, above = data(seed, n=20, censored=0.4)
        found.append(core.robust_slope(x, y, above, level=0.95)[1])
        naive.append(theilslopes(y, x).slope)
    assert abs(np.mean(found) + 0.3) < 0.02
    assert abs(np.mean(naive) + 0.3) > 0.08


def history(random, slope, n=9, law_error=0.0):
    day = np.sort(random.uniform(0, 1500, n))
    celsius = 20 + 12 * np.sin(2 * np.pi * day / 365.25) + random.normal(0, 2, n)
    step = 10 * (1 + law_error)
    ln = math.log(2e9) + slope * day / 365.25 - math.log(2) * (celsius - 40) / step + 0.05 * random.standard_normal(n)
    return day, [log_quantity(x, relative_standard_uncertainty=0.05) for x in np.exp(ln)], celsius


def test_trend_covers_with_the_law_as_one_shared_term():
    random = np.random.default_rng(5)
    law = temperature.HalvingLaw(step_kelvin=10, reference_celsius=40)
    inside, trials = 0, 400
    for _ in range(trials):
        day, readings, celsius = history(random, -0.4, law_error=0.1 * random.standard_normal())
        found = fleet.trend(day, readings, part_celsius=celsius, standard_uncertainty_kelvin=0.3, law=law)
        inside += found.slope_low_per_year <= -0.4 <= found.slope_high_per_year
    assert inside / trials > 0.93


def test_trend_finds_halving_in_a_year_and_leaves_steady_parts_alone():
    random = np.random.default_rng(6)
    law = temperature.HalvingLaw(step_kelvin=10, reference_celsius=40)
    found = [[], []]
    for trial in range(400):
        drifting = trial % 2
        day, readings, celsius = history(random, -0.69 * drifting)
        t = fleet.trend(day, readings, part_celsius=celsius, law=law, standard_uncertainty_kelvin=1, level=0.98)
        found[drifting].append(t.slope_high_per_year < 0)
    assert np.mean(found[1]) > 0.95
    assert np.mean(found[0]) < 0.025


def test_trend_with_bounds_repair_and_limit():
    day = np.array([0, 150, 300, 450, 600, 750, 900, 1050], float)
    ohm = np.array([4e9, 4e9, 2.5e9, 1.4e9, 9e9, 6.2e9, 3.4e9, 2.4e9])
    censoring = [Censoring.above, Censoring.above] + [Censoring.exact] * 6
    readings = [
        log_quantity(x, relative_standard_uncertainty=0.05, censoring=c) for x, c in zip(ohm, censoring, strict=True)
    ]
    found = fleet.trend(day, readings, after_repair=day == 600, lower_limit_ohm=1e9)
    assert (found.exact, found.bounds) == (6, 2)
    assert found.slope_high_per_year < 0
    assert found.repair_step[0] > 3 * found.repair_step_standard_uncertainty[0]
    assert 1050 <= found.crossing_day < found.expected_crossing_day < 1050 + 500


def test_trend_is_honest_with_three_points():
    readings = [log_quantity(x, relative_standard_uncertainty=0.05) for x in (2e9, 1.9e9, 1.7e9)]
    three = fleet.trend([0, 365, 730], readings)
    assert three.status.name == "few_points"
    assert three.slope_low_per_year < 0 < three.slope_high_per_year
    assert fleet.trend([0, 365], readings[:2]).status.name == "too_few_points"


def test_like_parts():
    phases = [log_quantity(x, relative_standard_uncertainty=0.05) for x in (2e9, 1.8e9, 0.2e9)]
    assert [one.stands_out for one in fleet.compare_like(phases)] == [False, False, True]
    over = log_quantity(4e9, relative_standard_uncertainty=0.05, censoring=Censoring.above)
    assert [one.stands_out for one in fleet.compare_like([over, over, phases[2]])] == [False, False, True]
    low_ceiling = log_quantity(0.2e9, relative_standard_uncertainty=0.05, censoring=Censoring.above)
    assert not fleet.compare_like([phases[0], phases[1], low_ceiling])[2].stands_out
