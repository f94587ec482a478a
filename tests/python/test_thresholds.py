"""Studies of thresholds against independent reckoning, and what they refuse or warn of."""

import itertools
import math

import numpy as np
import pytest
from scipy import stats
from sklearn.metrics import roc_auc_score, roc_curve

from check_values import check_values
from ohmward import thresholds
from ohmward._core.core import Censoring


def made(seed, n=300, share=0.3, shift=1.0, rounding=None):
    rng = np.random.default_rng(seed)
    failed = rng.random(n) < share
    score = rng.normal(0, 1, n) - shift * failed
    return (np.round(score / rounding) * rounding if rounding else score), failed


def study(score, failed, **settings):
    return thresholds.Study(score, failed, lower_is_worse=settings.pop("lower_is_worse", True), **settings)


def table(*, failed_flagged, failed_let_be, sound_flagged, sound_let_be, **settings):
    score = [0.0] * failed_flagged + [1.0] * failed_let_be + [0.0] * sound_flagged + [1.0] * sound_let_be
    failed = [True] * (failed_flagged + failed_let_be) + [False] * (sound_flagged + sound_let_be)
    return study(score, failed, **settings)


@pytest.mark.parametrize("case", check_values("threshold_rates"), ids=str)
def test_rates_are_as_printed(case):
    counts = {name: int(case.number(name)) for name in
              ("failed_flagged", "failed_let_be", "sound_flagged", "sound_let_be")}  # fmt: skip
    prevalence = case.number("prevalence")
    at = table(**counts).at(0.5, prevalence=None if math.isnan(prevalence) else prevalence)
    case.expect(getattr(at, case.text("figure")).estimate)


@pytest.mark.parametrize("rounding", [None, 0.5])
@pytest.mark.parametrize("lower_is_worse", [True, False])
def test_area_is_that_of_scikit_learn(rounding, lower_is_worse):
    score, failed = made(1, rounding=rounding)
    score = score if lower_is_worse else -score
    area = study(score, failed, lower_is_worse=lower_is_worse).area_under_curve()
    truth = roc_auc_score(failed, -score if lower_is_worse else score)
    assert area.estimate == pytest.approx(truth, abs=1e-13)
    assert area.worst == area.best == area.estimate


def test_weighted_area_is_that_of_scikit_learn():
    score, failed = made(5)
    repaired = (score < -1) & (np.arange(score.size) % 3 == 0)
    one = study(score, failed, repaired_because_of_reading=repaired, repaired="weights")
    weight = one._weight[~repaired]
    truth = roc_auc_score(failed[~repaired], -score[~repaired], sample_weight=weight)
    assert one.area_under_curve().estimate == pytest.approx(truth, abs=1e-13)


def test_curve_is_that_of_scikit_learn():
    score, failed = made(2, rounding=0.25)
    curve = study(score, failed).roc_curve(points=10_000)
    false_share, sensitivity, _ = roc_curve(failed, -score, drop_intermediate=False)
    assert curve.sensitivity == pytest.approx(sensitivity, abs=1e-15)
    assert curve.false_share == pytest.approx(false_share, abs=1e-15)


def jackknife_variance(score, failed):
    """Leave one out in each class: for the area, a mean over both classes, this is DeLong's variance exactly."""
    whole = roc_auc_score(failed, -score)
    variance = 0.0
    for label in (True, False):
        rows = np.flatnonzero(failed == label)
        n = rows.size
        left = [roc_auc_score(np.delete(failed, i), -np.delete(score, i)) for i in rows]
        pseudo = n * whole - (n - 1) * np.array(left)
        variance += pseudo.var(ddof=1) / n
    return variance


@pytest.mark.parametrize("rounding", [None, 0.5])
def test_delongs_variance_is_the_jackknifes(rounding):
    score, failed = made(3, n=120, rounding=rounding)
    found = thresholds._core.area_under_curve(study(score, failed)._units, level=0.95)["middle"]
    assert found["standard_error"] ** 2 == pytest.approx(jackknife_variance(score, failed), rel=1e-10)


def test_intervals_of_shares_are_those_of_scipy():
    at = {way: table(failed_flagged=9, failed_let_be=3, sound_flagged=20, sound_let_be=180).at(0.5, interval=way)
          for way in ("wilson", "exact")}  # fmt: skip
    for way, found in at.items():
        for figure, hits, trials in ((found.sensitivity, 9, 12), (found.specificity, 180, 200),
                                     (found.positive_predictive_value, 9, 29)):  # fmt: skip
            truth = stats.binomtest(hits, trials).proportion_ci(0.95, method=way)
            assert (figure.low, figure.high) == pytest.approx((truth.low, truth.high), abs=1e-12)


def test_clustered_shares_are_a_survey_ratio():
    rng = np.random.default_rng(8)
    cluster = np.repeat(np.arange(25), 12)
    flagged = rng.random(300) < np.clip(0.5 + 0.25 * rng.normal(size=25), 0.02, 0.98)[cluster]
    one = study(np.where(flagged, 0.0, 1.0), cluster < 24, cluster=cluster)  # one cluster is sound: both classes exist
    found = one.at(0.5).sensitivity
    hits, k = flagged[:288], 24
    p = hits.mean()
    sums = np.array([(hits[cluster[:288] == c] - p).sum() for c in range(k)])
    variance = k / (k - 1) * (sums**2).sum() / 288**2
    effective = min(p * (1 - p) / variance, 288) * (stats.norm.ppf(0.975) / stats.t.ppf(0.975, k - 1)) ** 2
    z = stats.norm.ppf(0.975)
    centre, total = effective * p + z * z / 2, effective + z * z
    half = z * math.sqrt(effective * p * (1 - p) + z * z / 4)
    assert (found.low, found.high) == pytest.approx(((centre - half) / total, (centre + half) / total), abs=1e-12)


# --- over range ---


def test_a_ceiling_bounds_every_figure():
    score = [1, 3, 5, 5, 2, 5, 5, 5]
    failed = [1, 1, 1, 0, 0, 0, 0, 0]
    censoring = ["exact", "exact", "above", "above", "exact", "above", "above", "above"]
    one = study(score, failed, censoring=censoring)
    area = one.area_under_curve()
    assert area.worst < area.estimate < area.best
    assert area.low <= area.worst
    assert area.high >= area.best
    below = one.at(4)  # a reading above 5 is surely not below 4
    assert below.sensitivity.worst == below.sensitivity.best == pytest.approx(2 / 3)
    beyond = one.at(6)  # but may be below 6
    assert (beyond.sensitivity.worst, beyond.sensitivity.best) == (pytest.approx(2 / 3), 1)
    assert "5 of 8 scores are bounds" in " ".join(one.cautions)


def test_all_scores_over_range():
    one = study([5] * 30, [1] * 12 + [0] * 18, censoring=[Censoring.above] * 30)
    area = one.area_under_curve()
    assert (area.worst, area.estimate, area.best) == (0, 0.5, 1)
    assert "every score is only a bound" in " ".join(area.cautions)


def test_all_scores_equal():
    area = study([5] * 30, [1] * 12 + [0] * 18).area_under_curve()
    assert area.estimate == area.low == area.high == 0.5
    assert "all scores are equal" in " ".join(area.cautions)


# --- outcomes defined by the reading ---


def bounds_by_trying(score, failed, repaired):
    """Area over every way in which the repaired units may have fared."""
    areas = []
    for fate in itertools.product([False, True], repeat=int(repaired.sum())):
        outcome = failed.copy()
        outcome[repaired] = fate
        areas.append(roc_auc_score(outcome, -score))
    return min(areas), max(areas)


@pytest.mark.parametrize("seed", range(5))
def test_bounds_hold_every_way_repaired_units_may_have_fared(seed):
    score, failed = made(seed, n=25, rounding=0.5)
    failed[:2] = [True, False]
    repaired = np.zeros(25, dtype=bool)
    repaired[np.argsort(score[2:])[:7] + 2] = True
    one = study(score, failed, repaired_because_of_reading=repaired)
    area = one.area_under_curve()
    assert (area.worst, area.best) == pytest.approx(bounds_by_trying(score, failed, repaired), abs=1e-13)
    assert math.isnan(area.estimate)
    assert "between" in str(area)
    at = one.at(-0.6)
    assert at.sensitivity.worst <= at.sensitivity.best
    assert math.isnan(at.sensitivity.estimate)


def test_weights_recover_what_repairs_hid():
    # Half of the flagged are repaired before they can fail; at like scores the others show how many would have.
    rng = np.random.default_rng(77)
    score = rng.normal(0, 1, 60_000)
    failed = rng.random(60_000) < 1 / (1 + np.exp(2 + 1.5 * score))
    truth = study(score, failed)
    repaired = (score < -0.84) & (rng.random(60_000) < 0.5)
    seen = failed & ~repaired
    weighed = study(score, seen, repaired_because_of_reading=repaired, repaired="weights", weight_bands=50)
    naive = study(score, seen, repaired_because_of_reading=repaired, repaired="as_recorded")
    assert weighed.at(-0.84).sensitivity.estimate == pytest.approx(truth.at(-0.84).sensitivity.estimate, abs=0.015)
    assert naive.at(-0.84).sensitivity.estimate < truth.at(-0.84).sensitivity.estimate - 0.05
    assert weighed.area_under_curve().estimate == pytest.approx(truth.area_under_curve().estimate, abs=0.01)
    assert "Assumed" in " ".join(weighed.cautions)
    by_rule = study(score, seen, repaired_because_of_reading=repaired, repaired="weights", weight_bands=[-0.84, 1.0])
    # Within a band of the rule itself sensitivity at the rule needs nothing else.
    assert by_rule.at(-0.84).sensitivity.estimate == pytest.approx(truth.at(-0.84).sensitivity.estimate, abs=0.015)
    assert np.nanmax(by_rule._weight[score > -0.84]) == 1
    assert "taken as recorded" in " ".join(naive.cautions)


def test_a_rule_followed_without_exception_can_not_be_weighed():
    score, failed = made(3)
    with pytest.raises(ValueError, match="all were repaired"):
        study(score, failed, repaired_because_of_reading=score < 0.2, repaired="weights")
    with pytest.raises(ValueError, match="repaired is 'refuse' and"):
        study(score, failed, repaired_because_of_reading=score < 0.2, repaired="refuse")


def test_what_needs_outcomes_says_so():
    score, failed = made(3)
    one = study(score, failed, repaired_because_of_reading=score < -1.5, standard_uncertainty=0.1)
    for call in (lambda: one.compare(score), lambda: one.decision_curve(0), one.attenuation):
        with pytest.raises(ValueError, match="needs an outcome for each unit"):
            call()
    best = one.best_threshold(cost_of_miss=5, cost_of_false_alarm=1, replicates=20)
    assert math.isnan(best.threshold.estimate)
    assert "if all repaired units had failed" in " ".join(best.cautions)


# --- the other things that break a study ---


def test_counted_weights_scatter_as_resampled_ones():
    # The whole study is drawn anew, and the weights counted anew with it.
    rng = np.random.default_rng(71)
    score = rng.normal(0, 1, 600)
    failed = rng.random(600) < 1 / (1 + np.exp(2 + 1.5 * score))
    repaired = (score < -0.8) & (rng.random(600) < 0.6)

    def sensitivity(rows):
        return study(
            score[rows],
            (failed & ~repaired)[rows],
            repaired_because_of_reading=repaired[rows],
            repaired="weights",
            weight_bands=[-0.8, 0.5],
        ).at(-0.8).sensitivity  # fmt: skip

    found = sensitivity(np.arange(600))
    spread = np.std([sensitivity(rng.integers(0, 600, 600)).estimate for _ in range(1500)])
    half = 0.5 * (found.high - found.low)
    assert half == pytest.approx(stats.norm.ppf(0.975) * spread, rel=0.08)


def test_answers_read_as_texts():
    score, failed = made(19, n=120)
    u = np.full(120, 0.3)
    one = study(score, failed, standard_uncertainty=u, score_unit="V")
    assert repr(one) == f"<Study of 120 readings in V, {failed.sum()} of them failed, lower is worse>"
    best = one.best_threshold(cost_of_miss=5, cost_of_false_alarm=1, replicates=20)
    first, *lines = str(best).splitlines()
    assert first == str(best.threshold)
    assert f"cost a unit {best.cost_corrected:.3g}, of it {best.optimism:.3g}" in lines[2]
    text = str(one.calibrate(-0.8, published_sensitivity=0.9))
    assert text.startswith("published threshold -0.8 on these units\n  sensitivity ")
    assert "threshold for sensitivity 0.9" in text
    assert "specificity less published" not in text
    assert str(one.compare(score + u)).splitlines()[3].startswith("  p = ")
    assert "% of the variance within both groups is the meter's" in str(one.attenuation())
    hidden = study(score, failed, repaired_because_of_reading=score < -1.5)
    assert str(hidden).splitlines()[1:] == list(hidden.cautions)


def test_several_readings_of_a_unit_count_as_a_cluster():
    score, failed = made(4, n=100)
    thrice = study(np.repeat(score, 3), np.repeat(failed, 3), unit=np.repeat(np.arange(100), 3))
    once, blind = study(score, failed), study(np.repeat(score, 3), np.repeat(failed, 3))
    width = {name: one.area_under_curve().high - one.area_under_curve().low
             for name, one in {"thrice": thrice, "once": once, "blind": blind}.items()}  # fmt: skip
    assert width["thrice"] == pytest.approx(width["once"], rel=0.03)
    assert width["blind"] < 0.65 * width["once"]
    assert "300 readings of 100 units" in " ".join(thrice.cautions)


def test_missing_scores_and_outcomes_are_told_and_bounded():
    score, failed = made(6, n=60)
    score[np.flatnonzero(failed)[:2]] = score[np.flatnonzero(~failed)[:4]] = np.nan
    outcome = failed.astype(float)
    outcome[np.flatnonzero(~np.isnan(score))[:4]] = np.nan
    one = study(score, outcome)
    assert "6 readings have no score and are left out (2 of" in " ".join(one.cautions)
    assert "4 readings have no outcome" in " ".join(one.cautions)
    at = one.at(-0.5)
    assert at.counts.left_out == 6
    assert at.sensitivity.worst <= at.sensitivity.estimate <= at.sensitivity.best
    wide = study(score, failed, missing_scores="bounds").at(-0.5).sensitivity
    tight = study(score, failed).at(-0.5).sensitivity
    assert wide.worst < tight.estimate < wide.best


def test_late_entry_and_leaving_for_another_reason_are_told():
    score, failed = made(6, n=60)
    entry, leaving = np.full(60, 100.0), np.full(60, 500.0)
    one = study(score, failed, entry_day=entry, exit_day=leaving, left_for_other_reason=np.arange(60) < 5)
    said = " ".join(one.cautions)
    assert "left truncation" in said
    assert "5 units left for another reason" in said


def test_perfect_parting_asks_how_the_outcome_was_found():
    one = study(np.arange(40.0), np.arange(40) < 15)
    assert "not defined by the reading" in " ".join(one.area_under_curve().cautions)
    assert one.area_under_curve().low < 1


def test_few_events_tell_how_many_would_do():
    at = table(failed_flagged=4, failed_let_be=4, sound_flagged=10, sound_let_be=90).at(0.5)
    (said,) = (each for each in at.cautions if "events" in each)
    assert said.startswith("fewer than ten events")
    assert "97 events" in said  # 1.96² · 0.5² / 0.1², rounded up
    assert "1310 readings" in said  # 97 · 108 / 8
    plenty = table(failed_flagged=80, failed_let_be=80, sound_flagged=10, sound_let_be=90).at(0.5)
    assert not plenty.cautions


def test_few_clusters_are_told():
    score, failed = made(2)
    assert "only 6 clusters" in " ".join(study(score, failed, cluster=np.arange(300) % 6).cautions)


def test_a_correction_that_adds_noise_is_told():
    rng = np.random.default_rng(5)
    score, failed = made(9, n=4000)
    noisy = study(score, failed).as_read_against_corrected(score + rng.normal(0, 1, 4000))
    assert noisy.scatter_ratio == pytest.approx(1.4, abs=0.1)
    assert "the correction adds noise" in noisy.cautions[0]
    assert noisy.difference.low > 0
    season = rng.normal(0, 1, 4000)
    helped = study(score + season, failed).as_read_against_corrected(score)
    assert "takes scatter away" in helped.cautions[0]
    assert helped.difference.high < 0


def test_pitman_and_morgans_test_is_that_of_a_correlation():
    rng = np.random.default_rng(6)
    for scale, told in ((1.0, False), (1.6, True)):
        a = rng.normal(0, 1, 80)
        b = 0.5 * a + scale * rng.normal(0, math.sqrt(0.75), 80)
        p = stats.pearsonr(a + b, b - a).pvalue
        _, said = thresholds._scatter_ratio(a, b, 0.95)
        assert bool(said) == (p < 0.05) == told


# --- predictive values, costs, decision curve ---


def test_case_control_needs_a_prevalence():
    one = table(failed_flagged=40, failed_let_be=10, sound_flagged=10, sound_let_be=40, sampling="case-control")
    at = one.at(0.5)
    assert math.isnan(at.positive_predictive_value.estimate)
    assert "state the prevalence" in " ".join(at.cautions)
    assert one.at(0.5, prevalence=0.01).positive_predictive_value.estimate == pytest.approx(0.008 / (0.008 + 0.198))
    for call in (lambda: one.decision_curve(0.5), lambda: one.best_threshold(cost_of_miss=1, cost_of_false_alarm=1)):
        with pytest.raises(ValueError, match="prevalence is not given"):
            call()


def test_predictive_interval_agrees_with_simulation():
    at = table(failed_flagged=40, failed_let_be=10, sound_flagged=30, sound_let_be=170).at(0.5, prevalence=0.02)
    rng = np.random.default_rng(1)
    se, false_share = rng.beta(40.5, 10.5, 400_000), rng.beta(30.5, 170.5, 400_000)
    ppv = 0.02 * se / (0.02 * se + 0.98 * false_share)
    figure = at.positive_predictive_value
    assert (figure.low, figure.high) == pytest.approx(np.quantile(ppv, [0.025, 0.975]), rel=0.03)


def test_best_threshold_is_where_scipys_smoothed_cost_is_least():
    score, failed = made(12, n=200)
    one = study(score, failed)
    best = one.best_threshold(cost_of_miss=8, cost_of_false_alarm=1, prevalence=0.1, replicates=200)
    groups = (score[failed], score[~failed])
    spread = min(min(x.std(ddof=1), stats.iqr(x) / 1.349) for x in groups)
    bandwidth = 0.9 * spread * min(x.size for x in groups) ** -0.25
    of_failed, of_sound = (stats.gaussian_kde(x, bandwidth / x.std(ddof=1)) for x in groups)

    def cost(t):  # lower is worse: flagged below
        missed, alarmed = of_failed.integrate_box_1d(t, np.inf), of_sound.integrate_box_1d(-np.inf, t)
        return 0.1 * 8 * missed + 0.9 * alarmed

    grid = np.linspace(-2, 1, 601)
    costs = [cost(t) for t in grid]
    assert best.threshold.estimate == pytest.approx(grid[int(np.argmin(costs))], abs=bandwidth / 20)
    assert cost(best.threshold.estimate) == pytest.approx(min(costs), abs=1e-4)


def test_best_threshold_costs_what_scikit_learns_curve_says():
    score, failed = made(12, n=200)
    one = study(score, failed)
    best = one.best_threshold(cost_of_miss=8, cost_of_false_alarm=1, prevalence=0.1, replicates=200)
    false_share, sensitivity, at_least = roc_curve(failed, -score, drop_intermediate=False)
    cost = 0.1 * 8 * (1 - sensitivity) + 0.9 * false_share
    here = np.flatnonzero(at_least > -best.threshold.estimate)[-1]
    assert best.cost == pytest.approx(cost[here], abs=1e-14)
    assert best.cost >= cost.min() - 1e-14
    at = one.at(best.threshold.estimate)
    assert (at.sensitivity.estimate, at.specificity.estimate) == pytest.approx((best.sensitivity, best.specificity))
    assert best.same_from <= best.threshold.estimate <= best.same_to
    assert best.threshold.low <= best.threshold.estimate <= best.threshold.high
    assert best.optimism > 0
    assert best.cost_corrected > best.cost
    again = one.best_threshold(cost_of_miss=8, cost_of_false_alarm=1, prevalence=0.1, replicates=200, threads=1)
    assert np.array_equal(best.resampled, again.resampled)


def test_few_events_say_how_many_would_do():
    score, failed = made(18, n=40, share=0.2)
    one = study(score, failed)
    events = int(failed.sum())
    assert events < 10
    area = one.area_under_curve()
    wanted = math.ceil(events * (0.5 * (area.high - area.low) / 0.1) ** 2)
    assert area.cautions[0].startswith(f"fewer than ten events: the area to ±0.10 would take some {wanted} events")
    best = one.best_threshold(cost_of_miss=4, cost_of_false_alarm=1, replicates=20)
    assert best.cautions[0].startswith("fewer than ten events: an interval half as wide would take some")


def test_so_many_events_would_do():
    # Told from twelve events on average over chance, and seen from as many as were told.
    told, seen = [], []
    for seed in range(60):
        rng = np.random.default_rng(seed)
        failed = np.arange(60) < 12
        area = study(rng.normal(0, 1, 60) - 1.0 * failed, failed).area_under_curve()
        told.append((0.5 * (area.high - area.low) / 0.1) ** 2)
    times = float(np.median(told))
    for seed in range(60, 120):
        rng = np.random.default_rng(seed)
        failed = np.arange(round(60 * times)) < round(12 * times)
        area = study(rng.normal(0, 1, failed.size) - 1.0 * failed, failed).area_under_curve()
        seen.append(0.5 * (area.high - area.low))
    assert np.median(seen) == pytest.approx(0.1, rel=0.08)


def test_an_interval_of_a_best_threshold_narrows_as_told():
    def width(events):
        found = []
        for seed in range(60):
            rng = np.random.default_rng(seed)
            failed = np.arange(5 * events) < events
            best = study(rng.normal(0, 1, failed.size) - 1.5 * failed, failed).best_threshold(
                cost_of_miss=1, cost_of_false_alarm=1, prevalence=0.5, replicates=2
            )
            found.append(best.threshold.high - best.threshold.low)
        return np.median(found)

    assert width(60) / width(60 * 16) == pytest.approx(16 ** (3 / 8), rel=0.1)


def test_best_threshold_that_few_events_leave_open_says_so():
    score, failed = made(16, n=60, share=0.08, shift=0.3)
    best = study(score, failed).best_threshold(cost_of_miss=9, cost_of_false_alarm=1, replicates=20)
    assert math.isinf(best.threshold.low) or math.isinf(best.threshold.high)
    assert f"{failed.sum()} events can not tell the best threshold from flagging" in " ".join(best.cautions)


def test_optimism_says_what_new_data_show():
    # Small studies: on average the corrected cost is nearer to what the rule costs on new units.
    looks, corrected, truth = [], [], []
    for seed in range(60):
        score, failed = made(500 + seed, n=40, share=0.5, shift=0.7)
        if not 5 < failed.sum() < 35:
            continue
        best = study(score, failed).best_threshold(
            cost_of_miss=1, cost_of_false_alarm=1, prevalence=0.5, replicates=200
        )
        looks.append(best.cost)
        corrected.append(best.cost_corrected)
        t = best.threshold.estimate
        truth.append(0.5 * stats.norm.sf(t, loc=-0.7) + 0.5 * stats.norm.cdf(t))
    assert np.mean(looks) < np.mean(truth) - 0.02
    assert abs(np.mean(corrected) - np.mean(truth)) < 0.4 * abs(np.mean(looks) - np.mean(truth))


def test_a_best_threshold_that_gains_nothing_says_so():
    score, failed = made(20, n=80, share=0.2, shift=0.0)
    best = study(score, failed).best_threshold(cost_of_miss=5, cost_of_false_alarm=1, replicates=200)
    assert best.cost_corrected >= min(best.cost_of_none, best.cost_of_all)
    assert "costs no more than this threshold, once its optimism is counted" in " ".join(best.cautions)


def test_log_scale_changes_no_share_and_looks_for_thresholds_in_the_logarithm():
    score, failed = made(13)
    plain, log = study(np.exp(score), failed), study(np.exp(score), failed, log_scale=True)
    assert plain.area_under_curve().estimate == log.area_under_curve().estimate
    assert plain.at(0.7).sensitivity == log.at(0.7).sensitivity
    costs = {"cost_of_miss": 3, "cost_of_false_alarm": 1, "replicates": 50}
    a, b = study(score, failed).best_threshold(**costs), log.best_threshold(**costs)
    assert b.threshold.estimate == pytest.approx(math.exp(a.threshold.estimate))
    assert (b.threshold.low, b.threshold.high) == pytest.approx((math.exp(a.threshold.low), math.exp(a.threshold.high)))


def test_interval_of_an_area_is_that_of_the_area_with_half_a_unit_of_each():
    score, failed = made(17, n=60, share=0.2, shift=1.5)
    events, others = int(failed.sum()), int((~failed).sum())
    below = (score[~failed][None, :] > score[failed][:, None]).astype(float)
    of_failed, of_sound, area = below.mean(axis=1), below.mean(axis=0), below.mean()
    fewer = min(events, others)
    middle = (fewer * area + 0.25) / (fewer + 0.5)

    def part(values):
        n = values.size
        plain = values.var(ddof=1) / n * (n / (n + 0.5)) ** 2
        return plain + (n * (area - middle) ** 2 + 0.5 * (0.5 - middle) ** 2) / ((n + 0.5) * (n - 0.5))

    a, b = part(of_failed), part(of_sound)
    freedom = (a + b) ** 2 / (a * a / (events - 1) + b * b / (others - 1))
    half = stats.t.ppf(0.975, freedom) * math.sqrt(a + b) / (middle * (1 - middle))
    logit = math.log(middle / (1 - middle))
    found = study(score, failed).area_under_curve()
    assert found.estimate == pytest.approx(area, abs=1e-14)
    assert (found.low, found.high) == pytest.approx([1 / (1 + math.exp(-logit + s * half)) for s in (1, -1)], rel=1e-9)


def test_flagging_nothing_may_be_cheapest():
    score, failed = made(14, shift=0.0)
    best = study(score, failed).best_threshold(cost_of_miss=1, cost_of_false_alarm=500, replicates=50)
    if math.isinf(best.threshold.estimate):
        assert best.threshold.estimate == -math.inf
        assert "flagging nothing is cheapest" in " ".join(best.cautions)
    assert best.flags_none > 0.3


def test_decision_curve_is_hits_less_weighted_false_alarms():
    score, failed = made(15)
    curve = study(score, failed).decision_curve(-0.8, probability=[0.1, 0.5])
    flagged = score < -0.8
    for k, odds in enumerate((1 / 9, 1.0)):
        truth = (flagged & failed).mean() - odds * (flagged & ~failed).mean()
        assert curve.rule[k] == pytest.approx(truth, abs=1e-14)
        spread = np.where(flagged, np.where(failed, 1.0, -odds), 0.0).std(ddof=1) / math.sqrt(300)
        assert curve.high[k] - curve.low[k] == pytest.approx(2 * stats.t.ppf(0.975, 299) * spread, rel=1e-10)
    assert np.all(curve.best_here >= np.maximum(curve.rule, 0))


def test_calibration_of_a_published_threshold():
    score, failed = made(16)
    unit_days = np.full(300, 2 * 365.25)
    one = study(score, failed, entry_day=np.zeros(300), exit_day=unit_days)
    found = one.calibrate(-1.0, published_sensitivity=0.9, published_specificity=0.8)
    assert found.sensitivity_less_published.estimate == found.here.sensitivity.estimate - 0.9
    assert one.at(found.threshold_for_sensitivity.estimate).sensitivity.estimate >= 0.9
    assert one.at(found.threshold_for_specificity.estimate).specificity.estimate >= 0.8
    assert found.threshold_for_sensitivity.low < found.threshold_for_sensitivity.estimate
    false_alarms = found.here.counts.sound_flagged[0]
    assert found.false_alarms_a_unit_year.estimate == pytest.approx(false_alarms / 600)
    assert math.isnan(one.calibrate(-1.0).threshold_for_sensitivity.estimate)


def test_attenuation_recovers_the_area_without_the_meter():
    rng = np.random.default_rng(31)
    failed = np.arange(8000) < 3000
    true = rng.normal(0, 1, 8000) + np.where(failed, 1.0, 2.5)
    u = rng.uniform(0.5, 1.5, 8000)
    ideal = study(true, failed).area_under_curve().estimate
    found = study(true + u * rng.normal(size=8000), failed, standard_uncertainty=u).attenuation()
    assert found.as_read.estimate < ideal - 0.05
    assert found.without_meter.estimate == pytest.approx(ideal, abs=0.012)
    assert found.without_meter.low < ideal < found.without_meter.high
    assert found.meter_share == pytest.approx(1.0833 / 2.0833, abs=0.03)
    with pytest.raises(ValueError, match="standard_uncertainty is 0 throughout"):
        study(true, failed).attenuation()


def test_attenuation_refuses_where_the_meter_explains_all():
    score, failed = made(3)
    found = study(score, failed, standard_uncertainty=5).attenuation()
    assert math.isnan(found.without_meter.estimate)
    assert "noise" in found.cautions[0]


# --- the study file ---


@pytest.fixture
def written(tmp_path):
    rng = np.random.default_rng(3)
    score, failed = made(3, n=90)
    one = study(
        np.exp(score),
        np.where(rng.random(90) < 0.05, None, failed),
        censoring=np.where(score > 1.2, "above", "exact"),
        standard_uncertainty=0.05 * np.exp(score),
        unit=[f"truck {i // 2}" for i in range(90)],
        cluster=[f"depot {i // 6}" for i in range(90)],
        entry_day=rng.uniform(0, 10, 90),
        exit_day=rng.uniform(20, 400, 90),
        repaired_because_of_reading=score < -2,
        repaired="as_recorded",
        prevalence=0.02,
        log_scale=True,
        score_unit="Ω",
        editions={"lower limit": "2013"},
    )
    costs = {"cost_of_miss": 5, "cost_of_false_alarm": 1, "replicates": 100, "seed": 7}
    one.save(tmp_path / "study", seed=4, thresholds=[0.5, 1.1], best_threshold=costs)
    return one, tmp_path / "study"


def test_a_study_comes_back_bit_for_bit(written):
    one, folder = written
    again = thresholds.Study.load(folder)
    assert again.area_under_curve() == one.area_under_curve()
    assert again.at(0.5) == one.at(0.5)
    costs = {"cost_of_miss": 5, "cost_of_false_alarm": 1, "replicates": 100}
    a, b = one.best_threshold(**costs), again.best_threshold(**costs)
    assert np.array_equal(a.resampled, b.resampled)
    assert a.cautions == b.cautions
    assert again.editions == {"lower limit": "2013"}


def test_a_study_keeps_no_names_and_describes_its_columns(written):
    import json

    _, folder = written
    text = (folder / "study.csv").read_text(encoding="utf-8") + (folder / "study.json").read_text(encoding="utf-8")
    assert "truck" not in text
    assert "depot" not in text
    description = json.loads((folder / "study.json").read_text(encoding="utf-8"))
    header = (folder / "study.csv").read_text(encoding="utf-8").splitlines()[0].split(",")
    assert [column["name"] for column in description["columns"]] == header
    assert all(column["meaning"] for column in description["columns"])
    assert {"ohmward", "python", "numpy"} <= set(description["versions"])
    assert description["best_threshold"]["seed"] == 7
    assert description["figures"]["best threshold"]["cost_corrected"] > 0


def test_changed_data_or_figures_are_refused(written):
    _, folder = written
    description = folder / "study.json"
    text = description.read_text(encoding="utf-8")
    description.write_text(text.replace('"estimate": 0.', '"estimate": 0.9', 1), encoding="utf-8")
    with pytest.raises(ValueError, match=r"area_under_curve was .* and is"):
        thresholds.Study.load(folder)
    thresholds.Study.load(folder, repeat=False)
    description.write_text(text.replace('"seed": 7', '"seed": 8'), encoding="utf-8")
    with pytest.raises(ValueError, match="best threshold was"):
        thresholds.Study.load(folder)
    description.write_text(text, encoding="utf-8")
    data = folder / "study.csv"
    data.write_text(data.read_text(encoding="utf-8").replace("exact", "below", 1), encoding="utf-8")
    with pytest.raises(ValueError, match="is not the data"):
        thresholds.Study.load(folder)


# --- bad input ---


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"failed": [0, 0, 0, 0]}, "no unit with a score that is failed"),
        ({"failed": [1, 1, 1, 1]}, "no unit with a score that is not failed"),
        ({"failed": [0, 1, 2, 0]}, "failed holds 2, expected true or false"),
        ({"failed": ["yes", "no", "yes", "no"]}, "failed holds 'yes'"),
        ({"failed": [0, 1, 1]}, "failed has 3 values, expected 4 as score"),
        ({"cluster": [1, 2]}, "cluster has 2 values"),
        ({"cluster": [1, 2, None, 3]}, "cluster holds missing labels"),
        ({"unit": list("aabb"), "cluster": [1, 2, 3, 3]}, "unit 'a' is in clusters 1 and 2"),
        ({"censoring": ["exact", "over", "exact", "exact"]}, "censoring holds 'over'"),
        ({"standard_uncertainty": -1}, "standard_uncertainty is -1"),
        ({"entry_day": [0, 5, 0, 0], "exit_day": [9, 5, 9, 9]}, "entry_day is 5 in row 1"),
        ({"prevalence": 1.0}, "prevalence is 1.0"),
        ({"sampling": "random"}, "sampling is 'random'"),
        ({"repaired": "ignore"}, "repaired is 'ignore'"),
        ({"weight_bands": 0}, "weight_bands is 0"),
        ({"weight_bands": [2.0, 1.0]}, "weight_bands is .2.0, 1.0., expected"),
        ({"repaired_because_of_reading": [1, 1, 1, 1]}, "beside those repaired"),
        ({"left_for_other_reason": ["no"] * 4}, "left_for_other_reason holds 'no'"),
    ],
)  # fmt: skip
def test_bad_input_is_named(change, message):
    given = {"score": [1.0, 2.0, 3.0, 4.0], "failed": [1, 0, 1, 0], **change}
    with pytest.raises(ValueError, match=message):
        thresholds.Study(**given, lower_is_worse=True)


def test_frames_of_three_libraries_make_one_study():
    import pandas
    import polars
    import pyarrow

    score, failed = made(2, n=80)
    columns = {
        "score": score.tolist(),
        "failed": [None, *failed[1:].tolist()],
        "censoring": ["above" if each > 1 else "exact" for each in score],
        "cluster": [f"depot {i % 30}" for i in range(80)],
    }
    plain = thresholds.Study(**columns, lower_is_worse=True).at(-0.5)
    for library in (pandas.DataFrame, polars.DataFrame, pyarrow.table):
        frame = library(columns)
        one = thresholds.Study(**{name: frame[name] for name in columns}, lower_is_worse=True)
        assert one.at(-0.5) == plain


def test_columns_that_do_not_belong_together_are_refused():
    import pandas

    score, failed = made(2, n=30)
    frame = pandas.DataFrame({"score": score, "failed": failed})
    shuffled = frame["failed"].sample(frac=1, random_state=1)
    with pytest.raises(ValueError, match="failed and score have different indexes"):
        study(frame["score"], shuffled)
    with pytest.raises(ValueError, match="other_score and score have different indexes"):
        study(frame["score"], frame["failed"]).compare(frame["score"].iloc[::-1])


def test_text_scores_are_refused():
    with pytest.raises(TypeError, match="score must be real numbers"):
        study(["1", "2"], [0, 1])


def test_bad_questions_are_named():
    score, failed = made(1, n=40)
    one = study(score, failed)
    for call, message in (
        (lambda: one.at(math.nan), "threshold"),
        (lambda: one.at(0, level=1), "level"),
        (lambda: one.at(0, interval="normal"), "interval is 'normal'"),
        (lambda: one.at(0, prevalence=2), "prevalence is 2"),
        (lambda: one.best_threshold(cost_of_miss=0, cost_of_false_alarm=1), "cost_of_miss is 0"),
        (lambda: one.compare(score[:-1]), "other_score has 39 values"),
        (lambda: one.decision_curve(0, probability=[1.0]), "probability is 1"),
        (lambda: one.calibrate(0, target_sensitivity=1.0), "target_sensitivity is 1.0"),
        (lambda: one.calibrate(0, published_sensitivity=2), "sensitivity is 2"),
        (lambda: study(np.abs(score), failed, log_scale=True).at(-1), "expected above 0"),
        (lambda: one.roc_curve(points=1), "points is 1"),
    ):
        with pytest.raises(ValueError, match=message):
            call()


# --- survival by band ---


def lives(seed=21, n=240):
    rng = np.random.default_rng(seed)
    score = rng.normal(3, 1, n)
    entry = rng.uniform(0, 200, n)
    life = entry + rng.exponential(200 * np.exp(0.5 * (score - 3)), n)
    end = entry + rng.uniform(50, 600, n)
    return score, np.round(entry), np.round(np.minimum(life, end)) + 1, life < end


def test_survival_by_band_is_that_of_lifelines():
    import lifelines
    from lifelines.statistics import multivariate_logrank_test

    score, entry, leaving, failed = lives()
    found = study(score, failed, entry_day=entry, exit_day=leaving).survival_by_band([2.5, 3.5])
    number = np.searchsorted([2.5, 3.5], score, side="right")
    for k, band in enumerate(found.bands):
        rows = number == k
        assert (band.units, band.failed) == (rows.sum(), failed[rows].sum())
        fit = lifelines.KaplanMeierFitter().fit(leaving[rows], failed[rows], entry=entry[rows])
        truth = fit.survival_function_at_times(band.curve.time).to_numpy()
        assert band.curve.survival == pytest.approx(truth, abs=1e-12)
    without_entry = study(score, failed, exit_day=leaving).survival_by_band([2.5, 3.5])
    test = multivariate_logrank_test(leaving, number, failed)
    assert without_entry.chi_squared == pytest.approx(test.test_statistic, rel=1e-9)
    assert without_entry.p_value == pytest.approx(test.p_value, rel=1e-6)
    assert found.p_value < 0.01


def test_survival_takes_a_unit_once_and_tells_what_it_could_not_place():
    score, _, leaving, failed = lives(n=60)
    censoring = np.array(["exact"] * 60, dtype=object)
    score[:3], censoring[:3] = 3.0, "above"  # reaches over the edge at 3.5
    left = ~failed & (np.arange(60) % 2 == 0)
    twice = study(
        np.tile(score, 2),
        np.tile(failed, 2),
        censoring=np.tile(censoring, 2),
        unit=np.tile(np.arange(60), 2),
        entry_day=np.r_[np.zeros(60), np.full(60, 0.5)],
        exit_day=np.tile(leaving, 2),
        left_for_other_reason=np.tile(left, 2),
    ).survival_by_band([3.5])
    assert sum(band.units for band in twice.bands) == 57
    said = " ".join(twice.cautions)
    assert "6 readings are missing, or bounds" in said
    assert "of each unit its first reading" in said
    assert f"{left[3:].sum()} units were repaired or left" in said
    band = twice.bands[0]
    assert band.curve_at_worst.at(200).survival < band.curve.at(200).survival


def test_survival_needs_times_and_edges():
    score, _, leaving, failed = lives(n=60)
    with pytest.raises(ValueError, match="exit_day is not given"):
        study(score, failed).survival_by_band([3])
    for edges in ([], [3, 2], [math.nan]):
        with pytest.raises(ValueError, match="expected rising numbers"):
            study(score, failed, exit_day=leaving).survival_by_band(edges)
