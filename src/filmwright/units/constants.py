"""Constants of nature (exact by the SI of 2019, or CODATA 2018) and the zero of the Celsius scale."""

ELEMENTARY_CHARGE = 1.602176634e-19
"""Elementary charge [C], exact."""

BOLTZMANN = 1.380649e-23
"""Boltzmann constant [J/K], exact."""

AVOGADRO = 6.02214076e23
"""Avogadro constant [1/mol], exact."""

VACUUM_PERMITTIVITY = 8.8541878128e-12
"""Vacuum permittivity [F/m], CODATA 2018."""

ZERO_CELSIUS = 273.15
"""0 °C [K], exact."""

ROOM_TEMPERATURE = 293.15
"""20 °C [K], the temperature that is meant where none is stated."""

PLANCK = 6.62607015e-34
"""Planck constant [J·s], exact."""

SPEED_OF_LIGHT = 299792458.0
"""Speed of light [m/s], exact."""

STANDARD_ATMOSPHERE = 101325.0
"""Pressure to which vapour-pressure equations refer [Pa], exact (CGPM 1954)."""

ELECTRON_MASS = 9.1093837015e-31
"""Rest mass of the electron [kg], CODATA 2018."""
