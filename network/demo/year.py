"""A year of pickups on the isle, each made by the services that the API uses."""

from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db import connection, transaction

from network.demo import scenario
from network.demo.founding import Maker
from network.demo.world import Level, World
from network.errors import MillraceError
from network.ids import new_id
from network.lots.models import Lot
from network.lots.services import Reading, inspect, weigh_again
from network.pickups.models import Pickup, PickupLine, Route
from network.pickups.request_data import PlanRequest, ShiftWish
from network.pickups.services import (
    arrive,
    assign_driver,
    book_proposal,
    collect_line,
    finish_pickup,
    finish_route,
    request_proposal,
    skip_line,
    solve_proposal,
    start_route,
    turn_away_line,
)
from network.places.services import report_fill

# Far fewer than a live plan gets: history needs sound routes, not the best.
PAST_ITERATIONS = 150
EVERY_WEEKS = {scenario.YARD: 2, scenario.BENCH: 3}
WEEKDAYS = {scenario.YARD: 1, scenario.BENCH: 2}
NEARLY_EMPTY_PERCENT = 8
TURNED_AWAY, BY_VOLUME, WEIGHED_AGAIN, INSPECTED, SAID = 0.03, 0.06, 0.25, 0.2, 0.15
MINUTE = timedelta(minutes=1)
Progress = Callable[[str], None]


def live_through(
    world: World, *, first_monday: date, weeks: int, until: date, progress: Progress
) -> None:
    """Drive each maker's past rounds, from a Monday up to but without a day."""
    for week in range(weeks):
        monday = first_monday + timedelta(weeks=week)
        if week % 4 == 0:
            _count_rows_anew()
        if week % 13 == 0:
            progress(f"Driving the rounds from {monday:%B %Y} on")
        for name, maker in world.isle.makers.items():
            day = monday + timedelta(days=WEEKDAYS[name])
            if week % EVERY_WEEKS[name] == 0 and day < until:
                with transaction.atomic():
                    _drive_round(world, maker, day)


def _count_rows_anew() -> None:
    """Tell PostgreSQL how the tables have grown: by itself it would only after all is saved."""
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")


def say_levels(world: World, at: datetime, *, share: float) -> None:
    """Let some places say how full they are, as they really are within a tenth."""
    for place_id in list(world.levels):
        if not world.chance(share):
            continue
        level = world.fill(place_id, at.date())
        for container in level.containers:
            said = max(0, min(130, 10 * round((level.percent + world.dice.gauss(0, 8)) / 10)))
            report_fill(level.source.contact, container_id=container.id, percent=said, at=at)


def plan_round(
    world: World, maker: Maker, day: date, *, at: datetime, iterations: int
) -> list[Route]:
    """Ask for a plan of one maker's van on a day and book it; none when nothing is worth it."""
    wish = ShiftWish(vehicle_id=maker.vehicle_id, day=day, starts=time(8), ends=time(16))
    proposal_id = world.id()
    request_proposal(
        maker.actor, proposal_id=proposal_id, request=PlanRequest(shifts=(wish,)), at=at
    )
    solve_proposal(proposal_id=proposal_id, iterations=iterations)
    try:
        routes = book_proposal(maker.actor, proposal_id=proposal_id, at=at)
    except MillraceError:
        return []
    for route in routes:
        assign_driver(maker.actor, route_id=route.id, driver_id=maker.driver.id)
    return routes


def moment(day: date, hour: int) -> datetime:
    """Return an hour of a day on the isle's clock, in UTC."""
    return datetime.combine(day, time(hour), tzinfo=ZoneInfo(scenario.TIMEZONE)).astimezone(UTC)


def _drive_round(world: World, maker: Maker, day: date) -> None:
    say_levels(world, moment(day - timedelta(days=2), 12), share=SAID)
    the_day_before = moment(day - timedelta(days=1), 17)
    for route in plan_round(world, maker, day, at=the_day_before, iterations=PAST_ITERATIONS):
        start_route(maker.actor, route_id=route.id, at=route.starts_at)
        pickups = list(route.pickups.order_by("position"))
        lots = [lot for pickup in pickups for lot in _visit(world, maker, pickup)]
        finish_route(maker.actor, route_id=route.id, at=route.ends_at)
        for number, lot_id in enumerate(lots):
            _look_closer(world, maker, lot_id, route.ends_at + (number + 1) * 5 * MINUTE)


def _visit(world: World, maker: Maker, pickup: Pickup) -> list[UUID]:
    """Empty a place's containers, and return the lots that came of it."""
    at = (pickup.planned_arrival or pickup.created_at) + world.dice.randrange(9) * MINUTE
    level = world.fill(pickup.place_id, at.date())
    arrive(maker.actor, pickup_id=pickup.id, at=at)
    lots = []
    left_ml = 0
    for line in pickup.lines.select_related("container__agreement__stream").order_by(
        "container__tag"
    ):
        lot_id = _settle(world, maker, line, level, at + 4 * MINUTE)
        if lot_id is None:
            left_ml += level.each_ml
        else:
            lots.append(lot_id)
    level.content_ml = left_ml
    finish_pickup(maker.actor, pickup_id=pickup.id, at=at + 8 * MINUTE)
    return lots


def _settle(
    world: World, maker: Maker, line: PickupLine, level: Level, at: datetime
) -> UUID | None:
    """Take a container, or leave it; return the lot taken."""
    if level.percent < NEARLY_EMPTY_PERCENT:
        skip_line(maker.actor, line_id=line.id, reason="Hardly anything in it yet", at=at)
        return None
    if world.chance(TURNED_AWAY):
        turn_away_line(
            maker.actor, line_id=line.id, inspection_id=new_id(), look={"unmet": ["rinsed"]}, at=at
        )
        return None
    lot_id = new_id()
    collect_line(
        maker.actor,
        line_id=line.id,
        lot_id=lot_id,
        reading=_reading(world, maker, line, level),
        at=at,
    )
    return lot_id


def _reading(world: World, maker: Maker, line: PickupLine, level: Level) -> Reading:
    # Only caps have a bulk density to work a mass out from.
    if "caps" in str(line.container.agreement.stream) and world.chance(BY_VOLUME):
        return Reading(method="volume", percent=min(level.percent, 130))
    net_g = level.each_ml * level.source.grams_a_litre / 1000 * (1 + world.dice.gauss(0, 0.06))
    gross_g = 20 * round((line.container.tare_g + net_g) / 20)
    return Reading(
        method="weighed",
        gross_g=max(gross_g, line.container.tare_g + 20),
        tare_g=line.container.tare_g,
        scale_id=maker.scale_id,
        percent=min(level.percent, 130),
    )


def _look_closer(world: World, maker: Maker, lot_id: UUID, at: datetime) -> None:
    """Weigh some lots again at the workshop, and inspect some."""
    lot = Lot.objects.get(id=lot_id)
    net_g = lot.weighings.latest("at").net_g
    if world.chance(WEIGHED_AGAIN):
        net_g = max(20, net_g + 20 * round(world.dice.gauss(0, 1)))
        weigh_again(
            maker.actor,
            weighing_id=new_id(),
            lot_id=lot_id,
            gross_g=net_g + 1_000,
            tare_g=1_000,
            scale_id=maker.scale_id,
            at=at,
        )
    if world.chance(INSPECTED):
        sample_g = min(net_g, 1_000)
        share = min(world.dice.expovariate(40), 0.09)
        found_g = round(sample_g * share)
        kind = world.dice.choice(["metal", "food_residue", "other_resin", "label", "paper"])
        inspect(
            maker.actor,
            inspection_id=new_id(),
            lot_id=lot_id,
            observation={"met": ["rinsed"]},
            sample_g=sample_g,
            findings=[(kind, found_g)] if found_g else [],
            taken_out_g=found_g,
            at=at + MINUTE,
        )
