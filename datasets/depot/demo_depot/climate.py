"""Weather and hall of the invented depot, one state a day."""

from datetime import date, timedelta
from typing import NamedTuple

import numpy as np

FIRST_DAY = date(2023, 1, 9)
LAST_DAY = date(2024, 12, 20)
DAYS = (LAST_DAY - FIRST_DAY).days + 1
# Magnus formula over water, source dew-point-magnus of the library; here only the demo's own weather.
MAGNUS_A, MAGNUS_B = 17.62, 243.12


def date_of(day: int) -> date:
    return FIRST_DAY + timedelta(days=day)


def day_of(year: int, month: int, day: int) -> int:
    return (date(year, month, day) - FIRST_DAY).days


def dew_point(celsius: np.ndarray, humidity_percent: np.ndarray) -> np.ndarray:
    gamma = np.log(humidity_percent / 100.0) + MAGNUS_A * celsius / (MAGNUS_B + celsius)
    return MAGNUS_B * gamma / (MAGNUS_A - gamma)


class Air(NamedTuple):
    outside_celsius: float
    hall_celsius: float
    hall_humidity_percent: float
    hall_dew_point_celsius: float


def climate(generator: np.random.Generator) -> list[Air]:
    """Outside 2 °C in January and 19 °C in July, 4 K from day to day; hall 14 to 20 °C, 35 to 65 %."""
    day_of_year = np.array([date_of(day).timetuple().tm_yday for day in range(DAYS)])
    season = -np.cos(2.0 * np.pi * (day_of_year - 15) / 365.25)
    outside = 10.5 + 8.5 * season + generator.normal(0.0, 4.0, DAYS)
    hall = np.clip(17.0 + 0.15 * (outside - 10.5) + generator.normal(0.0, 1.0, DAYS), 14.0, 20.0)
    humidity = np.clip(50.0 + 6.0 * season + generator.normal(0.0, 7.0, DAYS), 35.0, 65.0)
    return [Air(*state) for state in np.column_stack([outside, hall, humidity, dew_point(hall, humidity)]).tolist()]
