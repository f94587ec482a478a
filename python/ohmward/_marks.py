"""One mark a verdict and a state, for page and plots: a shape, a word and a colour, never a colour alone.

The colours are of a palette that people with any colour vision tell apart. Source: `okabe-ito-palette`.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = [
    "BLACK",
    "BLUE",
    "GREEN",
    "GREY",
    "ORANGE",
    "PURPLE",
    "SKY",
    "STATES",
    "VERDICTS",
    "VERMILLION",
    "YELLOW",
    "Mark",
]

BLACK, ORANGE, SKY, GREEN = "#000000", "#E69F00", "#56B4E9", "#009E73"
YELLOW, BLUE, VERMILLION, PURPLE = "#F0E442", "#0072B2", "#D55E00", "#CC79A7"
GREY = "#6b6b6b"  # neutral: limits, ceilings, text that is not data


@dataclass(frozen=True)
class Mark:
    """How one word looks."""

    symbol: str  #: character, for text
    marker: str  #: the same shape in Matplotlib's code
    colour: str
    filled: bool


VERDICTS = {
    "fail": Mark("▼", "v", VERMILLION, True),
    "conditional_fail": Mark("▽", "v", VERMILLION, False),
    "undetermined": Mark("◇", "D", BLUE, False),
    "conditional_pass": Mark("○", "o", ORANGE, False),
    "pass": Mark("●", "o", GREEN, True),
    None: Mark("+", "P", GREY, True),
}
STATES = {
    "hold": VERDICTS["fail"],
    "look again": VERDICTS["undetermined"],
    "no finding": VERDICTS["pass"],
    "not examined": Mark("–", "_", GREY, True),
}
