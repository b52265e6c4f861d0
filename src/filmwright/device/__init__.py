"""From dimensions and materials to current and capacitance: the only home of current–voltage equations.

``drain_current(TransistorDesign(...), gate_voltage, drain_voltage)`` predicts; the definitions by
which ``measure`` extracts (tangent, mobilities, constant current) live here too.
"""

from filmwright.device.auxiliary_functions import (
    attenuation_with_contacts,
    gain_from_ratio,
    integral_function,
    power_from_integral,
    ratio_function,
    transition_function,
)
from filmwright.device.capacitance_voltage import (
    band_bending_at_inversion,
    density_of_slope,
    depleted_width,
    depletion_capacitance,
    extrinsic_debye_length,
    flat_band_capacitance,
    series_resistance,
    widest_depletion,
    without_series_resistance,
)
from filmwright.device.channel_mesh import ChannelSection, even_section
from filmwright.device.channel_slopes import CHANNEL_PARAMETERS, current_slopes
from filmwright.device.contacts import (
    contact_end_resistance,
    contact_front_resistance,
    specific_contact_resistance_of_end,
    transfer_length,
    transfer_length_of_end,
    transfer_length_of_front,
)
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
from filmwright.device.gate_capacitance import charging_frequency, gate_capacitance
from filmwright.device.gated_contacts import GatedContact, gated_contact_resistance
from filmwright.device.laws import (
    activated_mobility,
    charge_based_current,
    effective_overdrive,
    ideality_from_swing,
    square_law_current,
    subthreshold_limit,
    thermal_voltage,
)
from filmwright.device.leakage import (
    fowler_nordheim_field,
    poole_frenkel_current,
    poole_frenkel_slope,
    tunnelling_current,
)
from filmwright.device.mobility_laws import (
    average_mobility,
    conductance_without_contacts,
    contact_share,
    effective_mobility,
    incremental_mobility,
    sheet_conductance_by_differences,
)
from filmwright.device.output_laws import channel_length_modulation, early_voltage, saturation_voltage
from filmwright.device.sheet_resistance import (
    SheetOutline,
    contact_size_shift,
    dual_configuration_sheet_resistance,
    probe_factor,
    thickness_factor,
    van_der_pauw_factor,
    van_der_pauw_sheet_resistance,
)
from filmwright.device.states import FilmStates, debye_length, donors_of, neutral_level
from filmwright.device.surroundings import fringe_width, thermal_resistance
from filmwright.device.threshold import fermi_depth, flat_band_voltage, full_depletion_voltage
from filmwright.device.transistor import Polarity, TransistorDesign, drain_current, with_contacts
from filmwright.device.twin import compact_twin, drive_of, smallest_swing

__all__ = [
    "CHANNEL_PARAMETERS",
    "Bias",
    "ChannelSection",
    "ChargeTable",
    "FilmCharge",
    "FilmStates",
    "FilmTransistor",
    "GatedContact",
    "GatedFilm",
    "Polarity",
    "SheetOutline",
    "TransistorDesign",
    "activated_mobility",
    "areal_capacitance",
    "attenuation_with_contacts",
    "average_mobility",
    "band_bending_at_inversion",
    "band_filling",
    "channel_currents",
    "channel_length_modulation",
    "charge_based_current",
    "charge_table",
    "charging_frequency",
    "compact_twin",
    "conductance_without_contacts",
    "constant_current_criterion",
    "contact_end_resistance",
    "contact_front_resistance",
    "contact_share",
    "contact_size_shift",
    "current_slopes",
    "debye_length",
    "density_of_slope",
    "depleted_width",
    "depletion_capacitance",
    "donors_of",
    "drain_current",
    "drive_of",
    "dual_configuration_sheet_resistance",
    "early_voltage",
    "effective_mobility",
    "effective_overdrive",
    "even_section",
    "extrinsic_debye_length",
    "fermi_depth",
    "fermi_integral",
    "film_charge",
    "film_current",
    "flat_band_capacitance",
    "flat_band_voltage",
    "fowler_nordheim_field",
    "fringe_width",
    "full_depletion_voltage",
    "gain_from_ratio",
    "gate_capacitance",
    "gated_contact_resistance",
    "ideality_from_swing",
    "incremental_mobility",
    "integral_function",
    "linear_mobility",
    "neutral_level",
    "poole_frenkel_current",
    "poole_frenkel_slope",
    "power_from_integral",
    "probe_factor",
    "ratio_function",
    "reliability_linear",
    "reliability_saturation",
    "saturation_mobility",
    "saturation_voltage",
    "series_resistance",
    "sheet_conductance_by_differences",
    "smallest_swing",
    "specific_contact_resistance_of_end",
    "square_law_current",
    "stack_capacitance",
    "subthreshold_limit",
    "tail_filling",
    "tangent_intercept",
    "thermal_resistance",
    "thermal_voltage",
    "thickness_factor",
    "transfer_length",
    "transfer_length_of_end",
    "transfer_length_of_front",
    "transition_function",
    "trap_density",
    "tunnelling_current",
    "van_der_pauw_factor",
    "van_der_pauw_sheet_resistance",
    "widest_depletion",
    "with_contacts",
    "without_series_resistance",
]
