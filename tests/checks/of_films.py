"""Check values of laying films down: quartz monitor, evaporation, sputtering, spin coating, exposure, oxidation."""

from __future__ import annotations

import math

import numpy as np
from comparing import LEFT, Against, Entry, ours

from filmwright.knowledge import book
from filmwright.process import (
    ARGON_NUMBER,
    YamamuraFit,
    YieldFit,
    charge_needed,
    deal_grove_thickness,
    deal_grove_time,
    dill_bleaching,
    dill_development_rate,
    eckstein_yield,
    emslie_thickness,
    fresnel_slit,
    impingement_rate,
    mean_free_path,
    meyerhofer_thickness,
    point_source_profile,
    sauerbrey_sensitivity,
    shadow_print_width,
    silicon_consumed,
    small_area_profile,
    source_temperature,
    spin_thickness,
    sputter_rate_factor,
    vapour_pressure,
    yamamura_yield,
    z_match_thickness,
)
from filmwright.units import BOLTZMANN, convert, to_si

BOOK = book()
NM, UM, HOUR, EV = to_si(1, "nm"), to_si(1, "um"), to_si(1, "h"), to_si(1, "eV")
ATMOSPHERE = to_si(760, "torr")
METAL = {"Cr": "chromium", "Mo": "molybdenum", "Al": "aluminium", "Au": "gold", "Ti": "titanium", "Si": "silicon", "W": "tungsten",
         "Ni": "nickel", "Ag": "silver", "Zn": "zinc", "Ta": "tantalum"}  # fmt: skip


def number(found: object) -> float:
    """The number of a result that carries its limits of validity."""
    return float(getattr(found, "value", found))


@ours("T02-001")
def sauerbrey(entry: Entry) -> float:
    i = entry["inputs"]
    found = sauerbrey_sensitivity(i["f0_MHz"] * 1e6, i["rho_q"] * 1e3, i["mu_q_dyn_cm2"] * 0.1)
    return found * 1e-5  # Hz per kg/m² to Hz per µg/cm²


@ours("T02-004")
def lu_and_lewis(entry: Entry) -> bool:
    bare, loaded, density, ratio, constant, quartz = 6e6, 5.7e6, 8000.0, 0.4, 1661.0, 2649.0
    angle = ratio * math.tan(math.pi * (bare - loaded) / bare)
    written = constant * quartz / (math.pi * density * loaded * ratio) * math.atan(angle)
    return math.isclose(
        number(z_match_thickness(bare, loaded, density, ratio, constant, quartz)), written, rel_tol=1e-9
    )


@ours("T02-005", *(f"T02-{n:03d}" for n in range(7, 17)))
def z_match(entry: Entry) -> float:
    i = entry["inputs"]
    found = z_match_thickness(
        i["f_q_Hz"], i["f_c_Hz"], i["rho_f"] * 1e3, i["Z"], i["N_q"] * 1e-2, i["rho_q"] * 1e3
    )
    return number(found) / NM


@ours("T03-003")
def liquid_gold(entry: Entry) -> list[float]:
    return list(BOOK.material("gold").vapour["liquid"].coefficients)


def _celsius(entry: Entry, coefficients: tuple[float, ...]) -> list[float]:
    pressures = [to_si(each, "torr") / ATMOSPHERE for each in entry["inputs"]["p_torr"]]
    return [convert(source_temperature(each, coefficients), "°C") for each in pressures]


@ours("T03-008")
def source_of_gold(entry: Entry) -> list[float]:
    return _celsius(entry, BOOK.material("gold").vapour["liquid"].coefficients)


@ours("T03-010")
def source_of_zinc(entry: Entry) -> list[float]:
    return _celsius(entry, BOOK.material("zinc").vapour["solid"].coefficients)


@ours("T03-011")
def form_in_pascal(entry: Entry) -> Against:
    kelvins = (1000.0, 1300.0, 1500.0)
    found = [vapour_pressure(t, (13.048 - 5.006, -17020.0, -0.4440, 0.0)) * ATMOSPHERE for t in kelvins]
    printed = [10 ** (13.048 - 17020 / t - 0.4440 * math.log10(t)) for t in kelvins]
    return Against(ours=found, theirs=printed, rel=1e-3)


@ours("T03-013")
def point_source(entry: Entry) -> list[float]:
    return [point_source_profile(each, 1.0) for each in entry["inputs"]["l_over_h"]]


@ours("T03-014")
def edge_loss(entry: Entry) -> list[float]:
    i = entry["inputs"]
    return [
        100 * (1 - law(i["radius_mm"], i["throw_mm"])) for law in (small_area_profile, point_source_profile)
    ]


@ours("T03-015")
def charge(entry: Entry) -> list[float]:
    i = entry["inputs"]
    arguments = (i["t_nm"] * NM, i["h_cm"] * 1e-2, i["rho"] * 1e3)
    return [charge_needed(*arguments) * 1e3, charge_needed(*arguments, flat_source=False) * 1e3]


@ours("T03-017")
def free_path(entry: Entry) -> float:
    i = entry["inputs"]
    return mean_free_path(to_si(i["p_mtorr"], "mtorr"), i["d_nm"] * NM, i["T_K"]) * 100


def _flux(molar: float, kelvin: float, torr: float) -> float:
    return convert(impingement_rate(to_si(torr, "torr"), molar * 1e-3, kelvin), "1/(cm^2*s)")


@ours("T03-018")
def constant_of_impingement(entry: Entry) -> Against:
    return Against(ours=_flux(40.0, 300.0, 1.0) * math.sqrt(40.0 * 300.0), theirs=3.513e22, rel=1e-3)


@ours("T03-019", "T03-020")
def impingement(entry: Entry) -> float:
    i = entry["inputs"]
    return _flux(i["M"], i["T_K"], i.get("p_torr", 1e-6))


@ours("T04-002", "T04-003", "T04-004")
def eckstein_table(entry: Entry) -> list[float]:
    c = entry["inputs"]["coeffs"]
    fit = YieldFit(lam=c["lam"], q=c["q"], mu=c["mu"], reduced=c["epsL"] / EV, threshold=c["Eth"] * EV)
    on_file = BOOK.material(METAL[entry["quantity"][7:9].strip()]).sputtering["Eckstein 2007"].coefficients
    assert math.isclose(on_file["q"], c["q"])
    return [eckstein_yield(each * EV, fit) for each in entry["inputs"]["E_eV"]]


@ours("T04-007", "T04-008")
def eckstein_between_rows(entry: Entry) -> list[float]:
    c = BOOK.material(METAL[entry["quantity"][7:9].strip()]).sputtering["Eckstein 2007"].coefficients
    fit = YieldFit(lam=c["lambda"], q=c["q"], mu=c["mu"], reduced=c["reduced"], threshold=c["threshold"])
    return [eckstein_yield(each * EV, fit) for each in entry["inputs"]["E_eV"]]


@ours(*(f"T04-{n:03d}" for n in (12, 13, 14, 15, 16, 17, 19, 20, 21)))
def measured_yields(entry: Entry) -> list[float]:
    """The yield at 500 eV on file, carried to 600 eV by the law of Yamamura."""
    material = BOOK.material(METAL[entry["quantity"][7:9].strip()])
    known = material.sputtering["Yamamura 1996"]
    c, argon = known.coefficients, BOOK.models["argon"]["molar mass"].value
    fit = YamamuraFit(
        binding=c["binding energy"], q=c["Q"], w=c["W"], s=c["s"], number=c["Z"], molar_mass=c["M"],
        ion_number=ARGON_NUMBER, ion_molar_mass=argon, low=known.low, high=known.high,
    )  # fmt: skip
    at_500 = material.values["sputter yield"].value
    rise = number(yamamura_yield(600 * EV, fit)) / number(yamamura_yield(500 * EV, fit))
    return [at_500, at_500 * rise]


@ours("T04-025")
def rates_at_equal_current(entry: Entry) -> bool:
    names, factors = ("chromium", "molybdenum"), []
    for name in names:
        values = BOOK.material(name).values
        factors.append(
            sputter_rate_factor(
                values["sputter yield"].value, values["molar mass"].value, values["density"].value
            )
        )
    one, other = (BOOK.material(name).values for name in names)
    written = (
        1.18
        / 0.8
        * (one["molar mass"].value / other["molar mass"].value)
        * (other["density"].value / one["density"].value)
    )
    return math.isclose(factors[0] / factors[1], written, rel_tol=1e-9)


@ours("T05-001")
def square_root_of_speed(entry: Entry) -> list[float]:
    i = entry["inputs"]
    return [
        spin_thickness(to / 60, 1.0, start / 60, 0.5)
        for start, to in zip(i["from_rpm"], i["to_rpm"], strict=True)
    ]


@ours("T05-002")
def meyerhofer(entry: Entry) -> float:
    i = entry["inputs"]
    return meyerhofer_thickness(i["c0"], 2 * math.pi * i["rpm"] / 60, i["nu_m2_s"], i["e_m_s"]) / UM


@ours("T05-003")
def emslie(entry: Entry) -> list[float]:
    i = entry["inputs"]
    rotation = 2 * math.pi * i["rpm"] / 60
    return [emslie_thickness(i["h0_um"] * UM, rotation, i["nu_m2_s"], each) / UM for each in i["t_s"]]


@ours("T06-001")
def mercury_lines(entry: Entry) -> list[float]:
    return [convert(BOOK.models["mercury lamp"][f"{line} line"].value, "nm") for line in entry["value"]]


@ours("T06-003", "T06-004")
def shadow_printing(entry: Entry) -> list[float]:
    i = entry["inputs"]
    return [
        shadow_print_width(i["lambda_um"] * UM, gap * UM, i["resist_um"] * UM) / UM for gap in i["gap_um"]
    ]


@ours("T06-007")
def slit(entry: Entry) -> list[list[float]]:
    i = entry["inputs"]
    return [
        list(fresnel_slit(np.array([0.0, width / 2 * UM]), width * UM, gap * UM, i["lambda_um"] * UM))
        for width, gap in i["cases(w,g)"]
    ]


@ours("T06-008")
def three_parameters_and_a_rate(entry: Entry) -> bool:
    values = BOOK.resist("positive 1.3 µm").values
    return all(f"Dill {each} at 365 nm" in values for each in "ABC") and "Dill E1" in values


@ours("T06-009", "T06-010", "T06-011")
def dill_constants(entry: Entry) -> list[float]:
    values, line = BOOK.resist("positive 1.3 µm").values, round(entry["inputs"]["lambda_nm"])
    units = {"A": "1/um", "B": "1/um", "C": "cm^2/mJ"}
    return [convert(values[f"Dill {each} at {line} nm"].value, unit) for each, unit in units.items()]


@ours("T06-012", "T06-013", "T06-014")
def bleaching(entry: Entry) -> Against:
    i = entry["inputs"]
    a, b, c = i["ABC"]
    depth, per = i["d_um"] * UM, to_si(1, "mJ/cm^2")
    left = [dill_bleaching(dose * per, depth, a / UM, b / UM, c / per) for dose in i["E_mJ_cm2"]]
    through = [math.exp(-(a + b) * i["d_um"]), math.exp(-b * i["d_um"])]  # Beer's law, before and after
    found = [*(each[0] for each in left), *(each[-1] for each in left), *through]
    return Against(ours=found, theirs=entry["value"], rel=2e-4)


@ours("T06-015")
def first_rate_of_development(entry: Entry) -> Against:
    """Ours stays at its maximum where the polynomial falls again below a remaining part of 0.295."""
    i, unit = entry["inputs"], to_si(1, "um/min")
    found = [dill_development_rate(m, i["E1"], i["E2"], i["E3"], 0.006 * unit) / unit for m in i["M"]]
    assert math.isclose(found[0], found[1], rel_tol=1e-5)
    return Against(ours=found[1:], theirs=entry["value"][1:], rel=1e-3)


@ours("T07-002", "T07-003", "T07-004", "T07-005", "T07-006", "T07-007", "T07-009")
def deal_and_grove(entry: Entry) -> float:
    i = entry["inputs"]
    a, b = i["A_um"], i["B_um2_h"]
    tau = i.get("tau_h", i.get("tau", 0))
    start = (-a + math.sqrt(a * a + 4 * b * tau)) / 2 * UM
    return number(deal_grove_thickness(i["t_h"] * HOUR, a * UM, b * UM * UM / HOUR, start)) / UM


def _constants(oxidation: str, celsius: float) -> tuple[float, float]:
    """A [m] and B [m²/s] of the Arrhenius laws on file."""
    facts, thermal = BOOK.models[oxidation], BOLTZMANN * to_si(celsius, "°C")
    parabolic = facts["parabolic prefactor"].value * math.exp(-facts["parabolic energy"].value / thermal)
    linear = facts["linear prefactor"].value * math.exp(-facts["linear energy"].value / thermal)
    return parabolic / linear, parabolic


@ours("T07-010", "T07-011", "T07-012")
def dry_oxide(entry: Entry) -> float:
    i = entry["inputs"]
    found = deal_grove_thickness(
        i["t_h"] * HOUR, *_constants("dry oxidation (100)", i["T_C"]), i["x_i_nm"] * NM
    )
    return number(found) / UM


@ours("T07-013", "T07-015")
def steam_oxide(entry: Entry) -> float:
    i = entry["inputs"]
    return number(deal_grove_thickness(i["t_h"] * HOUR, *_constants("wet oxidation (100)", i["T_C"]))) / UM


@ours("T07-016")
def time_in_steam(entry: Entry) -> float:
    return number(deal_grove_time(300 * NM, *_constants("wet oxidation (100)", 1000))) / HOUR


@ours("T07-017")
def time_in_hot_steam(entry: Entry) -> float:
    return number(deal_grove_time(500 * NM, *_constants("wet oxidation (100)", 1100))) / HOUR


@ours("T07-018")
def silicon_used_up(entry: Entry) -> float:
    body, film = (BOOK.material(name).values for name in ("silicon", "silicon dioxide"))
    return silicon_consumed(
        1.0,
        body["molar mass"].value / body["density"].value,
        film["molar mass"].value / film["density"].value,
    )


LEFT |= {
    "T04-010": "rhodium is no material on file",
    "T04-022": "a range over all targets; each law has the threshold of its own target",
    "T04-024": "silicon carbide is no material on file; yields of compounds are left to calibration",
}
