"""Check values of light: optical constants, reflectance, ellipsometry, colours."""

from __future__ import annotations

import numpy as np
from comparing import ELSEWHERE, LEFT, Against, Entry, ours

from filmwright.knowledge import book, optical
from filmwright.process import Stacks, psi_delta, reflectances, stacks
from filmwright.units import to_si

NM, RED, STEEP = to_si(1, "nm"), to_si(632.8, "nm"), to_si(70, "deg")
SETS = {
    "T08-004": ("stoichiometric silicon nitride", "main/Si3N4/Philipp"), "T08-006": ("stoichiometric silicon nitride", "main/Si3N4/Luke"),
    "T08-010": ("silicon", "main/Si/Green-2008"), "T08-013": ("chromium", "main/Cr/Johnson"), "T08-014": ("molybdenum", "main/Mo/Kirillova"),
    "T08-015": ("molybdenum", "main/Mo/Querry"),
}  # fmt: skip


def constants(material: str, data: str, nanometres: list[float]) -> list[complex]:
    """n − i·k of a data set."""
    found = optical(material, data)
    return [complex(found.index(each * NM)) for each in nanometres]


@ours("T08-004", "T08-006")
def index_of_nitride(entry: Entry) -> list[float]:
    return [each.real for each in constants(*SETS[entry["id"]], entry["inputs"]["lambda_nm"])]


@ours("T08-010", "T08-013", "T08-014", "T08-015")
def index_and_extinction(entry: Entry) -> list[list[float]]:
    return [[each.real, -each.imag] for each in constants(*SETS[entry["id"]], entry["inputs"]["lambda_nm"])]


@ours("T08-003")
def sellmeier_of_nitride(entry: Entry) -> Against:
    strength, at = entry["value"]
    waves = np.array([0.4, 0.5, 0.6328, 0.7])
    printed = np.sqrt(1 + strength * waves**2 / (waves**2 - at**2))
    found = [each.real for each in constants(*SETS["T08-004"], list(waves * 1e3))]
    return Against(ours=found, theirs=printed, abs=2e-5)


@ours("T08-007")
def nitride_of_real_films(entry: Entry) -> Against:
    found = [
        constants("silicon nitride", name, [633])[0].real
        for name in ("main/Si3N4/Beliaev", "main/Si3N4/Vogt-1.91")
    ]
    return Against(ours=found, theirs=entry["value"], abs=0.002)


@ours("T08-008")
def dispersion_of_zinc_oxide(entry: Entry) -> Against:
    a, b, c, d = entry["value"]["o"]
    waves = np.array([0.45, 0.5, 0.6328, 0.7])
    printed = np.sqrt(a + b * waves**2 / (waves**2 - c**2) - d * waves**2)
    return Against(
        ours=[each.real for each in constants("zinc oxide", "main/ZnO/Bond-o", list(waves * 1e3))],
        theirs=printed,
        abs=2e-5,
    )


@ours("T08-009")
def ordinary_index_of_zinc_oxide(entry: Entry) -> Against:
    """The extraordinary ray is no data set of ours: a film is taken for isotropic."""
    found = constants("zinc oxide", "main/ZnO/Bond-o", entry["inputs"]["lambda_nm"])
    return Against(ours=[each.real for each in found], theirs=[each[0] for each in entry["value"]], abs=2e-5)


def pile(films: list[tuple[complex, float]], body: complex) -> Stacks:
    """One column of films from the top, index and thickness [nm], on a body."""
    names = {f"film {j}": index for j, (index, _) in enumerate(films)} | {"body": body}
    column = [*((f"film {j}", d * NM) for j, (_, d) in enumerate(films)), ("body", 0.0)]
    return stacks([RED], [column], names)


def reflected(films: list[tuple[complex, float]], body: complex) -> float:
    """Share that comes back at normal incidence."""
    return float(np.ravel(reflectances(pile(films, body)))[0])


@ours("T08-017")
def bare_bodies(entry: Entry) -> list[float]:
    return [reflected([], complex(n, -k)) for n, k in entry["inputs"]["nk"]]


SILICON, OXIDE, NITRIDE = 3.874 - 0.01616j, 1.457, 2.0105


@ours("T08-018")
def oxide_on_silicon(entry: Entry) -> list[float]:
    return [reflected([(OXIDE, d)] if d else [], SILICON) for d in entry["inputs"]["d_nm"]]


@ours("T08-019")
def nitride_on_silicon(entry: Entry) -> list[float]:
    return [reflected([(NITRIDE, d)] if d else [], SILICON) for d in entry["inputs"]["d_nm"]]


def _angles(index: complex, thicknesses: list[float]) -> list[list[float]]:
    found = []
    for d in thicknesses:
        psi, delta = psi_delta(pile([(index, d)] if d else [], 3.874 - 0.0162j), STEEP)
        found.append([float(np.rad2deg(np.ravel(psi)[0])), float(np.rad2deg(np.ravel(delta)[0])) % 360])
    return found


@ours("T08-021")
def ellipsometry_of_oxide(entry: Entry) -> list[list[float]]:
    return _angles(1.457, entry["inputs"]["d_nm"])


@ours("T08-022")
def ellipsometry_of_nitride(entry: Entry) -> list[list[float]]:
    return _angles(2.0, entry["inputs"]["d_nm"])


def _absorption(material: str, data: str, nanometres: list[float]) -> list[float]:
    """4πk/λ [1/µm]."""
    found = constants(material, data, nanometres)
    return [4 * np.pi * -n.imag / (each * 1e-3) for n, each in zip(found, nanometres, strict=True)]


@ours("T08-024")
def absorption_of_metals(entry: Entry) -> list[list[float]]:
    return [_absorption(*SETS[each], entry["inputs"]["lambda_nm"]) for each in ("T08-013", "T08-014")]


@ours("T08-025")
def depth_in_silicon(entry: Entry) -> list[float]:
    return [1 / each for each in _absorption(*SETS["T08-010"], entry["inputs"]["lambda_nm"])]


@ours("T07-021")
def nitride_of_the_same_colour(entry: Entry) -> Against:
    oxide, nitride = (
        book().material(name).values["refractive index"].value
        for name in ("silicon dioxide", "stoichiometric silicon nitride")
    )
    return Against(ours=oxide / nitride, theirs=0.73, rel=0.03)


ELSEWHERE["T07-022"] = (
    "tests/process/test_colour.py",
    "test_colours_of_oxide_as_general_purpose_libraries_compute_them",
)
LEFT |= {
    "T07-019": "names of colours by one observer under a fluorescent lamp; ours are computed, and held against T07-022",
    "T07-020": "as T07-019, for nitride",
    "T08-016": "a data set of molybdenum that is not among ours",
}
