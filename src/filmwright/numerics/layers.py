"""Plane waves in a pile of flat layers, in double precision: the exact side of the optics.

Complex indices are n − i·k with k ≥ 0 (time goes as exp(+iωt)); a wave that runs forward decays. Both
polarisations are written with tangential fields and admittances, so that one recursion serves them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Polarisation = Literal["s", "p"]
Complex = NDArray[np.complex128]
Real = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Wave:
    """What becomes of a wave that meets a pile.

    Attributes
    ----------
    reflected, transmitted : complex array (…)
        Tangential electric field over that of the wave that arrives.
    flux : array (layers + 1, …)
        Power through the top of every layer, the last for the medium below, over the power that arrives.
    """

    reflected: Complex
    transmitted: Complex
    flux: Real


def forward_index(index: Complex, transverse: Real | Complex | float) -> Complex:
    """N·cos θ of the wave that runs forward, by Snell's law: q = √(N² − (N₀ sin θ₀)²) with Im q ≤ 0.

    Parameters
    ----------
    index : complex array (…)
        n − i·k.
    transverse : array (…)
        N₀ sin θ₀, the same in all layers.
    """
    root = np.sqrt(np.asarray(index, dtype=complex) ** 2 - np.asarray(transverse) ** 2)
    return np.asarray(np.where(root.imag > 0, -root, root))


def admittance(index: Complex, forward: Complex, polarisation: Polarisation) -> Complex:
    """Tangential magnetic over tangential electric field in units of the vacuum: s q, p N²/q."""
    return forward if polarisation == "s" else index**2 / forward


def pile(
    index: Sequence[Complex],
    thickness: Sequence[Real],
    wavelength: Real,
    transverse: Real | Complex | float = 0.0,
    polarisation: Polarisation = "s",
) -> Wave:
    """Reflection, transmission and power of a pile of coherent layers, from the bottom up (no overflow).

    z = ρ_below·exp(−2iδ), ρ = (r + z)/(1 + r·z) with δ = 2π·q·d/λ and r = (η₋ − η)/(η₋ + η).

    Parameters
    ----------
    index : sequence of complex arrays
        The medium above, every layer from the top, the medium below; they broadcast together.
    thickness : sequence of arrays
        Of every layer, in the unit of the wavelength.
    wavelength : array
        In vacuum.
    transverse : array
        N₀ sin θ₀.
    polarisation : 's' or 'p'
    """
    forward = [forward_index(each, transverse) for each in index]
    wall = [admittance(n, q, polarisation) for n, q in zip(index, forward, strict=True)]
    phase = [2j * np.pi * q * d / wavelength for q, d in zip(forward[1:-1], thickness, strict=True)]
    total = (wall[-2] - wall[-1]) / (wall[-2] + wall[-1])
    passed = [1 + total]
    returned: list[Complex] = []
    for j in range(len(phase) - 1, -1, -1):
        back = total * np.exp(-2 * phase[j])
        step = (wall[j] - wall[j + 1]) / (wall[j] + wall[j + 1])
        below = 1 + step * back
        total = (step + back) / below
        passed.append((1 + step) / below)
        returned.append(back)
    passed.reverse()
    returned.reverse()
    amplitude, flux = passed[0], []
    for j, back in enumerate([*returned, np.zeros_like(total)]):
        power = ((1 + back) * np.conj(wall[j + 1] * (1 - back))).real * np.abs(amplitude) ** 2
        flux.append(power / wall[0].real)
        if j < len(phase):
            amplitude = amplitude * np.exp(-phase[j]) * passed[j + 1]
    return Wave(reflected=total, transmitted=amplitude, flux=np.array(np.broadcast_arrays(*flux)))


def with_back_side(
    front: Wave, front_from_below: Wave, back: Wave, once_through: Real
) -> tuple[Real, Real, Real]:
    """Reflectance, transmittance and absorbed share of a thick plate that adds powers, not fields.

    R = R₁ + T₁·T₁'·R₂·τ²/(1 − R₁'·R₂·τ²), T = T₁·T₂·τ/(1 − R₁'·R₂·τ²).

    Parameters
    ----------
    front, front_from_below, back : Wave
        The pile on the plate met from above, the same met from inside the plate, and the back side met from
        inside the plate.
    once_through : array (…)
        τ, the share of the power that one passage leaves.
    """
    r1, t1 = np.abs(front.reflected) ** 2, front.flux[-1]
    inner, out = np.abs(front_from_below.reflected) ** 2, front_from_below.flux[-1]
    r2, t2 = np.abs(back.reflected) ** 2, back.flux[-1]
    rounds = 1 - inner * r2 * once_through**2
    reflected = r1 + t1 * out * r2 * once_through**2 / rounds
    transmitted = t1 * t2 * once_through / rounds
    return reflected, transmitted, 1 - reflected - transmitted
