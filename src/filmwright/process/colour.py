"""What an eye sees of a spectrum: tristimulus values, Lab, the colour on a screen."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from filmwright.process.ranges import positive
from filmwright.units import BOLTZMANN, PLANCK, SPEED_OF_LIGHT

Real = NDArray[np.float64]
_TO_LINEAR = np.array([[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]])
"""XYZ under D65 to linear sRGB, IEC 61966-2-1 (published)."""
_CONES = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
"""XYZ to the sharpened cones of the Bradford adaptation (published)."""
DAYLIGHT_WHITE = np.array([0.95047, 1.0, 1.08883])
"""White of daylight D65 and of sRGB (published)."""
_KNEE, _SLOPE = (6 / 29) ** 3, (29 / 6) ** 2 / 3
"""Where the cube root of CIE Lab gives way to a line, and its slope (published)."""


def planck(wavelength: Real, temperature: float) -> Real:
    """Relative spectrum of a glowing body: M ∝ λ⁻⁵/(exp(hc/(λ·k·T)) − 1), one at its greatest.

    Parameters
    ----------
    wavelength : array (w,) [m]
    temperature : float [K], above 0

    Returns
    -------
    spectrum : array (w,) [relative]

    Raises
    ------
    ValueError
        When the temperature is not above zero.

    Notes
    -----
    Source: M. Planck, Ann. Phys. 309, 553 (1901) (from memory).
    """
    positive(temperature=temperature)
    ratio = PLANCK * SPEED_OF_LIGHT / (wavelength * BOLTZMANN * temperature)
    spectrum = (wavelength / wavelength.max()) ** -5.0 / np.expm1(ratio)
    return np.asarray(spectrum / spectrum.max())


def colour_weights(wavelength: Real, observer: Real, light: Real) -> Real:
    """Weights that turn a reflectance spectrum into X, Y, Z with Y = 1 for a perfect white.

    W = S·(x̄, ȳ, z̄)·Δλ / Σ S·ȳ·Δλ, so that XYZ = R·W.

    Parameters
    ----------
    wavelength : array (w,) [m]
        Rising; 380 to 780 nm in steps of 5 nm is usual.
    observer : array (w, 3) [relative]
        Colour matching functions.
    light : array (w,) [relative]
        Spectrum of the lamp.

    Returns
    -------
    weights : array (w, 3) [relative]

    Raises
    ------
    ValueError
        When the light is dark throughout.

    Notes
    -----
    Source: CIE 15, Colorimetry (from memory).
    """
    step = np.gradient(wavelength) if wavelength.size > 1 else np.ones(1)
    weighted = observer * (light * step)[:, None]
    whole = float(weighted[:, 1].sum())
    if not whole > 0:
        raise ValueError("the light must shine at some of the wavelengths")
    return weighted / whole


def adapted(xyz: Real, white: Real) -> Real:
    """Tristimulus values as they would look under daylight D65, once the eye is used to the lamp.

    XYZ' = M⁻¹·diag(M·W_D65 / M·W)·M·XYZ with the sharpened cones M of Bradford.

    Parameters
    ----------
    xyz : array (…, 3) [relative]
    white : array (3,) [relative]
        Those of a perfect white under the lamp.

    Returns
    -------
    xyz : array (…, 3) [relative]

    Raises
    ------
    ValueError
        When the white is not above zero.

    Notes
    -----
    Source: CIE 159 (2004), linear Bradford transform (from memory).
    """
    if not np.all(np.asarray(white) > 0):
        raise ValueError("the white must be above zero")
    gain = (_CONES @ DAYLIGHT_WHITE) / (_CONES @ np.asarray(white))
    return np.asarray(xyz @ (np.linalg.inv(_CONES) @ (gain[:, None] * _CONES)).T)


def lab(xyz: Real, white: Real = DAYLIGHT_WHITE) -> Real:
    """CIE 1976 L*, a*, b*: L* = 116·f(Y/Yₙ) − 16, a* = 500·(f(X/Xₙ) − f(Y/Yₙ)), b* = 200·(f(Y/Yₙ) − f(Z/Zₙ)).

    Parameters
    ----------
    xyz : array (…, 3) [relative]
        Tristimulus values.
    white : array (3,) [relative]
        Those of a perfect white under the same light.

    Returns
    -------
    lab : array (…, 3) [L* 0 to 100]

    Raises
    ------
    ValueError
        When the white is not above zero.

    Notes
    -----
    Source: CIE 15, Colorimetry (from memory).
    """
    if not np.all(np.asarray(white) > 0):
        raise ValueError("the white must be above zero")
    share = np.asarray(xyz) / white
    f = np.where(share > _KNEE, np.cbrt(share), _SLOPE * share + 4 / 29)
    return np.stack(
        [116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])], axis=-1
    )


def srgb(xyz: Real) -> Real:
    """Colour on a screen: c = 12.92·l below 0.0031308, else 1.055·l^(1/2.4) − 0.055; too vivid is clipped.

    Parameters
    ----------
    xyz : array (…, 3) [relative]
        Tristimulus values under daylight D65.

    Returns
    -------
    rgb : array (…, 3) [0 to 1]

    Raises
    ------
    ValueError
        When the last axis is not three long.

    Notes
    -----
    Source: IEC 61966-2-1 (1999) (from memory).
    """
    if np.shape(xyz)[-1] != 3:
        raise ValueError("tristimulus values come in threes")
    linear = np.clip(np.asarray(xyz) @ _TO_LINEAR.T, 0.0, 1.0)
    return np.asarray(np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055))


def hex_colours(rgb: Real) -> list[str]:
    """Colours as web pages write them, e.g. ``#3f6ab0``.

    Parameters
    ----------
    rgb : array (n, 3) [0 to 1]

    Returns
    -------
    colours : list of str [hexadecimal]

    Raises
    ------
    ValueError
        When a part lies outside 0 and 1.

    Notes
    -----
    Source: definition.
    """
    parts = np.atleast_2d(np.asarray(rgb))
    if np.any(parts < 0) or np.any(parts > 1):
        raise ValueError("red, green and blue must lie within 0 and 1")
    whole = np.rint(parts * 255).astype(int)
    return [f"#{r:02x}{g:02x}{b:02x}" for r, g, b in whole]


def colour_difference(first: ArrayLike, second: ArrayLike) -> Real:
    """How different two colours look: CIEDE2000 with unit weights; about 1 is just seen.

    Parameters
    ----------
    first, second : array (…, 3) [L*, a*, b*]

    Returns
    -------
    difference : array (…) [ΔE₀₀]

    Raises
    ------
    ValueError
        When the last axis is not three long.

    Notes
    -----
    Source: G. Sharma, W. Wu, E. N. Dalal, Color Res. Appl. 30, 21 (2005) (from memory).
    """
    one, two = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    if one.shape[-1] != 3 or two.shape[-1] != 3:
        raise ValueError("colours must have three parts: L*, a*, b*")
    mean_chroma = (np.hypot(one[..., 1], one[..., 2]) + np.hypot(two[..., 1], two[..., 2])) / 2
    grown = 1 + 0.5 * (1 - np.sqrt(mean_chroma**7 / (mean_chroma**7 + 25.0**7)))
    a1, a2 = one[..., 1] * grown, two[..., 1] * grown
    c1, c2 = np.hypot(a1, one[..., 2]), np.hypot(a2, two[..., 2])
    h1, h2 = np.arctan2(one[..., 2], a1) % math.tau, np.arctan2(two[..., 2], a2) % math.tau
    grey = c1 * c2 == 0
    apart = h2 - h1
    apart = apart - math.tau * (apart > math.pi) + math.tau * (apart < -math.pi)
    turn = np.where(grey, 0.0, apart)
    hue = np.where(grey, h1 + h2, h1 + turn / 2) % math.tau
    lightness, chroma = (one[..., 0] + two[..., 0]) / 2, (c1 + c2) / 2
    tilt = (
        1
        - 0.17 * np.cos(hue - math.radians(30))
        + 0.24 * np.cos(2 * hue)
        + 0.32 * np.cos(3 * hue + math.radians(6))
        - 0.20 * np.cos(4 * hue - math.radians(63))
    )
    s_light = 1 + 0.015 * (lightness - 50) ** 2 / np.sqrt(20 + (lightness - 50) ** 2)
    s_chroma, s_hue = 1 + 0.045 * chroma, 1 + 0.015 * chroma * tilt
    bend = math.radians(60) * np.exp(-(((np.degrees(hue) - 275) / 25) ** 2))
    twist = -2 * np.sqrt(chroma**7 / (chroma**7 + 25.0**7)) * np.sin(bend)
    d_light = (two[..., 0] - one[..., 0]) / s_light
    d_chroma = (c2 - c1) / s_chroma
    d_hue = 2 * np.sqrt(c1 * c2) * np.sin(turn / 2) / s_hue
    return np.asarray(np.sqrt(d_light**2 + d_chroma**2 + d_hue**2 + twist * d_chroma * d_hue))


def nearest_colour(colours: Real, palette: Real) -> NDArray[np.int64]:
    """Which colour of a palette looks most like each colour, by :func:`colour_difference`.

    Parameters
    ----------
    colours : array (n, 3) [L*, a*, b*]
    palette : array (m, 3) [L*, a*, b*]

    Returns
    -------
    nearest : integer array (n,) [row of the palette]

    Raises
    ------
    ValueError
        When the palette is empty.

    Notes
    -----
    Source: smallest difference, by definition.
    """
    if not len(palette):
        raise ValueError("a palette needs a colour")
    return np.asarray(np.argmin(colour_difference(colours[:, None, :], palette[None, :, :]), axis=1))


def contrast(mark: ArrayLike, field: ArrayLike) -> Real:
    """Contrast of a mark with its surroundings: C = |R_mark − R_field| / (R_mark + R_field).

    Parameters
    ----------
    mark, field : array (…) [reflectance, 0 to 1]

    Returns
    -------
    contrast : array (…) [0 unseen to 1]

    Raises
    ------
    ValueError
        When a reflectance is below zero.

    Notes
    -----
    Source: A. A. Michelson, Studies in Optics (1927) (from memory). Both dark gives zero.
    """
    a, b = np.asarray(mark, dtype=float), np.asarray(field, dtype=float)
    if np.any(a < 0) or np.any(b < 0):
        raise ValueError("reflectances must be zero or more")
    whole = a + b
    return np.asarray(np.abs(a - b) / np.where(whole > 0, whole, 1.0))
