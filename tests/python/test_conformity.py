"""Limits, rules, risks and plans from Python: the same check values as C++."""

import math

import numpy as np
import pytest

from check_values import check_values
from ohmward import conformity, demo
from ohmward.conformity import Limit, Prior, guarded


def with_guard(factor):
    return guarded(multiple=1, coverage_factor=factor) if factor > 0 else conformity.simple()


def end(case, name):
    return None if math.isnan(case.number(name)) else case.number(name)


@pytest.mark.parametrize("case", check_values("judge_linear"), ids=str)
def test_judge(case):
    limit = Limit(lower=end(case, "lower"), upper=end(case, "upper"), rule=with_guard(case.number("guard_factor")))
    judged = limit.judge(case.number("value"), standard_uncertainty=case.number("standard_uncertainty"))
    case.expect(judged.probability_of_conformity)
    numbers = {1: "pass", 2: "conditional_pass", 3: "conditional_fail", 4: "fail"}
    assert judged.verdict == numbers[int(case.number("expected_verdict"))]


@pytest.mark.parametrize("case", check_values("acceptance"), ids=str)
def test_named_rules(case):
    rule = conformity.named(case.text("rule"))
    limit = Limit(lower=1, rule=rule, log_scale=case.number("scale") > 0)
    case.expect(limit.acceptance(case.number("standard_uncertainty"))[0])
    case.expect(rule.greatest_specific_risk, "expected_risk")


@pytest.mark.parametrize("case", check_values("global_risk"), ids=str)
def test_global_risks(case):
    limit = Limit(lower=end(case, "lower"), upper=end(case, "upper"), rule=with_guard(case.number("guard_factor")))
    prior = Prior.normal(mean=case.number("prior_mean"), standard_deviation=case.number("prior_standard_deviation"))
    risks = limit.global_risks(prior, standard_uncertainty=case.number("standard_uncertainty"))
    case.expect(getattr(risks, case.text("quantity")))


def relative_to_lower(limit, u, *, log_scale):
    """A meter of relative standard uncertainty u, seen on the scale of a lower limit."""
    limit = Limit(lower=limit, log_scale=log_scale, rule=with_guard(2))
    return limit, (lambda reading: u if log_scale else u * reading)


def conformity_of(reading, u, lower, *, log_scale):
    limit, _ = relative_to_lower(lower, u, log_scale=log_scale)
    return limit.judge(reading, relative_standard_uncertainty=u).probability_of_conformity


def least_pass(u, lower, *, log_scale):
    limit, meter = relative_to_lower(lower, u, log_scale=log_scale)
    return limit.plan(meter).at_least


@pytest.mark.parametrize("case", check_values("conformity_figure"), ids=str)
def test_conformity_figure(case):
    first, second, third = (case.number(c) for c in ("first", "second", "third"))
    figures = {
        "factor_for_risk": lambda: conformity.for_risk(first).coverage_factor,
        "capability": lambda: Limit(lower=-first, upper=first).capability_index(second),
        "worst_case_lower": lambda: Limit(lower=first).worst_case(second)[0],
        "worst_case_upper": lambda: Limit(upper=first).worst_case(second)[1],
        "conformity_linear": lambda: conformity_of(first, second, third, log_scale=False),
        "conformity_log": lambda: conformity_of(first, second, third, log_scale=True),
        "least_pass_linear": lambda: least_pass(first, second, log_scale=False),
        "least_pass_log": lambda: least_pass(first, second, log_scale=True),
    }
    case.expect(figures[case.text("figure")]())


def test_any_density_serves_as_prior():
    mean, sd = 1500, 0.12
    of_python = Prior(lambda x: 7 * math.exp(-0.5 * ((x - mean) / sd) ** 2), location=mean, scale=sd)
    limit = Limit(lower=1499.8, upper=1500.2, rule=with_guard(0.5))
    risks = limit.global_risks(of_python, standard_uncertainty=0.04)
    assert risks.consumer_joint == pytest.approx(0.00987829, abs=1e-8)
    assert risks.consumer_conditional == pytest.approx(risks.consumer_joint / risks.accepted)


def test_global_risks_against_nested_quadrature():
    from scipy import integrate, stats

    limit = Limit(quantity="insulation_resistance", lower=1e6)
    prior = Prior.lognormal(median=3e6, standard_deviation_of_ln=0.8)
    risks = limit.global_risks(prior, standard_uncertainty=0.3)
    ln_prior = stats.norm(math.log(3), 0.8)
    accepted_below = integrate.quad(lambda t: ln_prior.pdf(t) * stats.norm.sf(0.6, t, 0.3), -10, 0, epsabs=1e-13)[0]
    assert risks.consumer_joint == pytest.approx(accepted_below, rel=1e-6)


def test_plan_with_an_instrument_of_the_demo():
    meter = demo().instruments["meter-02"]
    limit = Limit(quantity="insulation_resistance", lower=1e6)
    plan = limit.plan(meter, test_voltage_volt=500)
    assert plan.possible
    q = meter.quantity("insulation_resistance", plan.at_least, test_voltage_volt=500)
    assert limit.judge(q).verdict == "pass"
    below = meter.quantity("insulation_resistance", plan.at_least * (1 - 1e-9), test_voltage_volt=500)
    assert limit.judge(below).verdict == "conditional_pass"
    assert str(plan).startswith("read at least 1.")


def test_plan_of_a_meter_that_is_too_poor():
    plan = Limit(upper=0.1).plan(lambda _: 0.2, lowest=0, highest=1)
    assert not plan.possible
    assert "better meter" in str(plan)


def test_operating_characteristic():
    limit = Limit(upper=0.1)
    curve = limit.probability_of_acceptance(np.linspace(0.07, 0.12, 51), standard_uncertainty=0.005)
    assert np.all(np.diff(curve) < 0)
    assert limit.probability_of_acceptance(0.09, standard_uncertainty=0.005) == pytest.approx(0.5)


def test_passing_readings_shrink_as_uncertainty_grows():
    limit = Limit(quantity="insulation_resistance", lower=1.0)
    ends = [limit.acceptance(u)[0] for u in np.linspace(0.01, 1, 50)]
    assert np.all(np.diff(ends) > 0)


def test_without_uncertainty_nothing_is_decided():
    for u in (None, 0.0, -1.0, math.nan):
        judged = Limit(upper=0.1).judge(0.05, standard_uncertainty=u)
        assert judged.verdict == "undetermined"
    assert Limit(upper=0.1).judge(math.nan, standard_uncertainty=1).verdict == "undetermined"


UNIT = Prior.normal(mean=0, standard_deviation=1)

BAD = [
    (Limit, "a lower or an upper end"),
    (lambda: Limit(lower=2, upper=1), "empty"),
    (lambda: Limit(upper=1, quantity="resistanse"), "quantity is 'resistanse'"),
    (lambda: guarded(multiple=0), "multiple"),
    (lambda: conformity.named("lenient"), "rule"),
    (lambda: conformity.for_risk(0.7), "risk"),
    (lambda: Limit(upper=1).judge(0.5, standard_uncertainty=0.1, relative_standard_uncertainty=0.1), "not both"),
    (lambda: Limit(upper=1).plan(3), "meter is int"),
    (lambda: Limit(upper=1).plan(lambda r: r, test_voltage_volt=500), "need an instrument"),
    (lambda: Limit(upper=1).needed_uncertainty(0.5, to="win"), "to is 'win'"),
    (lambda: Limit(upper=1).global_risks(UNIT, standard_uncertainty=0), "standard_uncertainty"),
    (lambda: Prior.normal(mean=0, standard_deviation=0), "scale"),
]  # fmt: skip


@pytest.mark.parametrize(("call", "message"), BAD, ids=[message for _, message in BAD])
def test_bad_input_is_named(call, message):
    with pytest.raises((ValueError, TypeError), match=message):
        call()
