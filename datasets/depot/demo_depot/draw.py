"""Random numbers: one PCG64 stream a purpose, so that a change in one place leaves the others as they were."""

import zlib
from collections.abc import Sequence
from typing import TypeVar

import numpy as np

T = TypeVar("T")
BLOCK = 4096


class Draw:
    """Scalar draws from one stream, fetched in blocks because single NumPy draws are slow."""

    def __init__(self, seed: int, purpose: str) -> None:
        self.generator = np.random.Generator(np.random.PCG64([seed, zlib.crc32(purpose.encode())]))
        self._uniforms = iter(())
        self._normals = iter(())

    def uniform(self, low: float = 0.0, high: float = 1.0) -> float:
        value = next(self._uniforms, None)
        if value is None:
            self._uniforms = iter(self.generator.random(BLOCK).tolist())
            value = next(self._uniforms)
        return low + (high - low) * value

    def normal(self, mean: float = 0.0, deviation: float = 1.0) -> float:
        value = next(self._normals, None)
        if value is None:
            self._normals = iter(self.generator.standard_normal(BLOCK).tolist())
            value = next(self._normals)
        return mean + deviation * value

    def decades(self, median: float, deviation: float) -> float:
        """Log-normal, its deviation in decades."""
        return median * 10.0 ** self.normal(0.0, deviation)

    def chance(self, probability: float) -> bool:
        return self.uniform() < probability

    def choice(self, items: Sequence[T]) -> T:
        return items[min(int(self.uniform() * len(items)), len(items) - 1)]

    def weighted(self, items: Sequence[T], weights: Sequence[float]) -> T:
        point = self.uniform(0.0, sum(weights))
        for item, weight in zip(items, weights, strict=True):
            point -= weight
            if point < 0.0:
                return item
        return items[-1]

    def shuffled(self, items: Sequence[T]) -> list[T]:
        keyed = [(self.uniform(), index) for index in range(len(items))]
        return [items[index] for _, index in sorted(keyed)]
