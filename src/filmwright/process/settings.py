"""What an operator dials in."""

from __future__ import annotations

from dataclasses import dataclass

from filmwright.process.derivation import Derivation, Law
from filmwright.sources import Source


@dataclass(frozen=True, kw_only=True)
class Setting:
    """One knob of one step, or a number that follows from its knobs.

    Attributes
    ----------
    name : str
        E.g. ``time``, ``spin speed``, ``dose``.
    value : float [SI] or None
        None when it is a choice in words (``text``) or must be measured first.
    unit : str
        The unit in which it is dialled in.
    spread : float [SI] or None
        One standard deviation.
    source : Source
        Of the number that decides it.
    evidence : str
        What it rests on, with its date.
    because : str
        The equation with the numbers put in.
    text : str
        A choice in words, or the condition of a conditional setting, e.g. ``to the end point, then 25 % of
        that time``.
    derived : Derivation or None
        By which law from which numbers.
    """

    name: str
    unit: str
    source: Source
    value: float | None = None
    spread: float | None = None
    evidence: str = ""
    because: str = ""
    text: str = ""
    derived: Derivation | None = None

    @property
    def derivation(self) -> Derivation:
        """How it came about; where no law was noted, what the setting itself says."""
        if self.derived is not None:
            return self.derived
        chosen = self.source.kind == "plan"
        # The law's name and its source already say that the plan decides, and on which line.
        said = (self.evidence,) if chosen else (self.because, self.evidence)
        return Derivation(
            law=Law(
                name="fixed by the plan" if chosen else "from what is on file",
                equation="",
                source=self.source,
            ),
            result=self.value,
            unit=self.unit,
            std=0.0 if chosen else self.spread or 0.0,
            text=self.text,
            notes=tuple(dict.fromkeys(each for each in said if each and each not in str(self.source))),
        )

    @classmethod
    def by_law(cls, name: str, derived: Derivation, source: Source, evidence: str = "") -> Setting:
        """A setting that a law gives; its spread is that of the derivation."""
        return cls(
            name=name,
            unit=derived.unit,
            source=source,
            value=derived.result,
            spread=derived.std or None,
            evidence=evidence or str(source),
            because=derived.worked,
            derived=derived,
        )
