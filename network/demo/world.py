"""The isle as it really is, which Millrace is never told but learns from what is weighed."""

import math
from dataclasses import dataclass, field
from datetime import date
from random import Random
from uuid import UUID

from network.demo.founding import Isle, Source
from network.places.core.calendar import running_days_between
from network.places.models import Container
from network.places.queries import calendars_for

HEAP = 1.3
WORKING_DAYS_A_WEEK = 5
SPREAD = 0.18


@dataclass(kw_only=True)
class Level:
    """What is really in one place's containers, shared evenly, in ml."""

    source: Source
    containers: list[Container]
    filled_to: date
    content_ml: float = 0.0

    @property
    def each_ml(self) -> int:
        """How much is in each container; what would not go in is not set aside."""
        most_ml = HEAP * self.containers[0].volume_ml
        return round(min(self.content_ml / len(self.containers), most_ml))

    @property
    def percent(self) -> int:
        """How full each container is."""
        return round(100 * self.each_ml / self.containers[0].volume_ml)


@dataclass(kw_only=True)
class World:
    """The isle with its dice, which fall the same way for the same seed."""

    isle: Isle
    dice: Random
    levels: dict[UUID, Level] = field(default_factory=dict)

    def open(self, day: date) -> None:
        """Begin with empty containers."""
        for source in self.isle.sources:
            containers = list(
                Container.objects.filter(agreement__place=source.place)
                .select_related("agreement__place")
                .order_by("tag")
            )
            self.levels[source.place.id] = Level(
                source=source, containers=containers, filled_to=day
            )

    def fill(self, place_id: UUID, until: date) -> Level:
        """Let a place's containers fill on its working days up to a day."""
        level = self.levels[place_id]
        if level.filled_to < until:
            place = level.source.place
            calendar = calendars_for([place], level.filled_to, until)[place.id]
            days = running_days_between(calendar, level.filled_to, until)
            mean_ml = level.source.litres_a_week * 1000 / WORKING_DAYS_A_WEEK * days
            level.content_ml += mean_ml * math.exp(self.dice.gauss(0, SPREAD))
            level.filled_to = until
        return level

    def id(self) -> UUID:
        """Return an id that is the same for the same seed, where one decides how things go."""
        return UUID(int=self.dice.getrandbits(128), version=4)

    def chance(self, probability: float) -> bool:
        """Throw the dice."""
        return self.dice.random() < probability
