"""Every public law of process and device says what it takes, in which unit, where it stops and where it was read."""

import inspect
import re
from types import ModuleType

import pytest

from filmwright import device, process


def laws(room: ModuleType) -> list[object]:
    found = [getattr(room, name) for name in room.__all__]
    return [each for each in found if inspect.isfunction(each) and each is not process.check_range]


PROCESS = [*laws(process), *laws(process.baking), *laws(process.latent)]
LAWS = [*PROCESS, *laws(device)]
UNITLESS = {
    "a share, a ratio or an exponent": {
        "atoms_per_ion", "attenuation", "body_factor", "confidence", "e1", "e2", "e3", "exponent", "film_nonuniformity",
        "geometry", "high_frequency_permittivity", "ideality", "impedance_ratio", "isotropy", "over_etch", "more", "permittivities", "permittivity", "poisson",
        "rate_nonuniformity", "rate_relative_std", "remaining", "solids", "thickness_relative_std", "tooling", "tooling_std",
        "tunnelling_mass",
    },
    "a count": {"columns", "delay", "steps"},
    "which of several": {"place", "wanted"},
    "a record, a law or a switch": {"channel", "coefficients", "design", "film", "fit", "flat_source", "outline", "parameters",
        "section", "states", "table", "tell", "transistor",
    },
    "relative to an atmosphere, or whatever it is given in": {"pressure", "values"},
}  # fmt: skip
"""Parameters without a bracketed unit, and why."""


def described(law: object) -> dict[str, str]:
    """What the docstring says of each parameter."""
    text = inspect.getdoc(law) or ""
    section = re.search(r"\nParameters\n-+\n(.*?)(?=\n\n[A-Z]\w+\n-+\n|\Z)", text, flags=re.DOTALL)
    said: dict[str, str] = {}
    names: list[str] = []
    for line in (section[1] if section else "").splitlines():
        head = re.match(r"^(\w+(?:, \w+)*) : (.*)", line)
        if head:
            names = head[1].split(", ")
            said |= dict.fromkeys(names, head[2])
        else:
            said |= {name: f"{said[name]} {line.strip()}" for name in names}
    return said


@pytest.mark.property
@pytest.mark.parametrize("law", LAWS, ids=lambda law: f"{law.__module__.split('.')[1]}.{law.__name__}")
def test_a_law_describes_each_parameter_with_its_unit(law):
    said = described(law)
    plain = set().union(*UNITLESS.values())
    for name in inspect.signature(law).parameters:
        assert name in said, name
        assert name in plain or re.search(r"\[[^\]]+\]", said[name]), f"{name} has no unit: {said[name]}"


@pytest.mark.property
@pytest.mark.parametrize("law", LAWS, ids=lambda law: f"{law.__module__.split('.')[1]}.{law.__name__}")
def test_a_law_says_what_it_raises_returns_and_where_it_was_read(law):
    text = inspect.getdoc(law)
    assert "\nReturns\n-------\n" in text
    assert "Source: " in text or "\nReferences\n----------\n" in text, (
        "the reference, or definition, must be named"
    )
    assert "\nRaises\n------\nValueError\n" in text


@pytest.mark.property
@pytest.mark.parametrize("law", PROCESS, ids=lambda law: law.__name__)
def test_a_cited_source_says_how_far_to_trust_it(law):
    source = inspect.getdoc(law).partition("Source: ")[2]
    cited = re.search(r"\b(1[89]|20)\d\d\b", source)
    assert not cited or re.search(r"\((published|from memory|common practice)[^)]*\)", source), source


@pytest.mark.property
@pytest.mark.parametrize("law", LAWS, ids=lambda law: f"{law.__module__.split('.')[1]}.{law.__name__}")
def test_a_law_takes_at_most_seven_arguments(law):
    assert len(inspect.signature(law).parameters) <= 7


@pytest.mark.property
def test_no_exemption_is_left_over():
    used = {name for law in LAWS for name in inspect.signature(law).parameters}
    assert not set().union(*UNITLESS.values()) - used
