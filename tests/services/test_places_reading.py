"""What may be seen of places, what is expected in their containers, and when one can come."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from network.errors import NotFound
from network.geo import Point
from network.people.models import Role
from network.people.queries import actor_in
from network.places.models import Container, Place
from network.places.queries import (
    agreements_seen_by,
    container_seen_by,
    containers_seen_by,
    expected_fills,
    offers_near,
    open_windows_for,
    place_detail,
    places_seen_by,
)
from network.places.services import (
    ContainersInput,
    add_containers,
    learn_fill_habits,
    record_emptied,
    register_place,
    report_fill,
)
from tests.factories import (
    CommunityFactory,
    MakerFactory,
    OrganisationFactory,
    RuleVersionFactory,
    StreamFactory,
    WorkshopFactory,
    acting,
)
from tests.services.places_story import Isle, a_place, an_agreement, make_isle

pytestmark = pytest.mark.django_db
MONDAY = date(2026, 1, 5)
PLACED = datetime(2026, 1, 5, 8, tzinfo=UTC)
WEEK = timedelta(weeks=1)


@pytest.fixture
def isle() -> Isle:
    return make_isle()


def _place(isle: Isle, name: str = "Quill School", *, bags: int = 1, **changes: object) -> Place:
    return register_place(
        isle.contact,
        place=a_place(name, **changes),
        organisation=isle.school.id,
        agreement=an_agreement(isle.stream.id, bags=bags),
        at=PLACED,
    )


def _bag(place: Place) -> Container:
    return Container.objects.get(agreement__place=place)


def test_a_contact_sees_its_own_places_and_no_other(isle: Isle) -> None:
    place = _place(isle)
    other = acting(
        isle.community, Role.CONTACT, OrganisationFactory.create(community=isle.community)
    )

    assert list(places_seen_by(isle.contact)) == [place]
    assert list(places_seen_by(other)) == []


def test_a_maker_and_its_driver_see_whom_they_collect_from_and_their_workshop(isle: Isle) -> None:
    place = _place(isle)
    register_place(isle.contact, place=a_place("Alone"), organisation=isle.school.id)
    rival = acting(isle.community, Role.MAKER, MakerFactory.create(community=isle.community))

    for actor in (isle.making, isle.driver):
        assert set(places_seen_by(actor)) == {place, isle.workshop}
        assert agreements_seen_by(actor).count() == 1
    assert not places_seen_by(rival).exists()
    assert not agreements_seen_by(rival).exists()
    assert not containers_seen_by(rival).exists()


def test_an_organiser_sees_all_of_one_community(isle: Isle) -> None:
    _place(isle)
    elsewhere = acting(CommunityFactory.create(), Role.ORGANISER)

    assert places_seen_by(isle.organiser).count() == 2
    assert not places_seen_by(elsewhere).exists()
    assert not containers_seen_by(elsewhere).exists()
    with pytest.raises(NotFound):
        container_seen_by(elsewhere, _bag(Place.objects.get(name="Quill School")).id)


def test_a_stranger_sees_no_place(isle: Isle) -> None:
    _place(isle)
    stranger = actor_in(community=isle.community, user_id=None)
    assert not places_seen_by(stranger).exists()


def test_a_new_bag_fills_by_the_starting_guess_on_the_days_the_place_runs(isle: Isle) -> None:
    """A school's guess is 20 running days for a bag; 10 of them are two weeks of term."""
    bag = _bag(_place(isle))

    fill = expected_fills([bag], day=MONDAY + timedelta(days=14))[bag.id]

    # The guess is half of it; what is expected is a little more, since it may be off by half or
    # double, and double weighs more.
    assert fill.low_percent < 50 < fill.percent < 60 < fill.high_percent
    assert fill.running_days == 10
    # Caps at 150 g a litre, the geometric estimate of the reference data.
    assert fill.mass is not None
    assert fill.mass.mass_g == pytest.approx(fill.volume_ml * 0.15, abs=1)
    assert "starting guess" in fill.rests_on


def test_what_is_reported_counts_from_its_day_on(isle: Isle) -> None:
    bag = _bag(_place(isle))
    report_fill(isle.contact, container_id=bag.id, percent=80, at=PLACED + timedelta(days=7))

    fill = expected_fills([bag], day=MONDAY + timedelta(days=9))[bag.id]

    assert fill.running_days == 2
    assert 80 < fill.percent <= 90
    assert fill.grounds[0].params == {"day": "2026-01-12", "percent": "80"}


def test_a_bag_that_was_emptied_is_empty_and_teaches_its_rate(isle: Isle) -> None:
    """Four times half full in 10 running days each: 3 L a day, so 5 days later it holds 15 L."""
    bag = _bag(_place(isle))
    for weeks in (2, 4, 6, 8):
        record_emptied(
            isle.driver, container_id=bag.id, percent=50, at=PLACED + timedelta(weeks=weeks)
        )

    fill = expected_fills([bag], day=MONDAY + timedelta(weeks=9))[bag.id]

    assert 22 <= fill.percent <= 28
    assert "4 past pickups" in fill.rests_on


def test_what_is_learned_each_night_gives_a_new_bag_a_start(isle: Isle) -> None:
    """Ten bags at schools that fill in ten running days teach the eleventh."""
    place = _place(isle)
    bag = _bag(place)
    more = ContainersInput(kind="bag", volume_ml=60_000, tare_g=150, count=10)
    agreement = place.agreements.get()
    old = add_containers(isle.making, agreement_id=agreement.id, containers=more, at=PLACED)
    for container in old:
        for weeks in (1, 2, 3):
            record_emptied(
                isle.driver, container_id=container.id, percent=50, at=PLACED + weeks * WEEK
            )
    before = expected_fills([bag], day=MONDAY + WEEK)[bag.id]

    learn_fill_habits(at=PLACED + 4 * WEEK)
    learn_fill_habits(at=PLACED + 4 * WEEK)

    after = expected_fills([bag], day=MONDAY + WEEK)[bag.id]
    assert before.percent < 35
    assert 40 < after.percent < 60
    assert after.high_percent - after.low_percent < before.high_percent - before.low_percent
    assert after.grounds[1].params["containers"] == "10"


def test_a_closure_adds_nothing(isle: Isle) -> None:
    bag = _bag(_place(isle))
    last_of_term = date(2026, 7, 18)

    before, after = (
        expected_fills([bag], day=day)[bag.id] for day in (last_of_term, date(2026, 8, 30))
    )

    # It is long full, on whatever day it is asked.
    assert replace(before, full_on=None) == replace(after, full_on=None)


def test_a_place_shows_its_containers_with_what_is_said_and_expected(isle: Isle) -> None:
    place = _place(isle)
    report_fill(isle.contact, container_id=_bag(place).id, percent=40, at=PLACED)

    detail = place_detail(isle.contact, place.id, at=PLACED + timedelta(days=1))

    (agreement,) = detail.agreements
    (container,) = agreement.containers
    assert container.last_report is not None
    assert container.last_report.percent == 40
    assert container.expected is not None
    assert 0 < container.expected.low_percent < container.expected.percent < 45
    assert [window.weekday for window in detail.windows] == [1, 3]


def test_a_place_says_why_it_is_shut_today_and_when_one_can_come_next(isle: Isle) -> None:
    """It lets people in on Tuesdays and Thursdays; term ends on 17 July, none is known after."""
    place = _place(isle)

    monday = place_detail(isle.contact, place.id, at=PLACED)
    tuesday = place_detail(isle.contact, place.id, at=PLACED + timedelta(days=1))
    summer = place_detail(isle.contact, place.id, at=datetime(2026, 7, 20, 8, tzinfo=UTC))

    assert monday.shut_today is not None
    assert (monday.shut_today.code, monday.next_open_day) == ("no_window", date(2026, 1, 6))
    assert (tuesday.shut_today, tuesday.next_open_day) == (None, date(2026, 1, 6))
    assert summer.shut_today is not None
    assert (summer.shut_today.code, summer.next_open_day) == ("out_of_term", None)


def test_the_first_pickup_waits_for_what_is_not_met_yet(isle: Isle) -> None:
    place = _place(isle)
    bag = _bag(place)

    def met(at: datetime) -> dict[str, bool | None]:
        detail = place_detail(isle.contact, place.id, at=at)
        return {c.code: c.met for c in detail.agreements[0].first_pickup_depends_on}

    # 2 kg of caps are 13.3 L, which takes five running days at 3 L a day.
    assert met(PLACED) == {
        "admitted": True,
        "container_placed": True,
        "worthwhile_amount": False,
        "on_a_route": None,
    }
    assert met(PLACED + timedelta(days=7))["worthwhile_amount"] is True
    record_emptied(isle.driver, container_id=bag.id, percent=90, at=PLACED + timedelta(days=8))
    assert met(PLACED + timedelta(days=9)) == {}


def test_what_was_emptied_is_shown_as_empty(isle: Isle) -> None:
    place = _place(isle)
    record_emptied(isle.driver, container_id=_bag(place).id, percent=90, at=PLACED)

    detail = place_detail(isle.contact, place.id, at=PLACED)

    report = detail.agreements[0].containers[0].last_report
    assert report is not None
    assert report.percent == 0


def test_more_containers_take_no_more_reads(isle: Isle) -> None:
    small, large = _place(isle, "Small", bags=1), _place(isle, "Large", bags=30)
    counts = []
    for place in (small, large):
        with CaptureQueriesContext(connection) as captured:
            place_detail(isle.contact, place.id, at=PLACED)
        counts.append(len(captured))

    assert counts[0] == counts[1]


def test_more_places_take_no_more_reads_of_windows(isle: Isle) -> None:
    for number in range(5):
        _place(isle, f"School {number}")
    counts = []
    for places in (list(Place.objects.all()[:1]), list(Place.objects.all())):
        with CaptureQueriesContext(connection) as captured:
            open_windows_for(places, MONDAY, MONDAY + timedelta(days=6))
        counts.append(len(captured))

    assert counts[0] == counts[1]


def test_windows_are_in_utc_by_the_communitys_clock(isle: Isle) -> None:
    """London is on summer time from 29 March 2026 (IANA time zone database)."""
    place = _place(isle)

    windows = open_windows_for([place], date(2026, 3, 26), date(2026, 3, 31))[place.id]

    assert windows == [
        (datetime(2026, 3, 26, 9, tzinfo=UTC), datetime(2026, 3, 26, 12, tzinfo=UTC)),
        (datetime(2026, 3, 31, 8, tzinfo=UTC), datetime(2026, 3, 31, 11, tzinfo=UTC)),
    ]


def test_the_last_day_is_included_and_a_public_holiday_is_not(isle: Isle) -> None:
    """Friday 3 April 2026 is Good Friday in England (gov.uk bank holidays)."""
    keeps = _place(isle, "Keeps them", windows=[], spans=[])
    works = _place(isle, "Works on them", windows=[], spans=[], observes_public_holidays=False)
    for place in (keeps, works):
        place.windows.create(community=isle.community, weekday=4, opens="09:00", closes="10:00")

    windows = open_windows_for([keeps, works], date(2026, 4, 3), date(2026, 4, 3))

    assert windows[keeps.id] == []
    assert len(windows[works.id]) == 1


def test_a_country_whose_holidays_are_not_known_has_none(isle: Isle) -> None:
    isle.community.country = "ZZ"
    isle.community.save()
    place = _place(isle)

    assert len(open_windows_for([place], MONDAY, MONDAY + timedelta(days=6))[place.id]) == 2


def test_offers_are_the_open_streams_the_nearest_within_reach_first(isle: Isle) -> None:
    far_maker = MakerFactory.create(community=isle.community)
    WorkshopFactory.create(
        community=isle.community, organisation=far_maker, longitude=-29.0, latitude=45.0
    )
    far = StreamFactory.create(community=isle.community, maker=far_maker, reach_m=5_000)
    closed = StreamFactory.create(community=isle.community, maker=isle.maker, open_to_places=False)
    homeless = StreamFactory.create(community=isle.community)
    for stream in (far, closed, homeless):
        RuleVersionFactory.create(community=isle.community, stream=stream)
    stranger = actor_in(community=isle.community, user_id=None)

    offers = offers_near(stranger, point=Point(-29.975, 45.0), kind="school")

    assert [(offer.stream, offer.within_reach) for offer in offers] == [
        (isle.stream, True),
        (far, False),
    ]
    # 0.025 degrees of the parallel of 45 degrees: 111,195 m x cos 45 x 0.025.
    assert offers[0].distance_m == pytest.approx(1_966, abs=2)


def test_an_offer_says_in_words_what_to_keep_and_what_the_first_pickup_depends_on(
    isle: Isle,
) -> None:
    (offer,) = offers_near(isle.contact, point=Point(-29.975, 45.0), kind="school")

    words = offer.rules_in_words
    assert "Bottle cap" in [line.text for line in words.keep]
    assert "Look for a 2 in the triangle (PE-HD)." in [line.text for line in words.keep]
    assert "Rinse each piece with water until nothing sticks to it." in [
        line.text for line in words.ready
    ]
    assert {line.params["finding"] for line in words.never} == {
        "dangerous_resin",
        "metal",
        "glass",
    }
    conditions = {c.code: c for c in offer.first_pickup_depends_on}
    assert list(conditions) == ["admitted", "container_placed", "worthwhile_amount", "on_a_route"]
    # 2 kg at 150 g a litre and 3 L a running day: 4.4 days.
    assert conditions["worthwhile_amount"].params == {
        "smallest_kg": "2.000 kg",
        "running_days": "5",
    }
