"""Budgets, coverage, rounding and Monte Carlo from Python: the same check values as C++, and other libraries."""

import math

import numpy as np
import pytest
from scipy import stats

from check_values import check_values
from ohmward import _core
from ohmward import uncertainty as un

INF = math.inf


def made(shape, first, second, third):
    makers = {
        "rectangular": lambda: un.Rectangular(centre=first, half_width=second),
        "triangular": lambda: un.Triangular(centre=first, half_width=second),
        "arcsine": lambda: un.Arcsine(centre=first, half_width=second),
        "asymmetric": lambda: un.Asymmetric(estimate=first, below=second, above=third),
        "trapezoidal": lambda: un.Trapezoidal(centre=first, half_width=second, top_fraction=third),
        "curvilinear_trapezoidal": lambda: un.CurvilinearTrapezoidal(
            centre=first, half_width=second, limit_half_width=third
        ),
        "student_t_with_standard_uncertainty": lambda: un.StudentTWithStandardUncertainty(
            mean=first, standard_uncertainty=second, degrees_of_freedom=third
        ),
    }
    return makers[shape]()


@pytest.mark.parametrize("case", check_values("input_uncertainty"), ids=str)
def test_input_uncertainty(case):
    case.expect(made(case.text("shape"), *(case.number(c) for c in ("first", "second", "third"))).standard_uncertainty)


@pytest.mark.parametrize("case", check_values("stated_uncertainty"), ids=str)
def test_stated_uncertainty(case):
    stated = {name: case.number(name) for name in ("coverage_factor", "level") if not math.isnan(case.number(name))}
    u = un.standard_uncertainty_from(
        expanded_uncertainty=case.number("expanded"), degrees_of_freedom=case.number("degrees_of_freedom"), **stated
    )
    case.expect(u)


@pytest.mark.parametrize("case", check_values("coverage_factor"), ids=str)
def test_coverage_factor(case):
    level, second = case.number("level"), case.number("second")
    kinds = {
        "t": lambda: un.coverage_factor(level=level, degrees_of_freedom=second),
        "trapezoid": lambda: un.coverage_factor_trapezoid(level=level, top_fraction=second),
        "rectangle_and_normal": lambda: un.coverage_factor_rectangle_and_normal(level=level, ratio=second),
    }
    case.expect(kinds[case.text("kind")]())


@pytest.mark.parametrize("case", check_values("rounding"), ids=str)
def test_rounding(case):
    value, u, _ = _core.uncertainty.rounded(
        case.number("value"), case.number("uncertainty"), int(case.number("digits"))
    )
    case.expect(value)
    case.expect(u, "expected_uncertainty")


def type_a():
    celsius = [96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07]
    celsius += [100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72]
    return vars(un.mean_of(celsius))


def voltmeter():
    b = un.Budget(
        reading=un.Normal(mean=0.928571, standard_uncertainty=12e-6),
        sheet=un.Rectangular(centre=0, half_width=14e-6 * 0.928571 + 2e-6),
    )
    return {"standard_uncertainty": b.propagate(lambda reading, sheet: reading + sheet)["y"].standard_uncertainty}


def ten_resistors():
    names = [f"r{i}" for i in range(10)]
    b = un.Budget(
        **{name: un.Normal(mean=1000, standard_uncertainty=0.1) for name in names},
        correlation={(a, c): 1 for i, a in enumerate(names) for c in names[:i]},
    )
    return {"standard_uncertainty": b.propagate(lambda **r: sum(r.values()))["y"].standard_uncertainty}


def mass_u():
    return {"expanded": 0.35 * un.coverage_factor(level=0.95, degrees_of_freedom=9)}


def g41():
    b = un.Budget(
        x1=un.Normal(mean=1, standard_uncertainty=0.25, degrees_of_freedom=9),
        x2=un.Normal(mean=1, standard_uncertainty=0.57, degrees_of_freedom=4),
        x3=un.Normal(mean=1, standard_uncertainty=0.82, degrees_of_freedom=14),
    )
    y = b.propagate(lambda x1, x2, x3: x1 * x2 * x3)["y"]
    return {
        "standard_uncertainty": y.standard_uncertainty,
        "degrees_of_freedom": y.degrees_of_freedom,
        "expanded": y.expanded(0.95).expanded_uncertainty,
    }


def end_gauge(d, d1, d2):
    b = un.Budget(
        ls=un.Normal(mean=50_000_623, standard_uncertainty=25, degrees_of_freedom=18),
        d=un.Normal(mean=215, standard_uncertainty=d, degrees_of_freedom=24),
        d1=un.Normal(mean=0, standard_uncertainty=d1, degrees_of_freedom=5),
        d2=un.Normal(mean=0, standard_uncertainty=d2, degrees_of_freedom=8),
        alpha=un.Rectangular(centre=11.5e-6, half_width=2e-6),
        theta=un.Normal(mean=-0.1, standard_uncertainty=0.2),
        cycle=un.Arcsine(centre=0, half_width=0.5),
        d_alpha=un.Rectangular(centre=0, half_width=1e-6, degrees_of_freedom=50),
        d_theta=un.Rectangular(centre=0, half_width=0.05, degrees_of_freedom=2),
    )

    def length(ls, d, d1, d2, alpha, theta, cycle, d_alpha, d_theta):
        return ls + d + d1 + d2 - ls * (d_alpha * (theta + cycle) + alpha * d_theta)

    first, second = b.propagate(length)["y"], b.propagate(length, order="second")["y"]
    c = first.contributions
    return {
        "standard_uncertainty": first.standard_uncertainty,
        "contribution_d": math.hypot(c["d"], c["d1"], c["d2"]),
        "contribution_difference_alpha": abs(c["d_alpha"]),
        "contribution_difference_theta": abs(c["d_theta"]),
        "degrees_of_freedom": first.degrees_of_freedom,
        "expanded": first.expanded(0.99).expanded_uncertainty,
        "second_order": second.standard_uncertainty,
    }


def h1():
    d1 = un.standard_uncertainty_from(expanded_uncertainty=10, level=0.95, degrees_of_freedom=5)
    return end_gauge(13 / math.sqrt(5), d1, 20 / 3)


def h1_rounded():
    return end_gauge(5.8, 3.9, 6.7)


OBSERVED = {
    "V": [5.007, 4.994, 5.005, 4.990, 4.999],
    "I": [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3],
    "phi": [1.0456, 1.0438, 1.0468, 1.0428, 1.0433],
}


def impedance(V, I, phi):  # noqa: E741
    return {"R": V / I * np.cos(phi), "X": V / I * np.sin(phi), "Z": V / I}


def h2():
    b = un.Budget(observed_together=OBSERVED)
    z = b.propagate(impedance)
    return {
        **{name: z[name].value for name in "RXZ"},
        **{f"u_{name}": z[name].standard_uncertainty for name in "RXZ"},
        "r_RX": z.correlation[0, 1],
        "r_RZ": z.correlation[0, 2],
        "r_XZ": z.correlation[1, 2],
        "r_VI": b.correlation[0, 1],
        "r_Vphi": b.correlation[0, 2],
        "r_Iphi": b.correlation[1, 2],
        "degrees_of_freedom": z["R"].degrees_of_freedom,
    }


CELSIUS = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
CORRECTION = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]


def h3():
    line = un.straight_line(CELSIUS, CORRECTION, origin=20)
    at, u_at = line.at(30)
    return {
        **vars(line),
        "u_intercept": line.intercept_standard_uncertainty,
        "u_slope": line.slope_standard_uncertainty,
        "at_30": at,
        "u_at_30": u_at,
    }


def h5():
    means = [10.000172, 10.000116, 10.000013, 10.000144, 10.000106]
    means += [10.000031, 10.000060, 10.000125, 10.000163, 10.000041]
    s = np.array([60, 77, 111, 101, 67, 93, 80, 73, 88, 86]) * 1e-6
    readings = np.array(means)[:, None] + s[:, None] * np.arange(-2, 3) / math.sqrt(2.5)
    v = un.variance_components(readings.reshape(-1), np.repeat(np.arange(10), 5).tolist())
    return {**vars(v), "standard_deviation_of_means": un.mean_of(means).standard_deviation}


def s3():
    b = un.Budget(
        rs=un.Normal(mean=10_000.053, standard_uncertainty=2.5e-3),
        drift=un.Rectangular(centre=0.020, half_width=10e-3),
        ts=un.Rectangular(centre=0, half_width=2.75e-3),
        rc=un.Triangular(centre=1, half_width=1e-6),
        r=un.Normal(mean=1.0000105, standard_uncertainty=0.07e-6, degrees_of_freedom=4),
        tx=un.Rectangular(centre=0, half_width=5.5e-3),
    )
    y = b.propagate(lambda rs, drift, ts, rc, r, tx: (rs + drift + ts) * rc * r - tx)["y"]
    return {"value": y.value, "standard_uncertainty": y.standard_uncertainty, "expanded": 2 * y.standard_uncertainty}


def sum_and_sum():
    b = un.Budget(**{f"x{i}": un.Normal(mean=0, standard_uncertainty=1) for i in (1, 2, 3)})
    y = b.propagate(lambda x1, x2, x3: {"y1": x1 + x3, "y2": x2 + x3})
    return {"u_first": y["y1"].standard_uncertainty, "r": y.correlation[0, 1]}


EXAMPLES = {
    "type_a": type_a, "voltmeter": voltmeter, "ten_resistors": ten_resistors, "mass": mass_u, "g41": g41,
    "h1": h1, "h1_rounded": h1_rounded, "sum_and_sum": sum_and_sum, "h2": h2, "h3": h3, "h5": h5, "s3": s3,
}  # fmt: skip


@pytest.mark.parametrize("case", check_values("budget_example"), ids=str)
def test_budget_example(case):
    case.expect(EXAMPLES[case.text("example")]()[case.text("quantity")])


def halving_ln_factor(kelvin, u_kelvin, u_step):
    rows = un.propagate_rows(
        "halving_to_reference",
        resistance_ohm=un.Column(1.0, standard_uncertainty=0),
        celsius=un.Column(40 + kelvin, standard_uncertainty=u_kelvin),
        step_kelvin=un.Column(10, standard_uncertainty=u_step),
        reference_celsius=40,
        low_celsius=-INF,
        high_celsius=INF,
    )
    return rows.standard_uncertainty / rows.value


@pytest.mark.parametrize("case", check_values("uncertainty_figure"), ids=str)
def test_uncertainty_figure(case):
    first, second, third = (case.number(c) for c in ("first", "second", "third"))
    figures = {
        "display_step": lambda: un.standard_uncertainty_of_display(first),
        "type_b_degrees_of_freedom": lambda: un.type_b_degrees_of_freedom(first),
        "numerical_tolerance": lambda: un.numerical_tolerance(first, digits=int(second)),
        "ellipsoid": lambda: un.coverage_factor_ellipsoid(level=first, outputs=int(second)),
        "halving_ln_factor": lambda: halving_ln_factor(first, second, third),
    }
    case.expect(figures[case.text("figure")]())


def four(make):
    return un.Budget(**{f"x{i}": make() for i in range(4)})


def add_four(x0, x1, x2, x3):
    return x0 + x1 + x2 + x3


def mass_budget():
    return un.Budget(
        m_rc=un.Normal(mean=100_000.000, standard_uncertainty=0.050),
        dm_rc=un.Normal(mean=1.234, standard_uncertainty=0.020),
        rho_a=un.Rectangular(centre=1.20, half_width=0.10),
        rho_w=un.Rectangular(centre=8000, half_width=1000),
        rho_r=un.Rectangular(centre=8000, half_width=50),
    )


def mass(m_rc, dm_rc, rho_a, rho_w, rho_r):
    return (m_rc + dm_rc) * (1 + (rho_a - 1.2) * (1 / rho_w - 1 / rho_r)) - 100_000


def gauge_budget():
    return un.Budget(
        ls=un.StudentT(location=50_000_623, scale=25, degrees_of_freedom=18),
        d=un.StudentT(location=215, scale=6, degrees_of_freedom=24),
        d1=un.StudentT(location=0, scale=4, degrees_of_freedom=5),
        d2=un.StudentT(location=0, scale=7, degrees_of_freedom=8),
        alpha=un.Rectangular(centre=11.5e-6, half_width=2e-6),
        theta=un.Normal(mean=-0.1, standard_uncertainty=0.2),
        cycle=un.Arcsine(centre=0, half_width=0.5),
        d_alpha=un.CurvilinearTrapezoidal(centre=0, half_width=1e-6, limit_half_width=0.1e-6),
        d_theta=un.CurvilinearTrapezoidal(centre=0, half_width=0.05, limit_half_width=0.025),
    )


def gauge(ls, d, d1, d2, alpha, theta, cycle, d_alpha, d_theta):
    return ls + d + d1 + d2 - ls * (d_alpha * (theta + cycle) + alpha * d_theta) - 5e7


def figures(of):
    return {
        "mean": of.mean,
        "standard_uncertainty": of.standard_uncertainty,
        "symmetric_low": of.symmetric_interval[0],
        "symmetric_high": of.symmetric_interval[1],
        "shortest_low": of.shortest_interval[0],
        "shortest_high": of.shortest_interval[1],
    }


def mass_first_order():
    y = mass_budget().propagate(mass)["y"]
    low, high = y.expanded(0.95, shape="normal").interval
    return {
        "mean": y.value,
        "standard_uncertainty": y.standard_uncertainty,
        "symmetric_low": low,
        "symmetric_high": high,
    }


@pytest.fixture(scope="module")
def monte_carlo_examples():
    many = 2_000_000
    return {
        "four_normal": figures(
            four(lambda: un.Normal(mean=0, standard_uncertainty=1)).monte_carlo(add_four, draws=many)
        ),
        "four_rectangular": figures(
            four(lambda: un.Rectangular(centre=0, half_width=math.sqrt(3))).monte_carlo(add_four, draws=many)
        ),
        "mass_first_order": mass_first_order(),
        "mass": figures(mass_budget().monte_carlo(mass, draws=many)),
        "gauge": figures(gauge_budget().monte_carlo(gauge, draws=many, level=0.99)),
    }


@pytest.mark.parametrize("case", check_values("monte_carlo"), ids=str)
def test_monte_carlo(case, monte_carlo_examples):
    case.expect(monte_carlo_examples[case.text("example")][case.text("quantity")])


def test_first_order_of_the_mass_example_is_not_validated():
    b = mass_budget()
    verdict = b.monte_carlo(mass, draws=1_000_000).validates(b.propagate(mass), digits=1, interval="shortest")
    assert verdict.tolerance == 0.005
    assert not verdict


def test_equal_results_for_any_number_of_threads():
    runs = [figures(mass_budget().monte_carlo(mass, digits=1, threads=threads)) for threads in (1, 2, 7)]
    assert runs[0] == runs[1] == runs[2]
    other = mass_budget().monte_carlo(mass, digits=1, seed=2)
    assert figures(other) != runs[0]


def test_kept_draws_and_joint_region():
    b = un.Budget(**{f"x{i}": un.Normal(mean=0, standard_uncertainty=1) for i in (1, 2, 3)})
    mc = b.monte_carlo(lambda x1, x2, x3: {"y1": x1 + x3, "y2": x2 + x3}, draws=400_000, keep_values=True)
    assert mc.correlation[0, 1] == pytest.approx(0.5, abs=0.01)
    assert mc.joint_region()[0] == pytest.approx(un.coverage_factor_ellipsoid(level=0.95, outputs=2), abs=0.02)
    assert mc.values["y1"].std(ddof=1) == pytest.approx(mc["y1"].standard_uncertainty, rel=1e-9)
    low, high = mc["y1"].symmetric_interval
    assert un.symmetric_interval(mc.values["y1"]) == (low, high)
    with pytest.raises(ValueError, match="keep_values"):
        _ = b.monte_carlo(lambda x1, x2, x3: x1 + x2 + x3, draws=1000).values


@pytest.mark.parametrize(
    ("kind", "distribution"),
    [
        (un.StudentT(location=0, scale=1, degrees_of_freedom=2.5), stats.t(2.5)),
        (un.Triangular(centre=0, half_width=1), stats.triang(0.5, loc=-1, scale=2)),
        (un.Trapezoidal(centre=0, half_width=1, top_fraction=0.4), stats.trapezoid(0.3, 0.7, loc=-1, scale=2)),
        (un.Arcsine(centre=0, half_width=1), stats.arcsine(loc=-1, scale=2)),
        (un.Lognormal(median=2, standard_uncertainty_of_ln=0.4), stats.lognorm(0.4, scale=2)),
        (un.Exponential(mean=3), stats.expon(scale=3)),
        (un.Gamma(counted_events=2.5), stats.gamma(3.5)),
    ],
    ids=lambda value: type(value).__name__,
)
def test_draws_follow_their_distribution(kind, distribution):
    """Kolmogorov–Smirnov against scipy; the seed is fixed, so this either always passes or never."""
    mc = un.Budget(x=kind).monte_carlo(lambda x: x, draws=100_000, keep_values=True)
    assert stats.kstest(mc.values["y"], distribution.cdf).pvalue > 0.001


def test_coverage_of_the_actual_shape_against_draws():
    b = un.Budget(
        a=un.Rectangular(centre=0, half_width=1),
        b=un.Arcsine(centre=0, half_width=0.6),
        c=un.StudentT(location=0, scale=0.2, degrees_of_freedom=4),
        d=un.CurvilinearTrapezoidal(centre=0, half_width=0.5, limit_half_width=0.2),
    )
    y = b.propagate(lambda a, b, c, d: a - 2 * b + c + d)["y"]
    mc = b.monte_carlo(lambda a, b, c, d: a - 2 * b + c + d, draws=4_000_000)
    low, high = mc.symmetric_interval
    assert y.expanded(0.95, shape="actual").expanded_uncertainty == pytest.approx((high - low) / 2, rel=2e-3)


def test_slopes_of_models_that_are_not_analytic():
    b = un.Budget(x=un.Normal(mean=-2, standard_uncertainty=0.1), y=un.Normal(mean=3, standard_uncertainty=0.1))
    slopes = b.propagate(lambda x, y: abs(x) * max(y, 0.0))["y"].sensitivities
    assert slopes == pytest.approx({"x": -3, "y": 2}, rel=1e-7)
    slopes = b.propagate(lambda x, y: math.exp(x) * math.sqrt(y))["y"].sensitivities
    assert slopes["x"] == pytest.approx(math.exp(-2) * math.sqrt(3), rel=1e-7)


def test_differences_of_the_guide():
    b = un.Budget(x=un.Normal(mean=1, standard_uncertainty=0.5))
    assert b.propagate(lambda x: x**3, slopes="difference")["y"].sensitivities["x"] == pytest.approx(3.25)
    assert b.propagate(lambda x: x**3)["y"].sensitivities["x"] == pytest.approx(3, rel=1e-14)


def test_table_reads_well():
    b = un.Budget(V=un.Normal(mean=5, standard_uncertainty=0.01), I=un.Rectangular(centre=0.02, half_width=1e-4))
    table = b.propagate(lambda V, I: {"R": V / I})["R"].table()  # noqa: E741
    assert table["input"] == ["V", "I", "R"]
    assert sum(table["share_percent"][:-1]) == pytest.approx(100)
    page = table._repr_html_()
    assert "<td>rectangular</td>" in page
    assert "standard uncertainty" in page
    assert "standard_uncertainty" not in page
    assert "inf" not in page
    assert '<td style="text-align:right">5.000</td><td style="text-align:right">0.010</td>' in page
    big = un.Budget(R=un.Normal(mean=2.3456e9, standard_uncertainty=0.41e9, degrees_of_freedom=8.96))
    (row, result) = big.propagate(lambda R: R)["y"].table().shown()
    assert (row["estimate"], row["standard_uncertainty"], row["degrees_of_freedom"]) == ("2.35e9", "0.41e9", "9")
    assert result["share_percent"] == "100.0\N{NO-BREAK SPACE}%"
    assert table.to_pandas().shape == (3, 8)


BAD = [
    (lambda: un.Normal(mean=0, standard_uncertainty=0), "standard_uncertainty"),
    (lambda: un.Normal(mean=0, standard_uncertainty=1, degrees_of_freedom=0.5), "degrees_of_freedom"),
    (un.Budget, "at least one input"),
    (lambda: un.Budget(x=1.0), "x is float"),
    (lambda: un.Budget(observed_together={"a": [1, 2], "b": [1, 2, 3]}), "as many of each"),
    (lambda: mass_budget().propagate(mass)["y"].expanded(1.0), "level"),
    (lambda: mass_budget().propagate(mass)["z"], "no output 'z'"),
    (lambda: mass_budget().propagate(lambda **_: 1 / 0), "ZeroDivisionError.*m_rc = 100000"),
    (lambda: mass_budget().propagate(lambda **_: math.nan), "model"),
    (lambda: mass_budget().propagate(lambda **_: np.ones(3)), "shape"),
    (lambda: mass_budget().monte_carlo(lambda m_rc, **_: np.ones(3) if np.ndim(m_rc) else 1.0, draws=1000), "shape"),
    (lambda: mass_budget().monte_carlo(lambda m_rc, **_: m_rc * np.nan, draws=1000), "m_rc = "),
    (lambda: mass_budget().monte_carlo(mass, level=0, draws=1000), "level"),
    (lambda: un.mean_of(["5"]), "readings must be real numbers"),
    (lambda: un.mean_of([True]), "readings must be real numbers"),
]


@pytest.mark.parametrize(("call", "message"), BAD, ids=[message for _, message in BAD])
def test_bad_input_is_named(call, message):
    with pytest.raises((ValueError, TypeError, KeyError), match=message):
        call()


def test_impossible_correlation_names_a_pair():
    unit = un.Normal(mean=0, standard_uncertainty=1)
    with pytest.raises(ValueError, match=r"least eigenvalue is -0\.8.*'b', 'c'"):
        un.Budget(a=unit, b=unit, c=unit, correlation={("a", "b"): 0.9, ("a", "c"): 0.9, ("b", "c"): -0.95})


def test_line_against_another_library():
    import statsmodels.api as sm

    fit = sm.OLS(CORRECTION, sm.add_constant(np.array(CELSIUS) - 20)).fit()
    line = un.straight_line(CELSIUS, CORRECTION, origin=20)
    assert [line.intercept, line.slope] == pytest.approx(fit.params, rel=1e-12)
    u = [line.intercept_standard_uncertainty, line.slope_standard_uncertainty]
    assert u == pytest.approx(fit.bse, rel=1e-12)
