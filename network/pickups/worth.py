"""What a visit to a place on a day of a plan is worth, from the forecast and the maker's money."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import cached_property
from uuid import UUID

from network.materials.core.amounts import mass_of_volume
from network.pickups.core.prize import (
    VisitWorth,
    cheapest,
    full_days_cost,
    way_and_time_cost,
    way_there,
    worth_of_waiting,
)
from network.pickups.core.problem import Shift, Van
from network.pickups.core.travel import Travel
from network.pickups.horizon import Horizon, Span
from network.pickups.request_data import PlanRequest
from network.places.models import Container, Place
from network.places.queries import Ahead
from network.places.queries.fills import bulk_density_of
from network.units import to_cents

# After the last day of a plan it takes some more until the next plan's van comes.
LOOK_BEYOND_DAYS = 3


def could_come(
    containers: Iterable[Container],
    windows: Mapping[UUID, Sequence[Span]],
    shifts: Iterable[Shift],
    *,
    horizon: Horizon,
) -> dict[UUID, list[bool]]:
    """Return for each container on which of the days looked at somebody could come.

    That is where its place is open on a day of the plan on which a van goes out.
    """
    going = {shift.day for shift in shifts}
    coming = {
        place_id: going & {horizon.index(opens) for opens, _ in own}
        for place_id, own in windows.items()
    }
    days = range(horizon.days + LOOK_BEYOND_DAYS)
    return {
        container.id: [day in coming.get(container.agreement.place_id, ()) for day in days]
        for container in containers
    }


@dataclass(frozen=True, kw_only=True)
class Prizes:
    """The prizes of one plan's visits; full days reach LOOK_BEYOND_DAYS past its last day.

    `visited_on` says when each place was last emptied, or else began.
    """

    request: PlanRequest
    vans: tuple[Van, ...]
    travel: Travel
    ahead: Ahead
    visited_on: Mapping[UUID, date]
    first_day: date

    def by_day(
        self, place: Place, containers: Sequence[Container], *, days: int
    ) -> dict[int, VisitWorth]:
        """Return what emptying these containers, all of the place's, is worth on each day."""
        way = way_there(self.travel, str(place.id), self.travel.ids)
        return {day: self._on(place, containers, way, day=day) for day in range(days)}

    def standing_full(self, containers: Iterable[Container]) -> dict[UUID, Decimal]:
        """Return for each place how many days, one for each container, end full if nobody comes."""
        chances: dict[UUID, float] = defaultdict(float)
        for own in containers:
            chances[own.agreement.place_id] += sum(
                day.chance for day in self.ahead.full_days[own.id]
            )
        return {place_id: to_cents(Decimal(str(days))) for place_id, days in chances.items()}

    def _on(
        self, place: Place, containers: Sequence[Container], way: tuple[int, int], *, day: int
    ) -> VisitWorth:
        today = self.ahead.fills[self.first_day + timedelta(days=day)]
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
        """How many days on which it stands full coming on that day avoids, and what they cost.

        The cost is that of the nuisance and of what no longer goes in.
        """
        ahead = self.ahead.full_days[container.id][day:]
        days = Decimal(str(sum(one.avoidable_chance for one in ahead)))
        density = bulk_density_of(container.agreement.main_item_id)
        lost_ml = sum(one.avoidable_ml for one in ahead)
        cost = full_days_cost(
            days=days,
            nuisance_cost=self.request.overflow_cost,
            # Where no bulk density is known the mass is not guessed.
            lost_g=mass_of_volume(lost_ml, density).mass_g if density else 0,
            value_per_kg=self.request.value_per_kg,
        )
        return days, cost
