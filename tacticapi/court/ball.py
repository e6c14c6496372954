"""The ball in the air: its size, its weight, and how hard the air drags at it."""

from dataclasses import dataclass
from math import pi


@dataclass(frozen=True, slots=True)
class Ball:
    """A ball: mass (kg), diameter (m), drag coefficient, and moment of inertia as a share of mass x radius squared."""

    mass_kg: float
    diameter_m: float
    drag: float
    inertia: float

    @property
    def radius_m(self) -> float:
        """Half the diameter; how high the middle of a ball is that touches the ground."""
        return self.diameter_m / 2

    def air_factor(self, density: float) -> float:
        """Acceleration by the air a coefficient of 1 (1/m, times speed squared) at this density (kg/m3)."""
        return density * pi * self.radius_m**2 / (2 * self.mass_kg)


def air_density(temperature_c: float, altitude_m: float) -> float:
    """Density of dry air (kg/m3): pressure of the International Standard Atmosphere (ISO 2533), at this temperature.

    Temperatures of -40 to 60 degrees, altitudes of 0 to 5000 m. The constants are from memory; at 15 degrees and 0 m
    they give 1.225, the standard's own value.
    """
    pressure = 101325.0 * (1 - 2.25577e-5 * altitude_m) ** 5.25588
    return float(pressure / (287.053 * (temperature_c + 273.15)))
