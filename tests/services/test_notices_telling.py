"""Who is told what, once."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from procrastinate.contrib.django.models import ProcrastinateJob

from network.events import TELL
from network.ids import new_id
from network.lots import services as lots
from network.lots.models import Lot
from network.materials.core.rules_data import rules_to_data
from network.materials.services import publish_rules
from network.notices.models import Notice, NoticeChoice
from network.notices.queries import notices_for
from network.notices.services import announce_weeks, choose, mark_all_read, mark_read
from network.people.core.actor import Actor
from network.people.models import Role
from network.pickups import services
from network.places.models import Place
from network.places.services import admit_place, refuse_place
from tests.factories import CAP_RULES, PlaceFactory, acting
from tests.services.notices_story import mails_queued, stop_clock, tell_all
from tests.services.pickups_story import (
    CLEAN,
    SUNDAY_EVENING,
    UNRINSED,
    Round,
    make_round,
    on_monday,
    route_id_of,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def world(monkeypatch: pytest.MonkeyPatch) -> Round:
    stop_clock(monkeypatch, SUNDAY_EVENING)
    return make_round()


def told(actor: Actor) -> list[str]:
    return [notice.kind for notice in notices_for(actor).order_by("id")]


def last(actor: Actor) -> Notice:
    notice = notices_for(actor).order_by("id").last()
    assert notice is not None
    return notice


def test_the_contacts_of_each_place_are_told_of_its_visit_and_nobody_else(world: Round) -> None:
    contacts = [world.contact(index) for index in range(3)]
    world.booked()
    tell_all()
    assert [told(contact) for contact in contacts] == [["pickup_booked"]] * 3
    assert told(world.driver) == told(world.maker_actor) == []
    notice = last(contacts[0])
    assert notice.title == (f"{world.maker.name} comes to {world.places[0].name} on Monday 2 March")
    assert notice.link == f"/places/{world.places[0].id}/visits"


def test_what_is_told_again_makes_nothing_new(world: Round) -> None:
    world.contact()
    world.booked()
    assert len(tell_all()) == 1
    assert tell_all() == []
    assert len(mails_queued()) == 1


def test_a_visit_called_off_and_booked_again_is_told_as_moved(world: Round) -> None:
    contact = world.contact()
    route = world.booked()
    services.call_off_route(
        world.maker_actor, route_id=route.id, reason="The van broke down.", at=SUNDAY_EVENING
    )
    tell_all()
    assert told(contact) == ["pickup_called_off"]  # what no longer stands is not told as booked
    assert "The van broke down." in " ".join(last(contact).paragraphs)
    world.booked()
    tell_all()
    assert told(contact)[-1] == "pickup_moved"
    assert last(contact).title.startswith(f"The visit to {world.places[0].name} is now on")


def test_a_visit_that_shifts_by_more_than_half_an_hour_is_told(
    world: Round, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Replanned at nine what was to begin soon after eight, and booked once more a minute later."""
    stop_clock(monkeypatch, on_monday(12))
    contact = world.contact()
    route_id = route_id_of(world.on_the_road()[0])
    tell_all()
    for minute, news in ((0, ["pickup_moved"]), (1, [])):
        before = len(told(contact))
        proposal = services.replan_day(
            world.maker_actor,
            proposal_id=new_id(),
            route_id=route_id,
            broken=False,
            at=on_monday(9, minute),
        )
        services.solve_proposal(proposal_id=proposal.id)
        services.book_proposal(world.maker_actor, proposal_id=proposal.id, at=on_monday(9, minute))
        tell_all()
        assert told(contact)[before:] == news


def test_the_day_of_the_visit_is_told_step_by_step(
    world: Round, monkeypatch: pytest.MonkeyPatch
) -> None:
    stop_clock(monkeypatch, on_monday(12))
    contacts = [world.contact(index) for index in range(3)]
    first, second, third = world.on_the_road()
    tell_all()
    services.arrive(world.driver, pickup_id=first.id, at=on_monday(8, 10))
    world.collect(first.lines.get(), 7_431)
    services.finish_pickup(world.driver, pickup_id=first.id, at=on_monday(8, 20))
    services.arrive(world.driver, pickup_id=second.id, at=on_monday(8, 30))
    services.turn_away_line(
        world.driver,
        line_id=second.lines.get().id,
        inspection_id=new_id(),
        look=UNRINSED,
        at=on_monday(8, 35),
    )
    services.skip_pickup(
        world.driver, pickup_id=third.id, reason="The gate was locked.", at=on_monday(9)
    )
    services.finish_route(world.driver, route_id=route_id_of(first), at=on_monday(9, 30))
    tell_all()
    began = ["pickup_booked", "pickup_on_its_way"]
    assert told(contacts[0]) == [*began, "pickup_done"]
    assert last(contacts[0]).title == f"7.4 kg collected at {world.places[0].name}"
    assert "7.4 kg, weighed." in last(contacts[0]).paragraphs[0]
    assert told(contacts[1]) == [*began, "pickup_done"]
    assert "not taken" in last(contacts[1]).paragraphs[0]
    assert told(contacts[2]) == [*began, "pickup_missed"]
    assert "The gate was locked." in last(contacts[2]).paragraphs[0]


def test_a_place_is_told_what_the_workshop_found(
    world: Round, monkeypatch: pytest.MonkeyPatch
) -> None:
    stop_clock(monkeypatch, on_monday(12))
    contact = world.contact()
    first, *others = world.on_the_road()
    services.arrive(world.driver, pickup_id=first.id, at=on_monday(8, 10))
    world.collect(first.lines.get(), 8_000)
    for other in others:
        services.skip_pickup(world.driver, pickup_id=other.id, reason="Shut.", at=on_monday(9))
    services.finish_route(world.driver, route_id=route_id_of(first), at=on_monday(9, 30))
    lots.inspect(
        world.maker_actor,
        inspection_id=new_id(),
        lot_id=Lot.objects.get().id,
        observation={**CLEAN, "unmet": ["dry"], "met": ["rinsed"]},
        at=on_monday(10),
    )
    tell_all()
    assert told(contact)[-1] == "feedback"
    heading, *rest = last(contact).paragraphs
    assert heading == "It was taken, with some extra work."
    assert any(words.startswith("Next time: ") for words in rest)


def test_a_maker_is_told_that_a_place_asks(world: Round) -> None:
    world.ask()
    world.ask()  # again: nothing new
    tell_all()
    assert told(world.maker_actor) == ["pickup_asked"]
    assert last(world.maker_actor).paragraphs == ["They write: All bags are full."]


def test_a_place_is_told_of_rules_that_change_what_it_must_do(world: Round) -> None:
    contact = world.contact()
    rules = rules_to_data(CAP_RULES)
    stream_id = world.agreements[0].stream_id
    publish_rules(
        world.maker_actor,
        stream_id=stream_id,
        rules={**rules, "contamination_clean_max": "0.01"},
        at=SUNDAY_EVENING,
    )
    tell_all()
    assert told(contact) == []  # only the workshop works by that
    publish_rules(
        world.maker_actor,
        stream_id=stream_id,
        rules={**rules, "items": ["bottle-cap"]},
        at=SUNDAY_EVENING,
    )
    tell_all()
    assert told(contact) == ["rules_changed"]
    notice = last(contact)
    assert any(words.startswith("No longer: ") for words in notice.paragraphs)
    assert notice.link == f"/places/{world.places[0].id}/rules/{world.agreements[0].id}"


@pytest.mark.parametrize("admit", [True, False])
def test_a_place_is_told_whether_it_is_admitted(world: Round, *, admit: bool) -> None:
    place = PlaceFactory.create(community=world.community, status=Place.Status.ASKED)
    contact = acting(world.community, Role.CONTACT, place.organisation)
    organiser = acting(world.community, Role.ORGANISER)
    if admit:
        admit_place(organiser, place_id=place.id, at=SUNDAY_EVENING)
    else:
        refuse_place(organiser, place_id=place.id, reason="Too far.", at=SUNDAY_EVENING)
    tell_all()
    assert told(contact) == ["place_admitted" if admit else "place_refused"]
    if not admit:
        assert last(contact).paragraphs == ["The organiser writes: Too far."]


def test_what_is_entered_days_later_is_told_to_nobody(
    world: Round, monkeypatch: pytest.MonkeyPatch
) -> None:
    stop_clock(monkeypatch, SUNDAY_EVENING + timedelta(days=1, minutes=1))
    world.ask(at=SUNDAY_EVENING)
    assert not ProcrastinateJob.objects.filter(task_name=TELL).exists()


def test_organisers_get_the_week_once_on_monday_morning_by_their_own_clock(
    world: Round, monkeypatch: pytest.MonkeyPatch
) -> None:
    world.community.timezone = "Pacific/Auckland"  # thirteen hours ahead of UTC in March
    world.community.save()
    organiser = acting(world.community, Role.ORGANISER)
    monday = datetime(2026, 3, 2, 8, 5, tzinfo=ZoneInfo("Pacific/Auckland")).astimezone(UTC)
    for hours in range(-30, 30):
        at = monday + timedelta(hours=hours)
        stop_clock(monkeypatch, at)
        announce_weeks(at=at)
    announce_weeks(at=monday)
    stop_clock(monkeypatch, monday)
    tell_all()
    assert told(organiser) == ["week_summary"]
    assert last(organiser).title == f"{world.community.name}, 23 February to 1 March"
    assert last(organiser).paragraphs[0] == "0.0 kg were collected."


def test_a_person_is_told_as_they_chose(world: Round) -> None:
    by_mail, in_list, not_at_all = (world.contact() for _ in range(3))
    for actor, way in ((in_list, "list"), (not_at_all, "none")):
        choose(
            actor,
            ways={"pickup_booked": way},
            quiet_from=NoticeChoice().quiet_from,
            quiet_until=NoticeChoice().quiet_until,
        )
    world.booked()
    tell_all()
    assert [told(actor) for actor in (by_mail, in_list, not_at_all)] == [
        ["pickup_booked"],
        ["pickup_booked"],
        [],
    ]
    assert last(in_list).mail_due_at is None
    (job,) = mails_queued()
    assert job.args == {"notice_id": str(last(by_mail).id)}


def test_a_mail_about_what_happens_at_night_waits_for_the_morning(
    world: Round, monkeypatch: pytest.MonkeyPatch
) -> None:
    contact = world.contact()
    world.booked()
    stop_clock(monkeypatch, SUNDAY_EVENING + timedelta(hours=3))
    tell_all()
    (job,) = mails_queued()
    assert job.scheduled_at == last(contact).mail_due_at == on_monday(7)


def test_reading_one_leaves_the_others_and_reading_all_leaves_what_came_since(
    world: Round, monkeypatch: pytest.MonkeyPatch
) -> None:
    stop_clock(monkeypatch, on_monday(12))
    contact = world.contact()
    world.on_the_road()
    tell_all()
    booked, on_its_way = notices_for(contact).order_by("id")
    assert mark_read(contact, notice_id=booked.id).read_at is not None
    assert mark_all_read(contact, until=booked.id) == 0
    assert mark_all_read(contact, until=on_its_way.id) == 1
