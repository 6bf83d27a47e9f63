"""Which resins a piece can be, from what it does in liquids of known density."""

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, kw_only=True)
class FloatTest:
    """A piece put into a liquid of a stated density, in g/cm³, and whether it floated."""

    medium_g_cm3: Decimal
    floated: bool

    def __post_init__(self) -> None:
        if not self.medium_g_cm3 > 0:
            raise ValueError("a liquid has a density above zero")
