"""How heat goes through a flat piece: the transient series of a plane wall, and still air.

A slab at one temperature whose faces are suddenly at another. With one cold face and the other
insulated it is half of a slab twice as thick. The diffusivity is constant, so the heat of melting
is left out: real times are up to twice as long, and a workshop's own log corrects them.
Source: Carslaw and Jaeger, Conduction of Heat in Solids, ch. III (from memory); the tests hold the
series against a finite-difference solution.
"""

from collections.abc import Callable
from math import log, pi

import numpy as np
from scipy.optimize import brentq

TERMS = 200
_ODD = 2 * np.arange(TERMS) + 1
_SIGNS = np.where(np.arange(TERMS) % 2 == 0, 1.0, -1.0)
# Before this the series of so many terms ripples; it is less than a second for any piece here.
_FOURIER_MIN = 1e-5
# Beyond this the first term is below any share that is asked for here.
_FOURIER_MAX = 3.0
_SHARE_MIN = 1e-9


def centre_share(fourier: float) -> float:
    """Return the share of the first difference that the middle still has.

    `fourier` is diffusivity times time over the square of the whole thickness.
    """
    if fourier <= 0:
        return 1.0
    return float(4 / pi * np.sum(_SIGNS / _ODD * np.exp(-(_ODD**2) * pi**2 * fourier)))


def mean_share(fourier: float) -> float:
    """Return the share of the first difference that the slab still has on average."""
    if fourier <= 0:
        return 1.0
    return float(8 / pi**2 * np.sum(1 / _ODD**2 * np.exp(-(_ODD**2) * pi**2 * fourier)))


def wall_time_s(
    share: float,
    of: Callable[[float], float],
    *,
    thickness_mm: float,
    diffusivity_mm2_s: float,
    two_faces: bool = True,
) -> float:
    """Return when the centre or the mean (`of`) has come down to a share, in s.

    Raises ValueError for a share that is not between 0 and 1.
    """
    if not _SHARE_MIN <= share <= 1:
        raise ValueError("a share is at most 1, and not so near 0 that nothing is left")
    if share >= of(_FOURIER_MIN):
        return 0.0
    fourier = float(brentq(lambda fo: of(fo) - share, _FOURIER_MIN, _FOURIER_MAX))
    whole_mm = thickness_mm if two_faces else 2 * thickness_mm
    return fourier * whole_mm**2 / diffusivity_mm2_s


def air_time_s(
    share: float,
    *,
    thickness_mm: float,
    density_g_cm3: float,
    heat_j_g_k: float,
    h_w_m2_k: float = 10.0,
) -> float:
    """Return when a slab in still air has come down to a share, in s: as a whole, it is so slow.

    Units: heat capacity in J/(g K), heat transfer in W/(m² K); ten is still air, from memory.
    """
    if not 0 < share <= 1:
        raise ValueError("a share is above 0 and at most 1")
    # rho c s/2 / h: g/cm³ × J/(g K) × mm is kJ/(m² K).
    tau_s = density_g_cm3 * heat_j_g_k * thickness_mm / 2 / h_w_m2_k * 1000
    return -tau_s * log(share)
