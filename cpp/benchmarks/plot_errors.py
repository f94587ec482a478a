"""Plots the errors of the elementary functions against mpmath into <build>/errors.png.

Run: python cpp/benchmarks/plot_errors.py [build folder] [points a function]    with the built package on PYTHONPATH
"""

import sys
from pathlib import Path

import matplotlib as mpl

mpl.use("agg")
import matplotlib.pyplot as plt
import mpmath
import numpy as np

from ohmward._core import numerics

BLUE, ORANGE = "#0072B2", "#E69F00"
# name, exact function, range of the argument, bound held by the tests in ulp
FUNCTIONS = [
    ("exp", mpmath.exp, (-2.0, 2.0), 0.70),
    ("exp2", lambda x: mpmath.mpf(2) ** x, (-2.0, 2.0), 0.70),
    ("log", mpmath.log, (0.4, 2.5), 0.90),
    ("log2", lambda x: mpmath.log(x, 2), (0.4, 2.5), 0.90),
    ("log1p", mpmath.log1p, (-0.9, 3.0), 1.5),
    ("pow(t, -0.731)", lambda x: mpmath.power(x, mpmath.mpf(-0.731)), (0.1, 10.0), 0.75),
    ("erfc", mpmath.erfc, (-3.0, 6.0), 8.5),
    ("normal_probability", mpmath.ncdf, (-8.0, 4.0), 9),
]


def signed_errors(name, exact, x):
    made = numerics.pow(x, -0.731) if name.startswith("pow") else getattr(numerics, name)(x)
    with mpmath.workprec(120):
        wanted = [exact(mpmath.mpf(value)) for value in x.tolist()]
        return [
            float((mpmath.mpf(y) - w) / mpmath.mpf(np.spacing(abs(float(w)))))
            for y, w in zip(made.tolist(), wanted, strict=True)
        ]


if __name__ == "__main__":
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else "build")
    points = int(sys.argv[2]) if len(sys.argv) > 2 else 4000
    figure, axes = plt.subplots(4, 2, figsize=(9, 10.5), layout="constrained")
    for axis, (name, exact, (low, high), bound) in zip(axes.flat, FUNCTIONS, strict=True):
        x = low + (high - low) * numerics.uniform(points, seed=1)
        errors = signed_errors(name, exact, x)
        axis.plot(x, errors, ".", markersize=1, color=BLUE)
        for line in (-bound, bound):
            axis.axhline(line, color=ORANGE, linestyle="--")
        axis.set_title(f"{name}: {max(map(abs, errors)):.3f} ulp in {points} points, bound {bound}", fontsize=9)
        axis.set_xlabel("argument")
        axis.set_ylabel("error [ulp]")
    folder.mkdir(parents=True, exist_ok=True)
    figure.savefig(folder / "errors.png", dpi=80)
    print(folder / "errors.png")
