"""How full a container was when it was emptied."""

from fractions import Fraction

from network.pickups.models import PickupLine
from network.places.queries.fills import bulk_density_of

PERCENT = 100
PERCENT_MAX = 150
MG_PER_G = 1000


def level_percent_seen(line: PickupLine, *, net_g: int, told: int | None) -> int:
    """Return percent of the container's volume: as told, or by its mass, or as was expected.

    The mass (g) gives it by the main item's loose bulk density (kg/m3, the same as mg/ml).
    """
    volume_ml = line.container.volume_ml
    density = bulk_density_of(line.container.agreement.main_item_id)
    if told is not None:
        percent = Fraction(told)
    elif density is not None:
        percent = Fraction(net_g * MG_PER_G) / Fraction(density.value) * PERCENT / volume_ml
    else:
        percent = Fraction(line.expected_volume_ml * PERCENT, volume_ml)
    return min(round(percent), PERCENT_MAX)
