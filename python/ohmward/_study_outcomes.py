"""Units that were repaired because of the reading: what they would have done is not known."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ohmward._arrays import Doubles
from ohmward._study_columns import UNKNOWN, WITH, WITHOUT

__all__ = ["band_edges", "extreme_outcomes", "weights_by_band"]


def band_edges(low: Doubles, high: Doubles, bands: int) -> Doubles:
    """Give edges that part the known scores into bands of equal size."""
    at = np.where(np.isfinite(low), low, high)
    return np.asarray(np.quantile(at[np.isfinite(at)], np.linspace(0, 1, bands + 1)[1:-1]), dtype=np.float64)


def weights_by_band(
    low: Doubles, high: Doubles, repaired: NDArray[np.bool_], edges: Doubles
) -> tuple[Doubles, NDArray[np.int64]]:
    """
    Give each unit that was let be the inverse of the share let be among units of like score; repaired ones NaN.

    Beside the weights stand the numbers of the bands.

    Corrects for units whose outcome was not awaited if, at like scores, repaired units would have failed as often as
    those that were let be. Source: ``begg-greenes``.
    """
    at = np.where(np.isfinite(low), low, high)
    known = ~np.isnan(at)
    band = np.searchsorted(edges, at, side="left")  # at an edge a unit is not flagged, as at a threshold
    weight = np.full(at.size, np.nan)
    for number in np.unique(band[known]):
        here = known & (band == number)
        let_be = here & ~repaired
        if not let_be.any():
            raise ValueError(
                f"repaired is 'weights', but of {int(here.sum())} units of one band of the score all were repaired: "
                "nothing tells how often such units fail; use wider weight_bands or repaired='bounds'"
            )
        weight[let_be] = here.sum() / let_be.sum()
    return weight, band.astype(np.int64)


_SIDES: tuple[Literal["left"], Literal["right"]] = ("left", "right")


def _mid_ranks(values: Doubles) -> Doubles:
    order = np.sort(values)
    first, last = (np.searchsorted(order, values, side=side) for side in _SIDES)
    return np.asarray(0.5 * (first + last + 1), dtype=np.float64)


def extreme_outcomes(
    low: Doubles, high: Doubles, outcome: NDArray[np.uint8], *, best: bool
) -> NDArray[np.uint8] | None:
    """
    Settle the unknown outcomes so that the area under the curve is largest, or smallest; None where a score blocks it.

    With k of the unknown failed, the area is largest where those are the k of highest score: swapping a failed one for
    a sound one of higher score can not lower any pair. Ranks do not depend on the outcomes, so all k cost one sort.
    """
    unknown = (outcome == UNKNOWN) & ~np.isnan(low)
    if (low[unknown] != high[unknown]).any():
        return None
    known = ~np.isnan(low)
    favoured = np.where((outcome == WITH) == best, high, low)
    favoured = np.where(unknown, low, favoured)
    rank = np.full(low.size, np.nan)
    rank[known] = _mid_ranks(favoured[known])
    candidates = np.flatnonzero(unknown)
    candidates = candidates[np.argsort(-low[candidates] if best else low[candidates], kind="stable")]
    failed = known & (outcome == WITH)
    events = int(failed.sum()) + np.arange(candidates.size + 1)
    rank_sum = rank[failed].sum() + np.concatenate([[0.0], np.cumsum(rank[candidates])])
    others = int(known.sum()) - events
    possible = (events > 0) & (others > 0)
    if not possible.any():
        return None
    with np.errstate(invalid="ignore", divide="ignore"):
        area = (rank_sum - events * (events + 1) / 2) / (events * others)
    area[~possible] = -np.inf if best else np.inf
    taken = int(np.argmax(area) if best else np.argmin(area))
    settled = outcome.copy()
    settled[candidates[:taken]] = WITH
    settled[candidates[taken:]] = WITHOUT
    return settled
