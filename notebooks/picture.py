"""Draw the attention strip of the demo depot: ``python notebooks/picture.py notebooks/a_depots_readings.png``."""

import sys

import matplotlib as mpl

mpl.use("Agg")

import ohmward as ow

ax = ow.plots.attention(ow.assess(ow.demo()), rows=24, rows_a_cause=3)
ax.figure.savefig(sys.argv[1], dpi=90, metadata={"Software": None})
