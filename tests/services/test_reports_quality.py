"""Quality and people, from inspections and visits as they were written down."""

from datetime import UTC, date, datetime, timedelta

import pytest

from network.errors import NotAllowed
from network.ids import new_id
from network.lots import services as lots
from network.people.models import Role
from network.reports.quality import QualityReport, quality
from network.reports.queries import Selection
from tests.factories import (
    AgreementFactory,
    ContainerFactory,
    PlaceFactory,
    RuleVersionFactory,
    acting,
)
from tests.services.lots_story import CLEAN, Story, make_story
from tests.services.reports_story import bring

pytestmark = pytest.mark.django_db

FIRST = datetime(2025, 9, 1, 10, tzinfo=UTC)


@pytest.fixture
def story() -> Story:
    return make_story()


def look(story: Story, at: datetime, found_g: int, container: object = None) -> None:
    """A bag of 8 kg is brought and a sample of 1 kg looked at."""
    lot = bring(story, container or story.container, at)  # type: ignore[arg-type]  # a container
    lots.inspect(
        story.maker_actor,
        inspection_id=new_id(),
        lot_id=lot.id,
        observation=CLEAN,
        sample_g=1_000,
        findings=[("paper", found_g)] if found_g else [],
        at=at,
    )


def report(story: Story, at: datetime, selection: Selection | None = None) -> QualityReport:
    organiser = acting(story.community, Role.ORGANISER)
    return quality(organiser, community=story.community, selection=selection or Selection(), at=at)


def test_contamination_is_by_place_and_stream_with_its_interval(story: Story) -> None:
    place = PlaceFactory.create(community=story.community, name="Two bags only")
    other = AgreementFactory.create(
        community=story.community, place=place, rule_version=story.agreement.rule_version
    )
    bag = ContainerFactory.create(agreement=other)
    for week in range(4):
        look(story, FIRST + timedelta(weeks=week), 20)
    look(story, FIRST, 40, bag)
    found = report(story, FIRST + timedelta(weeks=5))
    ranked, little = found.places
    assert ranked.about.id == story.agreement.place_id
    assert ranked.contamination.share.share == pytest.approx(0.02)
    assert ranked.contamination.share.low < 0.02 < ranked.contamination.share.high
    assert (little.about.name, little.contamination.is_too_little) == ("Two bags only", True)
    (stream,) = found.streams
    assert (stream.contamination.looks, stream.looked_at, stream.turned_away) == (5, 5, 0)


def test_before_and_after_a_rule_change_are_compared(story: Story) -> None:
    for week in range(3):
        look(story, FIRST + timedelta(weeks=week), 40)
    newer = RuleVersionFactory.create(
        community=story.community, stream=story.agreement.stream, number=2
    )
    story.agreement.rule_version = newer
    story.agreement.save()
    story.container.refresh_from_db()
    for week in range(3, 6):
        look(story, FIRST + timedelta(weeks=week), 5)
    (change,) = report(story, FIRST + timedelta(weeks=7)).rule_changes
    assert change.version == 2
    assert change.difference.change == pytest.approx(-0.035)
    assert change.difference.low < change.difference.change < change.difference.high


def test_who_gave_in_a_month_is_counted_against_who_could(story: Story) -> None:
    place = PlaceFactory.create(community=story.community)
    AgreementFactory.create(
        community=story.community,
        place=place,
        rule_version=story.agreement.rule_version,
        starts_on=date(2025, 10, 15),
    )
    type(story.agreement).objects.filter(id=story.agreement.id).update(starts_on=date(2025, 9, 1))
    bring(story, story.container, FIRST)
    months = Selection(first_day=date(2025, 9, 1), last_day=date(2025, 10, 31))
    found = report(story, datetime(2025, 11, 5, tzinfo=UTC), months).participation
    assert [(one.month.month, one.could, one.gave) for one in found] == [(9, 1, 1), (10, 2, 0)]


def test_who_went_quiet_is_named_with_what_is_usual(story: Story) -> None:
    for week in range(4):
        bring(story, story.container, FIRST + timedelta(weeks=2 * week))
    soon = report(story, FIRST + timedelta(weeks=9))
    assert soon.quiet == []
    assert soon.regular[0].place.id == story.agreement.place_id
    (quiet,) = report(story, FIRST + timedelta(weeks=30)).quiet
    assert quiet.last_day == date(2025, 10, 13)
    assert quiet.regularity.quiet_after_days is not None
    assert quiet.regularity.since_days > quiet.regularity.quiet_after_days


def test_only_an_organiser_sees_places_set_beside_each_other(story: Story) -> None:
    with pytest.raises(NotAllowed):
        quality(story.maker_actor, community=story.community, selection=Selection(), at=FIRST)


def test_without_anything_there_is_nothing_to_say(story: Story) -> None:
    found = report(story, FIRST)
    assert (found.places, found.rule_changes, found.quiet) == ([], [], [])
