"""Is the threshold right? Readings of units that later failed, or were repaired because of the reading, weighed.

Scores over range are bounds of every figure, readings of one cluster hang together, units that were repaired because of
the reading have no outcome of their own, and a meter's scatter lowers what a threshold can do. Every figure carries an
interval and, in words, what somebody who cites it must add. Methods: area by ranks with DeLong's variance, clusters by
Obuchowski, decision curve by Vickers and Elkin, exact interval by Clopper and Pearson, score interval by Wilson;
``datasets/sources.toml`` has their entries.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from os import PathLike
from statistics import NormalDist
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from ohmward._arrays import Doubles, as_doubles
from ohmward._core import thresholds as _core
from ohmward._core.core import Status, status_text
from ohmward._study_cautions import (
    about_data,
    about_open_ends,
    about_precision,
    about_precision_of_area,
    about_precision_of_best_threshold,
    about_simpler_rules,
)
from ohmward._study_columns import UNKNOWN, WITH, WITHOUT, bounds_of, censoring_codes, same_index, study_columns
from ohmward._study_file import read_study, write_study
from ohmward._study_outcomes import band_edges, extreme_outcomes, weights_by_band
from ohmward._study_results import (
    Attenuation,
    AtThreshold,
    BestThreshold,
    Calibration,
    Comparison,
    Counts,
    DecisionCurve,
    Figure,
    RocCurve,
)
from ohmward._study_survival import SurvivalBand, SurvivalByBand, survival_by_band

__all__ = [
    "AtThreshold",
    "Attenuation",
    "BestThreshold",
    "Calibration",
    "Comparison",
    "Counts",
    "DecisionCurve",
    "Figure",
    "RocCurve",
    "Study",
    "SurvivalBand",
    "SurvivalByBand",
]

Repaired = Literal["bounds", "weights", "refuse", "as_recorded"]
Sampling = Literal["cohort", "case-control"]
DAYS_A_YEAR = 365.25
SHARES = ("sensitivity", "specificity", "positive_predictive_value", "negative_predictive_value")


def _one_of(value: str, name: str, allowed: Sequence[str]) -> None:
    if value not in allowed:
        raise ValueError(f"{name} is {value!r}, expected one of {', '.join(allowed)}")


def _unknown_figure(name: str, level: float) -> Figure:
    return Figure(name, math.nan, math.nan, math.nan, math.nan, math.nan, level)


class Study:
    """
    Readings and what became of their units.

    Parameters
    ----------
    score : array_like
        One reading a row, in any unit that stays the same. NaN: no reading.
    failed : array_like of bool
        Whether the unit failed within the time of the study, found out without the reading. Missing: not known.
    lower_is_worse : bool
        True flags what lies below a threshold (insulation), False what lies above (bonding).
    censoring : array_like of Censoring or str, optional
        "above" and "below" make the score a bound, "overload" tells nothing.
    standard_uncertainty : float or array_like, optional
        Of each score, what differs from reading to reading only; with ``log_scale`` relative. For `attenuation`.
    cluster : array_like, optional
        Depot, operator or whatever makes readings hang together; intervals then go by clusters.
    unit : array_like, optional
        The part or vehicle: several readings of one make a cluster where none is given.
    entry_day, exit_day : array_like, optional
        When observation of the unit began and ended (by failure or otherwise), since new or any origin. [d]
    left_for_other_reason : array_like of bool, optional
        The unit left unfailed for a reason that competes with failing.
    repaired_because_of_reading : array_like of bool, optional
        The reading itself led to a repair: the unit's own outcome was never seen.
    repaired : {"bounds", "weights", "refuse", "as_recorded"}, default "bounds"
        What to make of such units. "bounds": each may have failed or not, and figures become bounds. "weights": units
        of like score that were let be stand for them (assumes that repaired units would have failed as often as those;
        a study whose rule was followed without exception can not say). "refuse": an error. "as_recorded": what
        ``failed`` says, whatever that means.
    weight_bands : int or sequence of float, default 5
        Within which "weights" compares: so many bands of equal size, or rising scores that part them. A band should
        hold units that were repaired by one rule: where the rule was a threshold, make it an edge.
    sampling : {"cohort", "case-control"}, default "cohort"
        A case-control study fixed how many failed units it has: it knows no predictive values without ``prevalence``.
    prevalence : float, optional
        Share of units that fail where the rule is to be used, 0 to 1.
    missing_scores : {"left_out", "bounds"}, default "left_out"
        Whether a missing score is left out or may have been anything.
    log_scale : bool, default False
        Thresholds are looked for, and attenuation reckoned, in the logarithm of the score. Areas and shares are the
        same either way.
    score_unit : str, default ""
        For texts, plots and the study file.
    editions : mapping of str to str, optional
        Limits that the study is about and their editions; kept in the study file.

    Attributes
    ----------
    cautions : tuple of str
        What holds for every figure.

    Raises
    ------
    ValueError
        Unequal lengths, an outcome with other than two values, one class only, or a senseless parameter.

    Examples
    --------
    >>> study = Study(score=[1.2, 1.6, 2.9, 1.8, 2.4, 3.1, 3.6, 4.0], failed=[1, 1, 1, 0, 0, 0, 0, 0],
    ...               lower_is_worse=True)
    >>> at = study.at(2.0)
    >>> print(at.sensitivity)
    sensitivity 0.667 (95 %: 0.208 to 0.939)
    >>> at.counts.failed_flagged, at.counts.sound_flagged
    ((2.0, 2.0), (1.0, 1.0))
    >>> at.sensitivity.cautions[0][:21]
    'fewer than ten events'
    """

    def __init__(
        self,
        score: Any,
        failed: Any,
        *,
        lower_is_worse: bool,
        censoring: Any = None,
        standard_uncertainty: Any = None,
        cluster: Any = None,
        unit: Any = None,
        entry_day: Any = None,
        exit_day: Any = None,
        left_for_other_reason: Any = None,
        repaired_because_of_reading: Any = None,
        repaired: Repaired = "bounds",
        weight_bands: int | Sequence[float] = 5,
        sampling: Sampling = "cohort",
        prevalence: float | None = None,
        missing_scores: Literal["left_out", "bounds"] = "left_out",
        log_scale: bool = False,
        score_unit: str = "",
        editions: Mapping[str, str] | None = None,
    ) -> None:
        _one_of(repaired, "repaired", ("bounds", "weights", "refuse", "as_recorded"))
        _one_of(sampling, "sampling", ("cohort", "case-control"))
        _one_of(missing_scores, "missing_scores", ("left_out", "bounds"))
        if prevalence is not None and not 0 < prevalence < 1:
            raise ValueError(f"prevalence is {prevalence}, expected between 0 and 1, both excluded")
        bands = [1.0] if isinstance(weight_bands, int) and weight_bands >= 1 else weight_bands
        if isinstance(bands, int) or not list(bands) or any(a >= b for a, b in pairwise(bands)):
            raise ValueError(f"weight_bands is {weight_bands}, expected 1 or more, or rising scores")
        given = {
            "score": score,
            "failed": failed,
            "censoring": censoring,
            "standard_uncertainty": standard_uncertainty,
            "cluster": cluster,
            "unit": unit,
            "entry_day": entry_day,
            "exit_day": exit_day,
            "left_for_other_reason": left_for_other_reason,
            "repaired_because_of_reading": repaired_because_of_reading,
        }
        self._index = same_index(given)
        self.columns = study_columns(**given)
        self.lower_is_worse, self.log_scale, self.score_unit = bool(lower_is_worse), bool(log_scale), score_unit
        self.sampling, self.prevalence, self.repaired = sampling, prevalence, repaired
        self.weight_bands = weight_bands if isinstance(weight_bands, int) else [float(edge) for edge in weight_bands]
        self.missing_scores = missing_scores
        self.editions = dict(editions or {})
        self._low, self._high = bounds_of(
            self.columns.score, self.columns.censoring, lower_is_worse=lower_is_worse, log_scale=log_scale
        )
        self._outcome = self.columns.outcome.copy()
        self._weight: Doubles = np.empty(0)
        self._stratum: NDArray[np.int64] = np.empty(0, dtype=np.int64)
        said = about_data(self.columns, self._low, self._high)
        said += self._take_repaired_in()
        self.cautions: tuple[str, ...] = tuple(said)
        if missing_scores == "bounds":
            missing = np.isnan(self._low)
            self._low[missing], self._high[missing] = -np.inf, np.inf
        self._units = self._core_units(self._outcome)
        self._check_classes()

    def _take_repaired_in(self) -> list[str]:
        mark = self.columns.repaired
        count = int(mark.sum())
        if not count:
            return []
        if self.repaired == "refuse":
            raise ValueError(f"repaired is 'refuse' and {count} units were repaired because of the reading")
        if self.repaired == "as_recorded":
            return [
                f"{count} units were repaired because of the reading and their outcome is taken as recorded: the score "
                "helps to define what it is judged by, and figures look better, or worse, than they are"
            ]
        self._outcome[mark] = UNKNOWN
        if self.repaired == "bounds":
            return [
                f"{count} units were repaired because of the reading: what they would have done is not known, figures "
                "are bounds over all they may have done"
            ]
        if isinstance(self.weight_bands, int):
            edges = band_edges(self._low, self._high, self.weight_bands)
        else:
            edges = np.sort([self._inner(edge) for edge in self.weight_bands])
        self._weight, self._stratum = weights_by_band(self._low, self._high, mark, edges)
        return [
            f"{count} units were repaired because of the reading; units that were let be stand for those of like score "
            f"in {edges.size + 1} bands. Assumed: at like scores the repaired would have failed as often. The "
            f"weights run up to {np.nanmax(self._weight):.3g}"
        ]

    def _core_units(self, outcome: NDArray[np.uint8]) -> _core.Units:
        return _core.Units(self._low, self._high, outcome, self._weight, self.columns.grouping(), self._stratum)

    def _check_classes(self) -> None:
        scored = ~np.isnan(self._low)
        for code, word in ((WITH, "failed"), (WITHOUT, "not failed")):
            if not (scored & (self._outcome == code)).any():
                hidden = " beside those repaired because of the reading" if self._open_outcomes else ""
                raise ValueError(f"failed has no unit with a score that is {word}{hidden}, expected some of both")

    def __repr__(self) -> str:
        """How many readings of what, and which side is worse."""
        side = "lower" if self.lower_is_worse else "higher"
        unit = f" in {self.score_unit}" if self.score_unit else ""
        return f"<Study of {self.readings} readings{unit}, {self.events} of them failed, {side} is worse>"

    def __str__(self) -> str:
        """The same with all cautions."""
        return "\n".join([repr(self), *self.cautions])

    @property
    def _open_outcomes(self) -> bool:
        """Whether repaired units leave figures as bounds only."""
        return self.repaired == "bounds" and bool(self.columns.repaired.any())

    @property
    def events(self) -> int:
        """Failed units with a score."""
        return int(((self._outcome == WITH) & ~np.isnan(self._low)).sum())

    @property
    def readings(self) -> int:
        """Rows with a score and an outcome."""
        return int(((self._outcome != UNKNOWN) & ~np.isnan(self._low)).sum())

    def _inner(self, threshold: float) -> float:
        """A threshold on the scale of the core."""
        if self.log_scale and not threshold > 0:
            raise ValueError(f"threshold is {threshold}, expected above 0 on a logarithmic scale")
        at = math.log(threshold) if self.log_scale else float(threshold)
        return -at if self.lower_is_worse else at

    def _outer(self, at: float) -> float:
        """Back again; flagging none or all is infinite, on a logarithmic scale also 0."""
        at = -at if self.lower_is_worse else at
        return math.exp(at) if self.log_scale else at + 0.0

    def _outer_interval(self, low: float, high: float) -> tuple[float, float]:
        ends = (self._outer(low), self._outer(high))
        return ends if ends[0] <= ends[1] or math.isnan(ends[0]) else (ends[1], ends[0])

    def _figure(self, name: str, share: Mapping[str, float], level: float, cautions: Sequence[str] = ()) -> Figure:
        estimate = math.nan if self._open_outcomes else share["value"]
        return Figure(
            name, estimate, share["low"], share["high"], share["worst"], share["best"], level, tuple(cautions)
        )

    def at(
        self,
        threshold: float,
        *,
        level: float = 0.95,
        interval: Literal["wilson", "exact"] = "wilson",
        prevalence: float | None = None,
    ) -> AtThreshold:
        r"""
        Say what a threshold does on these units.

        Parameters
        ----------
        threshold : float
            In the unit of the score; what lies strictly beyond it is flagged.
        level : float, default 0.95
            Of the intervals.
        interval : {"wilson", "exact"}, default "wilson"
            Wilson's covers the level on average over true shares; Clopper and Pearson's never less, and is wider.
        prevalence : float, optional
            For the predictive values; the study's own where not given.

        Returns
        -------
        AtThreshold

        Notes
        -----
        With a prevalence :math:`\pi` the positive predictive value is
        :math:`\pi s / (\pi s + (1 - \pi)(1 - c))` with sensitivity :math:`s` and specificity :math:`c`. Clusters and
        weights count by an effective number of units. Sources: ``clopper-pearson``, ``wilson-score``,
        ``korn-graubard``, ``bayes-predictive-values``.

        Examples
        --------
        >>> study = Study(score=[9, 8, 5, 3, 2, 2, 1], failed=[1, 1, 0, 0, 0, 1, 0], lower_is_worse=False,
        ...               sampling="case-control")
        >>> study.at(4).positive_predictive_value.estimate
        nan
        >>> round(study.at(4, prevalence=0.02).positive_predictive_value.estimate, 3)
        0.052
        """
        _one_of(interval, "interval", ("wilson", "exact"))
        share = self.prevalence if prevalence is None else prevalence
        if share is not None and not 0 < share < 1:
            raise ValueError(f"prevalence is {share}, expected between 0 and 1, both excluded")
        found = _core.rates_at(
            self._units,
            self._inner(threshold),
            level=level,
            exact=interval == "exact",
            prevalence=math.nan if share is None else share,
        )
        said = about_precision(
            found["sensitivity"]["value"],
            self.events,
            self.readings,
            level=level,
            clustered=self.columns.grouping().size > 0,
        )
        figures = {name: self._figure(name.replace("_", " "), found[name], level, said) for name in SHARES}
        predictive: list[str] = []
        if self.sampling == "case-control" and share is None:
            predictive = ["a case-control sample knows no predictive values: state the prevalence"]
            for name in ("positive_predictive_value", "negative_predictive_value"):
                figures[name] = replace(_unknown_figure(name.replace("_", " "), level), cautions=tuple(predictive))
        counts = found["counts"]
        return AtThreshold(
            threshold=float(threshold),
            counts=Counts(
                failed=counts["with"],
                sound=counts["without"],
                unknown=counts["unknown"],
                failed_flagged=counts["with_flagged"],
                sound_flagged=counts["without_flagged"],
                unknown_flagged=counts["unknown_flagged"],
                left_out=counts["left_out"],
            ),
            **figures,
            cautions=(*said, *predictive, *self.cautions),
        )

    def area_under_curve(self, level: float = 0.95) -> Figure:
        """
        Give the probability that a failed unit scores worse than a sound one, ties counting half.

        Parameters
        ----------
        level : float, default 0.95
            Of the interval, which is symmetric in the logit with Student's factor, around an area to which half a
            unit of each group is added.

        Returns
        -------
        Figure
            Worst and best: all pairs of unknown order against the score, or for it; with repaired units also over all
            outcomes they may have had.

        Notes
        -----
        Sources: ``delong``, ``softened-area``; in clusters ``obuchowski``.

        Examples
        --------
        >>> study = Study(score=[1, 2, 3, 4, 5, 6], failed=[1, 1, 0, 1, 0, 0], lower_is_worse=True)
        >>> round(study.area_under_curve().estimate, 3)
        0.889
        """
        found = _core.area_under_curve(self._units, level=level)
        middle, worst, best = found["middle"], found["worst"], found["best"]
        said = about_precision_of_area(middle["low"], middle["high"], self.events, self.readings)
        estimate = middle["area"]
        if (self._outcome == UNKNOWN).any() and not self._weight.size:
            worst, best = self._settled_area(best=False, level=level), self._settled_area(best=True, level=level)
            if math.isnan(worst["area"]):
                said.append("some unit of unknown outcome has a score that is only a bound: no bounds of the area")
        if self._open_outcomes:
            estimate = math.nan
        return Figure(
            "area under the curve",
            estimate,
            worst["low"],
            best["high"],
            worst["area"],
            best["area"],
            level,
            (*said, *self.cautions),
        )

    def _settled_area(self, *, best: bool, level: float) -> dict[str, float]:
        outcome = extreme_outcomes(self._low, self._high, self._outcome, best=best)
        if outcome is None:
            return {"area": math.nan, "low": math.nan, "high": math.nan}
        found = _core.area_under_curve(self._core_units(outcome), level=level)
        return dict(found["best" if best else "worst"])

    def _require_outcomes(self, what: str) -> None:
        if self._open_outcomes:
            raise ValueError(
                f"repaired is 'bounds' and {int(self.columns.repaired.sum())} units were repaired because of the "
                f"reading: {what} needs an outcome for each unit; choose 'weights' or 'as_recorded' and say so"
            )

    def best_threshold(
        self,
        *,
        cost_of_miss: float,
        cost_of_false_alarm: float,
        prevalence: float | None = None,
        level: float = 0.95,
        replicates: int = 2000,
        seed: int = 1,
        threads: int = 0,
    ) -> BestThreshold:
        """
        Find the threshold of least expected cost, and how far the data know it.

        Parameters
        ----------
        cost_of_miss, cost_of_false_alarm : float
            In any one unit, above 0.
        prevalence : float, optional
            Share of units that fail where the rule is to be used; the study's own, or in a cohort that of the sample.
        level : float, default 0.95
            Of the interval of the threshold.
        replicates : int, default 2000
            Of the bootstrap over units, or clusters, that tells the optimism.
        seed : int, default 1
            Same seed, same bits, whatever the threads.
        threads : int, default 0
            0: all cores.

        Returns
        -------
        BestThreshold

        Notes
        -----
        Costs are smoothed by a normal kernel before the least is sought, as the rule that looks cheapest on few events
        is so by chance. The interval reaches over all thresholds of which the readings deny neither that the two groups
        are in balance there, weighed with costs and prevalence, nor that they cost no more than the best. Where
        flagging nothing, or all, is not dearer, its end is infinite. The optimism is what the cost looks too low by, as
        the threshold was chosen on the same units: it is chosen anew on every replicate and judged on all. Scores that
        spread over orders of magnitude need ``log_scale``. Sources: ``expected-cost``, ``smoothed-threshold``,
        ``silverman-bandwidth``, ``local-likelihood-interval``, ``optimism-bootstrap``.

        Examples
        --------
        >>> study = Study(score=[1, 2, 3, 4, 5, 6, 7, 8], failed=[1, 1, 1, 0, 1, 0, 0, 0], lower_is_worse=True)
        >>> best = study.best_threshold(cost_of_miss=10, cost_of_false_alarm=1, replicates=200)
        >>> best.same_from, best.same_to, round(best.threshold.estimate, 1)
        (6.0, 7.0, 6.7)
        """
        share = self.prevalence if prevalence is None else prevalence
        if share is None and self.sampling == "case-control":
            raise ValueError("prevalence is not given, expected one: a case-control sample has none of its own")

        def run(units: _core.Units, replicates: int) -> dict[str, Any]:
            return _core.best_threshold(
                units,
                cost_of_miss=cost_of_miss,
                cost_of_false_alarm=cost_of_false_alarm,
                prevalence=math.nan if share is None else share,
                replicates=replicates,
                level=level,
                seed=seed,
                threads=threads,
            )

        found = run(self._units, replicates)
        rule = found["rule"]
        estimate = worst = best = self._outer(rule["threshold"])
        low, high = self._outer_interval(found["low"], found["high"])
        said = about_precision_of_best_threshold(self.events, self.readings)
        said += [] if self._open_outcomes else about_open_ends(found["low"], found["high"], self.events)
        said += about_simpler_rules(found["cost_corrected"], found["cost_of_none"], found["cost_of_all"])
        if self._open_outcomes:
            settled = [
                run(self._core_units(np.where(self._outcome == UNKNOWN, code, self._outcome).astype(np.uint8)), 2)
                for code in (WITH, WITHOUT)
            ]
            worst, best = (self._outer(each["rule"]["threshold"]) for each in settled)
            estimate = low = high = math.nan
            said.append(
                f"if all repaired units had failed the best threshold would be {worst:.4g}, if none had, {best:.4g}"
            )
        if ((self._low != self._high) & ~np.isnan(self._low)).any():
            said.append("over-range scores stand at their bound here: a threshold beyond a ceiling is not known")
        undefined = found["undefined"]
        if undefined:
            said.append(f"{undefined} of {replicates} replicates had units of one class only and are left out")
        defined = max(1, replicates - undefined)
        if math.isinf(rule["threshold"]):
            said.append(f"at these costs flagging {'nothing' if rule['threshold'] > 0 else 'everything'} is cheapest")
        same = self._outer_interval(rule["above"], rule["up_to"])
        return BestThreshold(
            threshold=Figure("best threshold", estimate, low, high, worst, best, level, tuple(said)),
            same_from=same[0],
            same_to=same[1],
            cost=rule["cost"],
            cost_of_none=found["cost_of_none"],
            cost_of_all=found["cost_of_all"],
            optimism=found["optimism"],
            cost_corrected=found["cost_corrected"],
            sensitivity=rule["sensitivity"],
            specificity=rule["specificity"],
            flags_none=found["flags_none"] / defined,
            flags_all=found["flags_all"] / defined,
            prevalence=self._sample_prevalence() if share is None else share,
            resampled=np.array([self._outer(each) for each in found["thresholds"]]),
            cautions=(*said, *self.cautions),
        )

    def _sample_prevalence(self) -> float:
        rates = _core.rates_at(self._units, 0.0, level=0.95, exact=False, prevalence=math.nan)["counts"]
        return float(rates["with"] / (rates["with"] + rates["without"]))

    def _compared(self, other: Any, other_censoring: Any, level: float, names: tuple[str, str]) -> Comparison:
        self._require_outcomes("a comparison")
        same_index({"other_score": other, "other_censoring": other_censoring}, self._index)
        values = np.ascontiguousarray(as_doubles(other, "other_score"))
        if values.shape != self.columns.score.shape:
            raise ValueError(f"other_score has {values.size} values, expected {len(self.columns)} as score")
        low, high = bounds_of(
            values,
            censoring_codes(other_censoring, values.size, "other_censoring"),
            lower_is_worse=self.lower_is_worse,
            log_scale=self.log_scale,
        )
        found = _core.compare_areas(self._units, low, high, level=level)
        status = Status(found["status"])
        said = [] if status == Status.sound else [status_text(int(status))]
        if found["left_out"]:
            said.append(f"{found['left_out']} units lack one of the scores or an outcome and count in neither")
        if ((low != high) & ~np.isnan(low)).any() or ((self._low != self._high) & ~np.isnan(self._low)).any():
            said.append("pairs whose order an over-range score leaves open count half in both areas")

        def figure(name: str, of: Mapping[str, float]) -> Figure:
            return Figure(name, of["area"], of["low"], of["high"], of["area"], of["area"], level)

        return Comparison(
            first=figure(f"area of {names[0]}", found["first"]),
            second=figure(f"area of {names[1]}", found["second"]),
            difference=figure("difference of areas", found["difference"]),
            p_value=found["p_value"],
            left_out=found["left_out"],
            cautions=(*said, *self.cautions),
        )

    def compare(self, other_score: Any, *, other_censoring: Any = None, level: float = 0.95) -> Comparison:
        """
        Compare with another score of the same units, paired.

        Parameters
        ----------
        other_score : array_like
            One a row, worse in the same direction.
        other_censoring : array_like, optional
            As ``censoring``.
        level : float, default 0.95
            Of the intervals.

        Returns
        -------
        Comparison

        Notes
        -----
        Sources: ``delong``; in clusters ``obuchowski``.

        Examples
        --------
        >>> failed = [1, 1, 1, 0, 0, 0, 0]
        >>> study = Study(score=[1, 2, 4, 3, 5, 6, 7], failed=failed, lower_is_worse=True)
        >>> round(study.compare([1, 2, 3, 4, 5, 6, 7]).difference.estimate, 3)
        -0.083
        """
        return self._compared(other_score, other_censoring, level, ("this score", "the other score"))

    def as_read_against_corrected(
        self, corrected: Any, *, corrected_censoring: Any = None, level: float = 0.95
    ) -> Comparison:
        """
        Say whether a correction, of temperature say, helps to tell failed from sound units or only adds noise.

        Parameters
        ----------
        corrected : array_like
            The corrected score of each row; the study's own is the one as read.
        corrected_censoring : array_like, optional
            As ``censoring``.
        level : float, default 0.95
            Of the intervals.

        Returns
        -------
        Comparison
            With the ratio of scatters among sound units: above 1 the correction adds noise. A caution says so where the
            ratio differs from 1 at the level (correlation of sum and difference; source ``pitman-morgan``).

        Examples
        --------
        >>> read, failed = [1, 2, 3, 4, 5, 6, 7, 8], [1, 1, 0, 0, 0, 0, 0, 0]
        >>> study = Study(score=read, failed=failed, lower_is_worse=True)
        >>> round(study.as_read_against_corrected([1, 2, 9, 1, 12, 3, 14, 2]).scatter_ratio, 2)
        2.97
        """
        found = self._compared(corrected, corrected_censoring, level, ("as read", "corrected"))
        own, other = self.columns.score, np.asarray(as_doubles(corrected, "corrected"))
        with np.errstate(invalid="ignore", divide="ignore"):
            a, b = (np.log(own), np.log(other)) if self.log_scale else (own, other)
        exact = (self._low == self._high) & (self._outcome == WITHOUT) & np.isfinite(a) & np.isfinite(b)
        exact &= censoring_codes(corrected_censoring, other.size) == 0
        ratio, said = _scatter_ratio(a[exact], b[exact], level)
        return replace(found, scatter_ratio=ratio, cautions=(*said, *found.cautions))

    def decision_curve(
        self,
        threshold: float,
        *,
        probability: Any = None,
        prevalence: float | None = None,
        level: float = 0.95,
    ) -> DecisionCurve:
        r"""
        Give the net benefit of a threshold over what a miss is worth.

        Parameters
        ----------
        threshold : float
            In the unit of the score.
        probability : array_like, optional
            Probabilities of failure at which somebody would just act, within 0 and 1: the cost of a needless look over
            that cost and the one of a miss together. By default 50 from a tenth of the prevalence to ten times it.
        prevalence : float, optional
            Where the rule is to be used; the study's own, or in a cohort that of the sample.
        level : float, default 0.95
            Of the interval.

        Returns
        -------
        DecisionCurve

        Notes
        -----
        Net benefit a unit is :math:`\pi s - (1 - \pi)(1 - c)\,p/(1 - p)`. Source: ``decision-curve``.

        Examples
        --------
        >>> study = Study(score=[1, 2, 3, 4, 5, 6], failed=[1, 1, 0, 1, 0, 0], lower_is_worse=True)
        >>> curve = study.decision_curve(2.5, probability=[0.2, 0.5])
        >>> [round(each, 3) for each in curve.rule.tolist()], [round(each, 3) for each in curve.flag_all.tolist()]
        ([0.333, 0.333], [0.375, 0.0])
        """
        self._require_outcomes("a decision curve")
        share = self.prevalence if prevalence is None else prevalence
        if share is None and self.sampling == "case-control":
            raise ValueError("prevalence is not given, expected one: a case-control sample has none of its own")
        if probability is None:
            centre = self._sample_prevalence() if share is None else share
            probability = np.geomspace(centre / 10, min(0.9, 10 * centre), 50)
        at = np.ascontiguousarray(np.atleast_1d(as_doubles(probability, "probability")))
        found = _core.decision_curve(
            self._units, self._inner(threshold), at, prevalence=math.nan if share is None else share, level=level
        )
        return DecisionCurve(
            threshold=float(threshold),
            probability=at,
            rule=found["value"],
            low=found["low"],
            high=found["high"],
            flag_all=found["all"],
            best_here=found["best"],
            prevalence=found["prevalence"],
            level=level,
            cautions=(
                "the rule that looks best was chosen on the units it is shown for: it is not as good as it looks",
                *self.cautions,
            ),
        )

    def roc_curve(self, *, level: float = 0.95, points: int = 200) -> RocCurve:
        """
        Give the shares flagged at each threshold, with bounds and intervals.

        Parameters
        ----------
        level : float, default 0.95
            Of the intervals, at each threshold for itself.
        points : int, default 200
            At most so many thresholds, spread evenly over the scores.

        Returns
        -------
        RocCurve

        Examples
        --------
        >>> study = Study(score=[1, 2, 3, 4], failed=[1, 0, 1, 0], lower_is_worse=True)
        >>> curve = study.roc_curve()
        >>> curve.sensitivity.tolist(), curve.false_share.tolist()
        ([0.0, 0.5, 0.5, 1.0, 1.0], [0.0, 0.0, 0.5, 0.5, 1.0])
        """
        if points < 2:
            raise ValueError(f"points is {points}, expected 2 or more")
        thresholds = _core.roc_curve(self._units)[0]
        if thresholds.size > points:
            thresholds = thresholds[np.unique(np.linspace(0, thresholds.size - 1, points).round().astype(int))]
        rates = [
            _core.rates_at(self._units, float(at), level=level, exact=False, prevalence=math.nan) for at in thresholds
        ]

        known = math.nan if self._open_outcomes else 1.0

        def shares(name: str, key: str) -> Doubles:
            return np.array([each[name][key] for each in rates])

        return RocCurve(
            threshold=np.array([self._outer(float(at)) for at in thresholds]),
            sensitivity=shares("sensitivity", "value") * known,
            false_share=(1 - shares("specificity", "value")) * known,
            sensitivity_worst=shares("sensitivity", "worst"),
            sensitivity_best=shares("sensitivity", "best"),
            false_share_best=1 - shares("specificity", "best"),
            false_share_worst=1 - shares("specificity", "worst"),
            sensitivity_low=shares("sensitivity", "low"),
            sensitivity_high=shares("sensitivity", "high"),
            false_share_low=1 - shares("specificity", "high"),
            false_share_high=1 - shares("specificity", "low"),
            level=level,
        )

    def calibrate(
        self,
        published_threshold: float,
        *,
        published_sensitivity: float | None = None,
        published_specificity: float | None = None,
        target_sensitivity: float | None = None,
        target_specificity: float | None = None,
        level: float = 0.95,
    ) -> Calibration:
        """
        Say what a published threshold does on this fleet, and which threshold here does what was promised.

        Parameters
        ----------
        published_threshold : float
            In the unit of the score.
        published_sensitivity, published_specificity : float, optional
            What it was said to do; compared as if known exactly.
        target_sensitivity, target_specificity : float, optional
            What is wanted here; by default what was published.
        level : float, default 0.95
            Of the intervals.

        Returns
        -------
        Calibration

        Notes
        -----
        The interval of a threshold holds those at which the interval of the share holds the target.

        Examples
        --------
        >>> score = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10]
        >>> study = Study(score=score, failed=[1, 1, 0, 1, 0, 0, 1, 0, 0, 0], lower_is_worse=True)
        >>> found = study.calibrate(3.5, target_sensitivity=0.75)
        >>> found.here.sensitivity.estimate, found.threshold_for_sensitivity.estimate
        (0.5, 4.5)
        """
        here = self.at(published_threshold, level=level)
        targets = {
            "sensitivity": published_sensitivity if target_sensitivity is None else target_sensitivity,
            "specificity": published_specificity if target_specificity is None else target_specificity,
        }
        reached = {name: self._threshold_for(name, target, level) for name, target in targets.items()}
        return Calibration(
            here=here,
            threshold_for_sensitivity=reached["sensitivity"],
            threshold_for_specificity=reached["specificity"],
            sensitivity_less_published=_less(here.sensitivity, published_sensitivity),
            specificity_less_published=_less(here.specificity, published_specificity),
            false_alarms_a_unit_year=self._false_alarms_a_unit_year(here),
            cautions=here.cautions,
        )

    def _threshold_for(self, name: str, target: float | None, level: float) -> Figure:
        title = f"threshold for {name}" + ("" if target is None else f" {target:g}")
        if target is None:
            return _unknown_figure(title, level)
        if not 0 < target < 1:
            raise ValueError(f"target_{name} is {target}, expected between 0 and 1, both excluded")
        at, low, high, _ = _core.threshold_for(
            self._units, sensitivity=name == "sensitivity", target=target, level=level, exact=False
        )
        ends = self._outer_interval(low, high)
        estimate = math.nan if self._open_outcomes else self._outer(at)
        return Figure(title, estimate, *ends, estimate, estimate, level)

    def _false_alarms_a_unit_year(self, here: AtThreshold) -> Figure:
        name = "false alarms a unit and year"
        entry, leaving = self.columns.entry_day, self.columns.exit_day
        if entry is None or leaving is None or self.sampling == "case-control":
            return _unknown_figure(name, here.specificity.level)
        years = self._observed_day(entry, leaving) / DAYS_A_YEAR
        scale = here.counts.sound / years if years > 0 else math.nan
        of = here.specificity
        ends = (scale * (1 - of.estimate), scale * (1 - of.high), scale * (1 - of.low))
        said = ("the time under observation is taken as known; readings at other intervals give other rates",)
        return Figure(name, *ends, scale * (1 - of.worst), scale * (1 - of.best), of.level, said)

    def _observed_day(self, entry: Doubles, leaving: Doubles) -> float:
        if self.columns.unit is None:
            return float(np.nansum(leaving - entry))
        spans: dict[Any, tuple[float, float]] = {}
        for unit, first, last in zip(self.columns.unit, entry, leaving, strict=True):
            if not (math.isnan(first) or math.isnan(last)):
                known = spans.get(unit, (first, last))
                spans[unit] = (min(known[0], first), max(known[1], last))
        return float(sum(last - first for first, last in spans.values()))

    def survival_by_band(self, edges: Sequence[float], *, level: float = 0.95) -> SurvivalByBand:
        """
        Give survival by band of the score, and whether the bands differ.

        Parameters
        ----------
        edges : sequence of float
            Rising scores that part the bands; the lowest and the highest band are open.
        level : float, default 0.95
            Of the intervals of the curves.

        Returns
        -------
        SurvivalByBand

        Notes
        -----
        Time is that of ``entry_day`` and ``exit_day``; late entry is taken in. Sources: ``kaplan-meier``,
        ``mantel-logrank``.

        Examples
        --------
        >>> study = Study(score=[1, 2, 1, 4, 5, 6, 7], failed=[1, 1, 0, 1, 0, 0, 0], lower_is_worse=True,
        ...               exit_day=[90, 200, 365, 300, 365, 365, 365])
        >>> [(band.label, band.units, band.failed) for band in study.survival_by_band([3]).bands]
        [('below 3', 3, 2), ('3 and above', 4, 1)]
        """
        return survival_by_band(self, edges, level)

    def attenuation(self, *, level: float = 0.95) -> Attenuation:
        r"""
        Say how much of the overlap of failed and sound units the meter makes.

        Parameters
        ----------
        level : float, default 0.95
            Of the intervals.

        Returns
        -------
        Attenuation
            Without an area where the meter alone would scatter as much as the scores do.

        Notes
        -----
        Both groups are taken as normal on the study's scale, fitted with over-range scores as bounds; the rank area is
        carried over by its normal deviate, :math:`z \sqrt{V / (V - U)}`, with variance as read :math:`V` and the
        meter's :math:`U`. Sources: ``attenuation``, ``binormal-area``.

        Examples
        --------
        >>> rng = np.random.default_rng(4)
        >>> true = np.r_[rng.normal(0, 1, 2000), rng.normal(2, 1, 2000)]
        >>> study = Study(score=true + rng.normal(0, 1, 4000), failed=[1] * 2000 + [0] * 2000, lower_is_worse=True,
        ...               standard_uncertainty=1.0)
        >>> found = study.attenuation()
        >>> round(found.as_read.estimate, 2), round(found.without_meter.estimate, 2)  # the truth is 0.92
        (0.84, 0.92)
        """
        self._require_outcomes("attenuation")
        if not np.nanmax(self.columns.standard_uncertainty, initial=0.0) > 0:
            raise ValueError("standard_uncertainty is 0 throughout, expected what the meter adds to each score")
        if self._weight.size:
            raise ValueError("repaired is 'weights', expected none: attenuation does not weigh units")
        read = _core.area_under_curve(self._units, level=level)["middle"]
        found = _core.attenuation(
            self._class_of_scores(WITH),
            self._class_of_scores(WITHOUT),
            area=read["area"],
            standard_error=read["standard_error"],
            degrees_of_freedom=read["degrees_of_freedom"],
            level=level,
        )
        status = Status(found["status"])
        said = [] if status == Status.sound else [status_text(int(status))]
        said.append(
            "taken as normal on the study's scale, and the meter's errors as independent from reading to reading"
        )
        area, clean = read["area"], found["area_without_meter"]
        return Attenuation(
            as_read=Figure("area as read", area, read["low"], read["high"], area, area, level),
            without_meter=Figure(
                "area without the meter", clean, found["low"], found["high"], clean, clean, level, tuple(said)
            ),
            normal_as_read=found["normal_area_as_read"],
            normal_without_meter=found["normal_area_without_meter"],
            meter_share=found["meter_share"],
            status=status,
            cautions=(*said, *self.cautions),
        )

    def _class_of_scores(self, code: int) -> tuple[Doubles, Doubles, Doubles]:
        rows = (self._outcome == code) & ~np.isnan(self._low)
        return self._low[rows], self._high[rows], self.columns.standard_uncertainty[rows]

    def save(
        self,
        folder: str | PathLike[str],
        *,
        seed: int = 1,
        thresholds: Sequence[float] = (),
        best_threshold: Mapping[str, float] | None = None,
    ) -> None:
        """
        Write the study so that somebody can repeat it: ``study.json`` and ``study.csv`` in a folder.

        Units and clusters become numbers in an order drawn with the seed; no name is kept. The description tells every
        column with unit and meaning, all settings, versions, editions and the figures at the time.

        Parameters
        ----------
        folder : path
            Made where it does not exist.
        seed : int, default 1
            Of the numbering.
        thresholds : sequence of float
            Whose figures are to be kept, beside the area.
        best_threshold : mapping of str to number, optional
            Arguments of `best_threshold`, whose answer is to be kept too; its seed with them.

        Examples
        --------
        >>> import tempfile
        >>> study = Study(score=[1, 2, 3, 4], failed=[1, 0, 1, 0], lower_is_worse=True, unit=list("abcd"))
        >>> with tempfile.TemporaryDirectory() as folder:
        ...     study.save(folder, thresholds=[2.5])
        ...     again = Study.load(folder)
        >>> again.at(2.5).sensitivity == study.at(2.5).sensitivity, sorted(again.columns.unit)
        (True, [1, 2, 3, 4])
        """
        write_study(self, folder, seed=seed, thresholds=thresholds, best_threshold=best_threshold)

    @classmethod
    def load(cls, folder: str | PathLike[str], *, repeat: bool = True) -> Study:
        """
        Read a study that `save` wrote.

        Parameters
        ----------
        folder : path
            Where ``study.json`` and ``study.csv`` are.
        repeat : bool, default True
            Reckon the figures kept in the file again; a ValueError names the first that is not the same bit for bit.

        Returns
        -------
        Study

        Raises
        ------
        ValueError
            The data are not those that the description was written for, or a figure does not repeat.
        """
        return read_study(cls, folder, repeat=repeat)


def _less(figure: Figure, published: float | None) -> Figure:
    name = f"{figure.name} less published"
    if published is None:
        return _unknown_figure(name, figure.level)
    if not 0 <= published <= 1:
        raise ValueError(f"published_{figure.name} is {published}, expected 0 to 1")
    return Figure(
        name,
        figure.estimate - published,
        figure.low - published,
        figure.high - published,
        figure.worst - published,
        figure.best - published,
        figure.level,
        figure.cautions,
    )


def _scatter_ratio(first: Doubles, second: Doubles, level: float) -> tuple[float, list[str]]:
    """Standard deviation of the second over the first of pairs, and a caution where it is not 1 (Pitman, Morgan)."""
    if first.size < 5 or not (first.std() > 0 and second.std() > 0):
        return math.nan, ["too few sound units with both scores to compare their scatter"]
    ratio = float(second.std() / first.std())
    together, apart = first + second, second - first
    if not (together.std() > 0 and apart.std() > 0):
        return ratio, []
    correlation = float(np.corrcoef(together, apart)[0, 1])
    deviate = math.atanh(max(-1 + 1e-15, min(1 - 1e-15, correlation))) * math.sqrt(first.size - 3)
    if abs(deviate) <= NormalDist().inv_cdf((1 + level) / 2):
        return ratio, []
    if ratio > 1:
        return ratio, [f"the correction adds noise: sound units scatter {ratio:.2f} times as much as read"]
    return ratio, [f"the correction takes scatter away: sound units scatter {ratio:.2f} times as much as read"]
