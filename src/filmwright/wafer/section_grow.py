"""Growth: a film on every surface that it reaches."""

from __future__ import annotations

from functools import lru_cache

from filmwright.numerics import (
    Kernel,
    Region,
    Sky,
    beam_sky,
    cone_sky,
    cosine_sky,
    deposited,
    floor_of,
    lifted,
    swept,
)
from filmwright.units import convert
from filmwright.wafer.actions import Flux, Grow
from filmwright.wafer.section_consume import consuming
from filmwright.wafer.section_layers import Body, Event, Layers

STAGES = 5
"""Moments at which a film is looked at while it grows where something overhangs."""
LEAST_STAGED = 5.0
"""Thinner films grow in one part [nm]: what they could wrongly fill is smaller than their thickness."""
HALVINGS = 7
"""How often the moment is halved at which a mouth closes."""
FLUX_STAGES = 4
"""Moments at which a film under a flux is looked at: what has grown shades what comes after."""
FLUX_TOLERANCE = 0.3
"""Share of the tolerance of a corner by which the outline of a film under a flux may differ at each moment."""
SEALED_AREA = 25.0
"""Smallest void that is told [nm²]."""


def grown(layers: Layers, action: Grow, tolerance: float, bearing: float = 0.0) -> Layers:
    """A film grown over the layers.

    Conformal: everything within ``thickness`` of the open surface. Partly conformal: what an ellipse covers
    (height ``thickness``, half-width ``side_wall`` × ``thickness``, and that same length downward). Line of
    sight: the open surface seen from above, lifted. Under a flux: each place gets what it sees of it, and what
    has grown shades the rest. Where something overhangs the film grows in stages, and a mouth that closes seals
    what lies behind it.

    Parameters
    ----------
    layers : Layers
    action : Grow
    tolerance : float [nm]
        By how much a rounded corner may be too thick.
    bearing : float [rad]
        Direction of the cut in the drawing.
    """
    thickness = convert(action.thickness, "nm")
    if thickness <= 0:
        return layers
    if action.consumes:
        return consuming(layers, action, tolerance)
    if action.flux is not None:
        stages = FLUX_STAGES if thickness >= LEAST_STAGED else 1
        sky = _sky(action.flux, bearing)
        fine = min(FLUX_TOLERANCE * tolerance, thickness / 300)
        film = deposited(layers.cover.open, sky, thickness, stages, fine)
        return _added(layers, film, action)
    if action.line_of_sight or action.side_wall <= 0:
        film = lifted(floor_of(layers.cover.open), thickness).intersection(layers.cover.open)
        return _added(layers, film, action)
    kernel = Kernel(
        side=action.side_wall * thickness,
        up=thickness,
        down=action.side_wall * thickness,
        tolerance=min(tolerance, thickness / 20),
    )
    ambient = layers.cover.open
    if thickness < LEAST_STAGED or not _overhangs(layers):
        return _added(layers, _skin(layers, ambient, kernel), action)
    return _added(layers, _staged(layers, kernel), action)


@lru_cache(maxsize=32)
def _sky(flux: Flux, bearing: float) -> Sky:
    if flux.exponent is not None:
        return cosine_sky(flux.exponent)
    if flux.azimuth is None:
        return cone_sky(flux.tilts, flux.shares)
    return beam_sky(flux.tilts, flux.shares, flux.azimuth - bearing)


def _added(layers: Layers, film: Region, action: Grow) -> Layers:
    before = sum(pocket.area for pocket in layers.cover.pockets)
    body = Body(material=action.material, film=action.film, shape=film)
    after = layers.changed({}, [body])
    if sum(pocket.area for pocket in after.cover.pockets) <= before + SEALED_AREA:
        return after
    old = [pocket.bounds for pocket in layers.cover.pockets]
    fresh = [p for p in after.cover.pockets if p.area > SEALED_AREA and p.bounds not in old]
    return after.with_events(Event.at("sealed", pocket) for pocket in fresh)


def _overhangs(layers: Layers) -> bool:
    surface = layers.cover.exposed
    return bool(((surface.outward[:, 1] < -0.01) & (surface.length > 0.5)).any())


def _skin(layers: Layers, ambient: Region, kernel: Kernel, share: float = 1.0) -> Region:
    """The part of an ambient within a share of the kernel's reach of everything that is not ambient."""
    ground = Region.box(*layers.cover.window).difference(ambient)
    scaled = Kernel(
        side=share * kernel.side, up=share * kernel.up, down=share * kernel.down, tolerance=kernel.tolerance
    )
    return swept(ground, scaled).intersection(ambient)


def _staged(layers: Layers, kernel: Kernel) -> Region:
    """Growth whose shape is looked at in stages: when a mouth closes, what lies behind it stays as it is.

    Between two moments at which a mouth closes the film is what the kernel reaches from the surface of the first, so
    the stages bring no error of their own; a cavity that closes and fills between two looks is narrower than a stage.
    """
    ambient = layers.cover.open
    film = Region.of([])
    done = low = 0.0
    while done < 1.0:
        high = min(low + 1.0 / STAGES, 1.0)
        skin = _skin(layers, ambient, kernel, high - done)
        rest = ambient.difference(skin)
        if _sealed(layers, rest):
            for _ in range(HALVINGS):
                middle = (low + high) / 2
                trial = ambient.difference(_skin(layers, ambient, kernel, middle - done))
                low, high = (low, middle) if _sealed(layers, trial) else (middle, high)
            skin = _skin(layers, ambient, kernel, high - done)
            rest = ambient.difference(skin)
        elif high < 1.0:
            low = high
            continue
        film = film.union(skin)
        ambient = _reached(layers, rest)
        done = low = high
    return film


def _sealed(layers: Layers, ambient: Region) -> bool:
    top = layers.cover.window[3]
    return any(part.bounds[3] < top - 1 and part.area > SEALED_AREA for part in ambient.parts())


def _reached(layers: Layers, ambient: Region) -> Region:
    top = layers.cover.window[3]
    return max((part for part in ambient.parts() if part.bounds[3] >= top - 1), key=lambda part: part.area)
