"""Uncertainty and risks against independent computations: other libraries, 50 digits, quadrature."""

import itertools
import math

import mpmath
import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
import uncertainties
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats
from statsmodels.formula.api import ols
from uncertainties import umath

from ohmward import conformity
from ohmward import uncertainty as un
from ohmward.conformity import Limit, Prior, guarded

mpmath.mp.dps = 50

MODELS = {
    "quotient": lambda _, a, b, c, d: a * b / (c + d),
    "bridge": lambda _, a, b, c, d: a * (b / c) - d**2,
    "exponential": lambda m, a, b, c, d: a * m.exp(-b / c) + d,
    "impedance": lambda m, a, b, c, d: a / b * m.cos(c) + m.sqrt(d),
    "logarithm": lambda m, a, b, c, d: a / (d * m.log(1 + b / c)),
}
values = st.lists(st.floats(0.5, 3), min_size=4, max_size=4)
parts = st.lists(st.floats(0.001, 0.05), min_size=4, max_size=4)
seeds = st.integers(0, 2**32 - 1)


def random_correlation(seed):
    """A positive definite one of four quantities."""
    loadings = np.random.default_rng(seed).normal(size=(4, 6))
    covariance = loadings @ loadings.T
    scale = np.sqrt(np.diag(covariance))
    return covariance / np.outer(scale, scale)


@pytest.mark.parametrize("name", MODELS)
@settings(max_examples=25, deadline=None)
@given(at=values, u=parts, seed=seeds)
def test_first_order_with_covariance(name, at, u, seed):
    r = random_correlation(seed)
    model = MODELS[name]
    budget = un.Budget(
        **{key: un.Normal(mean=x, standard_uncertainty=s) for key, x, s in zip("abcd", at, u, strict=True)},
        correlation={("abcd"[i], "abcd"[j]): r[i, j] for i, j in itertools.combinations(range(4), 2)},
    )
    y = budget.propagate(lambda **x: {"y": model(np, **x), "z": x["a"] + 2 * x["d"]})
    linked = uncertainties.correlated_values(at, r * np.outer(u, u))
    expected = model(umath, *linked)
    assert y["y"].value == pytest.approx(expected.n, rel=1e-12, abs=1e-12)
    assert y["y"].standard_uncertainty == pytest.approx(expected.s, rel=1e-9, abs=1e-13)
    matrix = uncertainties.covariance_matrix([expected, linked[0] + 2 * linked[3]])
    assert y.covariance == pytest.approx(np.array(matrix), rel=1e-8, abs=1e-12)


def rectangle_and_normal_within(k, ratio):
    """P(|X| <= k u) of a unit-u rectangle plus a normal of `ratio`, from the convolution in closed form."""
    a, s = mpmath.sqrt(3), mpmath.mpf(ratio)
    t = k * mpmath.sqrt(1 + s * s)

    def primitive(x):
        return x * mpmath.ncdf(x / s) + s * mpmath.npdf(x / s)

    return (primitive(t + a) - primitive(t - a)) / a - 1


@pytest.mark.parametrize("level", [0.5, 0.9, 0.95, 0.9973])
@pytest.mark.parametrize("ratio", [0.03, 0.1, 0.5, 1, 3, 10])
def test_coverage_of_rectangle_and_normal_to_fifty_digits(level, ratio):
    made = un.coverage_factor_rectangle_and_normal(level=level, ratio=ratio)
    low, high = 0.9 * mpmath.mpf(made), 1.1 * mpmath.mpf(made)
    for _ in range(60):  # halving the bracket: robust where the density is flat
        middle = (low + high) / 2
        low, high = (middle, high) if rectangle_and_normal_within(middle, ratio) < level else (low, middle)
    assert made == pytest.approx(float(low), rel=1e-9)


@pytest.mark.parametrize("level", [0.5, 0.95, 0.99])
@pytest.mark.parametrize("top", [0.0, 0.2, 0.5, 0.9, 1.0])
def test_coverage_of_a_trapezoid_to_fifty_digits(level, top):
    """By integrating the density, not by the closed form."""
    beta = mpmath.mpf(top)

    def density(x):
        height = 1 / (1 + beta)
        return height if x <= beta else height * (1 - x) / (1 - beta)

    def within(t):
        points = [0, beta, t] if 0 < beta < t else [0, t]
        return 2 * mpmath.quad(density, points)

    t = mpmath.findroot(lambda t: within(t) - mpmath.mpf(level), (0.2, 0.95), solver="anderson", tol=1e-30)
    u = mpmath.sqrt((1 + beta**2) / 6)
    made = un.coverage_factor_trapezoid(level=level, top_fraction=top)
    assert made == pytest.approx(float(t / u), rel=1e-12)


@pytest.mark.parametrize(("level", "dof"), list(itertools.product([0.6827, 0.9, 0.95, 0.9973], [1, 2, 5, 19, 200])))
def test_t_factors_to_fifty_digits(level, dof):
    k = un.coverage_factor(level=level, degrees_of_freedom=dof)
    x = mpmath.mpf(dof) / (dof + mpmath.mpf(k) ** 2)
    outside = mpmath.betainc(mpmath.mpf(dof) / 2, mpmath.mpf(1) / 2, 0, x, regularized=True)
    assert float(outside) == pytest.approx(1 - level, rel=1e-12)


@pytest.mark.parametrize("outputs", [1, 2, 3, 7])
def test_ellipsoid_factors_to_fifty_digits(outputs):
    k = mpmath.mpf(un.coverage_factor_ellipsoid(level=0.95, outputs=outputs))
    inside = mpmath.gammainc(mpmath.mpf(outputs) / 2, 0, k * k / 2, regularized=True)
    assert float(1 - inside) == pytest.approx(0.05, rel=1e-12)


def test_slopes_of_the_halving_law_to_fifty_digits():
    ohm, celsius, step = 123e6, 17.0, 9.5

    def corrected(r, t, d):
        return mpmath.mpf(r) * mpmath.power(2, (mpmath.mpf(t) - 40) / mpmath.mpf(d))

    def made(u_ohm, u_kelvin, u_step):
        rows = un.propagate_rows(
            "halving_to_reference",
            resistance_ohm=un.Column(ohm, standard_uncertainty=u_ohm),
            celsius=un.Column(celsius, standard_uncertainty=u_kelvin),
            step_kelvin=un.Column(step, standard_uncertainty=u_step),
            reference_celsius=40,
            low_celsius=-math.inf,
            high_celsius=math.inf,
        )
        return rows.standard_uncertainty

    for order, given_u in ((1, 0, 0), (1, 0, 0)), ((0, 1, 0), (0, 1, 0)), ((0, 0, 1), (0, 0, 1)):
        exact = abs(mpmath.diff(corrected, (ohm, celsius, step), order))
        assert made(*given_u) == pytest.approx(float(exact), rel=1e-14)


def anova(frame):
    table = sm.stats.anova_lm(ols("y ~ C(g)", frame).fit())
    return table.loc["C(g)"], table.loc["Residual"]


@pytest.mark.parametrize("sizes", [(4, 4, 4, 4, 4), (3, 5, 2, 7)])
def test_variance_components_against_analysis_of_variance(sizes):
    random = np.random.default_rng(5)
    groups = np.repeat(np.arange(len(sizes)), sizes)
    y = 10 + random.normal(0, 0.5, len(sizes))[groups] + random.normal(0, 0.2, groups.size)
    of = un.variance_components(y, groups.tolist())
    between, within = anova(pd.DataFrame({"y": y, "g": groups}))
    n = np.array(sizes)
    n0 = (n.sum() - (n**2).sum() / n.sum()) / (n.size - 1)  # expected readings a group
    assert of.f_ratio == pytest.approx(between["F"], rel=1e-10)
    assert of.within**2 == pytest.approx(within["mean_sq"], rel=1e-10)
    assert of.between**2 == pytest.approx((between["mean_sq"] - within["mean_sq"]) / n0, rel=1e-9)


def test_crossed_mean_against_two_way_analysis_of_variance():
    random = np.random.default_rng(8)
    d, o, r = 6, 5, 4
    days, operators = np.repeat(np.arange(d), o * r), np.tile(np.repeat(np.arange(o), r), d)
    y = 7 + random.normal(0, 0.5, d)[days] + random.normal(0, 0.4, o)[operators]
    y = y + random.normal(0, 0.3, (d, o))[days, operators] + random.normal(0, 0.1, y.size)
    of = un.crossed_mean(y, days=days.tolist(), operators=operators.tolist())
    frame = pd.DataFrame({"y": y, "d": days, "o": operators})
    squares = sm.stats.anova_lm(ols("y ~ C(d) * C(o)", frame).fit())["mean_sq"]
    day, operator, both, repeat = (squares[name] for name in ("C(d)", "C(o)", "C(d):C(o)", "Residual"))
    assert of.mean == pytest.approx(y.mean(), rel=1e-14)
    assert of.repeat**2 == pytest.approx(repeat, rel=1e-10)
    assert of.interaction**2 == pytest.approx((both - repeat) / r, rel=1e-9)
    assert of.between_days**2 == pytest.approx((day - both) / (o * r), rel=1e-9)
    assert of.between_operators**2 == pytest.approx((operator - both) / (d * r), rel=1e-9)
    variance = (day + operator - both) / y.size
    parts = (day**2 / (d - 1) + operator**2 / (o - 1) + both**2 / ((d - 1) * (o - 1))) / y.size**2
    assert of.standard_uncertainty**2 == pytest.approx(variance, rel=1e-9)
    assert of.degrees_of_freedom == pytest.approx(variance**2 / parts, rel=1e-9)
    with pytest.raises(ValueError, match="every day with every operator equally often"):
        un.crossed_mean(y[:-1], days=days[:-1].tolist(), operators=operators[:-1].tolist())


def test_equal_groups_against_a_mixed_model():
    random = np.random.default_rng(6)
    groups = np.repeat(np.arange(8), 5)
    y = 3 + random.normal(0, 0.4, 8)[groups] + random.normal(0, 0.2, 40)
    of = un.variance_components(y, groups.tolist())
    frame = pd.DataFrame({"y": y, "g": groups})
    fit = sm.MixedLM.from_formula("y ~ 1", frame, groups="g").fit(reml=True)
    assert of.mean == pytest.approx(fit.params["Intercept"], rel=1e-9)
    assert of.within**2 == pytest.approx(fit.scale, rel=1e-4)
    assert of.between**2 == pytest.approx(float(fit.cov_re.iloc[0, 0]), rel=1e-4)
    assert of.standard_uncertainty == pytest.approx(fit.bse["Intercept"], rel=1e-4)


def test_prediction_of_a_line_against_another_library():
    random = np.random.default_rng(7)
    x = np.sort(random.uniform(0, 10, 30))
    y = 1 + 0.3 * x + random.normal(0, 0.1, 30)
    fit = sm.OLS(y, sm.add_constant(x)).fit()
    expected = fit.get_prediction([[1, 7.5]])
    line = un.straight_line(x, y, origin=2)
    assert line.at(7.5) == pytest.approx((expected.predicted_mean[0], expected.se_mean[0]), rel=1e-10)
    assert line.degrees_of_freedom == fit.df_resid
    assert line.standard_deviation**2 == pytest.approx(fit.mse_resid, rel=1e-10)


PRIORS = {
    "normal": (Prior.normal(mean=0.3, standard_deviation=0.7), stats.norm(0.3, 0.7)),
    "rectangular": (Prior.rectangular(centre=0.1, half_width=1.6), stats.uniform(-1.5, 3.2)),
}


@pytest.mark.parametrize("prior", PRIORS)
@pytest.mark.parametrize(("lower", "upper"), [(-1, 1), (-1, None), (None, 1)])
@pytest.mark.parametrize("factor", [0, 0.5, 2])
def test_global_risks_against_quadrature(prior, lower, upper, factor):
    u = 0.15
    rule = guarded(multiple=1, coverage_factor=factor) if factor else conformity.simple()
    made, density = PRIORS[prior]
    risks = Limit(lower=lower, upper=upper, rule=rule).global_risks(made, standard_uncertainty=u)
    low, high = (-math.inf if lower is None else lower), (math.inf if upper is None else upper)

    def accepted(true):
        return stats.norm.cdf(high - factor * u, true, u) - stats.norm.cdf(low + factor * u, true, u)

    def over(function, a, b):
        a, b = max(a, density.ppf(1e-15)), min(b, density.ppf(1 - 1e-15))
        if not a < b:
            return 0.0
        return integrate.quad(
            function, a, b, epsabs=1e-13, limit=500, points=[x for x in (-1, 1, -0.7, 0.7) if a < x < b]
        )[0]

    bad = over(lambda t: density.pdf(t) * accepted(t), -math.inf, low) + over(
        lambda t: density.pdf(t) * accepted(t), high, math.inf
    )
    lost = over(lambda t: density.pdf(t) * (1 - accepted(t)), low, high)
    assert risks.consumer_joint == pytest.approx(bad, rel=1e-6, abs=1e-12)
    assert risks.producer_joint == pytest.approx(lost, rel=1e-6, abs=1e-12)
    assert risks.conforming == pytest.approx(density.cdf(high) - density.cdf(low), rel=1e-9)
    assert risks.accepted == pytest.approx(risks.conforming - lost + bad, rel=1e-9)
    assert risks.producer_conditional == pytest.approx(lost / (1 - risks.accepted), rel=1e-6)


def test_posterior_against_quadrature():
    prior, limit, u = Prior.lognormal(median=2.0, standard_deviation_of_ln=0.5), Limit(lower=1.0), 0.4
    density = stats.lognorm(0.5, scale=2.0)

    def moment(power, low=0.0):
        return integrate.quad(
            lambda t: t**power * density.pdf(t) * stats.norm.pdf(1.3, t, u), low, 30, points=[1, 2, 3], epsabs=1e-14
        )[0]

    made = limit.with_prior(1.3, prior, standard_uncertainty=u)
    mean = moment(1) / moment(0)
    assert made.mean == pytest.approx(mean, rel=1e-7)
    assert made.standard_deviation == pytest.approx(math.sqrt(moment(2) / moment(0) - mean**2), rel=1e-6)
    assert made.probability_of_conformity == pytest.approx(moment(0, low=1.0) / moment(0), rel=1e-7)


def test_guard_band_for_a_wanted_risk_meets_it():
    items = Prior.normal(mean=1500, standard_deviation=0.12)
    bare = Limit(lower=1499.8, upper=1500.2)
    rule = bare.rule_for_consumer_risk(0.005, items, standard_uncertainty=0.04)
    risks = Limit(lower=1499.8, upper=1500.2, rule=rule).global_risks(items, standard_uncertainty=0.04)
    assert risks.consumer_joint == pytest.approx(0.005, rel=1e-6)
    assert bare.rule_for_consumer_risk(0.2, items, standard_uncertainty=0.04) == conformity.simple()


KINDS = {
    "rectangular": (un.Rectangular(centre=2, half_width=1), stats.uniform(1, 2)),
    "triangular": (un.Triangular(centre=2, half_width=1), stats.triang(0.5, 1, 2)),
    "arcsine": (un.Arcsine(centre=2, half_width=1), stats.arcsine(1, 2)),
    "student_t": (un.StudentT(location=2, scale=0.3, degrees_of_freedom=9), stats.t(9, 2, 0.3)),
    "rescaled_t": (
        un.StudentTWithStandardUncertainty(mean=2, standard_uncertainty=0.3, degrees_of_freedom=9),
        stats.t(9, 2, 0.3 * math.sqrt(7 / 9)),
    ),
    "lognormal": (un.Lognormal(median=2, standard_uncertainty_of_ln=0.3), stats.lognorm(0.3, scale=2)),
    "exponential": (un.Exponential(mean=2), stats.expon(scale=2)),
    "gamma": (un.Gamma(counted_events=4), stats.gamma(5)),
}
DRAWS = 1_000_000


@pytest.mark.parametrize("kind", KINDS)
def test_moments_and_intervals_of_draws(kind):
    """Within five standard deviations of what so many draws scatter by."""
    made, exact = KINDS[kind]
    mc = un.Budget(x=made).monte_carlo(lambda x: x, draws=DRAWS)
    mean, variance, kurtosis = exact.stats(moments="mvk")
    scatter = math.sqrt(variance / DRAWS)
    assert mc.mean == pytest.approx(float(mean), abs=5 * scatter)
    of_u = 0.5 * scatter * math.sqrt(float(kurtosis) + 2)
    assert mc.standard_uncertainty == pytest.approx(math.sqrt(variance), abs=5 * of_u)
    for end, p in zip(mc.symmetric_interval, (0.025, 0.975), strict=True):
        x = exact.ppf(p)
        assert end == pytest.approx(x, abs=5 * math.sqrt(p * (1 - p) / DRAWS) / exact.pdf(x))


def test_product_of_a_rectangle_and_a_normal_against_quadrature():
    b = un.Budget(a=un.Rectangular(centre=1, half_width=0.5), b=un.Normal(mean=3, standard_uncertainty=0.4))
    mc = b.monte_carlo(lambda a, b: a * b, draws=4_000_000)

    def below(y):
        return integrate.quad(lambda a: stats.norm.cdf(y / a, 3, 0.4), 0.5, 1.5)[0]

    assert below(mc.symmetric_interval[0]) == pytest.approx(0.025, abs=5 * math.sqrt(0.025 * 0.975 / 4e6))
    assert below(mc.symmetric_interval[1]) == pytest.approx(0.975, abs=5 * math.sqrt(0.025 * 0.975 / 4e6))
    variance = (1 + 0.25 / 3) * (9 + 0.16) - 9
    assert mc.standard_uncertainty == pytest.approx(math.sqrt(variance), rel=2e-3)


@pytest.mark.parametrize("x1", [0.0, 0.010, 0.050])
def test_a_sum_of_two_squares_against_its_exact_distribution(x1):
    """A model whose slopes vanish at 0: first order then says nothing, second order and draws do."""
    u = 0.005
    b = un.Budget(x1=un.Normal(mean=x1, standard_uncertainty=u), x2=un.Normal(mean=0, standard_uncertainty=u))

    def model(x1, x2):
        return x1 * x1 + x2 * x2

    exact = stats.ncx2(2, (x1 / u) ** 2, scale=u * u) if x1 else stats.chi2(2, scale=u * u)
    first, second = b.propagate(model), b.propagate(model, order="second")["y"]
    mc = b.monte_carlo(model, draws=DRAWS)
    assert first["y"].standard_uncertainty == pytest.approx(2 * x1 * u, rel=1e-12, abs=1e-15)
    assert second.standard_uncertainty == pytest.approx(exact.std(), rel=1e-6)
    assert mc.mean == pytest.approx(exact.mean(), abs=5 * exact.std() / math.sqrt(DRAWS))
    for end, p in zip(mc.symmetric_interval, (0.025, 0.975), strict=True):
        x = exact.ppf(p)
        assert end == pytest.approx(x, abs=5 * math.sqrt(p * (1 - p) / DRAWS) / exact.pdf(x))
    if x1:
        assert not mc.validates(first)
    else:
        for asked in (lambda: mc.validates(first), first["y"].expanded):
            with pytest.raises(ValueError, match="first order says nothing"):
                asked()
