"""The density of the liquids that pieces are floated in, from their strength and temperature."""

from bisect import bisect_right
from collections.abc import Sequence

from scipy.optimize import brentq

# OIML R 22 (1975), International Alcoholometric Tables, general formula: the coefficients were read
# in two independent transcriptions that agree. It holds from -20 to 40 °C. kg/m³.
_A = (
    998.20123,
    -192.9769495,
    389.1238958,
    -1668.103923,
    13522.15441,
    -88292.78388,
    306287.4042,
    -613838.1234,
    747017.2998,
    -547846.1354,
    223446.0334,
    -39032.85426,
)
_B = (-0.20618513, -5.2682542e-3, 3.6130013e-5, -3.8957702e-7, 7.1693540e-9, -9.9739231e-11)
_C = (
    (
        0.1693443461530087,
        -10.46914743455169,
        71.96353469546523,
        -704.7478054272792,
        3924.090430035045,
        -12101.64659068747,
        22486.46550400788,
        -26055.62982188164,
        18523.73922069467,
        -7420.201433430137,
        1285.617841998974,
    ),
    (
        -0.01193013005057010,
        0.2517399633803461,
        -2.170575700536993,
        13.53034988843029,
        -50.29988758547014,
        109.6355666577570,
        -142.2753946421155,
        108.0435942856230,
        -44.14153236817392,
        7.442971530188783,
    ),
    (
        -6.802995733503803e-4,
        1.876837790289664e-2,
        -0.2002561813734156,
        1.022992966719220,
        -2.895696483903638,
        4.810060584300675,
        -4.672147440794683,
        2.458043105903461,
        -0.5411227621436812,
    ),
    (4.075376675622027e-6, -8.763058573471110e-6, 6.515031360099368e-6, -1.515784836987210e-6),
    (-2.788074354782409e-8, 1.345612883493354e-8),
)
_REFERENCE_C = 20
_KG_M3_PER_G_CM3 = 1000
_ETHANOL_G_CM3 = 0.78924  # at 20 °C, OIML R 22
TEMPERATURE_C_MIN = -20
TEMPERATURE_C_MAX = 40

# Sodium chloride in water at 20 °C: per cent by mass, g/cm³. CRC Handbook, recalled from memory.
_BRINE = (
    (0, 0.9982),
    (5, 1.0340),
    (10, 1.0707),
    (15, 1.1085),
    (20, 1.1478),
    (26, 1.1972),
)
BRINE_PERCENT_MAX = 26


def ethanol_water_g_cm3(*, mass_share: float, temperature_c: float) -> float:
    """Return the density of ethanol in water, in g/cm³, from its share by mass.

    Water alone is a share of zero. Raises ValueError outside of what the formula holds for.
    Source: OIML R 22 (1975), general formula.
    """
    if not 0 <= mass_share <= 1:
        raise ValueError("a share is from 0 to 1")
    if not TEMPERATURE_C_MIN <= temperature_c <= TEMPERATURE_C_MAX:
        raise ValueError(f"the formula holds from {TEMPERATURE_C_MIN} to {TEMPERATURE_C_MAX} °C")
    warmer = temperature_c - _REFERENCE_C
    density = sum(a * mass_share**k for k, a in enumerate(_A))
    density += sum(b * warmer**k for k, b in enumerate(_B, start=1))
    for i, row in enumerate(_C, start=1):
        density += warmer**i * sum(c * mass_share**k for k, c in enumerate(row, start=1))
    return density / _KG_M3_PER_G_CM3


def mass_share_of_volume_share(volume_share: float) -> float:
    """Return the share by mass of ethanol whose bottle states a share by volume (at 20 °C).

    Raises ValueError outside of 0 to 1. Source: OIML R 22, whose q is p times the density of the
    mixture over that of ethanol.
    """
    if not 0 <= volume_share <= 1:
        raise ValueError("a share is from 0 to 1")

    def excess(mass_share: float) -> float:
        mixture = ethanol_water_g_cm3(mass_share=mass_share, temperature_c=_REFERENCE_C)
        return mass_share * mixture / _ETHANOL_G_CM3 - volume_share

    # The formula's own ethanol differs from the rounded constant in the sixth place.
    return 1.0 if excess(1.0) <= 0 else float(brentq(excess, 0.0, 1.0))


def brine_g_cm3(*, mass_percent: float) -> float:
    """Return the density of table salt in water at 20 °C, in g/cm³, between tabled strengths.

    Raises ValueError above what dissolves. Source: CRC Handbook, recalled from memory.
    """
    if not 0 <= mass_percent <= BRINE_PERCENT_MAX:
        raise ValueError(f"up to {BRINE_PERCENT_MAX} % of salt dissolves in cold water")
    return _between(_BRINE, mass_percent)


def _between(table: Sequence[tuple[float, float]], x: float) -> float:
    """Interpolate a table along straight lines."""
    index = min(bisect_right(table, (x, float("inf"))), len(table) - 1)
    (x0, y0), (x1, y1) = table[index - 1], table[index]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
