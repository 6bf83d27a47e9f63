"""What a simulated maker has and pays: vans, shifts and money; invented, with no source."""

from dataclasses import dataclass
from decimal import Decimal

from network.pickups.core.problem import Van


@dataclass(frozen=True, kw_only=True)
class Terms:
    """Vans that go out on working days, and how hard is planned; the same for every policy.

    `iterations` bounds each search; `mg_per_ml` is the loose bulk density; `value_per_kg` what
    a kilogram is worth to the maker, which is what plans hold a lost one to cost.
    """

    vans: int
    payload_g: int = 800_000
    volume_ml: int = 6_000_000
    cost_per_shift: Decimal = Decimal(20)
    cost_per_km: Decimal = Decimal("0.45")
    cost_per_hour: Decimal = Decimal(14)
    shift_start_h: int = 8
    shift_end_h: int = 16
    mg_per_ml: float = 100.0
    value_per_kg: Decimal = Decimal(1)
    currency: str = "EUR"
    iterations: int = 300

    def __post_init__(self) -> None:
        if self.vans < 1 or self.iterations < 1:
            raise ValueError("there is a van at least, and an iteration")

    def van(self, van_id: str) -> Van:
        """One of the vans, which are all alike."""
        return Van(
            id=van_id,
            payload_g=self.payload_g,
            volume_ml=self.volume_ml,
            cost_per_shift=self.cost_per_shift,
            cost_per_km=self.cost_per_km,
            cost_per_hour=self.cost_per_hour,
        )

    def mass_g(self, volume_ml: float) -> int:
        """The mass of so much loose material."""
        return round(volume_ml * self.mg_per_ml / 1000)
