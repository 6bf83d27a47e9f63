"""Communities, roles and invitations, on the database."""

import threading
from collections.abc import Callable
from datetime import timedelta

import pytest
from django.db import connection
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from network.errors import Conflict, Expired, InvalidInput, MillraceError, NotAllowed, NotFound
from network.people.core.actor import Actor
from network.people.core.checks import check_community
from network.people.models import Community, Invitation, Membership, Organisation, Role, User
from network.people.queries import (
    actor_in,
    invitations_seen_by,
    members_seen_by,
    memberships_of,
    organisations_seen_by,
    usable_invitation,
)
from network.people.services import (
    accept_invitation,
    add_district,
    add_organisation,
    add_person,
    create_community,
    found_organisation,
    grant_role,
    invite,
    sign_in_link_token,
    use_sign_in_link,
)
from tests.factories import (
    CommunityFactory,
    MakerFactory,
    OrganisationFactory,
    UserFactory,
    acting,
    member,
)

ISLE = {
    "slug": "tamsin-isle",
    "timezone": "Atlantic/Azores",
    "country": "PT",
    "currency": "EUR",
    "longitude": -30.0,
    "latitude": 45.0,
}


def an_organiser(community: Community | None = None) -> Actor:
    return acting(community or CommunityFactory.create(), Role.ORGANISER)


@pytest.mark.django_db
def test_a_community_is_founded_with_its_first_organiser() -> None:
    person = add_person(email="Wren@Example.org", name="Wren")
    community = create_community(
        organiser=person,
        name="Tamsin Isle",
        slug="tamsin-isle",
        timezone_name="Atlantic/Azores",
        country="PT",
        currency="EUR",
        longitude=-30.0,
        latitude=45.0,
    )
    assert actor_in(community=community, user_id=person.id).is_organiser
    with pytest.raises(Conflict):
        create_community(
            organiser=person,
            name="Another",
            slug="tamsin-isle",
            timezone_name="Atlantic/Azores",
            country="PT",
            currency="EUR",
            longitude=-30.0,
            latitude=45.0,
        )


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("slug", "Tamsin Isle"),
        ("slug", "-isle"),
        ("slug", ""),
        ("timezone", "Tamsin/Port_Sorrel"),
        ("country", "Portugal"),
        ("currency", "€"),
        ("longitude", 181.0),
        ("longitude", float("nan")),
        ("latitude", -90.5),
    ],
)
def test_a_community_is_not_founded_with_particulars_that_cannot_be(
    field: str, value: object
) -> None:
    with pytest.raises(InvalidInput) as refused:
        check_community(**{**ISLE, field: value})  # type: ignore[arg-type]  # wrong on purpose
    assert [fault.field for fault in refused.value.fields] == [field]
    assert refused.value.fields[0].mend


@given(
    longitude=st.floats(min_value=-180, max_value=180),
    latitude=st.floats(min_value=-90, max_value=90),
)
def test_a_community_may_be_anywhere_on_earth(longitude: float, latitude: float) -> None:
    check_community(**{**ISLE, "longitude": longitude, "latitude": latitude})  # type: ignore[arg-type]


@pytest.mark.django_db
def test_an_address_names_one_person_however_it_is_written() -> None:
    first = add_person(email="wren@example.org", name="Wren")
    assert add_person(email=" WREN@example.org ", name="Somebody else") == first
    assert User.objects.get().name == "Wren"


@pytest.mark.django_db
def test_what_an_organiser_adds_bears_a_name_of_its_own() -> None:
    actor = an_organiser()
    add_district(actor, name="Port Sorrel")
    add_organisation(actor, name="Sorrel School", kind="school")
    with pytest.raises(Conflict):
        add_district(actor, name="Port Sorrel")
    with pytest.raises(Conflict):
        add_organisation(actor, name="Sorrel School", kind="cafe")
    elsewhere = an_organiser()
    add_district(elsewhere, name="Port Sorrel")
    add_organisation(elsewhere, name="Sorrel School", kind="school")


@pytest.mark.django_db
@pytest.mark.parametrize("role", [Role.CONTACT, Role.DRIVER, Role.MAKER])
def test_only_an_organiser_adds_invites_and_grants(role: Role) -> None:
    maker = MakerFactory.create()
    actor = acting(maker.community, role, maker)
    refused: list[Callable[[], object]] = [
        lambda: add_district(actor, name="Here"),
        lambda: add_organisation(actor, name="Mine", kind="school"),
        lambda: invite(actor, role="organiser"),
        lambda: grant_role(actor, user=UserFactory.create(), role="organiser"),
    ]
    for attempt in refused:
        with pytest.raises(NotAllowed):
            attempt()


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("role", "kind"), [("maker", "school"), ("driver", "school"), ("organiser", "school")]
)
def test_a_role_is_held_for_an_organisation_that_can_have_it(role: str, kind: str) -> None:
    actor = an_organiser()
    organisation = OrganisationFactory.create(community_id=actor.community_id, kind=kind)
    with pytest.raises(InvalidInput) as refused:
        grant_role(actor, user=UserFactory.create(), role=role, organisation=organisation)
    assert refused.value.fields[0].field == "organisation_id"
    with pytest.raises(InvalidInput):
        invite(actor, role=role, organisation_id=organisation.id)


@pytest.mark.django_db
@pytest.mark.parametrize("role", [Role.CONTACT, Role.DRIVER, Role.MAKER])
def test_all_but_organisers_hold_their_role_for_an_organisation(role: Role) -> None:
    with pytest.raises(InvalidInput):
        grant_role(an_organiser(), user=UserFactory.create(), role=role)


@pytest.mark.django_db
def test_a_role_granted_twice_is_held_once() -> None:
    actor = an_organiser()
    user = UserFactory.create()
    maker = MakerFactory.create(community_id=actor.community_id)
    first = grant_role(actor, user=user, role="driver", organisation=maker)
    assert grant_role(actor, user=user, role="driver", organisation=maker) == first
    assert grant_role(actor, user=user, role="organiser") == grant_role(
        actor, user=user, role="organiser"
    )
    assert memberships_of(user.id).count() == 2


@pytest.mark.django_db
def test_a_role_is_not_held_for_another_communitys_organisation() -> None:
    with pytest.raises(InvalidInput):
        grant_role(
            an_organiser(),
            user=UserFactory.create(),
            role="driver",
            organisation=MakerFactory.create(),
        )
    with pytest.raises(InvalidInput):
        invite(an_organiser(), role="driver", organisation_id=MakerFactory.create().id)


@pytest.mark.django_db
def test_whoever_founds_an_organisation_is_its_contact() -> None:
    community = CommunityFactory.create()
    user = UserFactory.create()
    organisation = found_organisation(
        actor_in(community=community, user_id=user.id), name="Quill Café", kind="cafe"
    )
    actor = actor_in(community=community, user_id=user.id)
    assert actor.held_for("contact") == {organisation.id}


@pytest.mark.django_db
def test_nobody_founds_a_maker_or_anything_where_people_are_invited_only() -> None:
    user = UserFactory.create()
    open_one = CommunityFactory.create()
    with pytest.raises(InvalidInput):
        found_organisation(
            actor_in(community=open_one, user_id=user.id), name="My press", kind="maker"
        )
    with pytest.raises(NotAllowed):
        found_organisation(actor_in(community=open_one, user_id=None), name="Nobody's", kind="cafe")
    closed = CommunityFactory.create(open_to_registration=False)
    with pytest.raises(NotAllowed):
        found_organisation(actor_in(community=closed, user_id=user.id), name="Mine", kind="cafe")
    assert not Organisation.objects.exists()


@pytest.mark.django_db
def test_an_invited_contact_names_the_organisation_or_takes_the_suggestion() -> None:
    actor = an_organiser()
    _, token = invite(
        actor, role="contact", suggested_name="Sorrel School", suggested_kind="school"
    )
    joined = accept_invitation(token=token, user_id=None, email="a@example.org", name="A")
    assert joined.organisation is not None
    assert (joined.organisation.name, joined.organisation.kind) == ("Sorrel School", "school")
    _, bare = invite(actor, role="contact")
    with pytest.raises(InvalidInput) as refused:
        accept_invitation(token=bare, user_id=None, email="b@example.org", name="B")
    assert refused.value.fields[0].field == "organisation_name"
    assert not User.objects.filter(email="b@example.org").exists()


@pytest.mark.django_db
def test_only_a_hash_of_an_invitation_is_kept() -> None:
    invitation, token = invite(an_organiser(), role="organiser")
    kept = Invitation.objects.filter(id=invitation.id).values().get()
    assert token not in str(kept)
    assert usable_invitation(token, at=timezone.now()) == invitation


@pytest.mark.django_db
def test_an_invitation_is_used_once_and_before_it_expires() -> None:
    actor = an_organiser()
    invitation, token = invite(actor, role="organiser", valid_days=1)
    with pytest.raises(Expired):
        usable_invitation(token, at=invitation.expires_at)
    usable_invitation(token, at=invitation.expires_at - timedelta(seconds=1))
    accept_invitation(token=token, user_id=None, email="new@example.org", name="New")
    with pytest.raises(Expired):
        accept_invitation(token=token, user_id=None, email="late@example.org", name="Late")
    with pytest.raises(NotFound):
        usable_invitation("no-such-token", at=timezone.now())


@pytest.mark.django_db
@pytest.mark.parametrize("days", [0, -3, 91])
def test_an_invitation_is_valid_for_a_sensible_time(days: int) -> None:
    with pytest.raises(InvalidInput) as refused:
        invite(an_organiser(), role="organiser", valid_days=days)
    assert refused.value.fields[0].field == "valid_days"


@pytest.mark.django_db
def test_an_address_with_an_account_joins_only_signed_in_as_it() -> None:
    actor = an_organiser()
    known = UserFactory.create()
    _, token = invite(actor, role="organiser")
    with pytest.raises(Conflict):
        accept_invitation(token=token, user_id=None, email=known.email, name="")
    with pytest.raises(Conflict):
        accept_invitation(token=token, user_id=UserFactory.create().id, email=known.email, name="")
    joined = accept_invitation(token=token, user_id=known.id, email=known.email, name="")
    assert joined.user == known


@pytest.mark.django_db
def test_a_contact_sees_makers_and_its_own_organisation_only() -> None:
    community = CommunityFactory.create()
    own, other = OrganisationFactory.create_batch(2, community=community)
    maker = MakerFactory.create(community=community)
    MakerFactory.create()
    assert set(organisations_seen_by(acting(community, Role.CONTACT, own))) == {own, maker}
    assert set(organisations_seen_by(acting(community, Role.DRIVER, maker))) == {own, other, maker}
    assert not organisations_seen_by(an_organiser()).exists()


@pytest.mark.django_db
def test_a_maker_sees_its_own_people_and_an_organiser_all() -> None:
    community = CommunityFactory.create()
    maker, rival = MakerFactory.create_batch(2, community=community)
    driver = member(community, Role.DRIVER, maker)
    member(community, Role.DRIVER, rival)
    actor = acting(community, Role.MAKER, maker)
    assert {held.user_id for held in members_seen_by(actor)} == {driver.id, actor.user_id}
    everybody = Membership.objects.filter(community=community).count() + 1
    assert members_seen_by(an_organiser(community)).count() == everybody
    assert not invitations_seen_by(actor).exists()


@pytest.mark.django_db
def test_a_sign_in_link_works_once() -> None:
    user = UserFactory.create()
    token = sign_in_link_token(user)
    assert use_sign_in_link(token=token) == user
    for spent in (token, "nonsense", ""):
        with pytest.raises(Expired):
            use_sign_in_link(token=spent)


def _both_at_once(attempt: Callable[[], object]) -> list[str]:
    """Return what became of two attempts that start at the same time."""
    gate = threading.Barrier(2)
    outcomes: list[str] = []

    def run() -> None:
        try:
            gate.wait(timeout=10)
            attempt()
            outcomes.append("done")
        except MillraceError as refusal:
            outcomes.append(refusal.code)
        finally:
            connection.close()

    threads = [threading.Thread(target=run) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return sorted(outcomes)


@pytest.mark.django_db(transaction=True)
def test_of_two_who_accept_one_invitation_at_once_one_joins() -> None:
    _, token = invite(an_organiser(), role="organiser")
    addresses = iter(["first@example.org", "second@example.org"])
    outcomes = _both_at_once(
        lambda: accept_invitation(token=token, user_id=None, email=next(addresses), name="")
    )
    assert outcomes == ["done", "expired"]
    joined = User.objects.filter(email__in=["first@example.org", "second@example.org"])
    assert joined.count() == 1
    assert Membership.objects.count() == 2


@pytest.mark.django_db(transaction=True)
def test_of_two_who_use_one_sign_in_link_at_once_one_signs_in() -> None:
    token = sign_in_link_token(UserFactory.create())
    assert _both_at_once(lambda: use_sign_in_link(token=token)) == ["done", "expired"]
