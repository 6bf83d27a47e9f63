"""Rows for tests, each the least that is right; a community made here has its own of everything."""

from datetime import UTC, date, datetime
from decimal import Decimal
from uuid import UUID

from django.contrib.auth.hashers import make_password
from factory.declarations import LazyFunction, SelfAttribute, Sequence, SubFactory
from factory.django import DjangoModelFactory

from network.lots.models import Scale
from network.materials.core.rules import AcceptanceRules
from network.materials.core.rules_data import rules_to_data
from network.materials.core.terms import Finding, State
from network.materials.models import Item, RuleVersion, Stream
from network.people.core.actor import Actor
from network.people.models import Community, District, Membership, Organisation, Role, User
from network.people.queries import actor_in
from network.pickups.models import Vehicle
from network.places.models import AccessWindow, Agreement, Container, Place

LONG_AGO = datetime(2025, 9, 1, 8, tzinfo=UTC)

# Caps of polyethylene, rinsed; up to 2 % by mass of other things is no work, up to 10 % some.
CAP_RULES = AcceptanceRules(
    resins=("PE-HD",),
    items=("bottle-cap", "milk-bottle-cap"),
    must=frozenset({State.RINSED}),
    wanted=frozenset({State.DRY}),
    never=frozenset({Finding.METAL, Finding.GLASS}),
    contamination_clean_max=Decimal("0.02"),
    contamination_extra_work_max=Decimal("0.10"),
    smallest_g=2_000,
)


class CommunityFactory(DjangoModelFactory[Community]):
    class Meta:
        model = Community

    slug = Sequence(lambda n: f"isle-{n}")
    name = Sequence(lambda n: f"Isle {n}")
    timezone = "Europe/London"
    country = "GB"
    subdivision = "ENG"
    currency = "GBP"
    longitude = -30.0
    latitude = 45.0
    created_at = LONG_AGO


class UserFactory(DjangoModelFactory[User]):
    class Meta:
        model = User

    email = Sequence(lambda n: f"person-{n}@example.org")
    password = LazyFunction(lambda: make_password(None))
    name = Sequence(lambda n: f"Person {n}")


class DistrictFactory(DjangoModelFactory[District]):
    class Meta:
        model = District

    community = SubFactory(CommunityFactory)
    name = Sequence(lambda n: f"District {n}")


class OrganisationFactory(DjangoModelFactory[Organisation]):
    class Meta:
        model = Organisation

    community = SubFactory(CommunityFactory)
    name = Sequence(lambda n: f"School {n}")
    kind = Organisation.Kind.SCHOOL
    created_at = LONG_AGO


class MakerFactory(OrganisationFactory):
    name = Sequence(lambda n: f"Maker {n}")
    kind = Organisation.Kind.MAKER


class StreamFactory(DjangoModelFactory[Stream]):
    class Meta:
        model = Stream

    community = SubFactory(CommunityFactory)
    maker = SubFactory(MakerFactory, community=SelfAttribute("..community"))
    name = Sequence(lambda n: f"Bottle caps {n}")
    summary = "Rinsed bottle caps, any colour."
    reach_m = 20_000
    created_at = LONG_AGO


class RuleVersionFactory(DjangoModelFactory[RuleVersion]):
    class Meta:
        model = RuleVersion

    community = SubFactory(CommunityFactory)
    stream = SubFactory(StreamFactory, community=SelfAttribute("..community"))
    number = 1
    rules = LazyFunction(lambda: rules_to_data(CAP_RULES))
    created_at = LONG_AGO


class PlaceFactory(DjangoModelFactory[Place]):
    class Meta:
        model = Place

    community = SubFactory(CommunityFactory)
    organisation = SubFactory(OrganisationFactory, community=SelfAttribute("..community"))
    name = Sequence(lambda n: f"Place {n}")
    kind = Place.Kind.SCHOOL
    district = SubFactory(DistrictFactory, community=SelfAttribute("..community"))
    address = Sequence(lambda n: f"{n} Long Row")
    # Places lie along a line to the east, a few hundred metres apart.
    longitude = Sequence(lambda n: -30.0 + (n % 20) * 0.005)
    latitude = 45.0
    status = Place.Status.ADMITTED
    created_at = LONG_AGO
    admitted_at = LONG_AGO


class WorkshopFactory(PlaceFactory):
    name = Sequence(lambda n: f"Workshop {n}")
    kind = Place.Kind.WORKSHOP
    public_precision = Place.PublicPrecision.EXACT


class AccessWindowFactory(DjangoModelFactory[AccessWindow]):
    class Meta:
        model = AccessWindow

    community = SelfAttribute("place.community")
    place = SubFactory(PlaceFactory)
    weekday = 0
    opens = "08:00"
    closes = "16:00"


class AgreementFactory(DjangoModelFactory[Agreement]):
    class Meta:
        model = Agreement

    community = SubFactory(CommunityFactory)
    place = SubFactory(PlaceFactory, community=SelfAttribute("..community"))
    rule_version = SubFactory(RuleVersionFactory, community=SelfAttribute("..community"))
    stream = SelfAttribute("rule_version.stream")
    main_item = LazyFunction(lambda: Item.objects.get(slug="bottle-cap"))
    status = Agreement.Status.RUNNING
    starts_on = date(2025, 9, 1)
    created_at = LONG_AGO


class ContainerFactory(DjangoModelFactory[Container]):
    class Meta:
        model = Container

    community = SelfAttribute("agreement.community")
    agreement = SubFactory(AgreementFactory)
    tag = Sequence(lambda n: f"T{n // 1000 % 10}-{n % 1000:03d}")
    kind = Container.Kind.BAG
    volume_ml = 60_000
    tare_g = 150
    placed_at = LONG_AGO


class ScaleFactory(DjangoModelFactory[Scale]):
    class Meta:
        model = Scale

    community = SubFactory(CommunityFactory)
    maker = SubFactory(MakerFactory, community=SelfAttribute("..community"))
    name = Sequence(lambda n: f"Scale {n}")
    max_g = 60_000
    interval_g = 20
    repeatability_g = 10


class VehicleFactory(DjangoModelFactory[Vehicle]):
    class Meta:
        model = Vehicle

    community = SubFactory(CommunityFactory)
    maker = SubFactory(MakerFactory, community=SelfAttribute("..community"))
    name = Sequence(lambda n: f"Van {n}")
    payload_g = 600_000
    volume_ml = 3_000_000
    cost_per_shift = Decimal("20.00")
    cost_per_km = Decimal("0.4500")
    cost_per_hour = Decimal("14.00")


def member(
    community: Community,
    role: Role,
    organisation: Organisation | None = None,
    user: User | None = None,
) -> User:
    """Return a person who holds a role; a new one unless given."""
    user = user or UserFactory.create()
    Membership.objects.create(
        community=community, user=user, role=role, organisation=organisation, created_at=LONG_AGO
    )
    return user


def acting(community: Community, role: Role, organisation: Organisation | None = None) -> Actor:
    """Return an actor with one role, as the queries and services take it."""
    user_id: UUID = member(community, role, organisation).id
    return actor_in(community=community, user_id=user_id)
