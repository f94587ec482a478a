"""Where the shipped tables, templates and the demo lie: inside the package, installed or in a build tree."""

from __future__ import annotations

from pathlib import Path


def path(*names: str) -> Path:
    """Return the path of a shipped file."""
    return Path(__file__).parent.joinpath("_datasets", *names)
