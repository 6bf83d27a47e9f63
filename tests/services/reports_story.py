"""A few months of two makers, three places and everything that can happen to a bag."""

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from network.ids import new_id
from network.lots import services
from network.lots.models import Lot, Movement
from network.people.core.actor import Actor
from network.people.models import Community, Role
from network.places.models import Container
from tests.factories import AgreementFactory, ContainerFactory, PlaceFactory, acting
from tests.services.lots_story import CLEAN, UNRINSED, Story, make_story

# By the clock of London 1 October 2025 00:30, but still September in UTC.
FIRST_OF_OCTOBER = datetime(2025, 9, 30, 23, 30, tzinfo=UTC)
OCTOBER = datetime(2025, 10, 14, 10, tzinfo=UTC)
NOVEMBER = datetime(2025, 11, 4, 10, tzinfo=UTC)


@dataclass(kw_only=True)
class Months:
    """What the tests of reports look at."""

    community: Community
    organiser: Actor
    first: Story
    second: Story
    containers: list[Container]


def containers_of(story: Story) -> list[Container]:
    """Return bags at a school, a café without a district, and a salon that begins with '='."""
    places = [
        story.agreement.place,
        PlaceFactory.create(
            community=story.community, kind="cafe", district=None, name='Café "Zum Eck", Port'
        ),
        PlaceFactory.create(community=story.community, kind="salon", name="=1+1 Hair"),
    ]
    agreements = [
        story.agreement,
        *(
            AgreementFactory.create(
                community=story.community, place=place, rule_version=story.agreement.rule_version
            )
            for place in places[1:]
        ),
    ]
    return [ContainerFactory.create(agreement=agreement) for agreement in agreements]


def bring(story: Story, container: Container, at: datetime, **changes: Any) -> Lot:
    """Collect a bag and bring it home the same day."""
    lot = story.collect(container=container, at=at, **changes)[0]
    services.bring_home(story.driver, lots=[lot], vehicle_id=story.vehicle_id, at=at)
    return lot


def reverse(story: Story, line: Movement, at: datetime) -> None:
    services.reverse_movement(
        story.maker_actor, movement_id=new_id(), reverses_id=line.id, note="A slip.", at=at
    )


def months() -> Months:
    first = make_story()
    second = make_story(first.community)
    containers = containers_of(first)
    _first_maker(first, containers)
    at_school = AgreementFactory.create(
        community=first.community,
        place=first.agreement.place,
        rule_version=second.agreement.rule_version,
    )
    bring(second, ContainerFactory.create(agreement=at_school), NOVEMBER, net_g=2_003)
    return Months(
        community=first.community,
        organiser=acting(first.community, Role.ORGANISER),
        first=first,
        second=second,
        containers=containers,
    )


def _first_maker(story: Story, containers: list[Container]) -> None:
    school, cafe, salon = containers
    maker = story.maker_actor
    bring(story, school, FIRST_OF_OCTOBER, net_g=8_001)
    guessed = bring(story, cafe, OCTOBER, reading=services.Reading(method="volume", percent=40))
    services.weigh_again(
        maker,
        weighing_id=new_id(),
        lot_id=guessed.id,
        gross_g=3_457,
        tare_g=150,
        scale_id=story.scale.id,
        at=NOVEMBER,
    )
    bring(story, salon, OCTOBER, reading=services.Reading(method="volume", percent=30))
    dirty = bring(story, salon, OCTOBER, net_g=4_000)
    _look(story, dirty, observation=UNRINSED, turned_away_to="returned", at=NOVEMBER)
    labelled = bring(story, school, OCTOBER, net_g=6_007)
    _look(story, labelled, sample_g=500, findings=[("label", 30)], taken_out_g=111, at=OCTOBER)
    wrong = bring(story, cafe, OCTOBER, net_g=1_234)
    for line in Movement.objects.filter(from_account__lot=wrong).order_by("-recorded_at"):
        reverse(story, line, NOVEMBER)
    parts = services.split_lot(
        maker, first_id=new_id(), lot_id=labelled.id, parts_g=[1_000, 2_000], at=NOVEMBER
    )
    services.record_loss(
        maker, movement_id=new_id(), lot_id=parts[0].id, mass_g=70, note="", at=NOVEMBER
    )
    _look(story, parts[1], observation=UNRINSED, turned_away_to="residue", at=NOVEMBER)
    story.collect(777, container=school, at=NOVEMBER)


def _look(story: Story, lot: Lot, *, at: datetime, **changes: Any) -> None:
    arguments: dict[str, Any] = {"observation": CLEAN, **changes}
    services.inspect(story.maker_actor, inspection_id=new_id(), lot_id=lot.id, at=at, **arguments)
