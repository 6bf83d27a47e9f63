"""The invented scenario, made by the same services, must itself be sound."""

import pytest
from django.db.models import Sum

from network.demo.scenario import SLUG
from network.demo.seed import seed_demo
from network.lots.models import Account, Lot, Movement
from network.people.models import Community, Membership, Role
from network.pickups.models import Pickup, Route
from network.places.models import Place
from network.workshop.models import Batch, Passport, ProcessRun, Recipe, StreamCertainty
from network.workshop.queries.passports import passport_page

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("sizes_forgotten")]


def test_the_isle_is_sound_and_there_is_something_to_do_on_it() -> None:
    seed_demo(progress=lambda _words: None, weeks=3)

    isle = Community.objects.get(slug=SLUG)
    _has_all_kinds_of_places_and_people(isle)
    assert Place.objects.filter(community=isle, status=Place.Status.ASKED).exists()
    assert Pickup.objects.filter(community=isle, status=Pickup.Status.ASKED).exists()
    accounts = Account.objects.filter(community=isle)
    assert Movement.objects.filter(community=isle).exists()
    assert accounts.aggregate(sum=Sum("balance_g"))["sum"] == 0
    assert not accounts.filter(kind=Account.Kind.VEHICLE).exclude(balance_g=0).exists()
    assert not Route.objects.filter(community=isle, status=Route.Status.UNDER_WAY).exists()

    _something_was_made(isle)

    lots = Lot.objects.filter(community=isle).count()
    told: list[str] = []
    seed_demo(progress=told.append, weeks=3)
    assert Lot.objects.filter(community=isle).count() == lots
    assert told == ["Tamsin Isle is there already: its data is kept"]


def _has_all_kinds_of_places_and_people(isle: Community) -> None:
    kinds = set(Place.objects.filter(community=isle).values_list("kind", flat=True))
    assert kinds == set(Place.Kind.values)
    held = set(Membership.objects.filter(community=isle).values_list("role", flat=True))
    assert held == set(Role.values)


def _something_was_made(isle: Community) -> None:
    """Caps were washed, sorted and pressed, and say where they came from, by the ledger."""
    assert set(ProcessRun.objects.filter(community=isle).values_list("kind", flat=True)) == {
        "wash",
        "sort",
    }
    assert Recipe.objects.filter(community=isle).exists()
    assert StreamCertainty.objects.filter(community=isle).exists()
    accounts = Account.objects.filter(community=isle, balance_g__gt=0)
    assert accounts.filter(kind=Account.Kind.OFFCUT).exists()
    passport = Passport.objects.get(community=isle)
    story = passport_page(passport.slug).story
    of_product = accounts.filter(kind=Account.Kind.PRODUCT, holder_id=passport.product_id)
    assert story.ledger_g == of_product.aggregate(sum=Sum("balance_g"))["sum"]
    assert sum(share.percent for share in story.origins) == 100
    batch = Batch.objects.get(community=isle, products__isnull=True)
    assert accounts.filter(kind=Account.Kind.BATCH, holder_id=batch.id).exists()
