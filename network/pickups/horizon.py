"""The days that a plan covers, on the community's clock."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from network.people.models import Organisation
from network.pickups.plan_data import midnight_of
from network.pickups.request_data import PlanRequest

Span = tuple[datetime, datetime]


@dataclass(frozen=True, kw_only=True)
class Horizon:
    """The days of a request on the community's clock."""

    first_day: date
    days: int
    timezone: str

    @property
    def starts_at(self) -> datetime:
        """The zero of the axis: midnight of the first day."""
        return midnight_of(self.first_day, self.timezone)

    @property
    def last_day(self) -> date:
        """The last of the days."""
        return self.first_day + timedelta(days=self.days - 1)

    @property
    def dates(self) -> list[date]:
        """All of the days."""
        return [self.first_day + timedelta(days=index) for index in range(self.days)]

    def seconds(self, moment: datetime) -> int:
        """Where a moment lies on the axis."""
        return int((moment - self.starts_at).total_seconds())

    def index(self, moment: datetime) -> int:
        """The number of the day on which a moment lies, from 0."""
        return (moment.astimezone(ZoneInfo(self.timezone)).date() - self.first_day).days


def horizon_of(maker: Organisation, request: PlanRequest) -> Horizon:
    """Return the days from a request's first shift to its last."""
    days = sorted(shift.day for shift in request.shifts)
    return Horizon(
        first_day=days[0],
        days=(days[-1] - days[0]).days + 1,
        timezone=maker.community.timezone,
    )
