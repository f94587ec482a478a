"""Laws that uncertainty must obey whatever the numbers, and senseless input refused one by one."""

import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from ohmward import uncertainty as un
from ohmward.conformity import Limit, guarded

sizes = st.floats(0.1, 10)
small = st.floats(0.001, 0.1)
quick = settings(max_examples=40, deadline=None)


def two(x, y, u, v, correlation=None):
    return un.Budget(
        x=un.Normal(mean=x, standard_uncertainty=u, degrees_of_freedom=9),
        y=un.Normal(mean=y, standard_uncertainty=v, degrees_of_freedom=4),
        correlation=None if correlation is None else {("x", "y"): correlation},
    )


@quick
@given(x=sizes, y=sizes, u=small, v=small, factor=st.floats(-1e6, 1e6).filter(lambda c: abs(c) > 1e-6))
def test_scaling_the_result_scales_its_uncertainty_and_nothing_else(x, y, u, v, factor):
    b = two(x, y, u, v)
    one, scaled = b.propagate(lambda x, y: x / y)["y"], b.propagate(lambda x, y: factor * x / y)["y"]
    assert scaled.value == pytest.approx(factor * one.value, rel=1e-12)
    assert scaled.standard_uncertainty == pytest.approx(abs(factor) * one.standard_uncertainty, rel=1e-12)
    assert scaled.degrees_of_freedom == pytest.approx(one.degrees_of_freedom, rel=1e-10)
    assert scaled.shares == pytest.approx(one.shares, rel=1e-10)


@quick
@given(x=sizes, y=sizes, u=small, v=small, factor=st.floats(1e-6, 1e6))
def test_the_unit_of_an_input_does_not_matter(x, y, u, v, factor):
    one = two(x, y, u, v).propagate(lambda x, y: x * x / y)["y"]
    other = two(factor * x, y, factor * u, v).propagate(lambda x, y: (x / factor) ** 2 / y)["y"]
    assert other.standard_uncertainty == pytest.approx(one.standard_uncertainty, rel=1e-9)
    assert other.shares == pytest.approx(one.shares, rel=1e-9)


@quick
@given(x=sizes, y=sizes, u=small, v=small, a=st.floats(-5, 5), c=st.floats(-5, 5), sign=st.sampled_from([1, -1]))
def test_full_correlation_adds_linearly(x, y, u, v, a, c, sign):
    of = two(x, y, u, v, correlation=sign).propagate(lambda x, y: a * x + c * y)["y"]
    assert of.standard_uncertainty == pytest.approx(abs(a * u + sign * c * v), rel=1e-6, abs=1e-9)


@quick
@given(x=sizes, y=sizes, u=small, v=small, r=st.floats(-0.99, 0.99))
def test_the_order_of_inputs_does_not_matter(x, y, u, v, r):
    def model(x, y):
        return x * y + x

    one = two(x, y, u, v, r).propagate(model)["y"]
    b = un.Budget(
        y=un.Normal(mean=y, standard_uncertainty=v, degrees_of_freedom=4),
        x=un.Normal(mean=x, standard_uncertainty=u, degrees_of_freedom=9),
        correlation={("x", "y"): r},
    )
    other = b.propagate(model)["y"]
    assert other.standard_uncertainty == pytest.approx(one.standard_uncertainty, rel=1e-9)
    assert other.degrees_of_freedom == pytest.approx(one.degrees_of_freedom, rel=1e-8)


@settings(max_examples=10, deadline=None)
@given(a=st.floats(0.1, 5), c=st.floats(-5, 5), r=st.floats(-0.95, 0.95), seed=st.integers(0, 10**6))
def test_monte_carlo_equals_first_order_for_linear_models(a, c, r, seed):
    draws = 200_000
    b = un.Budget(
        x=un.Normal(mean=1, standard_uncertainty=0.3),
        y=un.Normal(mean=-2, standard_uncertainty=0.2),
        correlation={("x", "y"): r},
    )

    def model(x, y):
        return a * x + c * y + 7

    first, mc = b.propagate(model)["y"], b.monte_carlo(model, draws=draws, seed=seed)
    u = first.standard_uncertainty
    assume(u > 1e-3)
    assert mc.mean == pytest.approx(first.value, abs=6 * u / math.sqrt(draws))
    assert mc.standard_uncertainty == pytest.approx(u, rel=6 / math.sqrt(2 * draws))
    # The scatter of an end of a 95 % interval of normal draws is 2.67 u/sqrt(draws).
    ends = first.expanded(0.95, shape="normal").interval
    assert mc.symmetric_interval == pytest.approx(ends, abs=6 * 2.68 * u / math.sqrt(draws))


def everything_of(mc):
    return [
        (o.mean, o.standard_uncertainty, *o.symmetric_interval, *o.shortest_interval) for o in mc.outputs.values()
    ] + mc.covariance.tolist()


BUDGETS = {
    "independent": lambda: un.Budget(
        x=un.StudentT(location=1, scale=0.1, degrees_of_freedom=5),
        y=un.Arcsine(centre=2, half_width=0.3),
        z=un.CurvilinearTrapezoidal(centre=0, half_width=1, limit_half_width=0.2),
    ),
    "correlated": lambda: un.Budget(
        x=un.Normal(mean=1, standard_uncertainty=0.1),
        y=un.Normal(mean=2, standard_uncertainty=0.2),
        z=un.Gamma(counted_events=3),
        correlation={("x", "y"): 0.7},
    ),
    "together": lambda: un.Budget(
        observed_together={"x": [1.0, 1.1, 0.9, 1.05], "y": [2.0, 2.1, 2.05, 1.9]},
        z=un.Lognormal(median=1, standard_uncertainty_of_ln=0.2),
    ),
}


PLANS = [(name, plan) for name in BUDGETS for plan in ({"draws": 100_003}, {"digits": 1})]


@pytest.mark.parametrize(("name", "plan"), [*PLANS, ("independent", {"draws": 5_000_000})], ids=str)
def test_equal_bits_for_any_number_of_threads(name, plan):
    def model(x, y, z):
        return {"sum": x + y + z, "product": x * y * z}

    runs = [everything_of(BUDGETS[name]().monte_carlo(model, threads=threads, **plan)) for threads in (1, 2, 7)]
    assert runs[0] == runs[1] == runs[2]


@quick
@given(
    low=st.floats(0.5, 2),
    width=st.floats(0.5, 5),
    u=st.floats(0.001, 0.05),
    more=st.floats(1.01, 4),
    factor=st.floats(0.5, 3),
    log_scale=st.booleans(),
)
def test_passing_readings_shrink_as_uncertainty_grows(low, width, u, more, factor, log_scale):
    limit = Limit(lower=low, upper=low + width, rule=guarded(multiple=1, coverage_factor=factor), log_scale=log_scale)
    wide, narrow = limit.acceptance(u), limit.acceptance(more * u)
    assert low < wide[0] < narrow[0]
    assert narrow[1] < wide[1] < low + width
    for reading in np.linspace(low, low + width, 21):
        poorer = limit.judge(reading, standard_uncertainty=more * u * (reading if log_scale else 1))
        better = limit.judge(reading, standard_uncertainty=u * (reading if log_scale else 1))
        assert better.verdict == "pass" or poorer.verdict != "pass"


@quick
@given(value=st.floats(-1e9, 1e9), u=st.floats(1e-6, 1e6), digits=st.sampled_from([1, 2]))
def test_rounding_never_makes_an_uncertainty_much_smaller(value, u, digits):
    from ohmward import _core

    shown, shown_u, _ = _core.uncertainty.rounded(value, u, digits)
    last = 10 ** (math.floor(math.log10(u)) - digits + 1)
    assert u - 0.0501 * last <= shown_u <= u + 1.0001 * last
    assert abs(shown - value) <= 5.001 * last


TWO_SIDED = {
    "rectangular": lambda a: un.Rectangular(centre=0, half_width=a),
    "triangular": lambda a: un.Triangular(centre=0, half_width=a),
    "arcsine": lambda a: un.Arcsine(centre=0, half_width=a),
    "trapezoidal": lambda a: un.Trapezoidal(centre=0, half_width=a, top_fraction=0.5),
    "curvilinear": lambda a: un.CurvilinearTrapezoidal(centre=0, half_width=a, limit_half_width=0.1),
    "normal": lambda a: un.Normal(mean=0, standard_uncertainty=a),
    "student_t": lambda a: un.StudentT(location=0, scale=a, degrees_of_freedom=5),
    "rescaled_t": lambda a: un.StudentTWithStandardUncertainty(mean=0, standard_uncertainty=a, degrees_of_freedom=5),
    "lognormal": lambda a: un.Lognormal(median=1, standard_uncertainty_of_ln=a),
    "lognormal_median": lambda a: un.Lognormal(median=a, standard_uncertainty_of_ln=1),
    "exponential": lambda a: un.Exponential(mean=a),
    "display": un.standard_uncertainty_of_display,
    "expanded": lambda a: un.standard_uncertainty_from(expanded_uncertainty=a, coverage_factor=2),
    "coverage_factor": lambda a: un.standard_uncertainty_from(expanded_uncertainty=1, coverage_factor=a),
}


@pytest.mark.parametrize("senseless", [0.0, -1.0, math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("kind", TWO_SIDED)
def test_no_uncertainty_is_no_uncertainty(kind, senseless):
    with pytest.raises(ValueError, match=r" is .*, expected "):
        TWO_SIDED[kind](senseless)


@pytest.mark.parametrize("dof", [0.999, 0.0, -3.0, math.nan])
@pytest.mark.parametrize(
    "make",
    [
        lambda dof: un.Normal(mean=0, standard_uncertainty=1, degrees_of_freedom=dof),
        lambda dof: un.Rectangular(centre=0, half_width=1, degrees_of_freedom=dof),
        lambda dof: un.StudentT(location=0, scale=1, degrees_of_freedom=dof),
        lambda dof: un.StudentTWithStandardUncertainty(mean=0, standard_uncertainty=1, degrees_of_freedom=dof),
        lambda dof: un.coverage_factor(level=0.95, degrees_of_freedom=dof),
    ],
    ids=["normal", "rectangular", "student_t", "rescaled_t", "coverage_factor"],
)
def test_degrees_of_freedom_start_at_one(make, dof):
    with pytest.raises(ValueError, match=r"degrees_of_freedom is .*, expected "):
        make(dof)


BUDGET = un.Budget(x=un.Normal(mean=2, standard_uncertainty=1), y=un.Normal(mean=3, standard_uncertainty=0.5))
SUM = BUDGET.propagate(lambda x, y: x + y)["y"]


@pytest.mark.parametrize("level", [0.0, 1.0, -0.5, 1.5, math.nan])
@pytest.mark.parametrize(
    "call",
    [
        lambda level: un.coverage_factor(level=level),
        lambda level: un.coverage_factor_trapezoid(level=level, top_fraction=0.5),
        lambda level: un.coverage_factor_rectangle_and_normal(level=level, ratio=1),
        lambda level: un.coverage_factor_ellipsoid(level=level, outputs=2),
        lambda level: SUM.expanded(level, shape="normal"),
        lambda level: SUM.expanded(level, shape="actual"),
        lambda level: BUDGET.monte_carlo(lambda x, y: x + y, draws=1000, level=level),
        lambda level: BUDGET.monte_carlo(lambda x, y: x + y, level=level),
        lambda level: un.symmetric_interval(np.arange(100.0), level=level),
        lambda level: un.shortest_interval(np.arange(100.0), level=level),
    ],
    ids=[
        "t", "trapezoid", "rectangle_and_normal", "ellipsoid", "expanded", "actual", "fixed", "adaptive", "symmetric",
        "shortest",
    ],
)  # fmt: skip
def test_levels_lie_between_zero_and_one(call, level):
    with pytest.raises(ValueError, match="level"):
        call(level)


def fails_below(x, y):
    if np.min(x) < 0:
        raise ArithmeticError("below zero")
    return x + y


MODELS = [
    ("raises", lambda **_: 1 / 0, "ZeroDivisionError.*x = 2, y = 3"),
    ("raises for some draws", fails_below, "below zero"),
    ("gives NaN", lambda **_: math.nan, "model"),
    ("gives infinity", lambda **_: math.inf, "model"),
    ("gives text", lambda **_: "4", "output 'y' is str"),
    ("gives nothing", lambda **_: None, "output 'y' is NoneType"),
    ("gives no outputs", lambda **_: {}, "gives no output"),
    ("gives another shape", lambda **_: np.ones(3), "shape"),
    ("does not know the inputs", lambda x: x, "TypeError.*x = 2, y = 3"),
    ("is NaN for some draws", lambda x, y: np.log(x) + y, "x = -"),
]


@pytest.mark.filterwarnings("ignore:invalid value:RuntimeWarning")
@pytest.mark.parametrize(("model", "message"), [case[1:] for case in MODELS], ids=[case[0] for case in MODELS])
def test_a_model_that_fails_is_named(model, message):
    with pytest.raises((ValueError, TypeError, ArithmeticError), match=message):
        BUDGET.monte_carlo(model, draws=10_000)
    if "draws" not in message and message not in ("below zero", "x = -"):
        with pytest.raises((ValueError, TypeError), match=message):
            BUDGET.propagate(model)


@pytest.mark.filterwarnings("ignore:invalid value:RuntimeWarning")
def test_a_slope_that_is_not_finite_names_its_input():
    b = un.Budget(x=un.Normal(mean=0, standard_uncertainty=1), y=un.Normal(mean=3, standard_uncertainty=0.5))
    with pytest.raises(ValueError, match="finite slope of output 0 along input 'x'"):
        b.propagate(lambda x, y: np.sqrt(x) + y)


CORRELATIONS = [
    ({("x", "y"): 1.1}, "correlation is 1.1, expected -1 to 1"),
    ({("x", "y"): math.nan}, "correlation is nan"),
    ({("x", "x"): 0.5}, "two different inputs"),
    ({("x", "w"): 0.5}, "correlation is w, expected the name of an input|'w'"),
    ({("x", "y"): 0.5, ("y", "x"): 0.5}, "each pair once"),
]


@pytest.mark.parametrize(("correlation", "message"), CORRELATIONS, ids=[message for _, message in CORRELATIONS])
def test_a_senseless_correlation_is_named(correlation, message):
    with pytest.raises(ValueError, match=message):
        un.Budget(
            x=un.Normal(mean=0, standard_uncertainty=1),
            y=un.Normal(mean=0, standard_uncertainty=1),
            correlation=correlation,
        )


@pytest.mark.parametrize(("r", "least"), [(-0.6, -0.2), (-0.9, -0.8), (-0.51, -0.02)])
def test_three_inputs_can_not_all_oppose_each_other(r, least):
    unit = un.Normal(mean=0, standard_uncertainty=1)
    pairs = {("a", "b"): r, ("a", "c"): r, ("b", "c"): r}
    with pytest.raises(ValueError, match=f"least eigenvalue is {least:.3g} and the pair '[abc]', '[abc]' \\({r}\\)"):
        un.Budget(a=unit, b=unit, c=unit, correlation=pairs)


@pytest.mark.parametrize("level", [0.0, 1.0, -0.5, 1.5])
def test_a_stated_level_lies_between_zero_and_one(level):
    with pytest.raises(ValueError, match="level"):
        un.standard_uncertainty_from(expanded_uncertainty=1, level=level)


LIMITS = [
    ({}, "a lower or an upper end"),
    ({"lower": 2.0, "upper": 1.0}, "empty"),
    ({"lower": 1.0, "upper": 1.0, "strict": True}, "empty|lower"),
    ({"lower": math.inf}, "lower"),
    ({"upper": -math.inf}, "upper"),
    ({"lower": 0.0, "log_scale": True}, "lower"),
]


@pytest.mark.parametrize(("ends", "message"), LIMITS, ids=[str(ends) for ends, _ in LIMITS])
def test_a_limit_that_nothing_can_meet_is_refused(ends, message):
    with pytest.raises(ValueError, match=message):
        Limit(**ends)
