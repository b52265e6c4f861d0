"""What stands at the front doors of the physics rooms says unit, shape and source in a form that a test can read."""

import dataclasses
import importlib
import inspect
import re
from collections.abc import Callable

import pytest

from filmwright.sources import KINDS

ROOMS = ("process", "device", "wafer", "measure")
EQUATIONS = ("process", "device")
NO_EQUATION = {"check_range"}
PURE = {"process.range_over_sum", "process.range_over_twice_mean", "process.relative_deviation"}
"""Pure numbers in, pure numbers out."""
KIND = re.compile("|".join(sorted((re.escape(kind) for kind in KINDS), key=len, reverse=True)))


def _functions() -> list[tuple[str, Callable[..., object]]]:
    found = []
    for room in ROOMS:
        door = importlib.import_module(f"filmwright.{room}")
        found += [
            (f"{room}.{name}", getattr(door, name))
            for name in door.__all__
            if inspect.isfunction(getattr(door, name))
        ]
    return found


def _classes() -> list[tuple[str, type]]:
    found = []
    for room in ROOMS:
        door = importlib.import_module(f"filmwright.{room}")
        found += [
            (f"{room}.{name}", getattr(door, name))
            for name in door.__all__
            if inspect.isclass(getattr(door, name))
        ]
    return found


FUNCTIONS = _functions()
NUMERIC = [
    (name, function)
    for name, function in FUNCTIONS
    if name.split(".")[0] in EQUATIONS and name.split(".")[1] not in NO_EQUATION
]


def _section(text: str, name: str) -> str:
    found = re.search(rf"^{name}\n-+\n(.*?)(?=^\w[\w ]*\n-+\n|\Z)", text, flags=re.DOTALL | re.MULTILINE)
    return found[1] if found else ""


@pytest.mark.property
@pytest.mark.parametrize(("name", "function"), FUNCTIONS, ids=[name for name, _ in FUNCTIONS])
def test_every_parameter_is_explained(name: str, function: Callable[..., object]):
    text = inspect.getdoc(function) or ""
    assert text.splitlines()[0].endswith((".", "?", ":")) or text.splitlines()[1:2] not in ([], [""]), name
    explained = _section(text, "Parameters")
    for parameter in inspect.signature(function).parameters:
        assert re.search(rf"\b{parameter}\b", explained), f"{name}: {parameter}"


@pytest.mark.property
@pytest.mark.parametrize(("name", "function"), NUMERIC, ids=[name for name, _ in NUMERIC])
def test_an_equation_says_type_unit_and_source(name: str, function: Callable[..., object]):
    text = inspect.getdoc(function) or ""
    for section in ("Parameters", "Returns"):
        entries = [line for line in _section(text, section).splitlines() if line and not line.startswith(" ")]
        assert entries, f"{name}: no {section}"
    typed = [
        line
        for line in _section(text, "Parameters").splitlines()
        if " : " in line and not line.startswith(" ")
    ]
    assert typed, f"{name}: no type"
    unit = re.search(r"\[[^\]]+\]", _section(text, "Parameters") + _section(text, "Returns"))
    assert unit or name in PURE, f"{name}: no unit"
    references = " ".join(_section(text, "References").split())
    assert references or re.search(r"Source: [:\w]", text), f"{name}: where is it from?"
    assert not references or KIND.search(references), (
        f"{name}: of which kind is its source: {', '.join(KINDS)}?"
    )


@pytest.mark.property
@pytest.mark.parametrize(("name", "kind"), _classes(), ids=[name for name, _ in _classes()])
def test_every_record_explains_its_fields(name: str, kind: type):
    text = inspect.getdoc(kind) or ""
    assert text
    if not dataclasses.is_dataclass(kind):
        return
    assert kind.__dataclass_params__.frozen, f"{name} is not frozen"
    explained = text + "".join(inspect.getdoc(base) or "" for base in kind.__mro__[1:])
    for each in dataclasses.fields(kind):
        if not each.name.startswith("_") and each.init:
            assert re.search(rf"\b{each.name}\b", explained), f"{name}: {each.name}"
