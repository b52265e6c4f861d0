"""Nothing that the bundled plans put on a wafer meets a bath, plasma, developer or rinse that the book is silent about."""

from pathlib import Path

import pytest
from ruamel.yaml import YAML

import filmwright
from filmwright.knowledge import book

BOOK = book()
PLANS = sorted((Path(filmwright.__file__).parent / "desk" / "examples").glob("*/plan.yaml"))


def meetings(plan: dict[str, object]) -> list[tuple[str, str]]:
    """Each medium of a plan with each material that lies on the wafer then."""
    wafer = plan["wafer"]
    there = [wafer["body"], *(film["material"] for film in wafer["films"])]
    resist: list[str] = []
    met: list[tuple[str, str]] = []
    for step in plan["steps"]:
        media = [step[word] for word in ("in", "with", "clean") if word in step]
        if "deposit" in step:
            there.append(step["deposit"])
        if "pattern" in step:
            coat = BOOK.resist(step["resist"])
            resist = [coat.material]
            media = [coat.developer]
        wet = [medium for medium in media if BOOK.medium(medium).kind != "plasma"]
        met += [
            (medium, material)
            for medium in [*media, *(["water rinse"] * bool(wet))]
            for material in there + resist
        ]
        if "strip" in step or "lift off" in step:
            resist = []
    return met  # fmt: skip


@pytest.mark.property
@pytest.mark.parametrize("file", PLANS, ids=lambda file: file.parent.name)
def test_every_meeting_in_a_bundled_plan_is_known(file: Path):
    met = meetings(YAML(typ="safe").load(file.read_text(encoding="utf-8")))
    assert len(met) > 60
    for medium, material in met:
        bath, film = BOOK.medium(medium), BOOK.material(material).name
        assert film in bath.dissolves or bath.rate(film).verdict != "unknown", (medium, material)


@pytest.mark.property
@pytest.mark.parametrize("file", PLANS, ids=lambda file: file.parent.name)
def test_every_film_of_a_bundled_plan_has_what_review_and_prediction_ask_for(file: Path):
    plan = YAML(typ="safe").load(file.read_text(encoding="utf-8"))
    films = {step["deposit"] for step in plan["steps"] if "deposit" in step}
    assert films
    for name in films:
        film = BOOK.material(name)
        needed = {
            "density",
            "stress",
            "modulus",
            "expansion",
            "temperature limit in air",
            "temperature limit in vacuum",
        }
        needed |= {
            "conductor": {"resistivity", "work function", "acoustic impedance ratio"},
            "insulator": {"permittivity", "breakdown field", "refractive index"},
            "semiconductor": {
                "permittivity",
                "electron affinity",
                "band gap",
                "mobility",
                "refractive index",
            },
        }[film.kind]
        assert needed <= set(film.values), (name, needed - set(film.values))
    for step in plan["steps"]:
        if "deposit" in step:
            method = BOOK.method(step["method"])
            assert BOOK.hazard(method.hazard).cautions
            assert method.settings, method.name
