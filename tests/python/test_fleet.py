"""Trend, change and censored regression against lifelines, numpy and scipy; power over made depots.

tests/power/trend_power.py prints the table of the power for more seeds.
"""

import math
import sys
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import CensoredData, binom, norm

import ohmward as ow
from ohmward import Censoring, fleet, temperature
from ohmward._core import fleet as core
from ohmward._quantity import log_quantity

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "power"))
import trend_power as power

POWER_SEEDS = range(2001, 2017)


def data(seed, n=30, censored=0.3):
    random = np.random.default_rng(seed)
    x = np.sort(random.uniform(0, 10, n))
    y = 2 - 0.3 * x + 0.4 * random.standard_normal(n)
    ceiling = np.quantile(y, 1 - censored) if censored else np.inf
    above = y > ceiling
    return x, np.where(above, ceiling, y), above.astype(np.int8)


@pytest.mark.parametrize("seed", range(5))
def test_censored_line_is_lifelines(seed):
    import lifelines
    import pandas

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


@pytest.mark.parametrize("seed", range(3))
def test_censored_mean_and_scatter_are_scipys(seed):
    """Every reading twice, at -1 and 1: the slope is 0 and what is left is scipy's censored normal distribution."""
    _, y, above = data(seed)
    x, doubled = np.repeat([-1.0, 1.0], y.size), np.tile(y, 2)
    _, coefficient, _, scatter, _ = core.censored_line(
        x, doubled, np.tile(above, 2), np.zeros_like(doubled), estimate_scatter=True
    )
    mean, deviation = norm.fit(CensoredData(uncensored=y[above == 0], right=y[above == 1]))
    assert coefficient == pytest.approx([mean, 0], abs=2e-4)
    assert scatter == pytest.approx(deviation, rel=2e-4)


def part(day, ln, u=0.02, censoring=None, name="X", **columns):
    day = np.asarray(day, float)
    kinds = censoring or [Censoring.exact] * len(day)
    nothing = np.full(day.size, np.nan)
    return fleet.History(
        object_id=name,
        part="winding",
        day=day,
        resistance=[
            log_quantity(math.exp(value), relative_standard_uncertainty=u, censoring=kind)
            for value, kind in zip(ln, kinds, strict=True)
        ],
        part_celsius=np.asarray(columns.get("celsius", nothing), float),
        standard_uncertainty_kelvin=nothing,
        after_repair=np.zeros(day.size, np.bool_),
        reading_id=[(str(i),) for i in range(day.size)],
        left_out=0,
    )


def test_parts_that_do_not_change_are_named_at_the_stated_rate():
    random = np.random.default_rng(4)
    named = 0
    for _ in range(3000):
        n = int(random.integers(4, 9))
        history = part(np.sort(random.uniform(0, 700, n)), 20 + 0.2 * random.standard_normal(n))
        named += fleet.find_change(history, false_rate=0.05).kind != fleet.ChangeKind.none
    assert named / 3000 <= 0.05
    assert named / 3000 >= 0.01


def test_each_kind_of_change_is_told_by_its_name():
    random = np.random.default_rng(4)
    day, noise = np.linspace(0, 700, 10), 0.05 * random.standard_normal(10)
    steady = fleet.find_change(part(day, 20 - 1.0 * day / 700 + noise))
    assert (steady.kind.name, round(steady.ln_ratio)) == ("steady", -1)
    growing = fleet.find_change(part(day, 20 - 2.0 * (day / 700) ** 2 + noise))
    assert (growing.kind.name, round(growing.ln_ratio)) == ("growing", -2)
    step = fleet.find_change(part(day, 20 - 2.0 * (day > 500) + noise))
    assert (step.kind.name, round(step.ln_ratio)) == ("step", -2)
    assert step.from_day == day[day > 500][0]
    rising = part(day, 20 + day / 700 + noise)
    assert fleet.find_change(rising).kind.name == "none"
    assert fleet.find_change(rising, direction="rise").kind.name == "steady"
    assert fleet.find_change(rising, direction="either").kind.name == "steady"


def test_over_range_readings_before_a_fall_count_as_bounds():
    day = np.arange(6) * 100.0
    kinds = [Censoring.above] * 4 + [Censoring.exact] * 2
    history = part(day, [22, 22, 22, 22, 15, 15.1], censoring=kinds)
    alone = fleet.find_change(history)
    assert alone.status.name == "few_points"
    known = fleet.find_change(history, like=fleet.LikeScatter(0.2, 8))
    assert (known.kind.name, known.from_day) == ("step", 400)
    all_over = part(day, [22] * 6, censoring=[Censoring.above] * 6)
    assert fleet.find_change(all_over, like=fleet.LikeScatter(0.2, 8)).status.name == "too_few_points"


def test_one_odd_reading_is_no_change_of_the_part():
    random = np.random.default_rng(2)
    day, ln = np.arange(8) * 90.0, 15 + 0.1 * random.standard_normal(8)
    ln[4] -= 1.5
    found = fleet.find_change(part(day, ln), like=fleet.LikeScatter(0.2, 8))
    assert (found.kind.name, found.odd) == ("none", 1)


def test_like_parts_share_their_scatter_and_odd_ones_do_not_widen_it():
    random = np.random.default_rng(7)
    day = np.arange(6) * 120.0
    parts = [part(day, 20 + 0.35 * random.standard_normal(6)) for _ in range(40)]
    for odd in parts[:4]:
        odd.resistance[2] = log_quantity(1e12, relative_standard_uncertainty=0.02)
    like = fleet.like_scatter(parts)
    # s0 is the scale of variances that are spread like F(d, 8); of parts that are all alike it comes out lower.
    assert 0.35 * math.sqrt(6 / 8) * 0.9 < like.scatter < 0.35 * 1.1
    assert fleet.like_scatter(parts[:2]).degrees_of_freedom == 0
    three = part([0, 365, 730], [20, 19.8, 19.5])
    alone, borrowed = fleet.trend_of(three), fleet.trend_of(three, like=like)
    assert borrowed.degrees_of_freedom == alone.degrees_of_freedom + like.degrees_of_freedom
    assert borrowed.slope_low_per_year < borrowed.slope_high_per_year


def test_the_law_of_like_parts_is_found_and_may_not_hold():
    random = np.random.default_rng(3)
    parts, steady = [], []
    for _ in range(30):
        celsius = random.uniform(5, 60, 5)
        level, noise = random.normal(20, 1), 0.1 * random.standard_normal(5)
        parts.append(part(np.arange(5), level - math.log(2) * celsius / 15 + noise, celsius=celsius))
        steady.append(part(np.arange(5), level + noise, celsius=celsius))
    fit = fleet.law_of_like(parts)
    assert abs(fit.constant - 15) < 3 * fit.standard_uncertainty
    assert fit.standard_uncertainty < 1
    assert fleet.law_of_like(steady).reason.name == "does_not_fall"
    assert fleet.at_like_temperature(steady)[0] is None


def test_before_and_after():
    wet, dry = (log_quantity(ohm, relative_standard_uncertainty=0.03) for ohm in (1.2e6, 1.3e6))
    assert fleet.before_after(wet, dry, repeat_standard_uncertainty=0.1).said == "no difference shown"
    assert fleet.before_after(dry, wet).said == "no difference shown"
    over = log_quantity(4e9, relative_standard_uncertainty=0.03, censoring=Censoring.above)
    found = fleet.before_after(wet, over, repeat_standard_uncertainty=0.1)
    assert (found.said, found.high) == ("rose", math.inf)
    assert fleet.before_after(over, wet).said == "fell"
    none = fleet.before_after(log_quantity(math.nan), dry)
    assert math.isnan(none.low)


def test_histories_leave_out_what_is_no_reading_of_the_part():
    results = ow.assess(ow.demo())
    found = fleet.histories(results, part="motor_rear")
    motor = found["T-05", "motor_rear"]
    assert np.all(np.diff(motor.day) > 0)
    assert sum(history.left_out for history in found.values()) > 12  # a drying series alone has twelve
    marks, ids = results.screening, {name for history in found.values() for day in history.reading_id for name in day}
    for row in marks.rows("unit_slip_suspected"):
        assert results._rows.id(int(row)) not in ids
    repaired = fleet.histories(results, part="motor_rear", repaired={("T-05", "motor_rear"): ["2024-08-01"]})
    assert repaired["T-05", "motor_rear"].after_repair.sum() == 1
    with pytest.raises(ValueError, match="quantity"):
        fleet.histories(results, quantity="resting_voltage")


@pytest.fixture(scope="module")
def measured():
    return power.measure(POWER_SEEDS)


@pytest.mark.parametrize("fault", power.KINDS)
def test_planted_drifts_are_found_and_clean_parts_left_alone(measured, fault):
    """Few seeds: what contradicts a power of 80 % or a false rate of 1 % would be seen in one run of a hundred."""
    assert measured.planted[fault] == len(POWER_SEEDS)
    assert measured.found[fault] >= binom.ppf(0.01, len(POWER_SEEDS), 0.8)
    assert measured.clean[fault] >= 2 * len(POWER_SEEDS)
    assert measured.named[fault] <= binom.ppf(0.99, measured.clean[fault], 0.01)
