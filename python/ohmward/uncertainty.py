"""Measurement uncertainty: inputs, budgets, first and second order, whole columns, Monte Carlo, coverage, rounding."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ohmward import _core
from ohmward._budget_table import BudgetTable, blank_row
from ohmward._frame import Frame
from ohmward._rows_uncertainty import Column, RowFormula, RowPropagation, propagate_rows, row_formulas

__all__ = [
    "Arcsine",
    "Asymmetric",
    "Budget",
    "Column",
    "CrossedMean",
    "CurvilinearTrapezoidal",
    "Expanded",
    "Exponential",
    "Gamma",
    "Input",
    "Line",
    "Lognormal",
    "Mean",
    "MonteCarlo",
    "MonteCarloOutput",
    "Normal",
    "Output",
    "Propagation",
    "Rectangular",
    "RowFormula",
    "RowPropagation",
    "Sample",
    "StudentT",
    "StudentTWithStandardUncertainty",
    "Trapezoidal",
    "Triangular",
    "Validation",
    "VarianceComponents",
    "coverage_factor",
    "coverage_factor_ellipsoid",
    "coverage_factor_rectangle_and_normal",
    "coverage_factor_trapezoid",
    "crossed_mean",
    "mean_of",
    "mean_of_autocorrelated",
    "numerical_tolerance",
    "pooled",
    "propagate_rows",
    "rounded",
    "row_formulas",
    "shortest_interval",
    "standard_uncertainty_from",
    "standard_uncertainty_of_display",
    "straight_line",
    "symmetric_interval",
    "type_b_degrees_of_freedom",
    "variance_components",
]

_room = _core.uncertainty
_Array = np.ndarray[Any, np.dtype[np.float64]]
_Model = Callable[..., Any]


def _doubles(values: Any, name: str) -> _Array:
    array = np.asarray(values)
    if array.dtype.kind not in "fiu":
        raise TypeError(f"{name} must be real numbers, not {array.dtype}")
    return np.ascontiguousarray(array, dtype=np.float64)


class Input:
    """
    One input quantity: an estimate, a standard uncertainty and a distribution.

    Made through its kinds, such as :class:`Normal` or :class:`Rectangular`.
    """

    def __init__(self, raw: _core.uncertainty.Input) -> None:
        self._raw = raw

    @property
    def estimate(self) -> float:
        """Best estimate."""
        return self._raw.estimate

    @property
    def standard_uncertainty(self) -> float:
        """Standard uncertainty that the law of propagation takes."""
        return self._raw.standard_uncertainty

    @property
    def degrees_of_freedom(self) -> float:
        """Degrees of freedom of the standard uncertainty."""
        return self._raw.degrees_of_freedom

    @property
    def shape(self) -> str:
        """Shape of the distribution, in words."""
        return self._raw.shape

    def __repr__(self) -> str:
        """Shape, estimate and standard uncertainty."""
        return f"<{self.shape}: {self.estimate:.8g}, u {self.standard_uncertainty:.3g}>"


class Normal(Input):
    """
    Normal quantity.

    Parameters
    ----------
    mean : float
        Estimate.
    standard_uncertainty : float
        Above 0.
    degrees_of_freedom : float, optional
        Of the standard uncertainty, at least 1; draws stay normal.

    Examples
    --------
    >>> Normal(mean=4.9990, standard_uncertainty=0.0032)
    <normal: 4.999, u 0.0032>
    """

    def __init__(self, *, mean: float, standard_uncertainty: float, degrees_of_freedom: float = math.inf) -> None:
        super().__init__(_room.normal(mean, standard_uncertainty, degrees_of_freedom))


class StudentT(Input):
    """
    Scaled and shifted t of JCGM 101:2008 6.4.9, such as the mean of n readings: location mean, scale s/√n, ν = n − 1.

    The law of propagation takes u = scale with its degrees of freedom; draws have the larger standard deviation
    scale · √(ν/(ν−2)). Compare :class:`StudentTWithStandardUncertainty`.

    Examples
    --------
    >>> StudentT(location=215, scale=6, degrees_of_freedom=24).degrees_of_freedom
    24.0
    """

    def __init__(self, *, location: float, scale: float, degrees_of_freedom: float) -> None:
        super().__init__(_room.student_t(location, scale, degrees_of_freedom))


class StudentTWithStandardUncertainty(Input):
    """
    A t distribution rescaled so that its standard deviation is the stated standard uncertainty; ν above 2.

    Examples
    --------
    >>> StudentTWithStandardUncertainty(mean=0, standard_uncertainty=25, degrees_of_freedom=18).standard_uncertainty
    25.0
    """

    def __init__(self, *, mean: float, standard_uncertainty: float, degrees_of_freedom: float) -> None:
        super().__init__(_room.student_t_with_standard_uncertainty(mean, standard_uncertainty, degrees_of_freedom))


class Rectangular(Input):
    """
    Anywhere within ±half_width alike: u = a/√3.

    Examples
    --------
    >>> round(Rectangular(centre=100, half_width=4).standard_uncertainty, 4)
    2.3094
    """

    def __init__(self, *, centre: float, half_width: float, degrees_of_freedom: float = math.inf) -> None:
        super().__init__(_room.rectangular(centre, half_width, degrees_of_freedom))


class Triangular(Input):
    """
    Sum of two equal rectangles, such as two display steps: u = a/√6.

    Examples
    --------
    >>> round(Triangular(centre=100, half_width=4).standard_uncertainty, 4)
    1.633
    """

    def __init__(self, *, centre: float, half_width: float, degrees_of_freedom: float = math.inf) -> None:
        super().__init__(_room.triangular(centre, half_width, degrees_of_freedom))


class Arcsine(Input):
    """
    Sinusoidal variation of amplitude half_width: u = a/√2.

    Examples
    --------
    >>> round(Arcsine(centre=0, half_width=0.5).standard_uncertainty, 4)
    0.3536
    """

    def __init__(self, *, centre: float, half_width: float, degrees_of_freedom: float = math.inf) -> None:
        super().__init__(_room.arcsine(centre, half_width, degrees_of_freedom))


class Asymmetric(Input):
    """
    Anywhere from ``estimate − below`` to ``estimate + above``: u² = (below + above)²/12 (JCGM 100:2008 4.3.8).

    The law of propagation keeps the stated estimate; draws are even over the whole interval.

    Examples
    --------
    >>> round(Asymmetric(estimate=16.52, below=0.12, above=0.40).standard_uncertainty, 3)
    0.15
    """

    def __init__(self, *, estimate: float, below: float, above: float, degrees_of_freedom: float = math.inf) -> None:
        super().__init__(_room.asymmetric(estimate, below, above, degrees_of_freedom))


class Trapezoidal(Input):
    """
    Sum of two rectangles; top_fraction is the width of the top over that of the base: u² = a²(1 + β²)/6.

    Examples
    --------
    >>> round(Trapezoidal(centre=0, half_width=1, top_fraction=0.5).standard_uncertainty, 4)
    0.4564
    """

    def __init__(
        self, *, centre: float, half_width: float, top_fraction: float, degrees_of_freedom: float = math.inf
    ) -> None:
        super().__init__(_room.trapezoidal(centre, half_width, top_fraction, degrees_of_freedom))


class CurvilinearTrapezoidal(Input):
    """
    Rectangle whose limits are themselves only known within ±limit_half_width: CTrap of JCGM 101:2008 6.4.3.

    Examples
    --------
    >>> round(CurvilinearTrapezoidal(centre=0, half_width=0.05, limit_half_width=0.025).standard_uncertainty, 5)
    0.03005
    """

    def __init__(
        self, *, centre: float, half_width: float, limit_half_width: float, degrees_of_freedom: float = math.inf
    ) -> None:
        super().__init__(_room.curvilinear_trapezoidal(centre, half_width, limit_half_width, degrees_of_freedom))


class Lognormal(Input):
    """
    Quantity whose logarithm is normal; the law of propagation takes the median and u = median · u(ln x).

    Examples
    --------
    >>> Lognormal(median=2e9, standard_uncertainty_of_ln=0.3).standard_uncertainty
    600000000.0
    """

    def __init__(
        self, *, median: float, standard_uncertainty_of_ln: float, degrees_of_freedom: float = math.inf
    ) -> None:
        super().__init__(_room.lognormal(median, standard_uncertainty_of_ln, degrees_of_freedom))


class Exponential(Input):
    """
    Positive quantity of which only the mean is known (JCGM 101:2008 6.4.10).

    Examples
    --------
    >>> Exponential(mean=2).standard_uncertainty
    2.0
    """

    def __init__(self, *, mean: float) -> None:
        super().__init__(_room.exponential(mean))


class Gamma(Input):
    """
    Mean number of events of which q were counted: gamma(q + 1, 1) (JCGM 101:2008 6.4.11).

    Examples
    --------
    >>> Gamma(counted_events=8).standard_uncertainty
    3.0
    """

    def __init__(self, *, counted_events: float) -> None:
        super().__init__(_room.gamma(counted_events))


class Sample(Input):
    """
    A sample stands for the distribution; draws are taken from it with replacement.

    Examples
    --------
    >>> Sample([1.0, 3.0]).standard_uncertainty
    1.0
    """

    def __init__(self, values: Iterable[float] | _Array) -> None:
        super().__init__(_room.sample(_doubles(values if isinstance(values, np.ndarray) else list(values), "values")))


@dataclass(frozen=True)
class Expanded:
    """
    Expanded uncertainty and coverage interval.

    Attributes
    ----------
    level, coverage_factor : float
        Level of confidence and k.
    expanded_uncertainty : float
        k·u; of the natural logarithm on the log scale.
    interval : tuple of float
        Its two ends, in the unit of the value.
    """

    level: float
    coverage_factor: float
    expanded_uncertainty: float
    interval: tuple[float, float]


class Output:
    """One output of a budget by the law of propagation."""

    def __init__(self, name: str, raw: _core.uncertainty.Output, budget: Budget) -> None:
        self.name = name
        self._raw = raw
        self._budget = budget

    @property
    def value(self) -> float:
        """Value at the estimates."""
        return self._raw.value

    @property
    def standard_uncertainty(self) -> float:
        """Combined standard uncertainty."""
        return self._raw.standard_uncertainty

    @property
    def degrees_of_freedom(self) -> float:
        """Effective degrees of freedom (JCGM 100:2008 G.4)."""
        return self._raw.degrees_of_freedom

    @property
    def sensitivities(self) -> dict[str, float]:
        """Slope along each input."""
        return dict(zip(self._budget.names, self._raw.sensitivities, strict=True))

    @property
    def contributions(self) -> dict[str, float]:
        """Slope times standard uncertainty of each input, signed."""
        return dict(zip(self._budget.names, self._raw.contributions, strict=True))

    @property
    def shares(self) -> dict[str, float]:
        """Share of each input in u², correlation included."""
        return dict(zip(self._budget.names, self._raw.shares, strict=True))

    @property
    def second_order_share(self) -> float:
        """Share of second-order terms in u²."""
        u = self.standard_uncertainty
        return self._raw.second_order_variance / (u * u) if u > 0 else math.nan

    def expanded(self, level: float = 0.95, *, shape: str = "t", log_scale: bool = False) -> Expanded:
        """
        Return the expanded uncertainty.

        Parameters
        ----------
        level : float, default 0.95
            Between 0 and 1.
        shape : {"t", "normal", "actual"}
            Student t with effective degrees of freedom; normal; or the exact shape of the sum of all contributions
            (independent, symmetric inputs), which matters where one rectangle dominates.
        log_scale : bool, default False
            Give value·exp(±k·u/value), which stays positive.

        Examples
        --------
        >>> b = Budget(a=Rectangular(centre=0, half_width=1), b=Normal(mean=0, standard_uncertainty=0.05))
        >>> y = b.propagate(lambda a, b: a + b)["y"]
        >>> round(y.expanded(shape="normal").coverage_factor, 3), round(y.expanded(shape="actual").coverage_factor, 3)
        (1.96, 1.648)
        """
        self._require_uncertainty()
        if shape == "t":
            factor = _room.coverage_factor_t(level, self.degrees_of_freedom)
        elif shape == "normal":
            factor = _room.coverage_factor_t(level, math.inf)
        elif shape == "actual":
            factor = _room.coverage_factor_of_shape(self._budget._raw, self._raw, level)
        else:
            raise ValueError(f"shape is {shape!r}, expected 't', 'normal' or 'actual'")
        width, low, high = _room.expanded(self._raw, factor, level, log_scale)
        return Expanded(level=level, coverage_factor=factor, expanded_uncertainty=width, interval=(low, high))

    def _require_uncertainty(self) -> None:
        if not self.standard_uncertainty > 0:
            raise ValueError(
                f"standard_uncertainty of '{self.name}' is 0: every slope vanishes and first order says nothing; "
                "ask order='second' or Monte Carlo"
            )

    def text(self, digits: int = 2) -> str:
        """
        Return value ± standard uncertainty, rounded for people.

        Examples
        --------
        >>> b = Budget(R=Normal(mean=10.05762, standard_uncertainty=0.027))
        >>> b.propagate(lambda R: R)["y"].text()
        '10.058 ± 0.027'
        """
        return rounded(self.value, self.standard_uncertainty, digits=digits)

    def table(self) -> BudgetTable:
        """Return the budget of this output, one row an input; shows itself rounded, as text and HTML."""
        inputs = self._budget.inputs
        columns: dict[str, list[Any]] = {
            "input": list(inputs),
            "estimate": [i.estimate for i in inputs.values()],
            "standard_uncertainty": [i.standard_uncertainty for i in inputs.values()],
            "distribution": [i.shape for i in inputs.values()],
            "degrees_of_freedom": [i.degrees_of_freedom for i in inputs.values()],
            "sensitivity": list(self._raw.sensitivities),
            "contribution": list(self._raw.contributions),
            "share_percent": [100 * share for share in self._raw.shares],
        }
        if self._raw.second_order_variance != 0:
            second = self._raw.second_order_variance
            blank_row(
                columns,
                "terms of second order",
                contribution=math.copysign(math.sqrt(abs(second)), second),
                share_percent=100 * self.second_order_share,
            )
        blank_row(
            columns,
            self.name,
            estimate=self.value,
            standard_uncertainty=self.standard_uncertainty,
            degrees_of_freedom=self.degrees_of_freedom,
            share_percent=100.0,
        )
        return BudgetTable(columns)

    def __repr__(self) -> str:
        """Value ± standard uncertainty."""
        return f"<{self.name}: {self.text() if self.standard_uncertainty > 0 else self.value}>"


class Propagation:
    """All outputs of a budget, with their covariance."""

    def __init__(self, outputs: dict[str, Output], covariance: _Array) -> None:
        self.outputs = outputs
        self.covariance = covariance

    def __getitem__(self, name: str) -> Output:
        """Return one output by name."""
        if name not in self.outputs:
            raise KeyError(f"no output '{name}'; there are {', '.join(self.outputs)}")
        return self.outputs[name]

    @property
    def correlation(self) -> _Array:
        """Correlation of the outputs, in their order."""
        u = np.sqrt(np.diag(self.covariance))
        correlation: _Array = self.covariance / np.outer(u, u)
        return correlation

    def table(self, name: str | None = None) -> Frame:
        """Return the budget table of an output; of the only one where no name is given."""
        if name is None and len(self.outputs) == 1:
            name = next(iter(self.outputs))
        if name is not None:
            return self[name].table()
        outputs = list(self.outputs.values())
        return Frame(
            {
                "output": [o.name for o in outputs],
                "value": [o.value for o in outputs],
                "standard_uncertainty": [o.standard_uncertainty for o in outputs],
                "degrees_of_freedom": [o.degrees_of_freedom for o in outputs],
                "largest_share": [max(o.shares, key=lambda k: o.shares[k]) for o in outputs],
            }
        )

    def __repr__(self) -> str:
        """List the outputs."""
        return f"Propagation({', '.join(repr(output) for output in self.outputs.values())})"


@dataclass(frozen=True)
class MonteCarloOutput:
    """
    One output by Monte Carlo.

    Attributes
    ----------
    name : str
        Of the output.
    mean, standard_uncertainty : float
        Of the draws.
    symmetric_interval, shortest_interval : tuple of float
        Coverage intervals of JCGM 101:2008 7.7.
    """

    name: str
    mean: float
    standard_uncertainty: float
    symmetric_interval: tuple[float, float]
    shortest_interval: tuple[float, float]


@dataclass(frozen=True)
class Validation:
    """
    Whether first order holds (JCGM 101:2008 8.1).

    Attributes
    ----------
    tolerance : float
        Numerical tolerance of the standard uncertainty.
    difference_low, difference_high : float
        Between the ends of both intervals.
    validated : bool
        Both differences are within the tolerance.
    """

    tolerance: float
    difference_low: float
    difference_high: float
    validated: bool

    def __bool__(self) -> bool:
        """Whether first order is validated."""
        return self.validated


class MonteCarlo:
    """Outputs of a budget by propagation of distributions."""

    def __init__(self, names: Sequence[str], raw: _core.uncertainty.MonteCarlo, digits: int) -> None:
        self._raw = raw
        self._digits = digits
        self.outputs: dict[str, MonteCarloOutput] = {}
        for number, name in enumerate(names):
            mean, u, low, high, short_low, short_high = raw.output(number)
            self.outputs[name] = MonteCarloOutput(name, mean, u, (low, high), (short_low, short_high))

    def __getitem__(self, name: str) -> MonteCarloOutput:
        """Return one output by name."""
        if name not in self.outputs:
            raise KeyError(f"no output '{name}'; there are {', '.join(self.outputs)}")
        return self.outputs[name]

    @property
    def _only(self) -> MonteCarloOutput:
        if len(self.outputs) != 1:
            raise ValueError(f"there are several outputs, name one of {', '.join(self.outputs)}")
        return next(iter(self.outputs.values()))

    @property
    def mean(self) -> float:
        """Mean of the only output."""
        return self._only.mean

    @property
    def standard_uncertainty(self) -> float:
        """Standard uncertainty of the only output."""
        return self._only.standard_uncertainty

    @property
    def symmetric_interval(self) -> tuple[float, float]:
        """Probabilistically symmetric coverage interval of the only output."""
        return self._only.symmetric_interval

    @property
    def shortest_interval(self) -> tuple[float, float]:
        """Shortest coverage interval of the only output."""
        return self._only.shortest_interval

    @property
    def level(self) -> float:
        """Level of the intervals."""
        return self._raw.level

    @property
    def draws(self) -> int:
        """Count of draws."""
        return self._raw.draws

    @property
    def status(self) -> _core.core.Status:
        """``not_converged`` where the adaptive procedure ran out of draws."""
        return self._raw.status

    @property
    def covariance(self) -> _Array:
        """Covariance of the outputs, in their order."""
        m = len(self.outputs)
        return np.asarray(self._raw.covariance, dtype=np.float64).reshape(m, m)

    @property
    def correlation(self) -> _Array:
        """Correlation of the outputs, in their order."""
        u = np.sqrt(np.diag(self.covariance))
        correlation: _Array = self.covariance / np.outer(u, u)
        return correlation

    @property
    def values(self) -> dict[str, _Array]:
        """Draws of each output, read-only; only with ``keep_values=True``."""
        values = self._raw.values
        if values.size == 0:
            raise ValueError("the draws were not kept: pass keep_values=True, up to 4194304 draws")
        return dict(zip(self.outputs, values.reshape(len(self.outputs), -1), strict=True))

    def joint_region(self) -> tuple[float, float]:
        """Return k of ellipsoid and box that hold the level of all draws (JCGM 102:2011 7.7); needs kept draws."""
        return self._raw.joint_region()

    def validates(
        self,
        propagation: Propagation,
        name: str | None = None,
        *,
        digits: int | None = None,
        interval: str = "symmetric",
    ) -> Validation:
        """
        Say whether the law of propagation holds for this model.

        Parameters
        ----------
        propagation : Propagation
            By :meth:`Budget.propagate`.
        name : str, optional
            Which output; the only one where there is one.
        digits : int, optional
            Significant digits of the standard uncertainty; by default those of this run.
        interval : {"symmetric", "shortest"}
            Which interval of the draws is compared.
        """
        of = self._only if name is None else self[name]
        first = propagation[of.name]
        first._require_uncertainty()
        k = _room.coverage_factor_t(self.level, first.degrees_of_freedom)
        _, low, high = _room.expanded(first._raw, k, self.level, False)
        ends = {"symmetric": of.symmetric_interval, "shortest": of.shortest_interval}[interval]
        tolerance = numerical_tolerance(first.standard_uncertainty, digits=digits or self._digits)
        differences = abs(low - ends[0]), abs(high - ends[1])
        return Validation(tolerance, *differences, validated=max(differences) <= tolerance)

    def __repr__(self) -> str:
        """List the outputs."""
        listed = ", ".join(f"{o.name}: {o.mean:.6g}, u {o.standard_uncertainty:.3g}" for o in self.outputs.values())
        return f"MonteCarlo({listed}; {self.draws} draws)"


class Budget:
    r"""
    Named input quantities, their correlation, and what a model makes of them.

    Parameters
    ----------
    correlation : mapping of pairs of names to float, optional
        Correlation coefficients, each pair once.
    observed_together : mapping of str to sequence, optional
        Quantities observed together in the same sets: their means become inputs, with the covariance of those means,
        and count as one component with n − 1 degrees of freedom.
    **inputs : Input
        Input quantities by name.

    Notes
    -----
    Law of propagation, JCGM 100:2008 eq. 13: :math:`u^2 = \sum_{ij} c_i c_j u_i u_j r_{ij}`. Sources ``gum``,
    ``jcgm-101``, ``jcgm-102``.

    Examples
    --------
    >>> b = Budget(
    ...     V=Normal(mean=4.9990, standard_uncertainty=0.0032),
    ...     I=Normal(mean=19.661e-3, standard_uncertainty=9.5e-6),
    ...     phi=Normal(mean=1.04446, standard_uncertainty=75e-5),
    ...     correlation={("V", "I"): -0.36, ("V", "phi"): 0.86, ("I", "phi"): -0.65},
    ... )
    >>> z = b.propagate(lambda V, I, phi: {"R": V / I * np.cos(phi), "X": V / I * np.sin(phi), "Z": V / I})
    >>> z["R"].text(), round(float(z.correlation[0, 1]), 2)
    ('127.732 ± 0.070', -0.59)
    """

    def __init__(
        self,
        *,
        correlation: Mapping[tuple[str, str], float] | None = None,
        observed_together: Mapping[str, Sequence[float]] | None = None,
        **inputs: Input,
    ) -> None:
        self._raw = _room.Budget()
        for name, value in inputs.items():
            if not isinstance(value, Input):
                raise TypeError(f"{name} is {type(value).__name__}, expected an input such as Normal(...)")
            self._raw.add(name, value._raw)
        if observed_together:
            rows = [_doubles(values, name) for name, values in observed_together.items()]
            if len({row.size for row in rows}) != 1:
                raise ValueError(
                    f"observed_together has {[row.size for row in rows]} readings, expected as many of each quantity"
                )
            self._raw.add_observed_together(list(observed_together), np.concatenate(rows), rows[0].size)
        for (first, second), coefficient in (correlation or {}).items():
            self._raw.correlate(first, second, coefficient)
        if not self._raw.names:
            raise ValueError("a budget needs at least one input")
        self._raw.check()

    @property
    def names(self) -> list[str]:
        """Names of the inputs, in order."""
        return self._raw.names

    @property
    def inputs(self) -> dict[str, Input]:
        """Inputs by name."""
        return {name: Input(raw) for name, raw in zip(self._raw.names, self._raw.inputs, strict=True)}

    @property
    def correlation(self) -> _Array:
        """Correlation of the inputs, in their order."""
        n = len(self.names)
        return np.asarray(self._raw.correlation, dtype=np.float64).reshape(n, n)

    def propagate(self, model: _Model, *, order: str = "first", slopes: str = "derivative") -> Propagation:
        """
        Propagate standard uncertainties through a model.

        Parameters
        ----------
        model : callable
            Takes the inputs by name, returns a number (output ``y``) or a mapping of names to numbers.
        order : {"first", "second"}
            Second order adds the terms of JCGM 100:2008 5.1.2 note; independent inputs only.
        slopes : {"derivative", "difference"}
            Slopes by a complex step, checked against central differences, which take over where the model is not
            analytic; or the differences over ±u of JCGM 100:2008 5.1.3 note 2.

        Returns
        -------
        Propagation

        Examples
        --------
        >>> b = Budget(x=Normal(mean=0, standard_uncertainty=0.3))
        >>> round(b.propagate(lambda x: x * x, order="second")["y"].standard_uncertainty, 6)
        0.127279
        """
        if order not in ("first", "second"):
            raise ValueError(f"order is {order!r}, expected 'first' or 'second'")
        if slopes not in ("derivative", "difference"):
            raise ValueError(f"slopes is {slopes!r}, expected 'derivative' or 'difference'")
        inputs = self.inputs
        at = np.array([i.estimate for i in inputs.values()])
        u = np.array([i.standard_uncertainty for i in inputs.values()])
        function = _ScalarModel(model, self.names)
        values = function(at)
        names = list(function.outputs)
        gradient = _differences(function, at, u) if slopes == "difference" else _gradient(function, at, u)
        mixed = third = np.empty(0)
        if order == "second":
            mixed, third = _second_order(function, at, u)
        outputs, covariance = _room.propagate(
            self._raw, values, gradient.reshape(-1), mixed.reshape(-1), third.reshape(-1)
        )
        made = {name: Output(name, raw, self) for name, raw in zip(names, outputs, strict=True)}
        return Propagation(made, np.asarray(covariance, dtype=np.float64).reshape(len(names), len(names)))

    def monte_carlo(
        self,
        model: _Model,
        *,
        level: float = 0.95,
        digits: int = 2,
        draws: int | None = None,
        seed: int = 1,
        most_draws: int = 100_000_000,
        threads: int = 0,
        keep_values: bool = False,
    ) -> MonteCarlo:
        """
        Propagate distributions through a model (JCGM 101:2008).

        Parameters
        ----------
        model : callable
            Takes the inputs by name as arrays of draws, returns an array or a mapping of names to arrays. Called from
            several threads at once; pass ``threads=1`` for a model that remembers.
        level : float, default 0.95
            Level of the coverage intervals.
        digits : int, default 2
            Adaptive: significant digits of the standard uncertainty that must be stable.
        draws : int, optional
            Take this fixed number instead, at least 100.
        seed : int, default 1
            Same seed, same result, for any number of threads.
        most_draws : int
            Adaptive: give up beyond; the status then says so.
        threads : int, default 0
            0 for all cores.
        keep_values : bool, default False
            Keep the draws for plots and joint regions.

        Returns
        -------
        MonteCarlo

        Examples
        --------
        >>> four = Budget(**{f"x{i}": Rectangular(centre=0, half_width=3**0.5) for i in range(4)})
        >>> mc = four.monte_carlo(lambda x0, x1, x2, x3: x0 + x1 + x2 + x3, draws=200_000)
        >>> abs(mc.symmetric_interval[1] - 3.879) < 0.05
        True
        """
        names = list(_ScalarModel(model, self.names).named(np.array([i.estimate for i in self.inputs.values()])))
        call = _BatchModel(model, self.names, names)
        if draws is not None:
            raw = _room.monte_carlo_fixed(self._raw, call, len(names), draws, level, seed, threads, keep_values)
        else:
            raw = _room.monte_carlo_adaptive(
                self._raw, call, len(names), digits, level, seed, most_draws, threads, keep_values
            )
        return MonteCarlo(names, raw, digits)

    def __repr__(self) -> str:
        """List the inputs."""
        return f"Budget({', '.join(f'{name}={value!r}' for name, value in self.inputs.items())})"


def _named_outputs(made: Any) -> dict[str, Any]:
    return {str(name): value for name, value in made.items()} if isinstance(made, Mapping) else {"y": made}


def _refuse_unreal(name: str, value: Any) -> None:
    if np.asarray(value).dtype.kind not in "fiuc":
        raise TypeError(f"output '{name}' is {type(value).__name__}, expected a number")


class _ScalarModel:
    """A model at one point, real or complex; what it raises names the inputs."""

    def __init__(self, model: _Model, names: Sequence[str]) -> None:
        self._model = model
        self._names = names
        self.outputs: tuple[str, ...] = ()

    def named(self, x: np.ndarray[Any, Any]) -> dict[str, Any]:
        arguments = dict(zip(self._names, x.tolist(), strict=True))
        try:
            made = _named_outputs(self._model(**arguments))
        except Exception as error:
            shown = ", ".join(f"{name} = {value:.6g}" for name, value in arguments.items())
            raise ValueError(f"the model raised {type(error).__name__} ({error}) at {shown}") from error
        if not made:
            raise ValueError("the model gives no output, expected a number or a mapping of names to numbers")
        for name, value in made.items():
            _refuse_unreal(name, value)
            if np.ndim(value) != 0:
                raise ValueError(f"output '{name}' has shape {np.shape(value)} for single inputs, expected a number")
        return made

    def __call__(self, x: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
        made = self.named(x)
        self.outputs = self.outputs or tuple(made)
        dtype = np.complex128 if np.iscomplexobj(x) else np.float64
        return np.array([made[name] for name in self.outputs], dtype=dtype)


class _BatchModel:
    """A model over arrays of draws, as the compiled part calls it."""

    def __init__(self, model: _Model, names: Sequence[str], outputs: Sequence[str]) -> None:
        self._model = model
        self._names = names
        self._outputs = outputs

    def __call__(self, columns: tuple[_Array, ...]) -> _Array:
        size = columns[0].size
        made = _named_outputs(self._model(**dict(zip(self._names, columns, strict=True))))
        out = np.empty((len(self._outputs), size))
        for row, name in zip(out, self._outputs, strict=True):
            _refuse_unreal(name, made[name])
            value = np.asarray(made[name], dtype=np.float64)
            if value.shape not in ((), (size,)):
                raise ValueError(f"output '{name}' has shape {value.shape}, expected one number a draw, ({size},)")
            row[:] = value
        return out


def _central(function: _ScalarModel, at: _Array, u: _Array, i: int) -> _Array:
    """Central difference with one step of extrapolation."""

    def slope(step: float) -> _Array:
        up, down = at.copy(), at.copy()
        up[i] += step
        down[i] -= step
        made: _Array = (function(up) - function(down)) / (up[i] - down[i])
        return made

    step = max(1e-3 * u[i], 1e-9 * abs(at[i]))
    extrapolated: _Array = (4 * slope(step / 2) - slope(step)) / 3
    return extrapolated


def _complex_step(function: _ScalarModel, at: _Array, i: int) -> _Array | None:
    """Slope by a complex step; None where the model does not take complex numbers."""
    tiny = 1e-40 * max(1.0, abs(at[i]))
    x = at.astype(np.complex128)
    x[i] += 1j * tiny
    try:
        with np.errstate(all="ignore"):
            made: _Array = function(x).imag / tiny
    except (TypeError, ValueError):
        return None
    return made


def _gradient(function: _ScalarModel, at: _Array, u: _Array) -> _Array:
    agreement = 1e-3  # a model that is not analytic is off by far more
    columns = []
    for i in range(at.size):
        difference = _central(function, at, u, i)
        exact = _complex_step(function, at, i)
        if exact is None:
            columns.append(difference)
            continue
        size = np.maximum(np.abs(exact), np.abs(difference))
        noise = 1e-9 * np.abs(function(at)) / max(u[i], 1e-12 * abs(at[i]))
        trusted = np.isfinite(exact) & (np.abs(exact - difference) <= agreement * size + noise)
        columns.append(np.where(trusted, exact, difference))
    return np.stack(columns, axis=1)


def _differences(function: _ScalarModel, at: _Array, u: _Array) -> _Array:
    columns = []
    for i in range(at.size):
        up, down = at.copy(), at.copy()
        up[i] += u[i]
        down[i] -= u[i]
        columns.append((function(up) - function(down)) / (2 * u[i]))
    return np.stack(columns, axis=1)


def _second_order(function: _ScalarModel, at: _Array, u: _Array) -> tuple[_Array, _Array]:
    """Second slopes f_ij and third ones f_ijj, as differences of first slopes over a hundredth of u."""
    n = at.size
    m = len(function.outputs)
    mixed = np.empty((m, n, n))
    third = np.empty((m, n, n))
    here = _gradient(function, at, u)
    for j in range(n):
        step = 1e-2 * u[j]
        up, down = at.copy(), at.copy()
        up[j] += step
        down[j] -= step
        above, below = _gradient(function, up, u), _gradient(function, down, u)
        mixed[:, :, j] = (above - below) / (2 * step)
        third[:, :, j] = (above - 2 * here + below) / step**2
    return mixed, third


@dataclass(frozen=True)
class Mean:
    """
    Mean of repeated readings (JCGM 100:2008 4.2).

    Attributes
    ----------
    mean, standard_deviation, standard_uncertainty, degrees_of_freedom : float
        Standard deviation of one reading, standard uncertainty of the mean.
    readings, missing : int
        Readings counted and left out.
    status : Status
        Whether there were enough.
    """

    mean: float
    standard_deviation: float
    standard_uncertainty: float
    degrees_of_freedom: float
    readings: int
    missing: int
    status: _core.core.Status

    def as_input(self) -> Input:
        """Return the mean as an input quantity: a t distribution of its degrees of freedom."""
        if math.isinf(self.degrees_of_freedom):
            return Normal(mean=self.mean, standard_uncertainty=self.standard_uncertainty)
        return StudentT(location=self.mean, scale=self.standard_uncertainty, degrees_of_freedom=self.degrees_of_freedom)


def mean_of(readings: Sequence[float] | _Array, *, display_step: float = 0.0) -> Mean:
    """
    Return the mean of independent readings; missing ones are left out and counted.

    Parameters
    ----------
    readings : sequence of float
        In one unit.
    display_step : float, optional
        Step of the display: a floor of step/√12, since a display that never moves can still not tell less.

    Examples
    --------
    >>> of = mean_of([5.007, 4.994, 5.005, 4.990, 4.999])
    >>> round(of.mean, 4), round(of.standard_uncertainty, 4)
    (4.999, 0.0032)
    """
    return Mean(*_room.mean_of(_doubles(readings, "readings"), display_step))


def mean_of_autocorrelated(readings: Sequence[float] | _Array) -> Mean:
    """
    Return the mean of readings in a row that are not independent.

    The variance of the mean is widened by the sum of positive autocorrelations. Source ``initial-positive-sequence``.

    Examples
    --------
    >>> slow = np.sin(np.arange(200) * 0.05)
    >>> mean_of_autocorrelated(slow).standard_uncertainty > 3 * mean_of(slow).standard_uncertainty
    True
    """
    return Mean(*_room.mean_of_autocorrelated(_doubles(readings, "readings")))


def pooled(standard_deviations: Sequence[float], degrees_of_freedom: Sequence[float]) -> tuple[float, float]:
    """
    Pool standard deviations over groups; returns the pooled one and its degrees of freedom.

    Examples
    --------
    >>> pooled([1.0, 2.0], [9, 3])[1]
    12.0
    """
    return _room.pooled(
        _doubles(standard_deviations, "standard_deviations"), _doubles(degrees_of_freedom, "degrees_of_freedom")
    )


@dataclass(frozen=True)
class VarianceComponents:
    """
    Scatter within and between days, operators or set-ups (JCGM 100:2008 H.5).

    Attributes
    ----------
    mean, within, between : float
        Mean, standard deviation within a group and between groups.
    standard_uncertainty, degrees_of_freedom : float
        Of the mean.
    f_ratio : float
        Mean square between over mean square within.
    status : Status
        Whether there were enough groups.
    """

    mean: float
    within: float
    between: float
    standard_uncertainty: float
    degrees_of_freedom: float
    f_ratio: float
    status: _core.core.Status


def variance_components(
    readings: Sequence[float] | _Array, groups: Sequence[Any], *, display_step: float = 0.0
) -> VarianceComponents:
    """
    Split scatter into a part within and a part between groups.

    Parameters
    ----------
    readings : sequence of float
        All readings.
    groups : sequence
        Label of the day, operator or set-up of each reading.
    display_step : float, optional
        Floor as in :func:`mean_of`.

    Examples
    --------
    >>> v = variance_components([1.0, 1.2, 0.9, 2.1, 2.0, 1.5, 1.4, 1.6, 1.7], list("aaabbcccc"))
    >>> round(v.f_ratio, 4)
    37.3934
    """
    return VarianceComponents(
        *_room.variance_components(_doubles(readings, "readings"), _numbered(groups), display_step)
    )


def _numbered(labels: Sequence[Any]) -> list[int]:
    numbers = {label: number for number, label in enumerate(dict.fromkeys(labels))}
    return [numbers[label] for label in labels]


@dataclass(frozen=True)
class CrossedMean:
    """
    Mean where every day met every operator equally often, and what scatters.

    Attributes
    ----------
    mean : float
        Of all readings.
    repeat, interaction, between_days, between_operators : float
        Standard deviations: from reading to reading, of a day with an operator, from day to day, from operator to
        operator; 0 where there is no sign of one.
    standard_uncertainty, degrees_of_freedom : float
        Of the mean, for any day and any operator.
    status : Status
        Whether there were enough.
    """

    mean: float
    repeat: float
    interaction: float
    between_days: float
    between_operators: float
    standard_uncertainty: float
    degrees_of_freedom: float
    status: _core.core.Status


def crossed_mean(
    readings: Sequence[float] | _Array,
    *,
    days: Sequence[Any],
    operators: Sequence[Any],
    display_step: float = 0.0,
) -> CrossedMean:
    """
    Mean of readings over days and operators, with the scatter of each and of a day with an operator.

    Parameters
    ----------
    readings : sequence of float
        All readings; none may be missing.
    days, operators : sequence
        Label of each reading; every day with every operator equally often, at least twice.
    display_step : float, optional
        Floor as in :func:`mean_of`.

    Raises
    ------
    ValueError
        Where the design is not balanced.

    Examples
    --------
    >>> readings = [10.1, 10.2, 10.4, 10.3, 10.0, 10.1, 10.2, 10.2]
    >>> of = crossed_mean(readings, days=list("aaaabbbb"), operators=list("xxyyxxyy"))
    >>> round(of.between_operators, 3), round(of.standard_uncertainty, 3)
    (0.122, 0.108)
    """
    return CrossedMean(
        *_room.crossed_mean(_doubles(readings, "readings"), _numbered(days), _numbered(operators), display_step)
    )


@dataclass(frozen=True)
class Line:
    """
    Straight line by least squares, y = intercept + slope · (x − origin).

    Attributes
    ----------
    intercept, slope, intercept_standard_uncertainty, slope_standard_uncertainty, correlation : float
        Its two coefficients and how they hang together.
    standard_deviation, degrees_of_freedom : float
        Of one y about the line.
    """

    intercept: float
    slope: float
    intercept_standard_uncertainty: float
    slope_standard_uncertainty: float
    correlation: float
    standard_deviation: float
    degrees_of_freedom: float
    status: _core.core.Status
    origin: float = 0.0

    def at(self, x: float) -> tuple[float, float]:
        """Return the line at x and its standard uncertainty."""
        d = x - self.origin
        first, second = self.intercept_standard_uncertainty, d * self.slope_standard_uncertainty
        return self.intercept + self.slope * d, math.sqrt(first**2 + second**2 + 2 * self.correlation * first * second)


def straight_line(x: Sequence[float] | _Array, y: Sequence[float] | _Array, *, origin: float = 0.0) -> Line:
    """
    Fit a straight line (JCGM 100:2008 H.3).

    Examples
    --------
    >>> straight_line([0, 1, 2], [0, 1, 3]).slope
    1.5
    """
    return Line(*_room.straight_line(_doubles(x, "x"), _doubles(y, "y"), origin), origin=origin)


def type_b_degrees_of_freedom(relative_uncertainty_of_u: float) -> float:
    """
    Return the degrees of freedom of a standard uncertainty that is itself known within a fraction (G.4.2).

    Examples
    --------
    >>> type_b_degrees_of_freedom(0.25)
    8.0
    """
    return _room.type_b_degrees_of_freedom(relative_uncertainty_of_u)


def standard_uncertainty_from(
    *,
    expanded_uncertainty: float,
    coverage_factor: float | None = None,
    level: float | None = None,
    degrees_of_freedom: float = math.inf,
) -> float:
    """
    Return the standard uncertainty behind a certificate's or sheet's expanded one (JCGM 100:2008 4.3.3 to 4.3.6).

    Parameters
    ----------
    expanded_uncertainty : float
        U, above 0.
    coverage_factor, level : float, optional
        One of the two, as stated.
    degrees_of_freedom : float, optional
        For the t factor of a level.

    Examples
    --------
    >>> round(standard_uncertainty_from(expanded_uncertainty=129e-6, level=0.99) * 1e6)
    50
    """
    return _room.standard_uncertainty_from(
        expanded_uncertainty,
        math.nan if coverage_factor is None else coverage_factor,
        math.nan if level is None else level,
        degrees_of_freedom,
    )


def standard_uncertainty_of_display(step: float) -> float:
    """
    Return step/√12, the standard uncertainty of one reading of a display (JCGM 100:2008 F.2.2.1).

    Examples
    --------
    >>> round(standard_uncertainty_of_display(1.0), 2)
    0.29
    """
    return _room.standard_uncertainty_of_display(step)


def coverage_factor(*, level: float, degrees_of_freedom: float = math.inf) -> float:
    """
    Return the t factor of a level, degrees of freedom cut to a whole number as in JCGM 100:2008 G.4.

    Examples
    --------
    >>> round(coverage_factor(level=0.99, degrees_of_freedom=16.74), 2)
    2.92
    """
    return _room.coverage_factor_t(level, degrees_of_freedom)


def coverage_factor_trapezoid(*, level: float, top_fraction: float) -> float:
    """
    Return the coverage factor of two rectangles, whose sum has a top of this fraction of its base.

    Examples
    --------
    >>> round(coverage_factor_trapezoid(level=0.95, top_fraction=1), 3)
    1.645
    """
    return _room.coverage_factor_trapezoid(level, top_fraction)


def coverage_factor_rectangle_and_normal(*, level: float, ratio: float) -> float:
    """
    Return the coverage factor of a rectangle and a normal quantity; ratio is u(normal)/u(rectangle).

    Examples
    --------
    >>> round(coverage_factor_rectangle_and_normal(level=0.95, ratio=0.3), 3)
    1.729
    """
    return _room.coverage_factor_rectangle_and_normal(level, ratio)


def coverage_factor_ellipsoid(*, level: float, outputs: int) -> float:
    """
    Return k of the coverage ellipsoid of jointly normal outputs (JCGM 102:2011 6.5.2).

    Examples
    --------
    >>> round(coverage_factor_ellipsoid(level=0.95, outputs=2), 2)
    2.45
    """
    return _room.coverage_factor_ellipsoid(level, outputs)


def rounded(value: float, uncertainty: float, *, digits: int = 2) -> str:
    """
    Return a value and its uncertainty as people write them (JCGM 100:2008 7.2.6).

    The uncertainty is rounded up, unless the excess is at most 5 % of the last digit kept.

    Examples
    --------
    >>> rounded(10.05762, 0.027), rounded(2.3456e9, 0.41e9, digits=1)
    ('10.058 ± 0.027', '(2.3 ± 0.5)e9')
    """
    return _room.rounded(value, uncertainty, digits)[2]


def numerical_tolerance(standard_uncertainty: float, *, digits: int) -> float:
    """
    Return the numerical tolerance of a standard uncertainty given to so many digits (JCGM 101:2008 7.9.2).

    Examples
    --------
    >>> numerical_tolerance(2.0, digits=2)
    0.05
    """
    return _room.numerical_tolerance(standard_uncertainty, digits)


def symmetric_interval(values: _Array, *, level: float = 0.95) -> tuple[float, float]:
    """
    Return the probabilistically symmetric interval of a sample (JCGM 101:2008 7.7.2).

    Examples
    --------
    >>> symmetric_interval(np.arange(1.0, 101.0), level=0.9)
    (5.0, 95.0)
    """
    return _room.symmetric_interval(_doubles(values, "values"), level)


def shortest_interval(values: _Array, *, level: float = 0.95) -> tuple[float, float]:
    """
    Return the shortest interval of a sample (JCGM 101:2008 7.7.3).

    Examples
    --------
    >>> shortest_interval(np.arange(1.0, 101.0) ** 2, level=0.9)
    (1.0, 8281.0)
    """
    return _room.shortest_interval(_doubles(values, "values"), level)
