"""How each written step unfolds into what one person does at one tool."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from filmwright.flow.types import End, SourceAsked, Step, StepKind
from filmwright.knowledge import Lab, Medium, Resist
from filmwright.units import Quantity

_LETTERS = "ACDEFHJKLMNPRTUVWXY"
"""Letters of step codes: none looks like a digit or like another one."""


@dataclass(frozen=True, kw_only=True)
class Written:
    """A written step with its names resolved."""

    verb: str
    target: str
    line: int
    name: str
    lab: Lab
    method: str = ""
    medium: Medium | None = None
    resist: Resist | None = None
    developer: Medium | None = None
    tool: str = ""
    recipe: str = ""
    asked: Mapping[str, Quantity] = field(default_factory=dict)
    sources: tuple[SourceAsked, ...] = ()
    composition: Mapping[str, float] = field(default_factory=dict)
    end: End | None = None
    prime: bool = True
    bead_removed: bool = False
    hard_bake: bool = False
    align_to: str = ""
    of: str = ""
    place: str = ""
    because: str = ""
    hold: str = ""
    witness: tuple[str, ...] = ()
    acknowledged: Mapping[str, str] = field(default_factory=dict)
    lines: Mapping[str, int] = field(default_factory=dict)

    def step(self, kind: StepKind, title: str, *serves: str, tool: str = "", **more: Any) -> Step:
        """One elementary step with what the written one says; ``serves`` are the words a tool must serve."""
        fields: dict[str, Any] = {
            "asked": {},
            "because": self.because,
            "witness": self.witness,
            "acknowledged": self.acknowledged,
            "recipe": self.recipe,
            **more,
        }
        chosen = tool or serving(self.lab, serves or (kind,))
        return Step(
            number="", code="", kind=kind, title=title, name=self.name, line=self.line, tool=chosen, **fields
        )

    def only(self, *names: str) -> dict[str, Quantity]:
        """Those of the plan's own settings that belong to one elementary step."""
        return {name: self.asked[name] for name in names if name in self.asked}


def serving(lab: Lab, words: tuple[str, ...]) -> str:
    """The one tool of the lab that serves any of the words, the first word first; empty when none or several do."""
    for word in words:
        fitting = [tool.name for tool in lab.tools.values() if word in tool.does]
        if len(fitting) == 1:
            return fitting[0]
    return ""


def numbered(index: int, steps: tuple[Step, ...]) -> tuple[Step, ...]:
    """Give the elementary steps of one written step their numbers and codes."""
    return tuple(
        replace(step, number=f"{index}.{place + 1}", code=f"{index:02d}{_LETTERS[place]}")
        for place, step in enumerate(steps)
    )


def _clean(w: Written) -> tuple[Step, ...]:
    if w.medium is None:
        return ()
    title = f"Clean in {w.medium.name}"
    # Acids and oxidisers never share a bench with solvents, so the tool is not found by the same word.
    bench = "clean" if "solvent" in w.medium.families else "ash" if w.medium.kind == "plasma" else "wet etch"
    serves = (w.medium.name, bench)
    return (w.step("clean", title, *serves, tool=w.tool, medium=w.medium.name, asked=w.asked, hold=w.hold),)


def _deposit(w: Written) -> tuple[Step, ...]:
    return (
        w.step(
            "deposit",
            f"Deposit {w.target}",
            w.method,
            tool=w.tool,
            material=w.target,
            method=w.method,
            sources=w.sources,
            composition=w.composition,
            asked=w.asked,
            hold=w.hold,
        ),
    )


def _pattern(w: Written) -> tuple[Step, ...]:
    resist, developer = w.resist, w.developer
    if resist is None or developer is None:
        return ()
    of = {"mask": w.target, "resist": resist.name, "material": resist.material}
    steps = [w.step("dehydrate", "Dehydrate on the hot plate", "bake", **of)]
    if w.prime:
        steps.append(w.step("prime", "Prime with adhesion promoter", "prime", **of))
    steps += [
        w.step(
            "coat",
            f"Coat {resist.name} resist for {w.target}",
            "coat",
            asked=w.only("thickness"),
            bead_removed=w.bead_removed,
            **of,
        ),
        w.step(
            "bake",
            f"Soft-bake {w.target} resist",
            "bake",
            asked=w.only("softbake temperature", "softbake time"),
            **of,
        ),
        w.step(
            "expose",
            f"Align and expose {w.target}",
            "expose",
            tool=w.tool,
            asked=w.only("dose", "gap"),
            aligned_to=w.align_to,
            bead_removed=w.bead_removed,
            **of,
        ),
    ]
    if "reversal bake temperature" in resist.values:
        steps += [
            w.step("reversal bake", f"Reversal-bake {w.target} resist", "bake", **of),
            w.step("flood expose", f"Flood-expose {w.target} resist", "expose", tool=w.tool, **of),
        ]
    if "post-exposure bake temperature" in resist.values:
        steps.append(w.step("post-exposure bake", f"Bake {w.target} resist after exposure", "bake", **of))
    steps += [
        w.step(
            "develop",
            f"Develop {w.target}",
            "develop",
            medium=developer.name,
            asked=w.only("develop time"),
            **of,
        ),
        w.step("inspect", f"Inspect {w.target} resist", "inspect", hold=w.hold or _look(w.target), **of),
    ]
    if w.hard_bake and "postbake temperature" in resist.values:
        steps.append(w.step("hard bake", f"Hard-bake {w.target} resist", "bake", **of))
    return tuple(steps)


def _look(mask: str) -> str:
    return f"{mask}: edges straight, no residue in the clear places, alignment marks inside their frames, line width"


def _etch(w: Written) -> tuple[Step, ...]:
    if w.medium is None:
        return ()
    dry = w.medium.kind == "plasma"
    serves = (w.medium.name, "plasma etch") if dry else (w.medium.name, "wet etch")
    steps = [
        w.step(
            "etch",
            f"Etch {w.target} in {w.medium.name}",
            *serves,
            tool=w.tool,
            material=w.target,
            medium=w.medium.name,
            asked=w.asked,
            end=w.end,
            hold=w.hold,
        )
    ]
    if not dry:
        steps.append(w.step("rinse", "Rinse in water and dry", "wet etch", tool=w.tool, medium="water rinse"))
    return tuple(steps)


def _strip(w: Written) -> tuple[Step, ...]:
    if w.medium is None:
        return ()
    dry = w.medium.kind == "plasma"
    steps = [
        w.step(
            "strip",
            f"Strip {w.target} in {w.medium.name}",
            *(("ash", "plasma etch") if dry else ("strip", "clean")),
            tool=w.tool,
            material=w.target,
            medium=w.medium.name,
            asked=w.asked,
            hold=w.hold,
        )
    ]
    if not dry:
        steps.append(
            w.step("rinse", "Rinse in water and dry", "strip", "clean", tool=w.tool, medium="water rinse")
        )
    return tuple(steps)


def _lift_off(w: Written) -> tuple[Step, ...]:
    if w.medium is None:
        return ()
    return (
        w.step(
            "lift off",
            f"Lift off in {w.medium.name}",
            "lift off",
            "strip",
            "clean",
            tool=w.tool,
            material=w.target,
            medium=w.medium.name,
            asked=w.asked,
            hold=w.hold or "no flakes, no fences, gaps open all along",
        ),
        w.step("rinse", "Rinse in water and dry", "strip", "clean", tool=w.tool, medium="water rinse"),
    )


def _anneal(w: Written) -> tuple[Step, ...]:
    title = f"Anneal in {w.target}"
    return (w.step("anneal", title, "anneal", tool=w.tool, medium=w.target, asked=w.asked, hold=w.hold),)


def _measure(w: Written) -> tuple[Step, ...]:
    of = f" of {w.of}" if w.of else ""
    return (
        w.step(
            "measure",
            f"Measure {w.target}{of}",
            f"measure {w.target}",
            "measure",
            tool=w.tool,
            material=w.of,
            medium=w.target,
            place=w.place,
            asked=w.asked,
            hold=w.hold,
        ),
    )


def _probe(w: Written) -> tuple[Step, ...]:
    return (
        w.step(
            "probe", f"Probe {w.target}", "probe", tool=w.tool, material=w.target, asked=w.asked, hold=w.hold
        ),
    )


def _park(w: Written) -> tuple[Step, ...]:
    return (w.step("park", f"Safe to park: {w.target}", "park", tool=w.tool, asked=w.asked),)


EXPANSIONS: dict[str, Callable[[Written], tuple[Step, ...]]] = {
    "clean": _clean,
    "deposit": _deposit,
    "pattern": _pattern,
    "etch": _etch,
    "strip": _strip,
    "lift off": _lift_off,
    "anneal": _anneal,
    "measure": _measure,
    "probe": _probe,
    "park": _park,
}
