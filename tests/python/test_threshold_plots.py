"""The pictures of studies are drawn into the axes given, and say in words what they show."""

import matplotlib as mpl

mpl.use("Agg")

import numpy as np
import pytest
from matplotlib import pyplot

from ohmward import plots, thresholds


@pytest.fixture
def ax():
    figure, axes = pyplot.subplots()
    yield axes
    pyplot.close(figure)


def made(*, ceiling=np.inf, **settings):
    rng = np.random.default_rng(3)
    failed = rng.random(300) < 0.15
    score = np.exp(rng.normal(0, 1, 300) + np.where(failed, -1.5, 1.0)) * 100
    over = score > ceiling
    return thresholds.Study(
        np.minimum(score, ceiling),
        failed,
        lower_is_worse=True,
        censoring=np.where(over, "above", "exact"),
        exit_day=np.where(failed, rng.uniform(30, 365, 300), 365.0),
        log_scale=True,
        score_unit="MΩ",
        **settings,
    )


def words(ax):
    legend = ax.get_legend()
    texts = [*ax.texts, *(legend.get_texts() if legend else [])]
    return " | ".join([ax.get_title(loc="left"), *(text.get_text() for text in texts)])


def test_curve_tells_area_and_marks_thresholds(ax):
    study = made()
    assert plots.roc(study, thresholds=[20, 100], ax=ax) is ax
    assert str(study.area_under_curve()) in words(ax)
    assert "below 100 MΩ" in words(ax)
    at = study.at(100)
    marked = [
        line.get_xydata()[0] for line in ax.lines if line.get_label() == "_nolegend_" or len(line.get_xdata()) == 1
    ]
    points = np.array(marked)
    truth = [1 - at.specificity.estimate, at.sensitivity.estimate]
    assert np.isclose(points, truth).all(axis=1).any()


def test_curve_draws_bounds_where_a_ceiling_leaves_them(ax):
    plots.roc(made(ceiling=200), ax=ax)
    assert "at worst" in words(ax)
    assert "at best" in words(ax)


def test_curve_without_one_estimate_draws_its_bounds(ax):
    rng = np.random.default_rng(1)
    plots.roc(made(repaired_because_of_reading=rng.random(300) < 0.1), thresholds=[50], ax=ax)
    assert "as read" not in words(ax)
    assert "between" in words(ax)


def test_distributions_tell_what_lies_over_range(ax):
    study = made(ceiling=200)
    plots.score_distributions(study, thresholds=[100], ax=ax)
    sound = study.columns.outcome == 0
    share = (sound & (study.columns.censoring == 1)).sum() / sound.sum()
    assert f"{100 * share:.0f} % of sound above 200" in words(ax)
    assert "below 100 MΩ" in words(ax)
    assert ax.get_xscale() == "log"


def test_decision_curve_names_all_its_lines(ax):
    plots.decision_curve(made().decision_curve(100), ax=ax)
    for word in ("threshold 100", "flag everything", "flag nothing", "too good to be true", "95 % interval"):
        assert word in words(ax)


def test_survival_tells_failures_by_band(ax):
    result = made().survival_by_band([50, 200])
    plots.survival_by_band(result, ax=ax)
    for band in result.bands:
        assert f"{band.label}: {band.failed} of {band.units} failed" in words(ax)
    assert "log-rank test: p =" in words(ax)
