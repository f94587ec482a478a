"""A study as two files that somebody can repeat in years: data as CSV, and a description of what was done with them."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import math
import platform
from collections.abc import Hashable, Mapping, Sequence
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from ohmward._arrays import Doubles
from ohmward._core import __version__
from ohmward._core.core import Censoring
from ohmward._study_columns import UNKNOWN, StudyColumns

if TYPE_CHECKING:
    from ohmward._study_results import Figure
    from ohmward.thresholds import Study

__all__ = ["read_study", "write_study"]

DATA, DESCRIPTION, FORMAT = "study.csv", "study.json", 1
_MEANINGS = {
    "score": ("", "the reading"),
    "censoring": ("", "exact; above or below: the score is a bound; overload: over range with no known ceiling"),
    "failed": ("", "1: the unit failed, 0: it did not, empty: not known"),
    "standard_uncertainty": ("", "of the score, what differs from reading to reading"),
    "cluster": ("", "number of the cluster, drawn at random"),
    "unit": ("", "number of the unit, drawn at random"),
    "entry_day": ("d", "when observation of the unit began"),
    "exit_day": ("d", "when it ended"),
    "left_for_other_reason": ("", "1: left unfailed for a reason that competes with failing"),
    "repaired_because_of_reading": ("", "1: the reading itself led to a repair"),
}
_IN_SCORE_UNIT = ("score", "standard_uncertainty")
_SETTINGS = (
    "lower_is_worse", "repaired", "weight_bands", "sampling", "prevalence", "missing_scores", "log_scale", "score_unit",
    "editions",
)  # fmt: skip
_VALUES = ("estimate", "low", "high", "worst", "best")


def _number(value: float) -> str:
    return "" if math.isnan(value) else repr(float(value))


def _pseudonyms(labels: Sequence[Hashable], seed: int) -> list[str]:
    distinct = list(dict.fromkeys(labels))
    numbers = np.random.default_rng(seed).permutation(len(distinct)) + 1
    given = {label: str(int(number)) for label, number in zip(distinct, numbers, strict=True)}
    return [given[label] for label in labels]


def _texts(columns: StudyColumns, seed: int) -> dict[str, list[str]]:
    """Give the columns that the study has, as written."""
    texts = {
        "score": [_number(each) for each in columns.score],
        "censoring": [Censoring(each).name for each in columns.censoring.tolist()],
        "failed": ["" if each == UNKNOWN else str(each) for each in columns.outcome.tolist()],
        "standard_uncertainty": [_number(each) for each in columns.standard_uncertainty],
    }
    for name, labels in (("cluster", columns.cluster), ("unit", columns.unit)):
        if labels is not None:
            texts[name] = _pseudonyms(labels, seed)
    for name, days in (("entry_day", columns.entry_day), ("exit_day", columns.exit_day)):
        if days is not None:
            texts[name] = [_number(each) for each in days]
    for name, flags in (
        ("left_for_other_reason", columns.left_for_other_reason),
        ("repaired_because_of_reading", columns.repaired),
    ):
        if flags.any():
            texts[name] = [str(int(each)) for each in flags]
    return texts


def _json_number(value: float) -> float | str:
    return float(value) if math.isfinite(value) else str(float(value))  # JSON has no NaN and no infinity


def _figures(
    study: Study, thresholds: Sequence[float], best_threshold: Mapping[str, float] | None
) -> dict[str, dict[str, float | str]]:
    figures: dict[str, Figure] = {"area_under_curve": study.area_under_curve()}
    for threshold in thresholds:
        at = study.at(threshold)
        for name in ("sensitivity", "specificity", "positive_predictive_value", "negative_predictive_value"):
            figures[f"{name} at {float(threshold)!r}"] = getattr(at, name)
    values = {
        name: {value: _json_number(getattr(figure, value)) for value in _VALUES} for name, figure in figures.items()
    }
    if best_threshold is not None:
        best = study.best_threshold(**_arguments_of_best(best_threshold))
        values["best threshold"] = {value: _json_number(getattr(best.threshold, value)) for value in _VALUES} | {
            value: _json_number(getattr(best, value)) for value in ("cost", "optimism", "cost_corrected")
        }
    return values


def _arguments_of_best(given: Mapping[str, float]) -> dict[str, Any]:
    return {name: int(value) if name in ("seed", "replicates") else value for name, value in given.items()}


def write_study(
    study: Study,
    folder: str | PathLike[str],
    *,
    seed: int,
    thresholds: Sequence[float],
    best_threshold: Mapping[str, float] | None,
) -> None:
    """Write data and description."""
    texts = _texts(study.columns, seed)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(texts)
    writer.writerows(zip(*texts.values(), strict=True))
    data = out.getvalue().encode("utf-8")
    description = {
        "format": FORMAT,
        "what": "readings and what became of their units; units and clusters are numbers drawn at random",
        "data": DATA,
        "sha256": hashlib.sha256(data).hexdigest(),
        "rows": len(study.columns),
        "columns": [
            {"name": name, "unit": study.score_unit if name in _IN_SCORE_UNIT else _MEANINGS[name][0],
             "meaning": _MEANINGS[name][1]}
            for name in texts
        ],
        "settings": {name: getattr(study, name) for name in _SETTINGS},
        "seed_of_numbers": seed,
        "versions": {"ohmward": __version__, "python": platform.python_version(), "numpy": np.__version__},
        "thresholds": [float(each) for each in thresholds],
        "best_threshold": None if best_threshold is None else {"seed": 1, "replicates": 2000, **best_threshold},
        "figures": _figures(study, thresholds, best_threshold),
        "cautions": list(study.cautions),
    }  # fmt: skip
    target = Path(folder)
    target.mkdir(parents=True, exist_ok=True)
    (target / DATA).write_bytes(data)
    text = json.dumps(description, indent=1, ensure_ascii=False, allow_nan=False)
    (target / DESCRIPTION).write_text(text + "\n", encoding="utf-8")


def _numbers(texts: list[str]) -> Doubles:
    return np.array([float(text) if text else math.nan for text in texts])


def _arguments(rows: list[dict[str, str]]) -> dict[str, Any]:
    columns = {name: [row[name] for row in rows] for name in rows[0]}
    arguments: dict[str, Any] = {}
    for name, texts in columns.items():
        if name in ("cluster", "unit"):
            arguments[name] = [int(text) for text in texts]
        elif name == "censoring":
            arguments[name] = texts
        elif name == "failed":
            arguments[name] = [None if text == "" else int(text) for text in texts]
        elif name in ("left_for_other_reason", "repaired_because_of_reading"):
            arguments[name] = [text == "1" for text in texts]
        else:
            arguments[name] = _numbers(texts)
    return arguments


def read_study(kind: type[Study], folder: str | PathLike[str], *, repeat: bool) -> Study:
    """Read data and description, and reckon the figures again."""
    source = Path(folder)
    description = json.loads((source / DESCRIPTION).read_text(encoding="utf-8"))
    if description.get("format") != FORMAT:
        raise ValueError(f"{source / DESCRIPTION}: format is {description.get('format')!r}, expected {FORMAT}")
    data = (source / DATA).read_bytes()
    if hashlib.sha256(data).hexdigest() != description["sha256"]:
        raise ValueError(f"{source / DATA} is not the data that {DESCRIPTION} describes (its SHA-256 differs)")
    rows = list(csv.DictReader(io.StringIO(data.decode("utf-8"))))
    study = kind(**_arguments(rows), **description["settings"])
    if repeat:
        again = _figures(study, description["thresholds"], description["best_threshold"])
        _check_figures(again, description)
    return study


def _check_figures(again: dict[str, dict[str, float | str]], description: dict[str, Any]) -> None:
    for name, values in description["figures"].items():
        if again.get(name) != values:
            raise ValueError(
                f"{name} was {values} with ohmward {description['versions']['ohmward']}, and is {again.get(name)} with "
                f"{__version__}"
            )
