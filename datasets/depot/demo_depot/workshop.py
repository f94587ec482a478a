"""A second shop's bonding sheet in its own headers and words: wide, semicolons, decimal comma, day first."""

import csv
import io

from demo_depot.climate import DAYS, date_of
from demo_depot.draw import Draw
from demo_depot.fleet import Fleet

POINTS = {
    "Umrichter [Ω]": "converter_housing",
    "Motor [Ω]": "motor_housing",
    "Lader [Ω]": "charger_housing",
    "Batterie [Ω]": "pack_case",
}
HEADER = ("Wagen", "Tag", "Gerät", "Nullwert [mΩ]", *POINTS, "Bemerkung")
ROWS = 40


def workshop_csv(seed: int, fleet: Fleet) -> str:
    draw = Draw(seed, "workshop")
    text = io.StringIO()
    writer = csv.writer(text, delimiter=";", lineterminator="\n")
    writer.writerow(HEADER)
    for day in sorted(int(draw.uniform(0, DAYS)) for _ in range(ROWS)):
        vehicle = draw.choice(fleet.vehicles)
        null = 4.0 * draw.normal()
        cells = [
            vehicle.id,
            f"{date_of(day):%d.%m.%Y}",
            "meter-04",
            f"{null:.1f}".replace(".", ",") if draw.chance(0.5) else "",
        ]
        for part in POINTS.values():
            ohm = vehicle.joint_ohm[part](day) + null / 1000.0 + draw.uniform(-0.015, 0.015)
            if draw.chance(0.02):
                cells.append("offen")
            elif draw.chance(0.05):
                cells.append("n.g.")
            else:
                cells.append(f"{round(ohm, 2) + 0.0:.2f}".replace(".", ","))
        cells.append(draw.choice(("", "", "", "Schraube nachgezogen", "Lack entfernt")))
        writer.writerow(cells)
    return text.getvalue()
