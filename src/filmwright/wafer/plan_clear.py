"""A solvent in plan: what it reaches dissolves, what stood on that floats off.

A film is reached where it lies on top, and where its wall shows at an edge. From there the solvent goes on through the
film itself to every neighbouring piece of it.
"""

from __future__ import annotations

from collections.abc import Sequence

from filmwright.numerics import Region
from filmwright.wafer import plan_memo
from filmwright.wafer.column import Column, Layer
from filmwright.wafer.column_edge import Edge, meet
from filmwright.wafer.plan_cells import Cell, Loss, loss_of, merged


def clear(cells: Sequence[Cell], materials: frozenset[str]) -> tuple[tuple[Cell, ...], tuple[Loss, ...]]:
    """The cells after a solvent has dissolved materials, and what floated off or stayed sealed."""
    if not any(_targets(_dissolved(cell.column, materials), materials) for cell in cells):
        return merged(
            Cell(region=cell.region, column=_dissolved(cell.column, materials)) for cell in cells
        ), ()
    bath = _Bath(cells, materials)
    while bath.attack():
        pass
    return bath.result()


def _dissolved(column: Column, materials: frozenset[str]) -> Column:
    """Without the dissolvable films on top."""
    layers = column.layers
    while len(layers) > 1 and layers[-1].material in materials:
        layers = layers[:-1]
    return column if len(layers) == len(column.layers) else Column(layers)


def _targets(column: Column, materials: frozenset[str]) -> tuple[int, ...]:
    """Places of the dissolvable films, the body left out."""
    return tuple(k for k, layer in enumerate(column.layers) if k and layer.material in materials)


class _Bath:
    """The pieces of a plan while a solvent works on them."""

    def __init__(self, cells: Sequence[Cell], materials: frozenset[str]) -> None:
        self.cells = cells
        self.materials = materials
        self.pieces = plan_memo.pieces([cell.region for cell in cells])
        self.shared: dict[Column, Column] = {}
        tops = [self._share(_dissolved(cell.column, materials)) for cell in cells]
        self.columns = [tops[number] for number in self.pieces.owner]
        self.floated: list[tuple[int, Layer]] = []
        self.edges: dict[tuple[int, int], Edge] = {}

    def _share(self, column: Column) -> Column:
        """One object for all equal columns, so that they can be told apart by identity."""
        return self.shared.setdefault(column, column)

    def edge(self, first: int, second: int) -> Edge:
        """The edge between two pieces; pieces of one column share it."""
        one, two = self.columns[first], self.columns[second]
        key = (id(one), id(two))
        if key not in self.edges:
            self.edges[key] = meet(one, two)
        return self.edges[key]

    def attack(self) -> bool:
        """One round: find the films that are reached, follow them, take them away. Whether there were any."""
        reached: set[tuple[int, str]] = set()
        links: dict[tuple[int, str], list[tuple[int, str]]] = {}
        places_of = {id(column): _targets(column, self.materials) for column in self.shared.values()}
        all_targets = [places_of[id(column)] for column in self.columns]
        for border in self.pieces.borders:
            pair = (border.first, border.second)
            targets = [all_targets[piece] for piece in pair]
            if not targets[0] and not targets[1]:
                continue
            edge = self.edge(*pair)
            for side, places in enumerate(targets):
                for place in places:
                    if edge.shows(side, place):
                        reached.add((pair[side], self.columns[pair[side]].layers[place].film))
            for touch in edge.touches:
                film = self.columns[pair[0]].layers[touch.first].film
                if touch.first in targets[0] and self.columns[pair[1]].layers[touch.second].film == film:
                    links.setdefault((pair[0], film), []).append((pair[1], film))
                    links.setdefault((pair[1], film), []).append((pair[0], film))
        waiting = list(reached)
        while waiting:
            for other in links.get(waiting.pop(), ()):
                if other not in reached:
                    reached.add(other)
                    waiting.append(other)
        for piece, film in sorted(reached):
            self.take(piece, film)
        return bool(reached)

    def take(self, piece: int, film: str) -> None:
        """Dissolve a film of a piece; what lies on it floats off."""
        column = self.columns[piece]
        place = next((k for k, layer in enumerate(column.layers) if layer.film == film), None)
        if place is None:
            return
        self.floated.extend(
            (piece, layer) for layer in column.layers[place + 1 :] if layer.material not in self.materials
        )
        left = _dissolved(Column(column.layers[:place]), self.materials)
        self.columns[piece] = self._share(left)

    def result(self) -> tuple[tuple[Cell, ...], tuple[Loss, ...]]:
        """The cells put together again, and the losses."""
        mine: list[list[int]] = [[] for _ in self.cells]
        for piece, owner in enumerate(self.pieces.owner):
            mine[owner].append(piece)
        cells = []
        for cell, pieces in zip(self.cells, mine, strict=True):
            alike: dict[Column, list[int]] = {}
            for piece in pieces:
                alike.setdefault(self.columns[piece], []).append(piece)
            for column, group in alike.items():
                region = cell.region if len(alike) == 1 else self._region(group)
                cells.append(Cell(region=region, column=column))
        after = merged(cells)
        return after, (*self._floated(mine), *self._sealed(after))

    def _region(self, pieces: Sequence[int]) -> Region:
        """Pieces of one cell together; they do not touch each other."""
        return Region.gathered([self.pieces.regions[piece] for piece in pieces])

    def _floated(self, mine: Sequence[Sequence[int]]) -> list[Loss]:
        groups: dict[tuple[int, Layer], list[int]] = {}
        for piece, layer in self.floated:
            groups.setdefault((self.pieces.owner[piece], layer), []).append(piece)
        found = []
        for (owner, layer), pieces in groups.items():
            whole = len(pieces) == len(mine[owner])
            region = self.cells[owner].region if whole else self._region(pieces)
            found.append(loss_of(layer, 0.0, region, "floated"))
        return found

    def _sealed(self, cells: Sequence[Cell]) -> list[Loss]:
        return [
            loss_of(cell.column.layers[place], cell.column.layers[place].thickness, cell.region, "sealed")
            for cell in cells
            for place in _targets(cell.column, self.materials)
        ]
