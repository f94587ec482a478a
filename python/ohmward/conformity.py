"""Limits, decision rules and risks: what a reading says against a limit given its uncertainty; what would settle it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from ohmward import _core
from ohmward._units import UNIT_SYMBOLS

__all__ = [
    "GlobalRisks",
    "Judgement",
    "Limit",
    "Plan",
    "Posterior",
    "Prior",
    "Repeats",
    "Rule",
    "for_risk",
    "guarded",
    "named",
    "operating_uncertainty",
    "simple",
]

_room = _core.conformity
_KINDS = {name: is_log for name, _, is_log in _core.core.quantity_kind_table}


class MeasuredQuantity(Protocol):
    """What a limit needs of a measured quantity, such as the answer of ``instrument.quantity(...)``."""

    @property
    def value(self) -> float:
        """SI value; the bound where censored."""

    @property
    def standard_uncertainty(self) -> float:
        """Of the value; of its natural logarithm on the log scale."""


@dataclass(frozen=True)
class Rule:
    """
    How measurement uncertainty enters a decision: the guard band is ``multiple · coverage_factor · u``.

    A rule is agreed before measuring and reported with the result. Source ``ilac-g8``.

    Attributes
    ----------
    multiple, coverage_factor : float
        Both 0 for the simple rule.
    """

    multiple: float
    coverage_factor: float

    @property
    def greatest_specific_risk(self) -> float:
        """
        Risk of a false pass of a reading on the acceptance limit of a one-sided limit.

        Examples
        --------
        >>> round(guarded(multiple=1, coverage_factor=2).greatest_specific_risk, 4)
        0.0228
        """
        return _room.greatest_specific_risk(self._raw)

    @property
    def _raw(self) -> _core.conformity.Rule:
        if self.multiple == 0 and self.coverage_factor == 0:
            return _room.simple()
        return _room.guarded(self.multiple, self.coverage_factor)

    def __str__(self) -> str:
        """Say the rule in words."""
        if self.multiple == 0:
            return "simple acceptance, no guard band"
        return f"guard band {self.multiple:g} · {self.coverage_factor:.4g} · u"


def _rule(core: _core.conformity.Rule) -> Rule:
    return Rule(multiple=core.multiple, coverage_factor=core.coverage_factor)


def guarded(*, multiple: float = 1, coverage_factor: float = 2) -> Rule:
    """
    Accept only what lies inside the limit by ``multiple · coverage_factor · u``.

    Parameters
    ----------
    multiple, coverage_factor : float
        Above 0.

    Returns
    -------
    Rule

    Examples
    --------
    >>> print(guarded(multiple=0.83, coverage_factor=2))
    guard band 0.83 · 2 · u
    """
    return _rule(_room.guarded(multiple, coverage_factor))


def simple() -> Rule:
    """
    Accept whatever reads within the limit; near it the risk of a false pass is up to one half.

    Examples
    --------
    >>> simple().greatest_specific_risk
    0.5
    """
    return _rule(_room.simple())


def named(name: str) -> Rule:
    """
    Return a rule by its usual name.

    Parameters
    ----------
    name : {"simple", "guarded", "iso_14253_1", "guarded_1.5", "guarded_3"}
        Guard bands of 0, U, 0.83 U, 1.5 U and 3 U with U = 2u. Sources ``ilac-g8``, ``iso-14253-1``.

    Returns
    -------
    Rule

    Examples
    --------
    >>> round(named("iso_14253_1").greatest_specific_risk, 3)
    0.048
    """
    return _rule(_room.rule_named(name))


def for_risk(risk: float, *, degrees_of_freedom: float = math.inf) -> Rule:
    """
    Return the rule whose specific risk of a false pass at a one-sided limit is at most ``risk``.

    Parameters
    ----------
    risk : float
        Above 0, at most 0.5.
    degrees_of_freedom : float, optional
        Of the standard uncertainty; finite ones widen the guard band by the t distribution.

    Returns
    -------
    Rule

    Examples
    --------
    >>> round(for_risk(0.05).coverage_factor, 4)
    1.6449
    """
    return _rule(_room.rule_for_risk(risk, degrees_of_freedom))


@dataclass(frozen=True)
class Judgement:
    """
    Statement on one reading.

    Attributes
    ----------
    verdict : str
        ``pass``, ``conditional_pass``, ``conditional_fail``, ``fail`` or ``undetermined``.
    reason : str
        In words.
    undecided : str
        For an undetermined verdict what kind of help it needs; else empty.
    acceptance_lower, acceptance_upper : float
        Least and greatest accepted reading; NaN where the limit has no such end.
    probability_of_conformity : float
        Given this reading alone; NaN for a censored one.
    rule : Rule
        The rule that was applied.
    """

    verdict: str
    reason: str
    undecided: str
    acceptance_lower: float
    acceptance_upper: float
    probability_of_conformity: float
    rule: Rule

    @property
    def specific_risk(self) -> float:
        """Risk of the statement: of a false pass for ``pass``, of a false rejection for any other."""
        p = self.probability_of_conformity
        return 1 - p if self.verdict == "pass" else p


@dataclass(frozen=True)
class GlobalRisks:
    """
    Risks for the next item, before it is measured.

    Attributes
    ----------
    conforming, accepted : float
        Probabilities of an item to conform and to be accepted.
    consumer_joint, producer_joint : float
        Probability to be accepted *and* not to conform; to be rejected *and* to conform (JCGM 106:2012 9.5).
    consumer_conditional, producer_conditional : float
        Share of the accepted that do not conform; share of the rejected that do.
    """

    conforming: float
    accepted: float
    consumer_joint: float
    producer_joint: float
    consumer_conditional: float
    producer_conditional: float


@dataclass(frozen=True)
class Posterior:
    """What one reading says once the prior is taken in: mean, standard deviation, probability of conformity."""

    mean: float
    standard_deviation: float
    probability_of_conformity: float


@dataclass(frozen=True)
class Repeats:
    """
    How many readings to average.

    Attributes
    ----------
    count : int or None
        None where no number of repeats helps.
    reason : str
        Why.
    """

    count: int | None
    reason: str


@dataclass(frozen=True)
class Plan:
    """
    What a meter must show to pass.

    Attributes
    ----------
    possible : bool
        Some reading of this meter passes.
    at_least, at_most : float
        Ends of the passing readings, SI; NaN where there is none.
    """

    possible: bool
    at_least: float
    at_most: float
    unit: str
    rule: Rule

    def __str__(self) -> str:
        """Say it as a person would."""
        if not self.possible:
            return f"no reading of this meter can pass ({self.rule}); take a better meter"
        unit = f" {UNIT_SYMBOLS[self.unit]}" if self.unit else ""
        ends = []
        if not math.isnan(self.at_least):
            ends.append(f"at least {_rounded_up(self.at_least)}{unit}")
        if not math.isnan(self.at_most):
            ends.append(f"at most {_rounded_down(self.at_most)}{unit}")
        return f"read {' and '.join(ends)} to pass ({self.rule})"


def _at_digits(value: float, digits: int, towards: Callable[[float], float]) -> str:
    if value == 0:
        return "0"
    step = 10.0 ** (math.floor(math.log10(abs(value))) - digits + 1)
    return f"{towards(value / step) * step:.{digits}g}"


def _rounded_up(value: float) -> str:
    return _at_digits(value, 3, math.ceil)


def _rounded_down(value: float) -> str:
    return _at_digits(value, 3, math.floor)


class Prior:
    """
    How the quantity is distributed over items before they are measured.

    Parameters
    ----------
    density : callable
        Density of the value; need not be normalised.
    location, scale : float
        Where most of it lies, and about how wide that is.
    low, high : float, optional
        Support.

    Examples
    --------
    >>> Prior.normal(mean=1500, standard_deviation=0.12).location
    1500.0
    """

    def __init__(
        self,
        density: Callable[[float], float],
        *,
        location: float,
        scale: float,
        low: float = -math.inf,
        high: float = math.inf,
    ) -> None:
        self._raw = _room.Prior(density, low, high, location, scale)

    @classmethod
    def _of(cls, core: _core.conformity.Prior) -> Prior:
        made = cls.__new__(cls)
        made._raw = core
        return made

    @classmethod
    def normal(cls, *, mean: float, standard_deviation: float) -> Prior:
        """Return a normal prior."""
        return cls._of(_room.normal_prior(mean, standard_deviation))

    @classmethod
    def lognormal(cls, *, median: float, standard_deviation_of_ln: float) -> Prior:
        """Return a prior whose logarithm is normal."""
        return cls._of(_room.lognormal_prior(median, standard_deviation_of_ln))

    @classmethod
    def rectangular(cls, *, centre: float, half_width: float) -> Prior:
        """Return a prior that is even over an interval."""
        return cls._of(_room.rectangular_prior(centre, half_width))

    @property
    def location(self) -> float:
        """Where most of it lies."""
        return self._raw.location

    @property
    def scale(self) -> float:
        """About how wide that is."""
        return self._raw.scale

    def density(self, value: float) -> float:
        """Return the density at a value."""
        return self._raw.density(value)


class Limit:
    r"""
    A limit for one quantity, with the rule that decides near it.

    Parameters
    ----------
    lower, upper : float, optional
        Ends in SI units; at least one.
    quantity : str, optional
        Such as ``"bonding_resistance"``: it fixes the unit and whether comparison is on the log scale.
    rule : Rule, default guarded(multiple=1, coverage_factor=2)
        Agreed before measuring.
    strict : bool, default False
        A reading equal to the limit belongs to the worse side ("below 0.1 Ω").
    log_scale : bool, optional
        Compare logarithms; by default as the quantity says, else linear.
    source : str, optional
        Where the limit comes from; kept and shown.

    Notes
    -----
    With guard band w = multiple · coverage_factor · u the acceptance limit is T ∓ w on the linear scale and
    :math:`T e^{\pm w}` with u of ln R on the log scale. Statement after ILAC-G8:09/2019 4.2.3. Sources ``ilac-g8``,
    ``jcgm-106``.

    Examples
    --------
    >>> limit = Limit(quantity="bonding_resistance", upper=0.1, rule=guarded(multiple=1, coverage_factor=2))
    >>> limit.judge(0.090, standard_uncertainty=0.004).verdict
    'pass'
    >>> limit.judge(0.098, standard_uncertainty=0.004).verdict
    'conditional_pass'
    """

    def __init__(
        self,
        *,
        lower: float | None = None,
        upper: float | None = None,
        quantity: str | None = None,
        rule: Rule | None = None,
        strict: bool = False,
        log_scale: bool | None = None,
        source: str | None = None,
    ) -> None:
        if quantity is not None and quantity not in _KINDS:
            raise ValueError(f"quantity is {quantity!r}, expected one of {', '.join(_KINDS)}")
        self.rule = rule if rule is not None else guarded()
        self.quantity = quantity
        self.source = source
        self.log_scale = log_scale if log_scale is not None else _KINDS.get(quantity or "", False)
        for name, end in (("lower", lower), ("upper", upper)):
            if self.log_scale and end is not None and end <= 0:
                raise ValueError(f"{name} is {end}, expected above 0 on the log scale")
        self._raw = _room.Limit(_or_nan(lower), _or_nan(upper), strict, self.rule._raw)

    @classmethod
    def about(
        cls,
        nominal: float,
        *,
        below: float | None = None,
        above: float | None = None,
        relative: bool = False,
        quantity: str | None = None,
        rule: Rule | None = None,
        strict: bool = False,
        source: str | None = None,
    ) -> Limit:
        """
        Return a tolerance about a nominal value.

        Parameters
        ----------
        nominal : float
            Nominal value, SI.
        below, above : float, optional
            How far the value may lie below and above it; fractions of it where ``relative``.
        relative : bool, default False
            Whether the tolerances are fractions of the nominal value.
        quantity, rule, strict, source : optional
            As for the limit itself.

        Examples
        --------
        >>> Limit.about(12.0, below=0.05, above=0.05, relative=True).upper
        12.6
        """
        made = _room.limit_about(nominal, _or_nan(below), _or_nan(above), relative, strict, _room.simple())
        return cls(
            lower=_or_none(made.lower),
            upper=_or_none(made.upper),
            quantity=quantity,
            rule=rule,
            strict=strict,
            source=source,
        )

    @property
    def lower(self) -> float:
        """Lower end; NaN where there is none."""
        return self._raw.lower

    @property
    def upper(self) -> float:
        """Upper end; NaN where there is none."""
        return self._raw.upper

    @property
    def unit(self) -> str:
        """SI unit of the quantity; empty where unknown or a pure number."""
        return next((unit for name, unit, _ in _core.core.quantity_kind_table if name == self.quantity), "")

    def judge(
        self,
        reading: float | MeasuredQuantity,
        *,
        standard_uncertainty: float | None = None,
        relative_standard_uncertainty: float | None = None,
        degrees_of_freedom: float = math.inf,
        censoring: str = "exact",
    ) -> Judgement:
        """
        Judge a reading.

        Parameters
        ----------
        reading : float or measured quantity
            SI value, or what ``instrument.quantity(...)`` returned.
        standard_uncertainty : float, optional
            In the unit of the reading, for a plain value.
        relative_standard_uncertainty : float, optional
            As a fraction of the reading instead; on the log scale this is u of ln R.
        degrees_of_freedom : float, optional
            Of the standard uncertainty, for the probability of conformity.
        censoring : {"exact", "above", "below", "overload"}
            What the reading says of the value.

        Returns
        -------
        Judgement
            Without a standard uncertainty above 0 the verdict is ``undetermined``.

        Examples
        --------
        >>> limit = Limit(quantity="insulation_resistance", lower=1e6)
        >>> j = limit.judge(1.6e6, relative_standard_uncertainty=0.3)
        >>> j.verdict, round(j.acceptance_lower / 1e6, 2), round(j.probability_of_conformity, 3)
        ('conditional_pass', 1.82, 0.941)
        """
        plain = self._plain(reading, standard_uncertainty, relative_standard_uncertainty, degrees_of_freedom, censoring)
        verdict, undecided, reason, lower, upper, probability = _room.judge(plain, self._raw)
        return Judgement(verdict, reason, undecided, lower, upper, probability, self.rule)

    def acceptance(self, standard_uncertainty: float) -> tuple[float, float]:
        """
        Return least and greatest accepted reading for a standard uncertainty (of ln R on the log scale).

        Examples
        --------
        >>> round(Limit(upper=0.1).acceptance(0.005)[1], 6)
        0.09
        """
        return _room.acceptance_of(self._raw, standard_uncertainty, self.log_scale)

    def plan(
        self,
        meter: Any,
        *,
        lowest: float | None = None,
        highest: float | None = None,
        **conditions: float,
    ) -> Plan:
        """
        Say what a meter must show to pass.

        Parameters
        ----------
        meter : callable or instrument
            Reading to standard uncertainty (of ln R on the log scale) or to a measured quantity; or an object with a
            method ``quantity(kind, reading, ...)``, such as an instrument.
        lowest, highest : float, optional
            Readings that the meter can show, SI.
        **conditions : float
            Handed on to the instrument, such as ``test_voltage_volt=500``.

        Returns
        -------
        Plan

        Examples
        --------
        >>> limit = Limit(quantity="bonding_resistance", upper=0.1)
        >>> print(limit.plan(lambda reading: 0.02 * reading + 0.002))
        read at most 0.0923 Ω to pass (guard band 1 · 2 · u)
        """
        function = self._function_of(meter, conditions)

        def plain(reading: float) -> tuple[float, float, float, _core.core.Censoring, _core.core.Status, bool]:
            made = function(reading)
            if isinstance(made, int | float):
                made_u = float(made)
                return (reading, made_u, math.inf, _core.core.Censoring.exact, _core.core.Status.sound, self.log_scale)
            return self._plain(made, None, None, math.inf, "exact")

        possible, at_least, at_most = _room.reading_to_pass(self._raw, plain, _or_nan(lowest), _or_nan(highest))
        return Plan(possible=possible, at_least=at_least, at_most=at_most, unit=self.unit, rule=self.rule)

    def needed_uncertainty(self, reading: float, *, to: str = "pass") -> float:
        """
        Return the greatest standard uncertainty with which this reading passes, or fails.

        Parameters
        ----------
        reading : float
            SI value.
        to : {"pass", "fail"}
            Which statement is wanted.

        Returns
        -------
        float
            Of ln R on the log scale; 0 where no meter is good enough.

        Examples
        --------
        >>> round(Limit(upper=0.1).needed_uncertainty(0.09), 6)
        0.005
        """
        if to not in ("pass", "fail"):
            raise ValueError(f"to is {to!r}, expected 'pass' or 'fail'")
        function = _room.standard_uncertainty_to_pass if to == "pass" else _room.standard_uncertainty_to_fail
        return function(reading, self._raw, self.log_scale)

    def needed_repeats(self, reading: float, *, repeat: float, common: float) -> Repeats:
        """
        Say how many readings to average so that their mean, if it stays at ``reading``, passes.

        Parameters
        ----------
        reading : float
            SI value.
        repeat : float
            Standard deviation of one reading, independent from reading to reading (of ln R on the log scale).
        common : float
            Standard uncertainty that repeating does not reduce.

        Examples
        --------
        >>> Limit(upper=0.1).needed_repeats(0.09, repeat=0.01, common=0.003).count
        7
        """
        outcome, count = _room.repeats_to_pass(reading, repeat, common, self._raw, self.log_scale)
        reasons = (
            "the mean of so many readings passes if it stays there",
            "the part that repeating does not reduce is too large: take a better meter",
            "the reading lies on the wrong side of the limit or on it",
        )
        return Repeats(count=count if outcome == 0 else None, reason=reasons[outcome])

    def global_risks(self, prior: Prior, *, standard_uncertainty: float) -> GlobalRisks:
        """
        Return the risks of deciding about the next item (JCGM 106:2012 9.5).

        Parameters
        ----------
        prior : Prior
            How items are distributed.
        standard_uncertainty : float
            Of the measurement; of ln R on the log scale.

        Examples
        --------
        >>> limit = Limit(lower=1499.8, upper=1500.2, rule=guarded(multiple=1, coverage_factor=0.5))
        >>> risks = limit.global_risks(Prior.normal(mean=1500, standard_deviation=0.12), standard_uncertainty=0.04)
        >>> round(risks.consumer_joint, 4), round(risks.producer_joint, 4)
        (0.0099, 0.069)
        """
        return GlobalRisks(*_room.global_risks(prior._raw, standard_uncertainty, self.log_scale, self._raw))

    def with_prior(self, reading: float, prior: Prior, *, standard_uncertainty: float) -> Posterior:
        """
        Say what one reading means once it is known how such items are distributed (JCGM 106:2012 6.2).

        Examples
        --------
        >>> limit = Limit(upper=12.0)
        >>> p = limit.with_prior(13.0, Prior.normal(mean=10, standard_deviation=2), standard_uncertainty=1)
        >>> round(p.mean, 6)
        12.4
        """
        return Posterior(*_room.with_prior(prior._raw, standard_uncertainty, self.log_scale, reading, self._raw))

    def rule_for_consumer_risk(self, risk: float, prior: Prior, *, standard_uncertainty: float) -> Rule:
        """
        Return the smallest guard band that keeps the joint consumer's risk at or below ``risk``.

        Examples
        --------
        >>> limit = Limit(lower=1499.8, upper=1500.2)
        >>> items = Prior.normal(mean=1500, standard_deviation=0.12)
        >>> rule = limit.rule_for_consumer_risk(0.005, items, standard_uncertainty=0.04)
        >>> 0.5 < rule.coverage_factor < 1.5
        True
        """
        return _rule(_room.rule_for_consumer_risk(prior._raw, standard_uncertainty, self.log_scale, self._raw, risk))

    def probability_of_acceptance(
        self, true_value: float | np.ndarray[Any, Any], *, standard_uncertainty: float
    ) -> Any:
        """
        Return the operating characteristic: how probably an item of this true value is accepted.

        Examples
        --------
        >>> round(Limit(upper=0.1).probability_of_acceptance(0.09, standard_uncertainty=0.005), 9)
        0.5
        """
        values = np.asarray(true_value, dtype=np.float64)
        flat = np.ascontiguousarray(values).reshape(-1)
        out = _room.probability_of_acceptance(flat, standard_uncertainty, self.log_scale, self._raw).reshape(
            values.shape
        )
        return out if values.ndim else float(out)

    def capability_index(self, standard_uncertainty: float) -> float:
        """
        Return C_m = T/(2U) with U = 2u; NaN for a one-sided limit (JCGM 106:2012 7.6.3).

        Examples
        --------
        >>> round(Limit(lower=-1, upper=1).capability_index(0.125), 12)
        4.0
        """
        return _room.capability_index(self._raw, standard_uncertainty)

    def worst_case(self, operating_uncertainty: float) -> tuple[float, float]:
        """
        Return the readings that meet the limit even in the worst case of an operating uncertainty (IEC 61557).

        Examples
        --------
        >>> lower, upper = Limit(quantity="insulation_resistance", lower=1e6).worst_case(0.30)
        >>> round(lower)
        1428571
        """
        return _room.worst_case_readings(self._raw, operating_uncertainty)

    def __repr__(self) -> str:
        """Name quantity, ends and rule."""
        ends = [
            f"{name}={value:g}"
            for name, value in (("lower", self.lower), ("upper", self.upper))
            if not math.isnan(value)
        ]
        return f"Limit({', '.join([self.quantity or 'any quantity', *ends, str(self.rule)])})"

    def _function_of(self, meter: Any, conditions: dict[str, float]) -> Callable[[float], Any]:
        if hasattr(meter, "quantity"):
            if self.quantity is None:
                raise ValueError("quantity is missing: an instrument must know what it measures")
            kind = self.quantity
            return lambda reading: meter.quantity(kind, reading, **conditions)
        if conditions:
            raise TypeError(f"conditions such as {next(iter(conditions))!r} need an instrument, not a function")
        if not callable(meter):
            raise TypeError(f"meter is {type(meter).__name__}, expected a function of the reading or an instrument")
        return meter  # type: ignore[no-any-return]

    def _plain(
        self,
        reading: float | MeasuredQuantity,
        standard_uncertainty: float | None,
        relative: float | None,
        degrees_of_freedom: float,
        censoring: str,
    ) -> tuple[float, float, float, _core.core.Censoring, _core.core.Status, bool]:
        if not isinstance(reading, int | float | np.floating):
            if standard_uncertainty is not None or relative is not None:
                raise TypeError("a measured quantity carries its own standard uncertainty")
            return (
                float(reading.value),
                float(reading.standard_uncertainty),
                float(getattr(reading, "degrees_of_freedom", math.inf)),
                getattr(reading, "censoring", _core.core.Censoring.exact),
                getattr(reading, "status", _core.core.Status.sound),
                bool(getattr(reading, "log_scale", self.log_scale)),
            )
        value = float(reading)
        if standard_uncertainty is not None and relative is not None:
            raise TypeError("give standard_uncertainty or relative_standard_uncertainty, not both")
        if relative is not None:
            u = relative if self.log_scale else relative * abs(value)
        else:
            u = math.nan if standard_uncertainty is None else float(standard_uncertainty)
            if self.log_scale:
                u = u / value if value > 0 else math.nan
        status = _core.core.Status.missing_input if math.isnan(value) else _core.core.Status.sound
        return (value, u, degrees_of_freedom, _core.core.Censoring[censoring], status, self.log_scale)


def operating_uncertainty(intrinsic: float, influences: Iterable[float]) -> float:
    r"""
    Return the operating uncertainty of a tester as a fraction of the reading.

    Parameters
    ----------
    intrinsic : float
        A, under reference conditions.
    influences : iterable of float
        E_i, the change that each influence makes.

    Notes
    -----
    .. math:: B = |A| + 1.15 \sqrt{\sum E_i^2}

    Source ``iec-61557``. B is a bound without a density: B/√3 as a rectangle, or B/2 where k = 2 is declared.

    Examples
    --------
    >>> round(operating_uncertainty(0.05, [0.03, 0.04]), 4)
    0.1075
    """
    return _room.operating_uncertainty(intrinsic, list(influences))


def _or_nan(value: float | None) -> float:
    return math.nan if value is None else float(value)


def _or_none(value: float) -> float | None:
    return None if math.isnan(value) else value
