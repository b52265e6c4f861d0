"""Class and short sign of each material, handed to every picture."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, kw_only=True)
class Legend:
    """What pictures need to know of materials.

    Attributes
    ----------
    kinds : mapping from material to its class
    symbols : mapping from material to its short sign
    """

    kinds: Mapping[str, str] = field(default_factory=dict)
    symbols: Mapping[str, str] = field(default_factory=dict)
