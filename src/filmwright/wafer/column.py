"""A column: the films that lie on one another at a place."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from filmwright.units import to_si
from filmwright.wafer.actions import EtchRate

FENCE = "fence"
"""Mark of what an etch leaves of a film on a wall at the foot of which it has gone."""

THINNEST = to_si(1e-3, "ang")
"""A film thinner than this [m] is gone."""


@dataclass(frozen=True, kw_only=True)
class Layer:
    """One film at a place.

    Attributes
    ----------
    material : str
    film : str
        Label of the growth that it came from; the same on both sides of an edge where one film climbs it.
    thickness : float [m]
    born : int
        Order of growth on this wafer; the body is 0.
    side_wall : float
        Thickness on a vertical wall over that on the flat; 0 when it arrived in line of sight.
    overhang : float [m]
        By how much its upper edge stands out over its foot (lift-off resist).
    marks : frozenset of str
        States such as ``plasma-hardened``.
    """

    material: str
    film: str
    thickness: float
    born: int
    side_wall: float = 1.0
    overhang: float = 0.0
    marks: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        if self.thickness <= 0:
            raise ValueError(f"a layer has a thickness above zero, got {self.thickness} m of {self.film}")
        if not 0 <= self.side_wall <= 1:
            raise ValueError(f"side_wall lies between 0 and 1, got {self.side_wall} for {self.film}")


@dataclass(frozen=True)
class Column:
    """The layers at a place, lowest first; the first is the wafer body."""

    layers: tuple[Layer, ...]

    def __hash__(self) -> int:
        return self._hash

    def __getstate__(self) -> dict[str, tuple[Layer, ...]]:
        # A hash of text holds within one process only.
        return {"layers": self.layers}

    @cached_property
    def _hash(self) -> int:
        return hash(self.layers)

    @cached_property
    def height(self) -> float:
        """Height of the surface over the wafer's back [m]."""
        return sum(layer.thickness for layer in self.layers)

    @property
    def top(self) -> Layer:
        """The layer at the surface."""
        return self.layers[-1]

    def thickness(self, name: str) -> float:
        """Summed thickness [m] of a material, or of a film by its label."""
        return sum(layer.thickness for layer in self.layers if name in (layer.material, layer.film))

    def film(self, label: str) -> Layer | None:
        """The layer with a film label, if it is here."""
        return next((layer for layer in self.layers if layer.film == label), None)

    def with_top(self, layer: Layer) -> Column:
        """One more layer on top."""
        return Column((*self.layers, layer))

    def without(self, label: str, everything_above: bool = False) -> Column:
        """Without a film; what lies on it stays at its place, or goes too."""
        at = next(k for k, layer in enumerate(self.layers) if layer.film == label)
        return Column(self.layers[:at] + (() if everything_above else self.layers[at + 1 :]))

    def changed(self, change: Callable[[Layer], Layer]) -> Column:
        """Every layer changed in turn."""
        return Column(tuple(change(layer) for layer in self.layers))

    def marked_top(self, mark: str) -> Column:
        """The surface layer with one more mark."""
        return Column((*self.layers[:-1], replace(self.top, marks=self.top.marks | {mark})))


@dataclass(frozen=True)
class Eaten:
    """What an etch took from one layer of a column.

    Attributes
    ----------
    layer : Layer
        As it was.
    after : float [m]
        Thickness left, 0 when it is gone.
    begun : float [s]
        When the etch reached it.
    """

    layer: Layer
    after: float
    begun: float


def etched(column: Column, rates: Mapping[str, EtchRate], time: float) -> tuple[Column, tuple[Eaten, ...]]:
    """Etch down from the surface; what is uncovered midway is attacked midway.

    ``thickness after = thickness − R (t − t0)``, with t0 the sum of thickness / R of everything above. A material
    without a rate stops the etch. The body is never used up.

    Parameters
    ----------
    column : Column
    rates : mapping from material to EtchRate [m/s]
    time : float [s]
    """
    layers = list(column.layers)
    eaten: list[Eaten] = []
    clock = 0.0
    while layers and clock < time:
        layer = layers[-1]
        rate = rates[layer.material].down if layer.material in rates else 0.0
        if rate <= 0:
            break
        left = layer.thickness - rate * (time - clock)
        if left <= THINNEST and len(layers) > 1:
            eaten.append(Eaten(layer, 0.0, clock))
            clock += layer.thickness / rate
            layers.pop()
            continue
        left = max(left, THINNEST)
        eaten.append(Eaten(layer, left, clock))
        layers[-1] = replace(layer, thickness=left)
        break
    return Column(tuple(layers)), tuple(eaten)
