"""What a visit to a place on a day of a plan is worth, from the forecast and the maker's money."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property
from itertools import pairwise
from uuid import UUID

from network.pickups.core.prize import (
    VisitWorth,
    cheapest,
    full_day_cost,
    way_and_time_cost,
    way_there,
    worth_of_waiting,
)
from network.pickups.core.problem import Van
from network.pickups.core.travel import Travel
from network.pickups.request_data import PlanRequest
from network.places.models import Container, Place
from network.places.queries import Fills
from network.units import to_cents

# After the last day of a plan it takes some more until the next plan's van comes.
LOOK_BEYOND_DAYS = 3


@dataclass(frozen=True, kw_only=True)
class Prizes:
    """The prizes of one plan's visits; `fills` reach LOOK_BEYOND_DAYS past its last day.

    `visited_on` says when each place was last emptied, or else began.
    """

    request: PlanRequest
    vans: tuple[Van, ...]
    travel: Travel
    fills: Fills
    visited_on: Mapping[UUID, date]
    first_day: date

    def by_day(
        self, place: Place, containers: Sequence[Container], *, days: int
    ) -> dict[int, VisitWorth]:
        """Return what emptying these containers, all of the place's, is worth on each day."""
        way = way_there(self.travel, str(place.id), self.travel.ids)
        return {day: self._on(place, containers, way, day=day) for day in range(days)}

    def _on(
        self, place: Place, containers: Sequence[Container], way: tuple[int, int], *, day: int
    ) -> VisitWorth:
        today = self.fills[self.first_day + timedelta(days=day)]
        volume_ml = sum(container.volume_ml for container in containers)
        expected_ml = sum(today[container.id].volume_ml for container in containers)
        way_m, way_s = way
        way_cost, time_cost = way_and_time_cost(
            self._cheapest, way_m=way_m, way_s=way_s, service_s=place.service_s
        )
        full = [self._full_days(container, day) for container in containers]
        waited_days = (self.first_day - self.visited_on[place.id]).days + day
        fill_fraction = Decimal(expected_ml) / volume_ml
        return VisitWorth(
            way_m=way_m,
            way_s=way_s,
            service_s=place.service_s,
            way_cost=way_cost,
            time_cost=time_cost,
            fill_fraction=fill_fraction,
            full_days=to_cents(sum((days for days, _ in full), Decimal(0))),
            full_days_cost=to_cents(sum((cost for _, cost in full), Decimal(0))),
            waited_days=waited_days,
            waiting_worth=worth_of_waiting(
                self._cheapest,
                typical_cost=way_cost + time_cost,
                fill_fraction=fill_fraction,
                waited_days=waited_days,
            ),
        )

    @cached_property
    def _cheapest(self) -> Van:
        return cheapest(self.vans)

    def _full_days(self, container: Container, day: int) -> tuple[Decimal, Decimal]:
        """How many days it is expected to stand full if nobody comes from then on, at what cost.

        The cost is that of the nuisance and of what no longer goes in.
        """
        full_days, cost = Decimal(0), Decimal(0)
        for earlier, later in pairwise(sorted(self.fills)[day:]):
            before, after = self.fills[earlier][container.id], self.fills[later][container.id]
            if after.running_days <= before.running_days:
                continue
            mass_g = after.mass.mass_g if after.mass else 0
            chance = Decimal(str(after.overflow_chance))
            full_days += chance
            cost += full_day_cost(
                chance=chance,
                nuisance_cost=self.request.overflow_cost,
                brought_g=mass_g * after.day_ml // container.volume_ml,
                value_per_kg=self.request.value_per_kg,
            )
        return full_days, cost
