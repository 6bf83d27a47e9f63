"""Agreeing a stream, its rules and its end."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from network.errors import Conflict, InvalidInput, NotAllowed, NotFound, WrongState
from network.ids import new_id
from network.materials.core.rules import AcceptanceRules
from network.materials.core.rules_data import rules_to_data
from network.materials.core.terms import ContainerKind
from network.people.models import Role
from network.places.models import Agreement, Place
from network.places.services import (
    AgreementInput,
    ContainersInput,
    agree,
    close_lapsed_agreements,
    end_agreement,
    move_to_rule_version,
    register_place,
)
from tests.factories import (
    LONG_AGO,
    CommunityFactory,
    RuleVersionFactory,
    StreamFactory,
    acting,
)
from tests.services.places_story import START, Isle, a_place, an_agreement, make_isle

pytestmark = pytest.mark.django_db
LATER = LONG_AGO + timedelta(days=200)  # 20 March 2026


@pytest.fixture
def isle() -> Isle:
    return make_isle()


@pytest.fixture
def place(isle: Isle) -> Place:
    return register_place(isle.contact, place=a_place(), organisation=isle.school.id, at=LONG_AGO)


def _rules(**changes: object) -> object:
    rules: dict[str, object] = {
        "resins": ("PE-HD",),
        "items": ("bottle-cap",),
        "contamination_clean_max": Decimal("0.02"),
        "contamination_extra_work_max": Decimal("0.10"),
    }
    return rules_to_data(AcceptanceRules(**{**rules, **changes}))  # type: ignore[arg-type]  # checked


def _faults(refusal: InvalidInput) -> list[str]:
    return [fault.field for fault in refusal.fields]


def test_a_new_agreement_is_under_the_latest_rules(isle: Isle, place: Place) -> None:
    latest = RuleVersionFactory.create(community=isle.community, stream=isle.stream, number=2)

    agreement = agree(isle.contact, place_id=place.id, agreement=an_agreement(isle.stream.id))

    assert agreement.rule_version == latest


def test_a_place_sets_aside_a_stream_once_at_a_time(isle: Isle, place: Place) -> None:
    first = agree(isle.contact, place_id=place.id, agreement=an_agreement(isle.stream.id))
    with pytest.raises(Conflict):
        agree(isle.contact, place_id=place.id, agreement=an_agreement(isle.stream.id))

    end_agreement(isle.contact, agreement_id=first.id, ends_on=START, at=LATER)
    second = agree(isle.contact, place_id=place.id, agreement=an_agreement(isle.stream.id))

    assert second.status == Agreement.Status.RUNNING


def test_an_agreement_ended_with_a_day_to_come_runs_until_then(isle: Isle, place: Place) -> None:
    agreement = agree(isle.contact, place_id=place.id, agreement=an_agreement(isle.stream.id))
    last = LATER.date() + timedelta(days=10)

    ended = end_agreement(
        isle.making, agreement_id=agreement.id, ends_on=last, reason="The mould broke.", at=LATER
    )

    assert (ended.status, ended.ends_on, ended.end_reason) == ("running", last, "The mould broke.")
    # Once its last day is past, another may follow.
    next_one = agree(
        isle.contact,
        place_id=place.id,
        agreement=an_agreement(isle.stream.id),
        at=LATER + timedelta(days=12),
    )
    ended.refresh_from_db()
    assert (ended.status, next_one.status) == ("ended", "running")


def test_an_agreement_is_over_once_its_last_day_is_past_by_its_communitys_clock(
    isle: Isle, place: Place
) -> None:
    """In Auckland it is the 21st while it is still the 20th in UTC (IANA time zone database)."""
    agreement = agree(isle.contact, place_id=place.id, agreement=an_agreement(isle.stream.id))
    running = agree(
        isle.contact,
        place_id=register_place(
            isle.contact, place=a_place("Other"), organisation=isle.school.id
        ).id,
        agreement=an_agreement(isle.stream.id),
    )
    end_agreement(isle.contact, agreement_id=agreement.id, ends_on=date(2026, 3, 20), at=LATER)
    evening = datetime(2026, 3, 20, 20, tzinfo=UTC)

    assert close_lapsed_agreements(at=evening) == 0
    isle.community.timezone = "Pacific/Auckland"
    isle.community.save()
    assert close_lapsed_agreements(at=evening) == 1

    agreement.refresh_from_db()
    running.refresh_from_db()
    assert (agreement.status, running.status) == ("ended", "running")


def test_an_agreement_does_not_end_before_it_starts(isle: Isle, place: Place) -> None:
    agreement = agree(isle.contact, place_id=place.id, agreement=an_agreement(isle.stream.id))

    with pytest.raises(InvalidInput) as refusal:
        end_agreement(
            isle.contact, agreement_id=agreement.id, ends_on=START - timedelta(days=2), at=LATER
        )

    assert _faults(refusal.value) == ["ends_on"]


def test_an_ended_agreement_stays_as_it_is(isle: Isle, place: Place) -> None:
    agreement = agree(isle.contact, place_id=place.id, agreement=an_agreement(isle.stream.id))
    end_agreement(isle.contact, agreement_id=agreement.id, ends_on=START, at=LATER)

    with pytest.raises(WrongState):
        end_agreement(isle.contact, agreement_id=agreement.id, ends_on=START, at=LATER)
    with pytest.raises(WrongState):
        move_to_rule_version(isle.contact, agreement_id=agreement.id, rule_version_id=isle.rules.id)


def test_the_two_sides_and_the_organiser_end_an_agreement_and_nobody_else(
    isle: Isle, place: Place
) -> None:
    agreement = agree(isle.contact, place_id=place.id, agreement=an_agreement(isle.stream.id))
    elsewhere = acting(CommunityFactory.create(), Role.ORGANISER)

    with pytest.raises(NotAllowed):
        end_agreement(isle.driver, agreement_id=agreement.id, ends_on=START)
    with pytest.raises(NotFound):
        end_agreement(elsewhere, agreement_id=agreement.id, ends_on=START)
    end_agreement(isle.organiser, agreement_id=agreement.id, ends_on=START)


def test_a_stream_out_of_reach_cannot_be_agreed(isle: Isle) -> None:
    # 20 km of reach are about 0.254 degrees of longitude at 45 degrees north.
    far = register_place(isle.contact, place=a_place(longitude=-29.7), organisation=isle.school.id)

    with pytest.raises(InvalidInput) as refusal:
        agree(isle.contact, place_id=far.id, agreement=an_agreement(isle.stream.id))

    assert _faults(refusal.value) == ["stream_id"]
    assert "20 km" in refusal.value.detail


def test_a_stream_closed_to_places_or_of_another_community_cannot_be_agreed(
    isle: Isle, place: Place
) -> None:
    isle.stream.open_to_places = False
    isle.stream.save()
    for stream_id in (isle.stream.id, StreamFactory.create().id, new_id()):
        with pytest.raises(InvalidInput) as refusal:
            agree(isle.contact, place_id=place.id, agreement=an_agreement(stream_id))
        assert _faults(refusal.value) == ["stream_id"]


@pytest.mark.parametrize("item", ["shampoo-bottle", "no-such-item"])
def test_the_main_item_is_one_the_rules_take(isle: Isle, place: Place, item: str) -> None:
    wanted = AgreementInput(stream_id=isle.stream.id, main_item=item, starts_on=START)

    with pytest.raises(InvalidInput) as refusal:
        agree(isle.contact, place_id=place.id, agreement=wanted)

    assert _faults(refusal.value) == ["main_item"]


def test_the_containers_are_such_as_the_rules_allow(isle: Isle, place: Place) -> None:
    RuleVersionFactory.create(
        community=isle.community,
        stream=isle.stream,
        number=2,
        rules=_rules(containers=(ContainerKind.CRATE,)),
    )

    with pytest.raises(InvalidInput) as refusal:
        agree(isle.contact, place_id=place.id, agreement=an_agreement(isle.stream.id))

    assert _faults(refusal.value) == ["containers[0].kind"]
    assert not Agreement.objects.exists()


def test_figures_that_cannot_be_are_named_by_their_path() -> None:
    with pytest.raises(InvalidInput) as refusal:
        AgreementInput(
            stream_id=new_id(),
            main_item="bottle-cap",
            starts_on=date(1, 1, 1),
            containers=[ContainersInput(kind="sack", volume_ml=0, tare_g=-1, count=101)],
        )

    assert set(_faults(refusal.value)) == {
        "starts_on",
        "containers",
        "containers[0].kind",
        "containers[0].volume_ml",
        "containers[0].tare_g",
        "containers[0].count",
    }


def test_the_contact_moves_to_newer_rules_and_never_back(isle: Isle, place: Place) -> None:
    agreement = agree(isle.contact, place_id=place.id, agreement=an_agreement(isle.stream.id))
    newer = RuleVersionFactory.create(community=isle.community, stream=isle.stream, number=2)

    with pytest.raises(NotAllowed):
        move_to_rule_version(isle.making, agreement_id=agreement.id, rule_version_id=newer.id)
    moved = move_to_rule_version(isle.contact, agreement_id=agreement.id, rule_version_id=newer.id)

    assert moved.rule_version == newer
    with pytest.raises(InvalidInput) as refusal:
        move_to_rule_version(isle.contact, agreement_id=agreement.id, rule_version_id=isle.rules.id)
    assert _faults(refusal.value) == ["rule_version_id"]


def test_rules_of_another_stream_or_without_the_item_are_refused(isle: Isle, place: Place) -> None:
    agreement = agree(isle.contact, place_id=place.id, agreement=an_agreement(isle.stream.id))
    without = RuleVersionFactory.create(
        community=isle.community,
        stream=isle.stream,
        number=2,
        rules=_rules(items=("shampoo-bottle",)),
    )

    for version in (without, RuleVersionFactory.create()):
        with pytest.raises(InvalidInput) as refusal:
            move_to_rule_version(
                isle.contact, agreement_id=agreement.id, rule_version_id=version.id
            )
        assert _faults(refusal.value) == ["rule_version_id"]


def test_a_refused_place_agrees_nothing(isle: Isle, place: Place) -> None:
    Place.objects.filter(id=place.id).update(status=Place.Status.REFUSED)
    with pytest.raises(WrongState):
        agree(isle.contact, place_id=place.id, agreement=an_agreement(isle.stream.id))
