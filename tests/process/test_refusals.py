"""Nonsense is refused by every law: not a number, infinite, or below what its docstring allows."""

import inspect
import math

import pytest

from filmwright import process
from filmwright.process import Arrhenius, YieldFit
from filmwright.units import to_si

NM, UM, RPM, EV = to_si(1, "nm"), to_si(1, "um"), to_si(1, "rpm"), to_si(1, "eV")
STEAM_PARABOLIC = Arrhenius(prefactor=to_si(386, "um^2/h"), energy=0.78 * EV)
STEAM_LINEAR = Arrhenius(prefactor=to_si(9.702e7, "um/h"), energy=2.05 * EV)
TUNGSTEN = YieldFit(lam=0.2113, q=5.948, mu=2.386, reduced=4.054e-06 / EV, threshold=27.05 * EV)

USUAL: dict[str, dict[str, object]] = {
    "arrhenius_factor": {"activation_energy": 0.3 * EV, "temperature": 313.0, "reference": 293.0},
    "biaxial_modulus_100": {"c11": 165.7e9, "c12": 63.9e9},
    "biaxial_modulus_111": {"c11": 165.7e9, "c12": 63.9e9, "c44": 79.6e9},
    "bow": {"diameter": 0.1, "radius": 83.0},
    "charge_needed": {"thickness": 100 * NM, "throw": 0.4, "density": 7190.0},
    "cosine_wall_fraction": {"exponent": 0.7},
    "cycles_for_thickness": {"thickness": 40 * NM, "per_cycle": 0.1 * NM, "per_cycle_std": 0.002 * NM, "delay": 2.0},
    "deal_grove_thickness": {"time": 3600.0, "linear": 0.165 * UM, "parabolic": 3.25e-18, "start": 25 * NM},
    "deal_grove_time": {"thickness": 60 * NM, "linear": 0.165 * UM, "parabolic": 3.25e-18, "start": 25 * NM},
    "dill_bleaching": {"dose": 1000.0, "depth": UM, "bleachable": 0.86 / UM, "fixed": 0.07 / UM, "sensitivity": 0.0018},
    "dill_development_rate": {"remaining": 0.5, "e1": 5.63, "e2": 7.43, "e3": -12.6, "unit_rate": 1e-10},
    "eckstein_yield": {"energy": 500 * EV, "fit": TUNGSTEN},
    "emslie_thickness": {"start": 50 * UM, "rotation": 314.0, "viscosity": 2e-5, "time": 30.0},
    "energy_release": {"stress": 1e9, "thickness": 100 * NM, "modulus": 279e9, "geometry": 1.0},
    "etch_time": {
        "thickness": 60 * NM, "rate": 0.5 * NM, "rate_relative_std": 0.1, "film_nonuniformity": 0.05,
        "rate_nonuniformity": 0.05, "confidence": 0.95,
    },
    "exposure_time": {"dose": 1200.0, "intensity": 115.0, "dose_std": 60.0, "intensity_std": 5.0},
    "film_force": {"stress": 1e9, "thickness": 100 * NM},
    "fringe_time": {"wavelength": 0.67 * UM, "index": 2.0, "rate": NM},
    "faded": {"age": 3600.0, "fade_time": 7200.0, "used": 0.1},
    "film_moles": {"thickness": 60 * NM, "area": 7.85e-3, "density": 4500.0, "molar_mass": 0.0479},
    "reagent_used": {"amount": 1e-4, "per_unit": 3.0, "concentration": 2800.0, "volume": 1e-3},
    "regrown_after": {"thickness": 0.5 * NM, "final": 1.5 * NM, "growth_time": 1.7e5},
    "fresnel_slit": {"position": 0.0, "width": UM, "gap": UM, "wavelength": 0.365 * UM},
    "impedance_ratio": {"quartz_density": 2648.0, "quartz_shear": 29.47e9, "film_density": 7190.0, "film_shear": 115.3e9},
    "impingement_rate": {"pressure": 1e-4, "molar_mass": 0.018, "temperature": 298.0},
    "loss_below": {"thickness": 100 * NM, "rate": NM, "rate_below": 0.1 * NM, "over_etch": 0.2},
    "loss_below_worst": {
        "thickness": 100 * NM, "rate": NM, "rate_below": 0.1 * NM, "total_time": 120.0, "film_nonuniformity": 0.05,
        "rate_nonuniformity": 0.05,
    },
    "mean_free_path": {"pressure": 0.6, "diameter": 0.364 * NM, "temperature": 300.0},
    "meyerhofer_thickness": {"solids": 0.25, "rotation": 314.0, "viscosity": 2e-5, "evaporation": 5e-7},
    "monitor_reading": {"thickness": 60 * NM, "tooling": 1.2, "tooling_std": 0.05},
    "oxidation_time": {
        "thickness": 300 * NM, "temperature": 1273.0, "parabolic": STEAM_PARABOLIC, "rate": STEAM_LINEAR, "start": 0.0,
    },
    "oxide_thickness": {
        "time": 3600.0, "temperature": 1273.0, "parabolic": STEAM_PARABOLIC, "rate": STEAM_LINEAR, "start": 0.0,
    },
    "pressure_share": {"pressure": 2e5, "exponent": 0.75},
    "point_source_profile": {"offset": 0.05, "throw": 0.4},
    "residual_gas_ratio": {"gas_flux": 4.8e18, "rate": 0.1 * NM, "density": 4500.0, "molar_mass": 0.04787},
    "resist_left": {"resist": 1.3 * UM, "resist_rate": 3 * NM, "time": 100.0},
    "sauerbrey_sensitivity": {"frequency": 5e6, "density": 2648.0, "shear_modulus": 2.947e10},
    "sauerbrey_thickness": {
        "bare": 6e6, "loaded": 5.99e6, "film_density": 7200.0, "frequency_constant": 1661.0, "quartz_density": 2649.0,
    },
    "selectivity": {"rate": 190.0, "rate_other": 29.0},
    "selectivity_needed": {"thickness": 100 * NM, "over_etch": 0.2, "allowed_loss": 2 * NM},
    "sheet_resistance": {"resistivity": 1.29e-7, "thickness": 100 * NM},
    "shadow_print_width": {"wavelength": 0.4047 * UM, "gap": UM, "resist": UM},
    "silicon_consumed": {"oxide": 300 * NM, "silicon_volume": 1.206e-5, "oxide_volume": 2.731e-5},
    "small_area_profile": {"offset": 0.05, "throw": 0.4},
    "source_temperature": {"pressure": 1e-6, "coefficients": (5.832, -18024.0, 0.0, 0.0)},
    "spin_speed": {"thickness": 1.3 * UM, "reference_thickness": 1.3 * UM, "reference_speed": 4000 * RPM, "exponent": 0.5},
    "spin_speed_spread": {"speed": 4000 * RPM, "exponent": 0.5, "thickness_relative_std": 0.01},
    "spin_thickness": {"speed": 4000 * RPM, "reference_thickness": UM, "reference_speed": 4000 * RPM, "exponent": 0.5},
    "sputter_rate_factor": {"atoms_per_ion": 1.18, "molar_mass": 0.052, "density": 7190.0},
    "stoney_radius": {"stress": 1e9, "film": 100 * NM, "substrate": 525 * UM, "biaxial_modulus": 180.5e9},
    "stoney_stress": {"radius": 83.0, "film": 100 * NM, "substrate": 525 * UM, "biaxial_modulus": 180.5e9},
    "thermal_mismatch_stress": {
        "modulus": 279e9, "poisson": 0.21, "film_expansion": 4.9e-6, "wafer_expansion": 2.6e-6, "hot": 573.0, "cold": 298.0,
    },
    "thickness_in_time": {"time": 600.0, "rate": 0.1 * NM, "rate_std": 0.004 * NM},
    "time_for_thickness": {"thickness": 60 * NM, "rate": 0.1 * NM, "rate_std": 0.004 * NM},
    "tooling_from_step": {"tooling": 1.0, "measured": 66 * NM, "reading": 60 * NM},
    "undercut_foot": {"thickness": 100 * NM, "over_etch": 0.25, "isotropy": 1.0},
    "undercut_top": {"thickness": 100 * NM, "over_etch": 0.25, "isotropy": 1.0},
    "vapour_pressure": {"temperature": 1500.0, "coefficients": (5.832, -18024.0, 0.0, 0.0)},
    "z_match_thickness": {
        "bare": 6e6, "loaded": 5.99e6, "film_density": 7200.0, "impedance_ratio": 0.305, "frequency_constant": 1661.0,
        "quartz_density": 2649.0,
    },
    "condensing_heat": {"rate": 0.2 * NM, "density": 19300.0, "molar_mass": 0.197, "enthalpy": 3.4e5},
    "evaporation_enthalpy": {"temperature": 1600.0, "coefficients": (5.832, -18024.0, 0.0, 0.0)},
    "heated_wafer": {"heat": 100.0, "time": 600.0, "capacity": 870.0, "emissivity": 0.5, "start": 293.0},
    "source_glow": {"temperature": 1700.0, "emissivity": 0.3, "radius": 8e-3, "share": 1.5},
    "dark_loss": {"rate": 0.2 * NM, "time": 60.0},
    "edge_shift": {"dose_change": 0.1, "wavelength": 0.365 * UM, "gap": UM, "resist": 1.3 * UM},
    "equivalent_time": {"time": 3600.0, "temperature": 573.0, "reference": 523.0, "energy": 0.8 * EV},
    "evaporated_mass": {"thickness": 60 * NM, "density": 4500.0, "share": 1.5},
    "evaporated_mass_flux": {"pressure": 1.0, "molar_mass": 0.048, "temperature": 2000.0},
    "extinction_of_absorption": {"absorption": 0.5 / UM, "wavelength": 0.436 * UM},
    "film_of_cycles": {"cycles": 400.0, "growth": 0.1 * NM, "delay": 5.0},
    "four_point_factor": {"spacing": 1e-3, "diameter": 0.1},
    "gas_used": {"flow": 3.4e-7, "time": 600.0},
    "growth_of_short_pulse": {"exposure": 1.0, "scale": 0.5, "saturated": 0.1 * NM},
    "ion_current_density": {"power": 200.0, "area": 4.6e-3, "voltage": 400.0, "electron_yield": 0.1},
    "keller_simmons_share": {"throw": 0.1, "length": 0.2},
    "loading_factor": {"coefficient": 2.0, "open_share": 0.3},
    "mack_rate": {"remaining": 0.3, "most": 100 * NM, "least": 0.1 * NM, "exponent": 5.0, "threshold": 0.2},
    "massoud_time": {
        "thickness": 30 * NM, "linear": 0.165 * UM, "parabolic": 3.25e-18, "extra": 3e-12, "decay": 7 * NM, "start": 2 * NM,
    },
    "planetary_share": {"radius": 0.03, "throw": 0.4, "orbit": 0.15, "inclination": 0.5, "source_offset": 0.05},
    "diffusivity": {"prefactor": 7.6e-5, "energy": 3.46 * EV, "temperature": 1273.0},
    "equivalent_ramp": {"cold": 300.0, "hot": 573.0, "pace": 0.1, "energy": EV},
    "pumped_purge_time": {"volume": 1e-3, "speed": 1.5e-3, "factor": 1e4},
    "purge_time": {"volume": 0.02, "pressure": 100.0, "flow": 1.7e-5, "factor": 1000.0},
    "ring_share": {"offset": 0.03, "throw": 0.4, "ring": 0.1},
    "saturating_exposure": {"sites": 5e18, "molar_mass": 0.072, "temperature": 473.0, "aspect": 2.0},
    "scattered_share": {"throw": 0.4, "path": 10.0},
    "shutter_error": {"time": 300.0, "travel": 0.5},
    "strip_factor": {"spacing": 1e-3, "width": 0.01},
    "target_rate": {"current_density": 100.0, "atoms_per_ion": 1.0, "molar_mass": 0.048, "density": 4500.0},
    "thermalised_share": {"throw": 0.1, "path": 0.01, "collisions": 5.0},
    "adhesion_work": {"tension": 0.0728, "angle": 1.2},
    "charging_current": {"capacitance": 1e-12, "step": 0.1, "delay": 0.1},
    "cross_arm_error": {"arm": 20 * UM, "width": 10 * UM},
    "film_curvature": {"force": 50.0, "biaxial_modulus": 180.5e9, "wafer": 525 * UM},
    "line_resistance": {"sheet": 12.0, "squares": 40.0},
    "readings_needed": {"std": 0.02, "half_width": 0.03, "confidence": 0.95},
    "run_out": {"plate": 0.5e-6, "wafer": 2.6e-6, "apart": 1.0, "radius": 0.05},
    "standing_gap": {"bead": 3 * UM, "film": 1.3 * UM, "bow": 10 * UM, "left": 0.1, "dust": UM},
    "thick_film_factor": {"spacing": 1e-3, "thickness": 0.5e-3},
    "turn_at_rim": {"error": 0.5 * UM, "distance": 0.08, "radius": 0.05},
    "undercut_of_layer": {"rate": 10 * NM, "energy": EV, "bake": 443.0, "usual": 433.0, "time": 60.0, "clear": 30.0},
    "van_der_pauw_reading": {"sheet": 12.0},
    "weakest_voltage": {"typical": 20.0, "shape": 10.0, "devices": 48.0},
    "thermalising_collisions": {"energy": 5 * EV, "molar_mass": 0.048, "gas_molar_mass": 0.04, "temperature": 300.0},
}  # fmt: skip
"""An ordinary call of each law whose arguments are single numbers."""
ANY_SIGN = {
    "stress",
    "e1",
    "e2",
    "e3",
    "position",
    "film_expansion",
    "wafer_expansion",
    "radius",
    "offset",
    "poisson",
    "dose_change",
    "threshold",
    "apart",
    "force",
}
"""Arguments whose sign has a meaning: compressive or tensile, left or right of the middle, a polynomial."""
FLAT = "radius"
"""A flat wafer has an infinite one."""
NUMBERS = [
    (law, name) for law, usual in USUAL.items() for name, value in usual.items() if isinstance(value, float)
]


@pytest.mark.property
def test_every_law_of_single_numbers_stands_in_the_table():
    functions = {name: getattr(process, name) for name in process.__all__}
    single = {
        name
        for name, law in functions.items()
        if inspect.isfunction(law)
        and {p.annotation for p in inspect.signature(law).parameters.values()} == {"float"}
        and not str(inspect.signature(law).return_annotation).startswith("tuple[tuple")
    }
    assert single - set(USUAL) == set()


@pytest.mark.property
@pytest.mark.parametrize("law", USUAL)
def test_an_ordinary_call_gives_a_finite_number(law: str):
    result = getattr(process, law)(**USUAL[law])
    first = result[0] if isinstance(result, tuple) else result
    number = getattr(first, "value", getattr(first, "total", first))
    assert math.isfinite(float(number[-1] if getattr(number, "shape", ()) else number))


@pytest.mark.property
@pytest.mark.parametrize(("law", "name"), NUMBERS)
def test_a_number_that_is_none_is_refused(law: str, name: str):
    for nonsense in (math.nan,) if name == FLAT else (math.nan, math.inf):
        with pytest.raises(ValueError, match=r"must|no temperature"):
            getattr(process, law)(**{**USUAL[law], name: nonsense})


@pytest.mark.property
@pytest.mark.parametrize(("law", "name"), [pair for pair in NUMBERS if pair[1] not in ANY_SIGN])
def test_a_negative_number_is_refused(law: str, name: str):
    with pytest.raises(ValueError, match="must"):
        getattr(process, law)(**{**USUAL[law], name: -1.0})


@pytest.mark.property
@pytest.mark.parametrize("law", ["range_over_sum", "range_over_twice_mean", "relative_deviation"])
@pytest.mark.parametrize("values", [[], [1.0], [0.0, 0.0], [-1.0, -2.0], [1.0, math.nan]])
def test_a_spread_needs_two_places_and_a_mean(law: str, values: list[float]):
    with pytest.raises(ValueError, match=r"must|two|mean"):
        getattr(process, law)(values)


@pytest.mark.property
@pytest.mark.parametrize("errors", [[-1.0], [math.nan], [1e-6, math.inf]])
def test_an_overlay_is_of_real_errors(errors: list[float]):
    with pytest.raises(ValueError, match="must"):
        process.overlay(errors)
