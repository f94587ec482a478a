"""Oracles for the rooms temperature, insulation and fleet: scipy, numpy, lifelines."""

import math

import numpy as np
import pytest
from scipy.optimize import least_squares

from check_values import check_values
from ohmward import insulation, temperature
from ohmward._quantity import log_quantity

RUNS = 40

BARS = [
    case
    for case in check_values("../cpp/insulation/forecast_bars")
    if case.text("mode") == "compact" and case.text("family") == "a" and case.text("noise") == "0.01"
]


@pytest.mark.parametrize("case", BARS, ids=str)
def test_forecast_of_power_laws(case):
    """Power law and conduction drawn by NumPy: a second generator for the bars that the C++ test holds."""
    random, runs = np.random.default_rng(11), 300
    t = np.arange(5.0, case.number("until_second") + 1, case.number("step_second"))
    share, n = 0.01 * 95 ** random.uniform(size=(runs, 1)), random.uniform(0.3, 1, (runs, 1))
    current = share + (1 - share) * (t / 60) ** -n
    ratio = 1 / (share + (1 - share) * 10**-n).ravel()
    noisy = (
        current * (1 + 0.01 * random.standard_normal(current.shape)) * (1 + 0.03 * random.standard_normal((runs, 1)))
    )
    found = insulation.forecast_runs(np.tile(t, runs), 1e9 / noisy.ravel(), np.arange(runs) * t.size, mode="compact")
    assert np.mean((found["low"] <= ratio) & (ratio <= found["high"])) >= 0.96
    width = np.median((found["high"] - found["low"]) / found["value"])
    assert width <= 1.15 * case.number("relative_width")


def simulated(seed):
    """60 readings of conduction, absorption and charging, or a part of these."""
    random = np.random.default_rng(seed)
    t = 10.0 * np.arange(1, 61)
    c, a, n = random.uniform(0, 5), random.uniform(0.5, 6), random.uniform(0.3, 1.2)
    q, tau = random.choice([0, 3, 15]), random.uniform(8, 60)
    current = c + a * (t / 60) ** -n + q * np.exp(-t / tau)
    return t, 1e9 / (current * (1 + random.choice([0.002, 0.01]) * random.standard_normal(t.size)))


@pytest.mark.parametrize("model", list(insulation.AbsorptionModel))
def test_fit_reaches_scipys_minimum(model):
    power = model in (insulation.AbsorptionModel.absorption, insulation.AbsorptionModel.absorption_and_charging)
    decay = model in (insulation.AbsorptionModel.charging, insulation.AbsorptionModel.absorption_and_charging)
    worse = 0
    for seed in range(RUNS):
        t, r = simulated(seed)
        fit = insulation.TimedRun(time_second=t, resistance_ohm=r).fits()[model]
        scale = np.exp(np.mean(np.log(r)))

        def deviations(p, t=t, r=r, scale=scale):
            current = (
                p[0] + (p[1] * (t / 60) ** -p[2] if power else 0) + (p[3] * np.exp(-t / np.exp(p[4])) if decay else 0)
            )
            return current * r / scale - 1

        low, high = [0, 0, 0.05, 0, math.log(t[0] / 5)], [np.inf, np.inf, 2, np.inf, math.log(t[-1])]
        best = min(
            least_squares(
                deviations,
                [0.3, 0.5, n, 0.5, lt],
                bounds=(low, high),
                xtol=1e-13,
                ftol=1e-13,
                gtol=1e-13,
                x_scale="jac",
                max_nfev=3000,
            ).cost
            * 2
            for n in ((0.3, 0.8, 1.5) if power else (1,))
            for lt in ((1.2, 2.5, 4, 5.5) if decay else (2,))
        )
        assert fit.status >= 0
        worse += fit.sum_of_squares > best * (1 + 1e-6)
    assert worse == 0, f"{worse} of {RUNS} runs have a higher sum of squares than scipy's best of many starts"


def test_fit_uncertainties_agree_with_scipys_jacobian():
    t, r = simulated(3)
    fit = insulation.TimedRun(time_second=t, resistance_ohm=r).fits()[insulation.AbsorptionModel.absorption]
    p = [fit.value[name] for name in ("conduction_siemens", "absorption_siemens", "exponent")]

    def deviations(p):
        return (p[0] * 1e-9 + p[1] * 1e-9 * (t / 60) ** -p[2]) * r - 1

    solved = least_squares(
        deviations, [p[0] * 1e9, p[1] * 1e9, p[2]], x_scale="jac", xtol=1e-14, ftol=1e-14, gtol=1e-14
    )
    covariance = np.linalg.inv(solved.jac.T @ solved.jac) * 2 * solved.cost / (t.size - 3)
    widened = math.sqrt((1 + max(fit.autocorrelation, 0)) / (1 - max(fit.autocorrelation, 0)))
    expected = np.sqrt(np.diag(covariance)) * widened * [1e-9, 1e-9, 1]
    found = [fit.standard_uncertainty[name] for name in ("conduction_siemens", "absorption_siemens", "exponent")]
    np.testing.assert_allclose(found, expected, rtol=1e-3)


def test_fit_says_why_there_is_none():
    assert insulation.TimedRun(time_second=[10], resistance_ohm=[1e9]).fit().status.name == "too_few_points"
    t = np.arange(10.0, 200, 10)
    jump = np.where(t < 100, 1e9, 1e12)
    assert insulation.TimedRun(time_second=t, resistance_ohm=jump).fit().status.name == "contradiction"
    constant = insulation.TimedRun(time_second=t, resistance_ohm=np.full(t.shape, 1e9)).fit()
    assert constant.model.name == "conduction"
    assert constant.value["conduction_siemens"] == pytest.approx(1e-9)
    censored = insulation.TimedRun(
        time_second=t, resistance_ohm=np.full(t.shape, 4e9), censoring=np.ones(t.size, np.int8)
    )
    assert censored.fit().status.name == "too_few_points"
    negative = insulation.TimedRun(time_second=t, current_ampere=np.full(t.shape, -1e-9), test_voltage_volt=500)
    assert negative.fit().status.name == "too_few_points"
    assert set(negative.marks) == {("impossible",)}


def test_batches_equal_single_runs_whatever_the_threads():
    runs = [simulated(seed) for seed in range(12)]
    t, r = (np.concatenate([run[i] for run in runs]) for i in (0, 1))
    start = np.arange(12) * 60
    one, two = (insulation.fit_runs(t, r, start, threads=threads) for threads in (1, 2))
    for name, values in one.items():
        np.testing.assert_array_equal(values, two[name])
    single = insulation.TimedRun(time_second=runs[5][0], resistance_ohm=runs[5][1]).fit()
    assert single.sum_of_squares == one["sum_of_squares"][5, one["chosen"][5]]


def test_steps_are_numpys_weighted_line():
    volt = np.array([250.0, 500, 750, 1000, 990])
    ohm = np.array([1.0e9, 0.97e9, 1.02e9, 0.99e9, 1.0e9])
    current, u = volt / ohm, 0.02
    found = insulation.steps(applied_volt=volt, resistance_ohm=ohm, relative_standard_uncertainty=u)
    (slope, offset), covariance = np.polyfit(volt, current, 1, w=1 / (u * current), cov="unscaled")
    assert found.conductance_siemens == pytest.approx(slope, rel=1e-9)
    assert found.offset_ampere == pytest.approx(offset, rel=1e-7)
    assert found.conductance_standard_uncertainty == pytest.approx(math.sqrt(covariance[0, 0]), rel=1e-9)
    assert found.chi_squared == pytest.approx(
        np.sum(((current - offset - slope * volt) / (u * current)) ** 2), rel=1e-9
    )
    assert not found.bends
    assert not found.falls


def test_discharge_finds_capacitance_and_tail():
    t = np.concatenate([np.arange(0, 5, 0.01), np.arange(5, 121, 1.0)])
    farad, volt, ohm = 0.2e-6, 500, 1e6
    tail = np.where(t > 0, 3e-8 * np.maximum(t, 1e-9) ** -0.8, 0)
    current = volt / ohm * np.exp(-t / (ohm * farad)) + tail
    found = insulation.discharge(time_second=t, current_ampere=current, test_voltage_volt=volt, charge_second=1800)
    assert found.capacitance_farad == pytest.approx(farad, rel=0.01)
    assert found.tail_exponent == pytest.approx(0.8, rel=1e-6)
    assert found.dielectric_discharge == pytest.approx(
        1000 * 3e-8 * 60**-0.8 / (volt * found.capacitance_farad), rel=1e-6
    )
    short = insulation.discharge(time_second=t, current_ampere=current, test_voltage_volt=volt, charge_second=60)
    assert short.status.name == "outside_fitted_range"


def settle(ohm, **conditions):
    t = np.arange(5.0, 5 * len(ohm) + 1, 5)
    return insulation.TimedRun(
        time_second=t, resistance_ohm=ohm, relative_standard_uncertainty=0.002, test_voltage_volt=500
    ).settled(**conditions)


def test_settling_tells_the_states_apart():
    t = np.arange(5.0, 121, 5)
    assert settle(1e9 * t**0.6, capacitance_farad=1e-6).state.name == "absorbing"
    assert settle(np.full(t.shape, 1e9)).state.name == "settled"
    assert settle(1e7 * np.exp(t / 20)).state.name == "charging"
    unexplained = settle(1e9 * t**0.3, capacitance_farad=1e-9)
    assert (unexplained.state.name, unexplained.status.name) == ("nothing_more_to_learn", "drift_present")
    falling = settle(1e9 * t**-0.3)
    assert falling.status.name == "drift_present"
    motor = settle(np.full(t.shape, 1e9), capacitance_farad=(3e-9, 20e-9))
    assert motor.absorption_until_second == pytest.approx(2 * math.pi * 20e-9 * 1e9 * 0.2 / (10 * 0.02))


@pytest.mark.parametrize("kind", ["halving", "arrhenius"])
def test_fitted_law_recovers_its_constant_and_covers(kind):
    random = np.random.default_rng(7)
    true = 9.0 if kind == "halving" else 0.9
    inside = 0
    trials = 400
    for _ in range(trials):
        celsius = random.uniform(15, 70, 6)
        ln = -math.log(2) * celsius / true if kind == "halving" else true / 8.617333262e-5 / (celsius + 273.15)
        ohm = np.exp(ln - ln.mean()) * 1e9 * np.exp(0.05 * random.standard_normal(6))
        readings = [log_quantity(x, relative_standard_uncertainty=0.05) for x in ohm]
        shown = celsius + 1.0 * random.standard_normal(6)
        fit = temperature.fit_law(readings, shown, standard_uncertainty_kelvin=1.0, kind=kind)
        if fit.status >= 0:
            inside += abs(fit.constant - true) < 1.96 * fit.standard_uncertainty
    assert inside / trials > 0.92


def test_no_law_holds_is_an_answer():
    def reason(ohm, celsius):
        return temperature.fit_law(
            [log_quantity(x, relative_standard_uncertainty=0.03) for x in ohm], celsius, standard_uncertainty_kelvin=1
        ).reason.name

    assert reason([1e9, 1.02e9, 0.99e9, 1.01e9], [20, 30, 45, 60]) == "does_not_fall"
    assert reason([1e9, 0.9e9, 3e9, 0.01e9], [20, 30, 45, 60]) == "scatters_too_much"
    assert reason([1e9, 0.9e9], [20, 22]) == "span_too_small"
    assert reason([1e9], [20]) == "too_few_readings"
    with pytest.raises(ValueError, match="no law holds"):
        temperature.fit_law([], []).law(reference_celsius=40)


def test_laws_keep_the_container_and_refuse_what_is_no_number():
    import pandas
    import polars

    law = temperature.HalvingLaw(step_kelvin=10, reference_celsius=40)
    frame = pandas.DataFrame({"ohm": [1e8, 2e8], "celsius": [30, 50]}, index=["a", "b"])
    corrected = law.to_reference(frame["ohm"], frame["celsius"])
    assert corrected.to_dict() == {"a": 5e7, "b": 4e8}
    assert law.to_reference(polars.Series("ohm", [1e8]), polars.Series("celsius", [30.0])).to_list() == [5e7]
    with pytest.raises(ValueError, match="different indexes"):
        law.to_reference(frame["ohm"], frame["celsius"].rename({"a": "c"}))
    with pytest.raises(TypeError, match="part_celsius"):
        law.to_reference([1e8], ["30"])
    with pytest.raises(TypeError, match="resistance_ohm"):
        law.to_reference([True], [30])
    with pytest.warns(UserWarning, match="1 of 2 an input is missing"):
        assert math.isnan(law.to_reference(np.ma.masked_array([1e8, 1e8], [False, True]), 30.0)[1])
    with pytest.raises(ValueError, match="step_kelvin"):
        temperature.HalvingLaw(step_kelvin=0, reference_celsius=40)


def test_forecast_refuses_a_steady_temperature_that_was_not_logged():
    t, r = simulated(0)
    run = insulation.TimedRun(time_second=t, resistance_ohm=r).first(120)
    assert run.forecast(steady_temperature=True, mode="compact").status.name == "not_applicable"
    logged = insulation.TimedRun(time_second=t, resistance_ohm=r, corrected_to_steady_temperature=True).first(120)
    assert logged.forecast(steady_temperature=True, mode="compact").status >= 0
    assert run.first(20).forecast(mode="compact").status.name == "too_few_points"
    assert run.forecast(level=0.9, mode="compact").status.name in ("interval_scaled", "wide")
    with pytest.raises(ValueError, match="late_second"):
        run.forecast(late_second=30)
