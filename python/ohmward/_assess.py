"""From readings, meters, limits and part kinds to results."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from ohmward import _core, _datasets, screening
from ohmward.instruments import Instruments, read_instruments
from ohmward.limits import Limits, PartKinds, read_limits, read_part_kinds, shipped_limits, shipped_part_kinds
from ohmward.readings import Readings, read_readings
from ohmward.results import Results

__all__ = ["Batch", "assess", "demo"]


@dataclass(frozen=True)
class Batch:
    """Readings together with all that they are judged with."""

    readings: Readings
    instruments: Instruments
    limits: Limits
    part_kinds: PartKinds


@cache
def demo() -> Batch:
    """
    Return the invented demo depot: readings, meters, limits and part kinds. It ships with the package.

    Returns
    -------
    Batch
        With ``readings``, ``instruments``, ``limits`` and ``part_kinds``. All of it is invented.

    Examples
    --------
    >>> import ohmward as ow
    >>> len(ow.demo().readings) > 1000
    True
    """
    return _batch(_datasets.path("depot", "readings.csv"))


def _beside(path: Path, name: str) -> Path | None:
    found = path.parent / name
    return found if found.exists() else None


def _batch(path: Path) -> Batch:
    """Read a readings file and whatever stands beside it under the usual names."""
    instruments, limits, part_kinds, columns = (
        _beside(path, name) for name in ("instruments.toml", "limits.toml", "part_kinds.toml", "columns.toml")
    )
    return Batch(
        readings=read_readings(path, columns=columns),
        instruments=read_instruments(instruments) if instruments else Instruments([]),
        limits=read_limits(limits) if limits else shipped_limits(),
        part_kinds=read_part_kinds(part_kinds) if part_kinds else shipped_part_kinds(),
    )


def _settings(
    missing_part_celsius: tuple[float, float],
    law: Any,
    dead_policy: _core.highvoltage.DeadPolicy | None,
    repeats: str,
    threads: int,
) -> _core.assessment.Settings:
    low, high = missing_part_celsius
    if not low < high:
        raise ValueError(f"missing_part_celsius is {missing_part_celsius}, expected (low, high) with low below high")
    rules = {each.name: each for each in _core.assessment.Repeats}
    if repeats not in rules:
        raise ValueError(f"repeats is {repeats!r}, expected one of {', '.join(rules)}")
    settings = _core.assessment.Settings()
    settings.repeats = rules[repeats]
    settings.missing_low_celsius, settings.missing_high_celsius = float(low), float(high)
    settings.threads = threads
    if dead_policy is not None:
        settings.dead = dead_policy
    if law is not None:
        settings.law, settings.overrides_law = law.raw, True
    return settings


def _metadata(readings: Readings, limits: Limits) -> dict[str, str]:
    editions = sorted({f"{limit.id}: {limit.source} {limit.edition}".strip() for limit in limits})
    return {
        "ohmward_version": _core.__version__,
        "input_sha256": readings.sha256,
        "limits": "; ".join(editions),
    }


def assess(
    readings: Any,
    *,
    instruments: Instruments | str | Path | None = None,
    limits: Limits | str | Path | None = None,
    part_kinds: PartKinds | str | Path | None = None,
    law: Any = None,
    missing_part_celsius: tuple[float, float] = (-15.0, 70.0),
    dead_policy: _core.highvoltage.DeadPolicy | None = None,
    repeats: str = "last",
    screen: bool = True,
    threads: int = 0,
) -> Results:
    """
    Judge every reading against the limit that applies to it.

    Parameters
    ----------
    readings : path, Readings, Batch or data frame
        A path finds ``instruments.toml``, ``limits.toml``, ``part_kinds.toml`` and ``columns.toml`` beside it. A frame
        (pandas, polars, pyarrow) has the documented columns.
    instruments, limits, part_kinds : optional
        What was read with the functions of the same name, or paths. Default: beside the readings; else none, the
        shipped limits, and the shipped part kinds.
    law : temperature law, optional
        Overrides the law of every part kind.
    missing_part_celsius : (float, float), default (-15, 70)
        Range at whose ends a reading without part temperature is judged. A setting without a source. [°C]
    dead_policy : highvoltage.DeadPolicy, optional
        Which checks of a meter on its known source are good, so that they bracket the readings of dead circuits.
    repeats : {"last", "mean", "worst"}, default "last"
        What decides where one point was read several times in one job with one meter under one set of conditions, and
        its limit does not say so itself (``repeats`` in ``limits.toml``). A mean carries its scatter, never less than
        the display can tell, beside the meter's uncertainty, which repeating does not shrink.
    screen : bool, default True
        Mark suspicious sets of rows (unit slips, copied jobs, a monitor left on, ...) before judging.
    threads : int, default 0
        0 takes all cores. The result does not depend on it.

    Returns
    -------
    Results
        One entry a reading, then what follows from several of them: the ratios of timed runs that a limit asks for, and
        the means of repeats.

    Raises
    ------
    ValueError, FileNotFoundError
        Naming file, line, column and what was expected.

    Examples
    --------
    >>> import ohmward as ow
    >>> results = ow.assess(ow.demo())
    >>> len(results) >= len(ow.demo().readings.accepted)
    True
    """
    batch = readings if isinstance(readings, Batch) else None
    if isinstance(readings, str | Path):
        batch = _batch(Path(readings))
    own = batch.readings if batch else readings if isinstance(readings, Readings) else read_readings(readings)
    meters = read_instruments(instruments) if isinstance(instruments, str | Path) else instruments
    meters = meters if meters is not None else batch.instruments if batch else Instruments([])
    rules = read_limits(limits) if isinstance(limits, str | Path) else limits
    rules = rules if rules is not None else batch.limits if batch else shipped_limits()
    kinds = read_part_kinds(part_kinds) if isinstance(part_kinds, str | Path) else part_kinds
    kinds = kinds if kinds is not None else batch.part_kinds if batch else shipped_part_kinds()

    judging = _core.assessment.Judging(
        instruments=meters._raw,
        limits=list(rules),
        part_kinds=_core.assessment.PartKinds(list(kinds)),
        settings=_settings(missing_part_celsius, law, dead_policy, repeats, threads),
    )
    found = screening.marks(own, meters, threads=threads) if screen else None
    return Results(
        readings=own, instruments=meters, limits=rules, judging=judging, screening=found, metadata=_metadata(own, rules)
    )
