"""Limits that hold in a lab."""

from __future__ import annotations

from filmwright.knowledge import Lab, limits
from filmwright.units import write


class Limited:
    """What is judged by limits that a lab may change."""

    def __init__(self, lab: Lab) -> None:
        self.lab = lab

    def limit(self, name: str) -> float:
        """A limit [SI]: the lab's own, else the shipped one."""
        return self.lab.limits.get(name, limits()[name].value)

    def limit_text(self, name: str) -> str:
        """A limit as it is printed."""
        return write(self.limit(name), limits()[name].unit)

    def limit_source(self, name: str) -> str:
        """Where a limit comes from."""
        if name in self.lab.limits:
            return f"{name}: {self.limit_text(name)}, the lab's own ({self.lab.file or self.lab.name})"
        return f"{name}: {self.limit_text(name)}, {limits()[name].source}"
