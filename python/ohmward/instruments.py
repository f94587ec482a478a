"""Hand-held meters as their accuracy sheets and certificates describe them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ohmward import _core
from ohmward._toml import TomlFile
from ohmward._units import quantity_kinds, unit_factor

__all__ = ["Instrument", "Instruments", "MeterQuantity", "read_instruments"]

_INSTRUMENT_KEYS = (
    "id", "kind", "input_ohm", "source_ampere", "valid_from", "valid_until", "statement", "temperature_coefficient",
    "reads_zero_below", "correction", "range", "certificate", "note",
)  # fmt: skip
_RANGE_KEYS = (
    "quantity", "test_voltage_volt", "low", "high", "unit", "display_step", "reading_percent", "counts",
    "range_percent", "gain_share",
)  # fmt: skip
_CERTIFICATE_KEYS = (
    "quantity", "test_voltage_volt", "value", "unit", "correction", "expanded_uncertainty", "coverage_factor",
)  # fmt: skip
_INSTRUMENT_FIELDS = (
    "id", "kind", "input_ohm", "source_ampere", "valid_from_day", "valid_until_day", "statement",
    "temperature_coefficient", "reads_zero_below", "correction", "certificate",
)  # fmt: skip
_FAR = 2**62


@dataclass(frozen=True)
class MeterQuantity:
    """
    A reading with the standard uncertainty that its meter's sheet gives it.

    Attributes
    ----------
    value : float
        SI value after the meter's correction; the bound where censored.
    standard_uncertainty : float
        Of the value; of its natural logarithm where ``log_scale``.
    parts : mapping of str to float
        Where the standard uncertainty comes from; the parts join in quadrature.
    censoring : Censoring
        ``exact``, ``above``, ``below`` or ``overload``.
    status : Status
        0 sound, above 0 doubtful, below 0 no value.
    findings : tuple of str
        Names of what the sheet had to say about this reading.
    log_scale : bool
        Whether the quantity is compared on the log scale.
    """

    value: float
    standard_uncertainty: float
    parts: Mapping[str, float]
    censoring: _core.core.Censoring
    status: _core.core.Status
    findings: tuple[str, ...]
    log_scale: bool


def _finding_names(bits: int) -> tuple[str, ...]:
    return tuple(name for i, (name, _, _) in enumerate(_core.core.finding_table) if bits >> i & 1)


class Instrument:
    """One meter: its sheet, its dates, its certificate. Made by :func:`read_instruments`."""

    def __init__(self, raw: _core.instruments.Instrument) -> None:
        self._raw = raw

    @property
    def id(self) -> str:
        """Name of the meter."""
        return self._raw.id

    @property
    def kind(self) -> str:
        """Kind of the meter."""
        return self._raw.kind

    def ceiling(self, quantity: str, *, test_voltage_volt: float = math.nan) -> float:
        """Greatest value that the meter can show at a test voltage, SI; NaN where the sheet does not say."""
        return self._raw.ceiling(_core.core.QuantityKind[quantity], test_voltage_volt)

    def quantity(
        self,
        quantity: str,
        value: float,
        *,
        test_voltage_volt: float = math.nan,
        ambient_celsius: float = math.nan,
        censoring: str = "exact",
        resolution: float = math.nan,
        decision_value: float = math.nan,
    ) -> MeterQuantity:
        r"""
        Give a reading the standard uncertainty of this meter's accuracy sheet.

        Parameters
        ----------
        quantity : str
            Such as ``"insulation_resistance"``.
        value : float
            The display in SI units; the bound where censored.
        test_voltage_volt : float, optional
            Set voltage of an insulation tester. [V]
        ambient_celsius : float, optional
            Air temperature; outside the meter's reference range its accuracy widens. [°C]
        censoring : {"exact", "above", "below", "overload"}
            ``overload`` becomes a bound where the sheet gives the ceiling at this test voltage.
        resolution : float, optional
            Size of the last digit written down, SI.
        decision_value : float, optional
            The limit that the reading will be compared with, SI; on the log scale counts are weighed there.

        Returns
        -------
        MeterQuantity

        Notes
        -----
        The terms of one sheet add as bounds, :math:`u = (p R + n\,\text{step}) / \sqrt 3` unless the sheet states a
        coverage factor or a level; on the log scale :math:`u(\ln R) = (p + n\,\text{step} / \max(R, T)) / \sqrt 3`.
        Sources ``gum`` (4.3.7) and ``iec-61557``.

        Examples
        --------
        >>> import ohmward as ow
        >>> meter = ow.demo().instruments["meter-02"]
        >>> q = meter.quantity("insulation_resistance", 2.3e9, test_voltage_volt=500)
        >>> round(q.standard_uncertainty, 4), q.log_scale
        (0.0364, True)
        """
        raw = self._raw.quantity(
            quantity=_core.core.QuantityKind[quantity],
            value=value,
            censoring=_core.core.Censoring[censoring],
            resolution=resolution,
            test_voltage_volt=test_voltage_volt,
            ambient_celsius=ambient_celsius,
            decision_value=decision_value,
        )
        shown, censored, status, log_scale, parts, findings = raw
        return MeterQuantity(
            value=shown,
            standard_uncertainty=math.sqrt(sum(part * part for part in parts.values())),
            parts=parts,
            censoring=censored,
            status=status,
            findings=_finding_names(findings),
            log_scale=log_scale,
        )

    def __repr__(self) -> str:
        """Name and kind."""
        return f"Instrument({self.id!r}, {self.kind!r}, {len(self._raw.ranges)} ranges)"


class Instruments:
    """All meters of a workshop, by name. One name may stand for entries before and after a calibration."""

    def __init__(self, raw: list[_core.instruments.Instrument]) -> None:
        self._entries = raw
        self._raw = _core.instruments.Instruments(raw)

    def __getitem__(self, name: str) -> Instrument:
        """Return the latest entry of a meter."""
        index = self._raw.find(name, _FAR)
        if index < 0:
            known = ", ".join(sorted({entry.id for entry in self._entries}))
            raise KeyError(f"no instrument '{name}'; known are {known}")
        return Instrument(self._entries[index])

    def __iter__(self) -> Iterator[str]:
        """Names, each once."""
        return iter(dict.fromkeys(entry.id for entry in self._entries))

    def __len__(self) -> int:
        """Count the entries."""
        return len(self._entries)

    def tighter(self, factor: float) -> Instruments:
        """
        Return the same meters as if every accuracy sheet were tighter, to ask what better meters would have changed.

        Parameters
        ----------
        factor : float
            Above 1; share of reading, counts and share of range of every line are divided by it. Display steps,
            ceilings, dates and certificates stay.

        Returns
        -------
        Instruments

        Examples
        --------
        >>> import ohmward as ow
        >>> meters = ow.demo().instruments
        >>> q, r = (each["meter-03"].quantity("insulation_resistance", 2e6, test_voltage_volt=500)
        ...         for each in (meters, meters.tighter(2)))
        >>> r.standard_uncertainty < q.standard_uncertainty
        True
        """
        if not factor > 1.0:
            raise ValueError(f"factor is {factor}, expected a number above 1")
        return Instruments([_tighter(entry, factor) for entry in self._entries])


def _tighter(entry: _core.instruments.Instrument, factor: float) -> _core.instruments.Instrument:
    raw = _core.instruments.Instrument()
    for name in _INSTRUMENT_FIELDS:
        setattr(raw, name, getattr(entry, name))
    raw.ranges = [_tighter_range(line, factor) for line in entry.ranges]
    return raw


def _tighter_range(line: _core.instruments.Range, factor: float) -> _core.instruments.Range:
    raw = _core.instruments.Range()
    for name in ("quantity", "test_voltage_volt", "low", "high", "display_step", "gain_share"):
        setattr(raw, name, getattr(line, name))
    for name in ("reading_percent", "counts", "range_percent"):
        setattr(raw, name, getattr(line, name) / factor)
    return raw


def _range(file: TomlFile, entry: Mapping[str, Any], *path: str) -> _core.instruments.Range:
    file.check_keys(entry, _RANGE_KEYS, *path)
    raw = _core.instruments.Range()
    raw.quantity = file.choice(entry, "quantity", quantity_kinds(), *path)
    factor = unit_factor(file, entry, raw.quantity, *path)
    raw.test_voltage_volt = file.number(entry, "test_voltage_volt", *path)
    raw.low = factor * file.number(entry, "low", *path, default=0.0)
    raw.high = factor * file.number(entry, "high", *path, default=math.inf)
    raw.display_step = factor * file.number(entry, "display_step", *path, default=0.0)
    raw.reading_percent = file.number(entry, "reading_percent", *path, default=0.0)
    raw.counts = file.number(entry, "counts", *path, default=0.0)
    raw.range_percent = file.number(entry, "range_percent", *path, default=0.0)
    raw.gain_share = file.number(entry, "gain_share", *path, default=0.0)
    return raw


def _certificate_point(file: TomlFile, entry: Mapping[str, Any], *path: str) -> _core.instruments.CertificatePoint:
    file.check_keys(entry, _CERTIFICATE_KEYS, *path)
    raw = _core.instruments.CertificatePoint()
    raw.quantity = file.choice(entry, "quantity", quantity_kinds(), *path)
    raw.test_voltage_volt = file.number(entry, "test_voltage_volt", *path)
    raw.value = unit_factor(file, entry, raw.quantity, *path) * file.number(entry, "value", *path)
    raw.correction = file.number(entry, "correction", *path, default=0.0)
    raw.expanded_uncertainty = file.number(entry, "expanded_uncertainty", *path, default=0.0)
    raw.coverage_factor = file.number(entry, "coverage_factor", *path, default=2.0)
    return raw


def _statement(file: TomlFile, entry: Mapping[str, Any]) -> tuple[_core.instruments.StatementKind, float]:
    path = ("instrument", "statement")
    statement = file.check_keys(entry.get("statement", {"kind": "bound"}), ("kind", "value"), *path)
    kinds = {kind.name: kind for kind in _core.instruments.StatementKind}
    return file.choice(statement, "kind", kinds, *path), file.number(statement, "value", *path)


def _instrument(file: TomlFile, entry: Mapping[str, Any]) -> _core.instruments.Instrument:
    path = ("instrument",)
    file.check_keys(entry, _INSTRUMENT_KEYS, *path)
    raw = _core.instruments.Instrument()
    raw.id = file.needed_text(entry, "id", *path)
    raw.kind = file.text(entry, "kind", *path) or ""
    raw.input_ohm = file.number(entry, "input_ohm", *path)
    raw.source_ampere = file.number(entry, "source_ampere", *path)
    raw.valid_from_day = file.day(entry, "valid_from", *path, default=-_FAR)
    raw.valid_until_day = file.day(entry, "valid_until", *path, default=_FAR)
    raw.statement = _statement(file, entry)
    raw.temperature_coefficient = file.number(entry, "temperature_coefficient", *path, default=0.0)
    raw.reads_zero_below = file.number(entry, "reads_zero_below", *path, default=0.0)
    raw.correction = file.number(entry, "correction", *path, default=0.0)
    raw.ranges = [_range(file, line, *path, "range") for line in entry.get("range", [])]
    raw.certificate = [_certificate_point(file, point, *path, "certificate") for point in entry.get("certificate", [])]
    raw.validate()
    return raw


def read_instruments(path: str | Path) -> Instruments:
    """
    Read meters and their accuracy sheets from a TOML file.

    Parameters
    ----------
    path : str or Path
        File with ``[[instrument]]`` tables, each with its ``range`` lines (see ``datasets/templates``).

    Returns
    -------
    Instruments
        Indexed by name.

    Raises
    ------
    ValueError
        Naming file, line and key where a key is unknown, a unit does not fit, or a figure is senseless.

    Examples
    --------
    >>> import ohmward as ow
    >>> "meter-02" in list(ow.demo().instruments)
    True
    """
    file = TomlFile.read(path, name="instruments")
    return Instruments([_instrument(file, entry) for entry in file.tables("instrument")])
