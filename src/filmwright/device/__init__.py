"""From dimensions and materials to current and capacitance: the only home of current–voltage equations.

``drain_current(TransistorDesign(...), gate_voltage, drain_voltage)`` predicts; the definitions by
which ``measure`` extracts (tangent, mobilities, constant current) live here too.
"""

from filmwright.device.channel_mesh import ChannelSection, even_section
from filmwright.device.channel_slopes import CHANNEL_PARAMETERS, current_slopes
from filmwright.device.contacts import contact_end_resistance, contact_front_resistance, transfer_length
from filmwright.device.definitions import (
    constant_current_criterion,
    linear_mobility,
    reliability_linear,
    reliability_saturation,
    saturation_mobility,
    tangent_intercept,
    trap_density,
)
from filmwright.device.dielectric import areal_capacitance, stack_capacitance
from filmwright.device.drift_diffusion import Bias, channel_currents
from filmwright.device.electrostatics import FilmCharge, GatedFilm, film_charge
from filmwright.device.fermi import band_filling, fermi_integral, tail_filling
from filmwright.device.film_transistor import (
    ChargeTable,
    FilmTransistor,
    charge_table,
    film_current,
)
from filmwright.device.laws import (
    charge_based_current,
    effective_overdrive,
    ideality_from_swing,
    square_law_current,
    subthreshold_limit,
    thermal_voltage,
)
from filmwright.device.output_laws import channel_length_modulation, early_voltage, saturation_voltage
from filmwright.device.states import FilmStates, debye_length, neutral_level
from filmwright.device.threshold import fermi_depth, flat_band_voltage, full_depletion_voltage
from filmwright.device.transistor import Polarity, TransistorDesign, drain_current, with_contacts

__all__ = [
    "Bias",
    "CHANNEL_PARAMETERS",
    "ChannelSection",
    "ChargeTable",
    "FilmCharge",
    "FilmStates",
    "FilmTransistor",
    "GatedFilm",
    "Polarity",
    "TransistorDesign",
    "areal_capacitance",
    "band_filling",
    "channel_currents",
    "channel_length_modulation",
    "charge_based_current",
    "charge_table",
    "constant_current_criterion",
    "contact_end_resistance",
    "contact_front_resistance",
    "current_slopes",
    "debye_length",
    "drain_current",
    "early_voltage",
    "effective_overdrive",
    "even_section",
    "fermi_depth",
    "fermi_integral",
    "film_charge",
    "film_current",
    "flat_band_voltage",
    "full_depletion_voltage",
    "ideality_from_swing",
    "linear_mobility",
    "neutral_level",
    "reliability_linear",
    "reliability_saturation",
    "saturation_mobility",
    "saturation_voltage",
    "square_law_current",
    "stack_capacitance",
    "subthreshold_limit",
    "tail_filling",
    "tangent_intercept",
    "thermal_voltage",
    "transfer_length",
    "trap_density",
    "with_contacts",
]
