"""The statistics room against scipy, statsmodels and lifelines.

tests/power/interval_coverage.py prints how often the intervals hold the truth.
"""

import math
import sys
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import binomtest, theilslopes
from statsmodels.stats.proportion import proportion_confint

from check_values import check_values
from ohmward import Censoring, Status, statistics
from ohmward._core import statistics as core

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "power"))
import interval_coverage as power

INTERVALS = {"clopper-pearson": statistics.clopper_pearson, "wilson": statistics.wilson}


@pytest.mark.parametrize("case", check_values("proportion"), ids=str)
def test_proportion_check_values(case):
    interval = INTERVALS[case.text("interval")]
    share = interval(events=int(case.number("events")), trials=int(case.number("trials")), level=case.number("level"))
    case.expect(share.low, "expected_low")
    case.expect(share.high, "expected_high")


@pytest.mark.parametrize("trials", [1, 2, 5, 29, 300, 100_000])
@pytest.mark.parametrize("level", [0.5, 0.9, 0.95, 0.999])
def test_proportions_are_those_of_scipy_and_statsmodels(trials, level):
    for events in sorted({0, 1, trials // 3, trials - 1, trials}):
        test = binomtest(events, trials)
        exact = statistics.clopper_pearson(events=events, trials=trials, level=level)
        expected = test.proportion_ci(level, method="exact")
        # scipy searches the ends with a tolerance of 2e-12.
        assert (exact.low, exact.high) == pytest.approx((expected.low, expected.high), rel=0, abs=2e-12)
        assert (exact.low, exact.high) == pytest.approx(
            proportion_confint(events, trials, 1 - level, method="beta"), rel=1e-12, abs=1e-15
        )
        score = statistics.wilson(events=events, trials=trials, level=level)
        expected = test.proportion_ci(level, method="wilson")
        assert (score.low, score.high) == pytest.approx((expected.low, expected.high), rel=1e-13, abs=1e-15)
        assert exact.value == score.value == events / trials
        assert exact.low <= exact.value <= exact.high


@pytest.mark.parametrize("interval", INTERVALS.values(), ids=INTERVALS)
def test_proportions_refuse_what_is_no_count(interval):
    with pytest.raises(ValueError, match="events is -1"):
        interval(events=-1, trials=3)
    with pytest.raises(ValueError, match="events is 4"):
        interval(events=4, trials=3)
    with pytest.raises(ValueError, match="trials is -3"):
        interval(events=0, trials=-3)
    with pytest.raises(TypeError, match="events must be a whole number, not float"):
        interval(events=1.0, trials=3)
    with pytest.raises(TypeError, match="trials must be a whole number, not bool"):
        interval(events=1, trials=True)
    for level in (0.0, 1.0, -0.2, 95, math.nan):
        with pytest.raises(ValueError, match="level"):
            interval(events=1, trials=3, level=level)
    assert interval(events=0, trials=0).status == Status.too_few_points
    assert math.isnan(interval(events=0, trials=0).low)


def skewed_sample(size=30, seed=3):
    return np.random.default_rng(seed).lognormal(size=size)


def weighted_mean(sample):
    return lambda times: np.average(sample, weights=times)


def test_percentile_interval_is_the_quantiles_of_the_replicates():
    sample = skewed_sample()
    found = statistics.bootstrap(weighted_mean(sample), sample.size, level=0.9, replicates=999)
    assert found.value == pytest.approx(sample.mean(), rel=1e-15)
    assert found.replicates.size == 999
    assert (found.low, found.high) == pytest.approx(np.quantile(found.replicates, [0.05, 0.95]), rel=1e-14)
    assert found.standard_deviation == pytest.approx(np.std(found.replicates, ddof=1), rel=1e-13)


# scipy draws other numbers. The share below the value is known within 0.0035 of 20000 replicates, which moves the ends
# of this skewed sample by about 0.04 spreads, on either side; what the method moves them by is larger.
def test_bias_corrected_interval_is_that_of_scipy():
    from scipy.stats import bootstrap as scipy_bootstrap

    sample = skewed_sample()
    options = {"level": 0.8, "replicates": 20_000}
    found = statistics.bootstrap(weighted_mean(sample), sample.size, interval="bias_corrected", **options)
    plain = statistics.bootstrap(weighted_mean(sample), sample.size, **options)
    expected = scipy_bootstrap(
        (sample,), np.mean, n_resamples=20_000, confidence_level=0.8, method="BCa", rng=np.random.default_rng(1)
    ).confidence_interval
    spread = found.standard_deviation
    assert found.low == pytest.approx(expected.low, abs=0.2 * spread)
    assert found.high == pytest.approx(expected.high, abs=0.2 * spread)
    assert found.high - plain.high > 0.5 * spread


def test_bias_corrected_interval_from_its_own_replicates():
    from scipy.stats import norm

    sample = skewed_sample(25, seed=8)
    found = statistics.bootstrap(weighted_mean(sample), sample.size, replicates=1000, interval="bias_corrected")
    bias = norm.ppf(np.mean(found.replicates < found.value))
    jackknife = np.array([np.delete(sample, i).mean() for i in range(sample.size)])
    apart = jackknife.mean() - jackknife
    acceleration = (apart**3).sum() / (6 * (apart**2).sum() ** 1.5)
    z = bias + norm.ppf([0.025, 0.975])
    levels = norm.cdf(bias + z / (1 - acceleration * z))
    assert (found.low, found.high) == pytest.approx(np.quantile(found.replicates, levels), rel=1e-12)


def test_bootstrap_bits_do_not_depend_on_threads():
    sample = skewed_sample()
    depots = ["a", "b", "c", "d", "e"] * 6
    for clusters in (None, depots):
        one, two, seven = (
            statistics.bootstrap(weighted_mean(sample), 30, clusters=clusters, replicates=200, threads=threads)
            for threads in (1, 2, 7)
        )
        assert one.replicates.tobytes() == two.replicates.tobytes() == seven.replicates.tobytes()
        assert (one.low, one.high) == (two.low, two.high) == (seven.low, seven.high)


# A mean of cluster means, clusters of one size: the spread is that of the cluster means.
def test_clusters_are_what_is_drawn():
    random = np.random.default_rng(4)
    sample = np.repeat(random.standard_normal(36), 4) + 0.1 * random.standard_normal(144)
    means = sample.reshape(36, 4).mean(axis=1)
    clusters = np.repeat(np.arange(36), 4).tolist()
    found = statistics.bootstrap(weighted_mean(sample), 144, clusters=clusters, replicates=8000)
    alone = statistics.bootstrap(weighted_mean(sample), 144, replicates=2000)
    assert found.standard_deviation == pytest.approx(np.std(means) / 6, rel=0.035)
    assert found.standard_deviation > 1.7 * alone.standard_deviation
    assert found.status == Status.sound


def test_several_estimates_at_once():
    sample = skewed_sample()
    mean, root = statistics.bootstrap(
        lambda times: (np.average(sample, weights=times), math.sqrt(times[0]) or math.nan), 30, replicates=300
    )
    assert mean.undefined == 0
    assert root.undefined == np.isnan(root.replicates).sum() > 0
    assert root.status == Status.few_points


def test_bootstrap_refuses_senseless_parameters_and_passes_errors_on():
    mean = weighted_mean(np.arange(4.0))
    for changed, named in (
        ({"units": 0}, "units is 0"),
        ({"units": -4}, "units is -4"),
        ({"clusters": [1, 2]}, "clusters"),
        ({"replicates": 1}, "replicates"),
        ({"level": 1.0}, "level"),
        ({"interval": "normal"}, "interval is 'normal'"),
        ({"seed": -1}, "seed is -1"),
        ({"threads": -1}, "threads"),
    ):
        with pytest.raises(ValueError, match=named):
            statistics.bootstrap(mean, **{"units": 4, **changed})
    with pytest.raises(ZeroDivisionError):
        statistics.bootstrap(lambda times: 1 / (int(times.min()) if times.max() > 1 else 1), 4)
    with pytest.raises(ValueError, match="statistic is .*expected as many numbers"):
        statistics.bootstrap(lambda times: [1.0] * int(times[0]), 4)


def test_kinds_of_interval_are_those_of_the_core():
    assert {kind.name for kind in core.BootstrapInterval} == {"percentile", "bias_corrected"}


def read_lifetimes(text):
    """Read "6 6+ 7": a + was still whole."""
    words = text.split()
    return [float(word.rstrip("+")) for word in words], [not word.endswith("+") for word in words]


@pytest.mark.parametrize("case", check_values("survival"), ids=str)
def test_survival_check_values(case):
    until, failed = read_lifetimes(case.text("lifetimes"))
    step = statistics.kaplan_meier(until, failed=failed).at(case.number("time"))
    case.expect(step.survival)
    case.expect(step.standard_uncertainty, "expected_standard_uncertainty")


@pytest.mark.parametrize("case", check_values("log_rank"), ids=str)
def test_log_rank_check_values(case):
    (first, first_failed), (second, second_failed) = (read_lifetimes(case.text(name)) for name in ("first", "second"))
    groups = [1] * len(first) + [2] * len(second)
    test = statistics.log_rank(first + second, failed=first_failed + second_failed, groups=groups)
    case.expect(test.chi_squared)
    case.expect(test.groups[0].expected, "expected_first")
    case.expect(test.groups[1].expected, "expected_second")


@pytest.mark.parametrize("case", check_values("nested_components"), ids=str)
def test_nested_components_check_values(case):
    readings = np.array([float(word) for word in case.text("readings").split()])
    inner = np.arange(readings.size) // int(case.number("readings_in_inner"))
    outer = inner // int(case.number("inner_in_outer"))
    found = statistics.nested_components(readings, outer=outer.tolist(), inner=inner.tolist())
    case.expect(found.first.variance, "expected_first")
    case.expect(found.second.variance, "expected_second")
    case.expect(found.within.variance, "expected_within")


def lifetimes(seed, n=80, late=True, whole_numbers=True):
    """Lifetimes with ties, late entries and units that leave whole."""
    random = np.random.default_rng(seed)
    failure = random.weibull(1.5, 4 * n) * 20 + 1
    leaving = random.uniform(5, 40, 4 * n)
    entry = np.where(random.random(4 * n) < 0.5, random.uniform(0, 12, 4 * n), 0) if late else np.zeros(4 * n)
    until = np.minimum(failure, leaving)
    if whole_numbers:
        until, entry = np.ceil(until), np.floor(entry)
    seen = entry < until
    return entry[seen][:n], until[seen][:n], (failure <= leaving)[seen][:n]


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("late", [False, True])
def test_survival_curve_is_that_of_lifelines_and_statsmodels(seed, late):
    import lifelines
    from statsmodels.duration.survfunc import SurvfuncRight

    entry, until, failed = lifetimes(seed, late=late)
    curve = statistics.kaplan_meier(until, failed=failed, entry=entry, level=0.9)
    fitter = lifelines.KaplanMeierFitter(alpha=0.1).fit(until, failed, entry=entry if late else None)
    band = fitter.confidence_interval_.to_numpy()
    rows = fitter.survival_function_.index.get_indexer(curve.time)
    alive = curve.survival > 0
    np.testing.assert_allclose(curve.survival, fitter.survival_function_.to_numpy()[rows, 0], rtol=1e-12, atol=1e-15)
    np.testing.assert_allclose(curve.low[alive], band[rows, 0][alive], rtol=1e-12)
    np.testing.assert_allclose(curve.high[alive], band[rows, 1][alive], rtol=1e-12)
    assert np.isnan(curve.low[~alive]).all()
    other = SurvfuncRight(until, failed.astype(int), entry=entry)
    at = np.searchsorted(other.surv_times, curve.time)
    np.testing.assert_array_equal(curve.at_risk, other.n_risk[at])
    np.testing.assert_array_equal(curve.failed, other.n_events[at])
    np.testing.assert_allclose(curve.survival, other.surv_prob[at], rtol=1e-12, atol=1e-15)
    np.testing.assert_allclose(curve.standard_uncertainty[alive], other.surv_prob_se[at][alive], rtol=1e-12)
    middle = curve.time.size // 2
    assert curve.at(curve.time[middle] + 0.25).survival == curve.survival[middle]
    before = curve.at(curve.time[0] - 0.5)
    outlived = int((until[entry == entry.min()] >= curve.time[0] - 0.5).sum())
    assert before.low == pytest.approx(binomtest(outlived, outlived).proportion_ci(0.9).low, abs=2e-12)
    assert before.survival == before.high == 1
    assert math.isnan(before.standard_uncertainty)
    assert math.isnan(curve.at(curve.last_time + 1).survival)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("groups", [2, 4])
def test_log_rank_is_that_of_statsmodels_and_lifelines(seed, groups):
    import lifelines.statistics as lifelines_statistics
    from statsmodels.duration.survfunc import survdiff

    entry, until, failed = lifetimes(seed, n=120)
    labels = np.random.default_rng(seed + 50).integers(0, groups, until.size)
    test = statistics.log_rank(until, failed=failed, groups=labels.tolist(), entry=entry)
    chi_squared, p_value = survdiff(until, failed.astype(int), labels, entry=entry)
    assert (test.chi_squared, test.p_value) == pytest.approx((chi_squared, p_value), rel=1e-10)
    assert test.degrees_of_freedom == groups - 1
    assert sum(group.expected for group in test.groups) == pytest.approx(failed.sum(), rel=1e-12)
    assert {group.label: group.failed for group in test.groups} == {g: failed[labels == g].sum() for g in set(labels)}
    alone = statistics.log_rank(until, failed=failed, groups=labels.tolist())
    other = lifelines_statistics.multivariate_logrank_test(until, labels, failed)
    assert (alone.chi_squared, alone.p_value) == pytest.approx((other.test_statistic, other.p_value), rel=1e-10)


def test_survival_says_what_it_can_not_know():
    whole = statistics.kaplan_meier([1, 2, 3], failed=[0, 0, 0])
    assert whole.status == Status.too_few_points
    assert whole.time.size == 0
    assert whole.at(1.5).low == pytest.approx(math.sqrt(0.025), rel=1e-14)
    # The first two die out before the others enter: the curve is 0 for ever, and says so.
    late = np.r_[0.0, 0.0, np.full(15, 5.0)]
    curve = statistics.kaplan_meier(np.r_[1.0, 2.0, np.arange(6.0, 21.0)], failed=np.ones(17, bool), entry=late)
    assert curve.status == Status.few_points
    assert curve.survival[-1] == 0
    assert statistics.log_rank([1, 2], failed=[1, 1], groups=["a", "a"]).status == Status.too_few_points
    never_met = statistics.log_rank([1, 2, 8, 9], failed=[1, 1, 1, 1], groups=list("aabb"), entry=[0, 0, 5, 5])
    assert never_met.status == Status.too_few_points
    assert math.isnan(never_met.p_value)


def test_survival_refuses_senseless_lifetimes():
    good = {"until": [3.0, 4.0], "failed": [True, False], "entry": [0.0, 1.0]}
    for changed, named in (
        ({"until": [3.0, math.nan]}, r"lifetimes\[1\].until"),
        ({"until": [3.0, math.inf]}, r"lifetimes\[1\].until"),
        ({"entry": [0.0, math.nan]}, r"lifetimes\[1\].entry"),
        ({"entry": [3.0, 1.0]}, r"lifetimes\[0\].entry is 3"),
        ({"entry": [0.0]}, "different lengths"),
        ({"failed": [True]}, "different lengths"),
        ({"until": [], "failed": np.zeros(0, bool), "entry": []}, "lifetimes is 0"),
    ):
        with pytest.raises(ValueError, match=named):
            statistics.kaplan_meier(**{**good, **changed})
        with pytest.raises(ValueError, match=named):
            statistics.log_rank(**{**good, **changed}, groups=[1, 2][: len(changed.get("until", [1, 2]))])
    with pytest.raises(ValueError, match="groups"):
        statistics.log_rank(**good, groups=["a"])
    with pytest.raises(ValueError, match="level"):
        statistics.kaplan_meier(**good, level=0)
    with pytest.raises(TypeError, match="failed must be true or false"):
        statistics.kaplan_meier([3.0, 4.0], failed=[2, 0])


def bounds(seed, n=60):
    """Normal values, some exact, some within a display step, some above or below a bound."""
    random = np.random.default_rng(seed)
    x = 3 + 2 * random.standard_normal(n)
    kind = random.integers(0, 4, n)
    edge = random.normal(3, 1.5, n)
    low = np.select([kind == 0, kind == 1], [x, np.floor(x)], np.where(x > edge, edge, -np.inf))
    high = np.select([kind == 0, kind == 1], [x, np.floor(x) + 1], np.where(x > edge, np.inf, edge))
    return low, high


def scipy_data(low, high):
    from scipy.stats import CensoredData

    exact, left, right = low == high, np.isneginf(low), np.isposinf(high)
    between = ~(exact | left | right)
    return CensoredData(
        uncensored=low[exact], left=high[left], right=low[right], interval=np.c_[low[between], high[between]]
    )


def negative_log_likelihood(low, high, mean, deviation):
    from scipy.stats import norm

    exact = low == high
    inside = norm.cdf(high, mean, deviation) - norm.cdf(low, mean, deviation)
    each = np.where(exact, norm.logpdf(np.where(exact, low, 0), mean, deviation), np.log(np.where(exact, 1, inside)))
    return -each.sum()


@pytest.mark.parametrize("seed", range(6))
def test_censored_normal_is_the_fit_of_scipy_and_the_curvature_by_differences(seed):
    from scipy.optimize import minimize
    from scipy.stats import norm

    low, high = bounds(seed)
    found = statistics.censored_normal(low, high)

    # scipy's own default stops early.
    def thorough(f, start, args, disp):  # noqa: ARG001
        options = {"xatol": 1e-9, "fatol": 1e-12, "maxiter": 4000}
        return minimize(f, start, args, method="Nelder-Mead", options=options).x

    mean, deviation = norm.fit(scipy_data(low, high), optimizer=thorough)
    assert found.status == Status.sound
    assert (found.mean, found.standard_deviation) == pytest.approx((mean, deviation), rel=1e-6)
    at = negative_log_likelihood(low, high, found.mean, found.standard_deviation)
    assert found.log_likelihood == pytest.approx(-at, rel=1e-12)
    h = 1e-3

    def value(i, j):
        return negative_log_likelihood(low, high, found.mean + i * h, found.standard_deviation + j * h)

    mixed = (value(1, 1) - value(1, -1) - value(-1, 1) + value(-1, -1)) / 4
    information = np.array([[value(1, 0) - 2 * at + value(-1, 0), mixed], [mixed, value(0, 1) - 2 * at + value(0, -1)]])
    covariance = np.linalg.inv(information / h**2)
    spread = np.sqrt(np.diag(covariance))
    assert found.mean_standard_uncertainty == pytest.approx(spread[0], rel=1e-4)
    assert found.standard_deviation_standard_uncertainty == pytest.approx(spread[1], rel=1e-4)
    assert found.correlation == pytest.approx(covariance[0, 1] / spread.prod(), abs=1e-4)


@pytest.mark.parametrize("seed", range(3))
def test_censored_lognormal_is_that_of_lifelines(seed):
    import lifelines

    low, high = (np.exp(0.3 * end) for end in bounds(seed, n=200))
    found = statistics.censored_lognormal(low, high)
    fitter = lifelines.LogNormalFitter().fit_interval_censoring(low, high)
    assert found.mean == pytest.approx(fitter.mu_, rel=1e-4)
    assert found.standard_deviation == pytest.approx(fitter.sigma_, rel=1e-4)
    assert found.log_likelihood == pytest.approx(fitter.log_likelihood_, abs=1e-4)
    errors = fitter.summary["se(coef)"]
    assert found.mean_standard_uncertainty == pytest.approx(errors["mu_"], rel=1e-3)
    assert found.standard_deviation_standard_uncertainty == pytest.approx(errors["sigma_"], rel=1e-3)


def test_without_bounds_it_is_mean_and_root_of_mean_square():
    x = np.random.default_rng(2).normal(5e9, 2e8, 40)
    found = statistics.censored_normal(x, x)
    assert found.mean == pytest.approx(x.mean(), rel=1e-14)
    assert found.standard_deviation == pytest.approx(x.std(), rel=1e-12)
    assert found.mean_standard_uncertainty == pytest.approx(x.std() / math.sqrt(40), rel=1e-9)
    assert found.standard_deviation_standard_uncertainty == pytest.approx(x.std() / math.sqrt(80), rel=1e-9)
    assert abs(found.correlation) < 1e-6
    # A display of many digits says the same as exact values; a coarser one nearly so.
    for step, tolerance in ((1e-6, 1e-9), (1e-2, 1e-3)):
        width = step * x.std()
        fine = statistics.censored_normal(x - width / 2, x + width / 2)
        assert fine.standard_deviation == pytest.approx(found.standard_deviation, rel=tolerance)
        assert fine.log_likelihood - 40 * math.log(width) == pytest.approx(found.log_likelihood, rel=1e-4)


def test_censored_sample_says_what_it_can_not_know():
    inf = math.inf
    for low, high in (
        ([1.0, 1.0, 1.0], [1.0, 1.0, 1.0]),  # no scatter
        ([1.0, 0.0, -inf], [2.0, 1.5, 1.2]),  # one value meets all
        ([5.0, -inf], [inf, 3.0]),  # a wide scatter and none at all explain it
        ([4.0, 5.0, 6.0], [inf, inf, inf]),
    ):
        found = statistics.censored_normal(low, high)
        assert found.status == Status.no_solution, (low, high)
        assert math.isnan(found.mean)
    assert statistics.censored_normal([1.0, math.nan], [1.0, 2.0]).status == Status.too_few_points
    assert statistics.censored_normal([1.0, 2.0, math.nan, -inf], [1.0, 2.0, 2.0, inf]).missing == 2
    with pytest.raises(ValueError, match=r"observations\[1\].low is 3"):
        statistics.censored_normal([1.0, 3.0], [1.0, 2.0])
    with pytest.raises(ValueError, match=r"observations\[0\].high is 0"):
        statistics.censored_lognormal([-1.0, 3.0], [0.0, 3.0])
    with pytest.raises(ValueError, match="different lengths"):
        statistics.censored_normal([1.0], [1.0, 2.0])
    with pytest.raises(ValueError, match="observations is 0"):
        statistics.censored_normal([], [])


def whole_matrices(readings, *causes):
    """Henderson's equations with n x n matrices: E[y'(P - P0) y] = sum over causes of tr((P - P0) Z Z') variance."""
    n = readings.size
    designs = [(np.asarray(cause)[:, None] == np.unique(cause)).astype(float) for cause in causes] + [np.eye(n)]
    projections = [z @ np.linalg.inv(z.T @ z) @ z.T - np.full((n, n), 1 / n) for z in designs]
    expectation = [[np.trace(p @ z @ z.T) for z in designs] for p in projections]
    return np.linalg.solve(expectation, [readings @ p @ readings for p in projections])


def scattered(seed, n=90):
    random = np.random.default_rng(seed)
    first, second = random.integers(0, 8, n), random.integers(0, 5, n)
    cell = first * 10 + second
    readings = (
        7
        + 2 * random.standard_normal(8)[first]
        + 1.5 * random.standard_normal(5)[second]
        + random.standard_normal(80)[cell]
        + 0.5 * random.standard_normal(n)
    )
    return readings, first, second, cell


@pytest.mark.parametrize("seed", range(4))
def test_unequal_components_are_those_of_whole_matrices(seed):
    readings, first, second, cell = scattered(seed)
    nested = statistics.nested_components(readings, outer=first.tolist(), inner=second.tolist())
    expected = whole_matrices(readings, first, cell)
    assert [c.variance for c in (nested.first, nested.second, nested.within)] == pytest.approx(expected, rel=1e-10)
    crossed = statistics.crossed_components(readings, first=first.tolist(), second=second.tolist())
    expected = whole_matrices(readings, first, second, cell)
    causes = (crossed.first, crossed.second, crossed.interaction, crossed.within)
    assert [c.variance for c in causes] == pytest.approx(expected, rel=1e-10)
    plain = statistics.crossed_components(readings, first=first.tolist(), second=second.tolist(), interaction=False)
    expected = whole_matrices(readings, first, second)
    assert [c.variance for c in (plain.first, plain.second, plain.within)] == pytest.approx(expected, rel=1e-10)
    assert math.isnan(plain.interaction.variance)


def test_equal_components_are_the_analysis_of_variance_of_statsmodels():
    import pandas
    from statsmodels.formula.api import ols
    from statsmodels.stats.anova import anova_lm

    random = np.random.default_rng(12)
    first, second = (axis.reshape(-1) for axis in np.meshgrid(range(6), range(5), indexing="ij"))
    first, second = np.repeat(first, 3), np.repeat(second, 3)
    readings = random.standard_normal(6)[first] + random.standard_normal(5)[second] + random.standard_normal(90)
    frame = pandas.DataFrame({"y": readings, "a": first, "b": second})
    square = anova_lm(ols("y ~ C(a) * C(b)", frame).fit())["mean_sq"]
    a, b, ab, residual = (square[name] for name in ("C(a)", "C(b)", "C(a):C(b)", "Residual"))
    found = statistics.crossed_components(readings, first=first.tolist(), second=second.tolist())
    assert found.first.variance == pytest.approx((a - ab) / 15, rel=1e-10)
    assert found.second.variance == pytest.approx((b - ab) / 18, rel=1e-10)
    assert found.interaction.variance == pytest.approx((ab - residual) / 3, rel=1e-10)
    assert found.within.variance == pytest.approx(residual, rel=1e-12)
    square = anova_lm(ols("y ~ C(a) / C(b)", frame).fit())["mean_sq"]
    outer, inner = square["C(a)"], square["C(a):C(b)"]
    found = statistics.nested_components(readings, outer=first.tolist(), inner=second.tolist())
    assert found.first.variance == pytest.approx((outer - inner) / 15, rel=1e-10)
    assert found.second.variance == pytest.approx((inner - residual) / 3, rel=1e-10)


# For equal numbers and no negative estimate, restricted likelihood and the analysis of variance give the same.
def test_nested_components_are_those_of_a_mixed_model():
    import pandas
    from statsmodels.formula.api import mixedlm

    random = np.random.default_rng(3)
    outer, inner = np.repeat(np.arange(12), 8), np.tile(np.repeat(np.arange(4), 2), 12)
    readings = 2 * random.standard_normal(12)[outer] + random.standard_normal(48)[4 * outer + inner]
    readings = readings + 0.5 * random.standard_normal(96)
    found = statistics.nested_components(readings, outer=outer.tolist(), inner=inner.tolist())
    frame = pandas.DataFrame({"y": readings, "outer": outer, "inner": inner})
    model = mixedlm("y ~ 1", frame, groups="outer", vc_formula={"inner": "0 + C(inner)"}, re_formula="1").fit()
    assert found.first.variance == pytest.approx(float(model.cov_re.iloc[0, 0]), rel=1e-3)
    assert found.second.variance == pytest.approx(float(model.vcomp[0]), rel=1e-3)
    assert found.within.variance == pytest.approx(model.scale, rel=1e-3)
    assert found.mean == pytest.approx(float(model.params["Intercept"]), rel=1e-6)
    assert found.standard_uncertainty == pytest.approx(float(model.bse["Intercept"]), rel=1e-3)


# Unbiased with unequal numbers, negative estimates included; three standard errors of 400 samples.
def test_components_are_unbiased_because_negative_ones_stay():
    random = np.random.default_rng(9)
    _, first, second, _ = scattered(9, n=60)
    found = []
    for _ in range(400):
        readings = 0.3 * random.standard_normal(8)[first] + random.standard_normal(60)
        of = statistics.crossed_components(readings, first=first.tolist(), second=second.tolist(), interaction=False)
        found.append([of.first.variance, of.second.variance, of.within.variance])
        assert (of.second.standard_deviation == 0) == (of.second.variance <= 0)
    found = np.array(found)
    assert (found[:, 1] < 0).mean() > 0.3
    assert np.abs(found.mean(axis=0) - [0.09, 0, 1]) == pytest.approx(0, abs=3 * (found.std(axis=0) / 20).max())


def test_components_say_what_the_design_can_not_tell_apart():
    one_each = statistics.crossed_components([1.0, 2.0, 3.0, 5.0], first=list("aabb"), second=list("xyxy"))
    assert math.isnan(one_each.interaction.variance)
    assert one_each.status == Status.few_points
    for outer, inner in ((list("aaaa"), list("xxyy")), (list("aabb"), list("xxyy")), (list("aabb"), list("xyxy"))):
        found = statistics.nested_components([1.0, 2.0, 3.0, 5.0], outer=outer, inner=inner)
        assert found.status == Status.no_solution
        assert math.isnan(found.within.variance)
    assert statistics.nested_components([1.0, math.nan], outer=[1, 2], inner=[1, 2]).status == Status.too_few_points
    with pytest.raises(ValueError, match="inner is 1"):
        statistics.nested_components([1.0, 2.0], outer=[1, 2], inner=[1])
    with pytest.raises(ValueError, match="first is 3"):
        statistics.crossed_components([1.0, 2.0], first=[1, 2, 3], second=[1, 2])
    with pytest.raises(ValueError, match="readings is 0"):
        statistics.crossed_components([], first=[], second=[])


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("level", [0.9, 0.95, 0.99])
def test_robust_slope_is_theilslopes(seed, level):
    random = np.random.default_rng(seed)
    x = np.sort(random.uniform(0, 10, 30))
    x = np.round(x) if seed % 2 else x  # ties in x
    y = 2 - 0.3 * x + 0.4 * random.standard_t(2, 30)
    found = statistics.robust_slope(x, y, level=level)
    expected = theilslopes(y, x, level)
    assert found.status == Status.sound
    assert (found.slope, found.intercept) == pytest.approx((expected.slope, expected.intercept), rel=1e-12)
    assert (found.low, found.high) == pytest.approx((expected.low_slope, expected.high_slope), rel=1e-12)


def test_ties_in_y_do_not_shorten_the_interval():
    random = np.random.default_rng(1)
    x = np.arange(25.0)
    y = np.round(0.1 * x + random.standard_normal(25))
    found, other = statistics.robust_slope(x, y), theilslopes(y, x)
    assert found.slope == other.slope
    assert found.low <= other.low_slope
    assert found.high >= other.high_slope
    assert found.high - found.low > other.high_slope - other.low_slope


def test_bounds_bias_the_robust_slope_less_than_values_in_their_place():
    found, naive = [], []
    for seed in range(200):
        random = np.random.default_rng(seed)
        x = np.sort(random.uniform(0, 10, 20))
        y = 2 - 0.3 * x + 0.4 * random.standard_normal(20)
        ceiling = np.quantile(y, 0.6)
        above = np.where(y > ceiling, Censoring.above, Censoring.exact)
        y = np.minimum(y, ceiling)
        found.append(statistics.robust_slope(x, y, censoring=above).slope)
        naive.append(theilslopes(y, x).slope)
    assert abs(np.mean(found) + 0.3) < 0.02
    assert abs(np.mean(naive) + 0.3) > 0.08


def test_robust_slope_says_when_the_points_are_too_few():
    assert statistics.robust_slope([0, 1, 2, 3], [0, 1, 2.5, 3]).status == Status.few_points
    assert statistics.robust_slope([0, 1, 2, 3, 4], [0, 1, 2.5, 3, 4.2]).status == Status.sound
    assert statistics.robust_slope([0, 1, 2, 3, 4], [0, 1, 2.5, 3, 4.2], level=0.999).status == Status.few_points
    assert statistics.robust_slope([1, 1, 1], [0, 1, 2]).status == Status.too_few_points
    assert statistics.robust_slope([1, 2, math.nan], [0, math.nan, 2]).status == Status.too_few_points
    with pytest.raises(ValueError, match="different lengths"):
        statistics.robust_slope([1, 2], [1, 2, 3])
    with pytest.raises(ValueError, match="level"):
        statistics.robust_slope([1, 2], [1, 2], level=1)
    with pytest.raises(ValueError, match="censoring"):
        statistics.robust_slope([1, 2], [1, 2], censoring=[0, 9])


QUICK = {
    "bootstrap, percentile, normal mean, n = 50": 300,
    "clustered bootstrap, 50 clusters of 5": 300,
    "Kaplan-Meier, S = 0.5, n = 50": 1000,
    "Kaplan-Meier, late entries, S = 0.5, n = 50": 1000,
    "Theil-Sen, normal, n = 20": 1000,
    "Theil-Sen, pairs of one x, n = 20": 1000,
}


# Three standard deviations of so many runs beside the promised 93 to 97 %.
@pytest.mark.parametrize(("name", "runs"), QUICK.items(), ids=str)
def test_intervals_cover_what_they_promise(name, runs):
    (cell,) = (each for each in power.CELLS if each.name == name)
    low, high = cell.promise
    assert (low, high) == power.NEAR_LEVEL
    beside = 3 * math.sqrt(0.95 * 0.05 / runs)
    assert low - beside <= power.coverage(cell, runs, seed=20260302) <= high + beside


def test_intervals_that_ignore_clusters_or_are_too_short_would_be_seen():
    (cell,) = (each for each in power.CELLS if each.name.startswith("bootstrap that ignores clusters"))
    assert power.coverage(cell, 200, seed=20260302) < 0.85


@pytest.mark.parametrize("trials", power.TRIALS)
def test_shares_cover_what_they_promise(trials):
    assert power.share_coverage(statistics.clopper_pearson, trials, power.SHARES).min() >= 0.95
    score = power.share_coverage(statistics.wilson, trials, power.SHARES)
    assert 0.94 <= score.mean() <= 0.96
    assert score.min() < 0.95
