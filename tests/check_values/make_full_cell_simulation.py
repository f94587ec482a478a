"""Writes full_cell_simulation.csv with the open simulation library `pybamm` (PyPI); no test needs the library.

    pip install pybamm==26.10.1.1
    python tests/check_values/make_full_cell_simulation.py

`--check` compares with the file instead. The library brings 0.8 GB of dependencies, so its values are recorded here and
the tests read the record.
"""

import sys
from pathlib import Path

import numpy as np
import pybamm

SETS = {
    "nmc811_chen_2020": "Chen2020",
    "nmc_mohtat_2020": "Mohtat2020",
    "nca_kim_2011": "NCA_Kim2011",
    "lfp_prada_2013": "Prada2013",
}
HEADER = """# Open-circuit voltage of full cells by pybamm {}: get_min_max_stoichiometries and its half-cell functions.
id,curve,charge,expected,relative_tolerance,absolute_tolerance,source,clause,seen"""


PATH = Path(__file__).with_name("full_cell_simulation.csv")


def main():
    lines = [HEADER.format(pybamm.__version__)]
    for curve, name in SETS.items():
        values = pybamm.ParameterValues(name)
        x0, x1, y1, y0 = pybamm.lithium_ion.get_min_max_stoichiometries(values)
        parameters = pybamm.LithiumIonParameters()
        kelvin = pybamm.Scalar(298.15)
        for charge in np.round(np.linspace(0, 1, 51), 2):
            x, y = pybamm.Scalar(x0 + charge * (x1 - x0)), pybamm.Scalar(y0 + charge * (y1 - y0))
            volt = values.evaluate(parameters.p.prim.U(y, kelvin) - parameters.n.prim.U(x, kelvin))
            source = "half-cell-" + curve.split("_", 1)[1].replace("_", "-")
            # The window is solved to about 1e-6 there, and the curve is steep near charge 0.
            tolerance = 2e-3 if charge == 0 else 1e-4 if charge < 0.04 else 2e-5
            expected = float(np.squeeze(volt))
            row = [f"{curve}-{charge:.2f}", curve, f"{charge:.2f}", f"{expected:.7f}", "0", f"{tolerance:g}", source]
            lines.append(",".join([*row, "50 equal steps", "computed"]))
    text = "\n".join(lines) + "\n"
    if "--check" in sys.argv[1:]:
        same = text == PATH.read_text(encoding="utf-8")
        print(f"{PATH.name} {'is' if same else 'differs from'} what pybamm {pybamm.__version__} gives")
        return 0 if same else 1
    PATH.write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
