"""What a visit to a place on a day of a plan is worth, from the forecast and the maker's money."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property
from itertools import pairwise

from network.pickups.core.prize import stop_cost, visit_prize, way_there
from network.pickups.core.problem import Van
from network.pickups.core.travel import Travel
from network.pickups.request_data import PlanRequest
from network.places.models import Container, Place
from network.places.queries import Fills
from network.units import G_PER_KG

# After the last day of a plan it takes some more until the next plan's van comes.
LOOK_BEYOND_DAYS = 3


@dataclass(frozen=True, kw_only=True)
class Prizes:
    """The prizes of one plan's visits; `fills` reach LOOK_BEYOND_DAYS past its last day."""

    request: PlanRequest
    vans: tuple[Van, ...]
    travel: Travel
    fills: Fills
    first_day: date

    def of(self, place: Place, containers: Sequence[Container], *, day: int) -> Decimal:
        """Return the prize of emptying these containers, all of the place's, on a day."""
        today = self.fills[self.first_day + timedelta(days=day)]
        volume_ml = sum(container.volume_ml for container in containers)
        expected_ml = sum(today[container.id].volume_ml for container in containers)
        way_m, way_s = way_there(self.travel, str(place.id), self.travel.ids)
        return visit_prize(
            typical_cost=stop_cost(
                self._cheapest, way_m=way_m, way_s=way_s, service_s=place.service_s
            ),
            fill_fraction=Decimal(expected_ml) / volume_ml,
            full_days_cost=sum(
                (self._full_days_cost(container, day) for container in containers), Decimal(0)
            ),
        )

    @cached_property
    def _cheapest(self) -> Van:
        return min(self.vans, key=lambda van: (van.cost_per_km, van.cost_per_hour))

    def _full_days_cost(self, container: Container, day: int) -> Decimal:
        """What it is expected to cost if nobody comes from that day on: nuisance and lost goods."""
        days = sorted(self.fills)[day:]
        cost = Decimal(0)
        for earlier, later in pairwise(days):
            before, after = self.fills[earlier][container.id], self.fills[later][container.id]
            works = after.running_days > before.running_days
            if works:
                lost_g = (
                    after.mass.mass_g * after.day_ml // container.volume_ml if after.mass else 0
                )
                a_day = self.request.overflow_cost + self.request.value_per_kg * lost_g / G_PER_KG
                cost += Decimal(str(after.overflow_chance)) * a_day
        return cost
