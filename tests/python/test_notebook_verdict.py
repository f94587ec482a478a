"""The notebook on a verdict near a limit runs through, and its page shows the budget as people read it."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("notebook") / "out"
    notebook = ROOT / "notebooks" / "04_a_verdict_near_a_limit.ipynb"
    done = subprocess.run(
        [sys.executable, ROOT / "notebooks" / "execute.py", notebook, folder],
        capture_output=True,
        check=False,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    return folder


def test_the_summary_says_verdict_and_what_would_pass(folder):
    summary = (folder / "summary.txt").read_text(encoding="utf-8")
    assert "R = 0.0960 ± 0.0022 Ω against at most 0.1 Ω" in summary
    assert "conditional_pass" in summary
    assert "read at most 0.0943 Ω to pass" in summary


def test_the_page_shows_a_rounded_budget(folder):
    page = (folder / "index.html").read_text(encoding="utf-8")
    for cell in ("sheet_counts", "0.0018", "67.6\N{NO-BREAK SPACE}%", "∞"):
        assert f">{cell}</td>" in page
    assert "standard_uncertainty" not in page


def test_whole_columns_name_what_decides(folder):
    executed = (folder / "04_a_verdict_near_a_limit.ipynb").read_text(encoding="utf-8")
    assert "10 … 20 °C" in executed
    assert "without a temperature: 1232 of 1877" in executed
