"""The kinds of quantity that the project knows, each with its SI unit and the units in which people write it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Dimension:
    """A kind of quantity.

    Attributes
    ----------
    name : str
        Trade name, e.g. ``length``.
    si : str
        Unit of the float inside.
    shown : tuple of str
        Units to print in, smallest first; the first that gives a number of at least 1 from the top is used.
    example : str
        How a person writes one; printed in error messages.
    """

    name: str
    si: str
    shown: tuple[str, ...]
    example: str


def _table() -> dict[str, Dimension]:
    rows = (
        Dimension("length", "m", ("nm", "µm", "mm"), "60 nm"),
        Dimension("time", "s", ("s", "min", "h", "day"), "45 s"),
        Dimension("temperature", "K", ("°C",), "110 °C"),
        Dimension("temperature difference", "K", ("kelvin",), "-4 kelvin"),
        Dimension("heating rate", "K/s", ("kelvin/min",), "5 kelvin/min"),
        Dimension("volume", "m^3", ("mL", "L"), "10 L"),
        Dimension("pumping speed", "m^3/s", ("L/s",), "100 L/s"),
        Dimension("diffusivity", "m^2/s", ("cm²/s",), "1e-14 cm²/s"),
        Dimension("pressure", "Pa", ("µPa", "mPa", "Pa", "kPa"), "6 mTorr"),
        Dimension("dose", "J/m^2", ("mJ/cm²",), "120 mJ/cm²"),
        Dimension("intensity", "W/m^2", ("mW/cm²",), "12 mW/cm²"),
        Dimension("power", "W", ("mW", "W", "kW"), "150 W"),
        Dimension("voltage", "V", ("mV", "V"), "5 V"),
        Dimension("current", "A", ("pA", "nA", "µA", "mA", "A"), "10 nA"),
        Dimension("speed", "1/s", ("rpm",), "4000 rpm"),
        Dimension("rate", "m/s", ("nm/min",), "20 nm/min"),
        Dimension("gas flow", "m^3/s", ("sccm",), "20 sccm"),
        Dimension("fraction", "", ("%",), "5 %"),
        Dimension("number", "", ("",), "1.5"),
        Dimension("density", "kg/m^3", ("g/cm³",), "4.5 g/cm³"),
        Dimension("stress", "Pa", ("MPa", "GPa"), "300 MPa"),
        Dimension("field", "V/m", ("MV/cm",), "2 MV/cm"),
        Dimension("energy", "J", ("eV",), "4.3 eV"),
        Dimension("resistivity", "ohm*m", ("µΩ·cm", "Ω·cm"), "42 µΩ·cm"),
        Dimension("resistance", "ohm", ("Ω", "kΩ", "MΩ"), "250 Ω"),
        Dimension("width-normalised resistance", "ohm*m", ("Ω·cm",), "20 Ω·cm"),
        Dimension("current per width", "A/m", ("pA/µm", "nA/µm", "µA/µm"), "1 nA/µm"),
        Dimension("areal capacitance", "F/m^2", ("nF/cm²",), "62 nF/cm²"),
        Dimension("capacitance", "F", ("fF", "pF", "nF"), "12 pF"),
        Dimension("mobility", "m^2/V/s", ("cm²/(V·s)",), "10 cm²/(V·s)"),
        Dimension("swing", "V", ("V",), "0.3 V"),
        Dimension("angle", "rad", ("°",), "80 °"),
        Dimension("frequency", "1/s", ("Hz", "kHz", "MHz"), "13.56 MHz"),
        Dimension("area", "m^2", ("µm²", "mm²"), "100 µm²"),
        Dimension("expansion", "1/K", ("1/K",), "2.6e-6 1/K"),
        Dimension("areal density", "1/m^2", ("1/cm²",), "1e12 1/cm²"),
        Dimension("transconductance", "A/V", ("nS", "µS", "mS"), "1 µS"),
        Dimension("volume density", "1/m^3", ("1/cm³",), "1e17 1/cm³"),
        Dimension("density of states", "1/m^3/J", ("1/(cm³·eV)",), "1e18 1/(cm³·eV)"),
        Dimension("areal density of states", "1/m^2/J", ("1/(cm²·eV)",), "1e12 1/(cm²·eV)"),
        Dimension("specific contact resistance", "ohm*m^2", ("Ω·cm²",), "1e-3 Ω·cm²"),
        Dimension("thermal conductivity", "W/m/K", ("W/(m·K)",), "1.4 W/(m·K)"),
        Dimension("thermal resistance", "K/W", ("K/W",), "1e4 K/W"),
        Dimension("conductivity", "S/m", ("S/cm",), "0.1 S/cm"),
        Dimension("current density", "A/m^2", ("A/cm²",), "1e-8 A/cm²"),
        Dimension("molar mass", "kg/mol", ("g/mol",), "47.87 g/mol"),
        Dimension("absorption", "1/m", ("1/µm",), "0.8 1/µm"),
        Dimension("bleaching", "m^2/J", ("cm²/mJ",), "0.015 cm²/mJ"),
    )
    return {row.name: row for row in rows}


DIMENSIONS: dict[str, Dimension] = _table()

REGISTRY = """
pico- = 1e-12 = p-
nano- = 1e-9 = n-
micro- = 1e-6 = u-
milli- = 1e-3 = m-
centi- = 1e-2 = c-
kilo- = 1e3 = k-
mega- = 1e6 = M-
giga- = 1e9 = G-
femto- = 1e-15 = f-
meter = [length] = m
second = [time] = s
kilogram = [mass] = kg
kelvin = [temperature]; offset: 0 = K
ampere = [current] = A
radian = [] = rad
mole = [substance] = mol
percent = 0.01 = pct
parts_per_million = 1e-6 = ppm
gram = 1e-3 * kilogram = g
minute = 60 * second = min
hour = 60 * minute = h
day = 24 * hour
degree_Celsius = kelvin; offset: 273.15 = degC
degree = 0.017453292519943295 * radian = deg
angstrom = 1e-10 * meter = ang
inch = 0.0254 * meter = in
newton = kilogram * meter / second ** 2 = N
joule = newton * meter = J
watt = joule / second = W
pascal = newton / meter ** 2 = Pa
bar = 1e5 * pascal
torr = 133.32236842105263 * pascal = Torr
volt = joule / ampere / second = V
ohm = volt / ampere
siemens = ampere / volt = S
coulomb = ampere * second = C
farad = coulomb / volt = F
hertz = 1 / second = Hz
electron_volt = 1.602176634e-19 * joule = eV
revolutions_per_minute = 1 / minute = rpm
liter = 1e-3 * meter ** 3 = L
standard_cubic_centimeter_per_minute = 1e-6 * meter ** 3 / minute = sccm
"""
"""The unit definitions: only what the trade writes, so that a slip is noticed rather than read as something else."""
