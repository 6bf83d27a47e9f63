"""The invented scenario, made by the same services, must itself be sound."""

import pytest
from django.db.models import Sum

from network.demo.scenario import SLUG
from network.demo.seed import seed_demo
from network.lots.models import Account, Lot, Movement
from network.people.models import Community, Membership, Role
from network.pickups.models import Pickup, Route
from network.places.models import Place

pytestmark = pytest.mark.django_db


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
