"""First-order uncertainty of the library's own formulas over whole columns, each row with the share of every input."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ohmward import _core
from ohmward._arrays import OnDoubt, as_doubles, rebuilder, report

if TYPE_CHECKING:
    from ohmward.temperature import Law

__all__ = ["Column", "RowFormula", "RowPropagation", "propagate_rows", "row_formulas"]

_room = _core.uncertainty
_Doubles = NDArray[np.float64]
_GAIN, _GAIN_DOF = "common_gain", "common_gain_degrees_of_freedom"


class Column:
    """
    One input of many rows: a value a row, or one number for all of them, with its standard uncertainty.

    Parameters
    ----------
    values : number, array_like or Series
        In the SI unit that the input's name states.
    standard_uncertainty : number, array_like or Series, optional
        In the same unit, at least 0; 0 for an exact input.
    relative_standard_uncertainty : number, array_like or Series, optional
        As a fraction of the value instead.
    degrees_of_freedom : number, array_like or Series, default infinite
        Of the standard uncertainty, at least 1.

    Raises
    ------
    TypeError
        Unless exactly one of the two uncertainties is given.

    Examples
    --------
    >>> Column([2e9, 3e9], relative_standard_uncertainty=0.05).standard_uncertainty.tolist()
    [100000000.0, 150000000.0]
    """

    def __init__(
        self,
        values: Any,
        *,
        standard_uncertainty: Any = None,
        relative_standard_uncertainty: Any = None,
        degrees_of_freedom: Any = math.inf,
    ) -> None:
        if (standard_uncertainty is None) == (relative_standard_uncertainty is None):
            raise TypeError("give either standard_uncertainty or relative_standard_uncertainty; 0 for an exact input")
        self.values = values
        self.degrees_of_freedom = degrees_of_freedom
        self.standard_uncertainty = standard_uncertainty
        if standard_uncertainty is None:
            rebuilder({"values": values, "relative_standard_uncertainty": relative_standard_uncertainty})  # one index
            relative = as_doubles(relative_standard_uncertainty, "relative_standard_uncertainty")
            self.standard_uncertainty = relative * np.abs(as_doubles(values, "values"))


@dataclass(frozen=True)
class RowFormula:
    """
    A formula that :func:`propagate_rows` takes.

    Attributes
    ----------
    name : str
        As in ``ohmward.formula``.
    inputs : tuple of str
        Names of its inputs, with units.
    one_for_all : tuple of str
        Those of them that are one number for all rows: the constant of a law.
    constants : tuple of str
        Exact numbers that all rows share.
    has_common_gain : bool
        Some inputs are readings that may share the gain of one meter.
    """

    name: str
    inputs: tuple[str, ...]
    one_for_all: tuple[str, ...]
    constants: tuple[str, ...]
    has_common_gain: bool


@dataclass(frozen=True)
class _Buffers:
    """Flat columns that the compiled part writes; degrees of freedom and shares are empty without a budget."""

    value: _Doubles
    standard_uncertainty: _Doubles
    degrees_of_freedom: _Doubles
    shares: _Doubles
    status: NDArray[np.int8]

    @classmethod
    def of(cls, rows: int, components: int, *, budget: bool) -> _Buffers:
        """New ones."""
        many = rows if budget else 0
        return cls(
            np.empty(rows), np.empty(rows), np.empty(many), np.empty((components, many)), np.empty(rows, dtype=np.int8)
        )

    def fit(self, rows: int, components: int, *, budget: bool) -> _Buffers:
        """These, if they have room for exactly that."""
        if self.value.size != rows or self.shares.shape != (components, rows if budget else 0):
            raise ValueError("out is of another number of rows, formula or budget")
        return self


@dataclass(frozen=True)
class RowPropagation:
    """
    Results of :func:`propagate_rows`, each in the container of the inputs.

    Attributes
    ----------
    value, standard_uncertainty : float, array or Series
        NaN where there is no value.
    degrees_of_freedom : float, array or Series, or None
        Effective ones (JCGM 100:2008 G.2b); NaN where u is 0. None where not asked for.
    shares : dict of str to float, array or Series
        Share of each input, and of ``common_gain`` where given, in u²; they sum to 1. Empty where not asked for.
    status : ndarray of int8
        One a row, see ``ohmward.Status``.
    """

    value: Any
    standard_uncertainty: Any
    degrees_of_freedom: Any
    shares: dict[str, Any]
    status: NDArray[np.int8]
    _buffers: _Buffers = field(repr=False, compare=False)


def row_formulas() -> dict[str, RowFormula]:
    """
    Return every formula that :func:`propagate_rows` knows, by name.

    Examples
    --------
    >>> row_formulas()["resistance_ratio"].inputs
    ('late_ohm', 'early_ohm')
    """
    return dict(_formulas())


@cache
def _formulas() -> dict[str, RowFormula]:
    made = {}
    for name, inputs, constants, one_for_all, has_common_gain in _room.row_formulas():
        names = tuple(inputs.split(", "))
        shared = names[len(names) - one_for_all :]
        made[name] = RowFormula(name, names, shared, tuple(constants.split(", ")) if constants else (), has_common_gain)
    return made


def propagate_rows(
    formula: str | Law,
    *,
    common_gain: Any = None,
    common_gain_degrees_of_freedom: Any = math.inf,
    budget: bool = True,
    out: RowPropagation | None = None,
    threads: int = 0,
    on_doubt: OnDoubt = "warn",
    **inputs: Any,
) -> RowPropagation:
    r"""
    Propagate standard uncertainties through one of the library's formulas, row by row.

    Parameters
    ----------
    formula : str or Law
        A name of :func:`row_formulas`, or a temperature law, whose constant and its uncertainty then come from it.
    common_gain : number, array_like or Series, optional
        Relative standard uncertainty of the gain that the readings of one meter share, apart from their own
        uncertainties: it cancels in a ratio and stays in a sum.
    common_gain_degrees_of_freedom : number, array_like or Series, optional
        Of the common gain.
    budget : bool, default True
        Give degrees of freedom and shares too.
    out : RowPropagation, optional
        An earlier result of as many rows and the same formula, whose memory is written over.
    threads : int, default 0
        0 for all cores. Results never depend on it, nor on the instruction level.
    on_doubt : {"warn", "raise", "ignore"}, default "warn"
        What to do about rows that are doubtful or have no value.
    **inputs : Column or float
        Every input of the formula by name as a :class:`Column`, every constant as a number.

    Returns
    -------
    RowPropagation

    Raises
    ------
    TypeError
        For an input that is missing, unknown or without an uncertainty.
    ValueError
        For lengths that do not fit, or one number for all rows that is senseless.

    Notes
    -----
    .. math:: u^2 = \sum_i c_i^2 u_i^2 + c_g^2 u_g^2, \quad
              \frac{1}{\nu} = \sum_i \frac{(c_i^2 u_i^2 / u^2)^2}{\nu_i}

    Inputs are independent but for the common gain. First order: for a result that is far from linear within the
    uncertainty of its inputs, ask Monte Carlo. A row whose standard uncertainty is missing, negative or infinite has
    no value. Source ``gum``.

    Examples
    --------
    >>> from ohmward.temperature import HalvingLaw
    >>> law = HalvingLaw(step_kelvin=10, reference_celsius=40, step_standard_uncertainty_kelvin=1)
    >>> rows = propagate_rows(
    ...     law,
    ...     resistance_ohm=Column([100e6, 200e6], relative_standard_uncertainty=0.05),
    ...     celsius=Column([20.0, 35.0], standard_uncertainty=2.0),
    ... )
    >>> rows.value.tolist(), (rows.standard_uncertainty / rows.value).round(4).tolist()
    ([25000000.0, 141421356.23730952], [0.2023, 0.1514])
    >>> {name: share.round(2).tolist() for name, share in rows.shares.items()}
    {'resistance_ohm': [0.06, 0.11], 'celsius': [0.47, 0.84], 'step_kelvin': [0.47, 0.05]}
    """
    if isinstance(formula, str):
        name = formula
    else:
        name, of_law = formula.row_inputs()
        _refuse_twice(of_law, inputs)
        inputs |= {
            key: Column(given[0], standard_uncertainty=given[1]) if isinstance(given, tuple) else given
            for key, given in of_law.items()
        }
    of = _formula(name)
    columns, constants = _sorted_out(of, inputs)
    gain = {} if common_gain is None else {_GAIN: common_gain}
    table = _Table(columns, {**gain, _GAIN_DOF: common_gain_degrees_of_freedom})
    components = len(columns) + 1
    to = (
        _Buffers.of(table.rows, components, budget=budget)
        if out is None
        else out._buffers.fit(table.rows, components, budget=budget)
    )
    _room.propagate_rows(
        name,
        [table.input(key, column) for key, column in columns.items()],
        constants,
        table.flat(common_gain, _GAIN) if gain else np.empty(0),
        table.flat(common_gain_degrees_of_freedom, _GAIN_DOF),
        value=to.value,
        standard_uncertainty=to.standard_uncertainty,
        degrees_of_freedom=to.degrees_of_freedom,
        shares=to.shares,
        status=to.status,
        threads=threads,
    )
    report(to.status, on_doubt)
    names = [*columns, *gain]
    return RowPropagation(
        value=table.given_back(to.value),
        standard_uncertainty=table.given_back(to.standard_uncertainty),
        degrees_of_freedom=table.given_back(to.degrees_of_freedom) if budget else None,
        shares=dict(zip(names, map(table.given_back, to.shares), strict=False)) if budget else {},
        status=to.status.reshape(table.shape),
        _buffers=to,
    )


def _formula(name: str) -> RowFormula:
    known = _formulas()
    if name not in known:
        raise ValueError(f"formula is {name!r}, expected one of {', '.join(known)}")
    return known[name]


def _refuse_twice(of_law: Mapping[str, Any], inputs: Mapping[str, Any]) -> None:
    for key in of_law:
        if key in inputs:
            raise TypeError(f"{key} comes from the law")


def _sorted_out(of: RowFormula, inputs: Mapping[str, Any]) -> tuple[dict[str, Column], _Doubles]:
    """Columns and constants in the formula's order."""
    for key in inputs:
        if key not in (*of.inputs, *of.constants):
            raise TypeError(f"{key} is no input of {of.name}; it takes {', '.join((*of.inputs, *of.constants))}")
    for key in (*of.inputs, *of.constants):
        if key not in inputs:
            raise TypeError(f"{key} of {of.name} is missing")
    for key in of.inputs:
        if not isinstance(inputs[key], Column):
            raise TypeError(f"{key} is {type(inputs[key]).__name__}, expected Column(values, standard_uncertainty=...)")
    constants = np.array([float(inputs[key]) for key in of.constants], dtype=np.float64)
    return {key: inputs[key] for key in of.inputs}, constants


class _Table:
    """Columns of one shape: what every row of them is, flat, and how results get back their container."""

    def __init__(self, columns: Mapping[str, Column], others: Mapping[str, Any]) -> None:
        parts: dict[str, Any] = {}
        for key, column in columns.items():
            parts[key] = column.values
            parts[f"standard_uncertainty of {key}"] = column.standard_uncertainty
            parts[f"degrees_of_freedom of {key}"] = column.degrees_of_freedom
        self._rebuild = rebuilder({**parts, **others})
        shapes = {np.shape(column.values) for column in columns.values()} - {()}
        if len(shapes) > 1:
            listed = ", ".join(f"{key} {np.shape(column.values)}" for key, column in columns.items())
            raise ValueError(f"lengths do not fit together: {listed}")
        self.shape: tuple[int, ...] = shapes.pop() if shapes else ()
        self.rows = math.prod(self.shape)

    def flat(self, values: Any, name: str) -> _Doubles:
        """One element a row, or a single one for all."""
        array = as_doubles(values, name)
        if array.shape not in ((), self.shape):
            raise ValueError(f"{name} has shape {array.shape}, expected one number or shape {self.shape}")
        return np.ascontiguousarray(array).reshape(-1)

    def input(self, key: str, column: Column) -> tuple[_Doubles, _Doubles, _Doubles]:
        """Value, standard uncertainty and degrees of freedom of one input."""
        return (
            self.flat(column.values, key),
            self.flat(column.standard_uncertainty, f"standard_uncertainty of {key}"),
            self.flat(column.degrees_of_freedom, f"degrees_of_freedom of {key}"),
        )

    def given_back(self, values: _Doubles) -> Any:
        """Values in the container that came."""
        return self._rebuild(values.reshape(self.shape))
