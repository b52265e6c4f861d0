"""From stacks of films to the colour that an eye or a camera sees through a microscope, and its everyday name."""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from filmwright.knowledge import colour_names, lamp_temperatures, lights, observer, tabulated_light
from filmwright.process.colour import adapted, colour_weights, hex_colours, lab, nearest_colour, planck, srgb
from filmwright.units import to_si

Real = NDArray[np.float64]
_FIRST, _LAST, _STEP = (to_si(each, "nm") for each in (380.0, 780.0, 5.0))


@dataclass(frozen=True, kw_only=True)
class Eye:
    """An observer under a lamp.

    Attributes
    ----------
    light : str
        Name of the lamp.
    wavelength : array (w,) [m]
    weights : array (w, 3)
        Reflectance spectrum times these is X, Y, Z; a perfect white has Y = 1.
    names : tuple of str
        Everyday names of colours.
    palette : array (n, 3)
        Where they lie: L*, a*, b*.
    """

    light: str
    wavelength: Real
    weights: Real
    names: tuple[str, ...]
    palette: Real

    @property
    def white(self) -> Real:
        """X, Y, Z of a perfect white."""
        return np.asarray(self.weights.sum(axis=0))


@dataclass(frozen=True, kw_only=True)
class Appearance:
    """How columns look.

    Attributes
    ----------
    luminance : array (n,)
        Y, the share of the light that the eye sees reflected.
    lab : array (n, 3)
        L*, a*, b* as under daylight D65, once the eye is used to the lamp.
    rgb : array (n, 3)
        sRGB from 0 to 1.
    eye : Eye
        Who looks.
    """

    luminance: Real
    lab: Real
    rgb: Real
    eye: Eye

    @functools.cached_property
    def names(self) -> tuple[str, ...]:
        """The everyday name nearest to each, to a unit of Lab, which nobody sees."""
        places, which = np.unique(np.rint(self.lab).astype(np.int64), axis=0, return_inverse=True)
        rows = nearest_colour(places.astype(float), self.eye.palette)[which.ravel()]
        return tuple(self.eye.names[row] for row in rows)

    @property
    def hex(self) -> list[str]:
        """As web pages write them."""
        return hex_colours(self.rgb)


@functools.cache
def eye(light: str = "daylight D65", start: float = _FIRST, stop: float = _LAST, step: float = _STEP) -> Eye:
    """The standard observer of 1931 (2°) under a lamp, with our names of colours.

    Parameters
    ----------
    light : str
        ``daylight D65``, ``daylight D50``, ``incandescent A``, ``fluorescent``, ``white LED`` or ``halogen``
        [name].
    start, stop, step : float [m]
        First and last wavelength and the step between.

    Returns
    -------
    eye : Eye [relative]

    Raises
    ------
    ValueError
        When no lamp has that name or the wavelengths do not rise.

    Notes
    -----
    Source: CIE 15, Colorimetry (from memory); halogen as a glowing body.
    """
    if not 0 < start < stop or not step > 0:
        raise ValueError(f"wavelengths must rise from above zero, got {start:g} to {stop:g} m by {step:g} m")
    waves: Real = start + step * np.arange(round((stop - start) / step) + 1, dtype=np.float64)
    lamps = lamp_temperatures()
    if light not in lamps and light not in lights():
        raise ValueError(f'no light is known as "{light}"; use one of: {", ".join((*lights(), *lamps))}')
    shine = planck(waves, lamps[light].value) if light in lamps else tabulated_light(light).at(waves)
    named = colour_names()
    return Eye(
        light=light,
        wavelength=waves,
        weights=colour_weights(waves, observer().at(waves), shine),
        names=tuple(each.name for each in named),
        palette=np.array([each.lab for each in named], dtype=float),
    )


def appearance(reflectance: Real, eye: Eye, exposure: float = 1.0) -> Appearance:
    """Colours of reflectance spectra: XYZ = R·W, adapted to the lamp, then Lab, sRGB and the nearest name.

    Parameters
    ----------
    reflectance : array (n, w) [0 to 1]
        At the wavelengths of the eye.
    eye : Eye [relative]
        The observer and the lamp.
    exposure : float, above 0 [relative]
        Of the camera: 1 shows a perfect mirror as white. It brightens the screen colour only.

    Returns
    -------
    appearance : Appearance [sRGB, Lab]

    Raises
    ------
    ValueError
        When shapes do not agree or the exposure is not above zero.

    Notes
    -----
    Source: CIE 15 and IEC 61966-2-1 (from memory).
    """
    if reflectance.shape[-1] != eye.wavelength.size:
        raise ValueError(f"spectra must have {eye.wavelength.size} wavelengths, got {reflectance.shape[-1]}")
    if not exposure > 0:
        raise ValueError(f"the exposure must be above zero, got {exposure:g}")
    xyz = adapted(reflectance @ eye.weights.astype(reflectance.dtype), eye.white)
    seen = lab(xyz)
    return Appearance(
        luminance=xyz[:, 1],
        lab=seen,
        rgb=srgb(exposure * xyz),
        eye=eye,
    )
