"""Earlier weights brought in: as movements, once, late where a period is closed, undone whole."""

from datetime import date
from typing import Any
from uuid import UUID

import pytest

from network.errors import InvalidInput, NotAllowed, NotFound, WrongState
from network.ids import new_id
from network.lots import services
from network.lots.models import HistoryImport, Lot, Movement, Weighing
from network.lots.queries.balances import ledger_faults
from network.lots.queries.feedback import feedback_for
from network.people.core.actor import Actor
from network.people.models import Role
from network.reports.balances import balance
from network.reports.queries import Selection, diverted
from tests.factories import acting
from tests.services.lots_story import Story, balances_g, make_story

pytestmark = pytest.mark.django_db

MARCH = Selection(first_day=date(2019, 3, 1), last_day=date(2019, 3, 31))


@pytest.fixture
def story() -> Story:
    return make_story()


@pytest.fixture
def organiser(story: Story) -> Actor:
    return acting(story.community, Role.ORGANISER)


def begun(story: Story, organiser: Actor, *rows: str) -> HistoryImport:
    name = story.agreement.place.name
    lines = rows or (f'2019-03-04,"{name}",12.5', f'2019-03-11,"{name}",8')
    return services.begin_history(
        organiser,
        import_id=new_id(),
        file_name="old.csv",
        content="\n".join(["date,place,kg", *lines]).encode(),
    )


def mapped(story: Story, organiser: Actor, found: HistoryImport, **changes: Any) -> HistoryImport:
    wish: dict[str, Any] = {
        "maker_id": story.maker.id,
        "header": 0,
        "day": 0,
        "place": 1,
        "mass": 2,
        "stream": None,
        "unit": "kg",
        "decimal": ".",
        "day_order": "day_first",
        "saved_as": "estimated",
        "scale_id": None,
        "default_stream_id": story.agreement.stream_id,
        "places": {},
        "streams": {},
        **changes,
    }
    return services.map_history(organiser, import_id=found.id, wish=services.ColumnsWish(**wish))


def saved(story: Story, organiser: Actor, **changes: Any) -> HistoryImport:
    found = mapped(story, organiser, begun(story, organiser), **changes)
    return services.save_history(organiser, import_id=found.id)


def diverted_g(story: Story, organiser: Actor, period: Selection = MARCH) -> tuple[int, int, int]:
    total = diverted(organiser, community=story.community, selection=period).total
    return total.diverted_g, total.weighed_g, total.late_g


def test_reading_and_mapping_write_nothing_to_the_ledger(story: Story, organiser: Actor) -> None:
    found = begun(story, organiser)
    assert found.columns["mass"] == 2
    assert mapped(story, organiser, found).preview["errors"] == []
    assert not Movement.objects.exists()
    assert not Lot.objects.exists()


def test_saved_rows_are_counted_in_their_month_and_named_as_imported(
    story: Story, organiser: Actor
) -> None:
    saved(story, organiser)
    assert diverted_g(story, organiser) == (20_500, 0, 0)
    lines = Movement.objects.filter(community=story.community)
    assert lines.count() == 6
    assert all(line.note.startswith("Imported history: old.csv, row ") for line in lines)
    assert balances_g(*Lot.objects.all()) == {"container": -20_500, "earlier": 20_500}
    assert not ledger_faults()
    flow = balance(organiser, community=story.community, selection=MARCH).balance
    assert (flow.collected_g, flow.gone_g, flow.difference_g) == (20_500, 20_500, 0)


def test_what_was_weighed_names_its_scale_and_counts_as_weighed(
    story: Story, organiser: Actor
) -> None:
    saved(story, organiser, saved_as="weighed", scale_id=story.scale.id)
    assert diverted_g(story, organiser) == (20_500, 20_500, 0)
    assert {w.scale_id for w in Weighing.objects.all()} == {story.scale.id}
    with pytest.raises(InvalidInput, match="names its scale"):
        saved(story, organiser, saved_as="weighed")


def test_an_estimate_is_uncertain_as_one_by_eye(story: Story, organiser: Actor) -> None:
    saved(story, organiser)
    found = diverted(organiser, community=story.community, selection=MARCH).uncertainty
    # Half of each to either side, as a rectangle, and of one cause: 20,500 g / 2 / sqrt(3).
    assert found.standard_g == 5_918


def test_a_file_is_saved_once_and_its_rows_are_not_brought_in_again(
    story: Story, organiser: Actor
) -> None:
    found = saved(story, organiser)
    with pytest.raises(WrongState, match="saved already"):
        services.save_history(organiser, import_id=found.id)
    again = mapped(story, organiser, begun(story, organiser))
    assert [fault["row"] for fault in again.preview["errors"]] == [2, 3]
    with pytest.raises(WrongState, match="errors"):
        services.save_history(organiser, import_id=again.id)
    assert Lot.objects.count() == 2


def test_of_two_files_with_the_same_rows_the_second_is_not_saved(
    story: Story, organiser: Actor
) -> None:
    first, second = (mapped(story, organiser, begun(story, organiser)) for _ in range(2))
    services.save_history(organiser, import_id=first.id)
    with pytest.raises(WrongState, match="meanwhile"):
        services.save_history(organiser, import_id=second.id)


def test_undone_whole_it_leaves_its_lines_and_no_grams(story: Story, organiser: Actor) -> None:
    found = saved(story, organiser)
    with pytest.raises(InvalidInput, match="says why"):
        services.undo_history(organiser, import_id=found.id, note=" ")
    services.undo_history(organiser, import_id=found.id, note="The wrong year.")
    assert diverted_g(story, organiser, Selection()) == (0, 0, 0)
    assert balances_g(*Lot.objects.all()) == {}
    assert Movement.objects.count() == 12
    with pytest.raises(WrongState, match="only once"):
        services.undo_history(organiser, import_id=found.id, note="Again.")
    assert saved(story, organiser).status == HistoryImport.Status.SAVED


def test_rows_of_a_closed_period_count_in_the_open_one_and_are_shown_as_late(
    story: Story, organiser: Actor
) -> None:
    services.seal_period(organiser, seal_id=new_id(), last_day=date(2019, 12, 31))
    found = mapped(story, organiser, begun(story, organiser))
    assert len(found.preview["warnings"]) == 2
    services.save_history(organiser, import_id=found.id)
    assert diverted_g(story, organiser) == (0, 0, 0)
    later = Selection(first_day=date(2020, 1, 1), last_day=date(2020, 1, 31))
    assert diverted_g(story, organiser, later) == (20_500, 0, 20_500)


def test_the_next_file_is_read_as_the_last_one_was_mapped(story: Story, organiser: Actor) -> None:
    place = story.agreement.place
    rows = ["2019-03-04,The Academy,12.5"]
    found = mapped(story, organiser, begun(story, organiser, *rows))
    assert found.preview["unknown_places"] == [{"text": "The Academy", "near_id": None}]
    mapped(story, organiser, found, places={"The Academy": place.id})
    content = b"Notes,kg,Place,Date\n,9,the academy,2019-05-01\n"
    again = services.begin_history(
        organiser, import_id=new_id(), file_name="new.csv", content=content
    )
    assert (again.columns["day"], again.columns["place"], again.columns["mass"]) == (3, 2, 1)
    assert again.columns["places"] == {"The Academy": str(place.id)}


def test_a_place_sees_what_it_gave_before(story: Story, organiser: Actor) -> None:
    saved(story, organiser)
    contact = acting(story.community, Role.CONTACT, story.agreement.place.organisation)
    visits = feedback_for(contact, story.agreement.place_id).visits
    assert [(visit.mass_g, visit.lines[0].estimated) for visit in visits] == [
        (8_000, True),
        (12_500, True),
    ]


@pytest.mark.parametrize(
    ("part", "value"),
    [
        ("maker_id", UUID(int=7)),
        ("places", {"a": UUID(int=7)}),
        ("streams", {"a": UUID(int=7)}),
        ("default_stream_id", UUID(int=7)),
        ("mass", 1),
    ],
)
def test_what_a_mapping_names_is_of_the_community(
    story: Story, organiser: Actor, part: str, value: Any
) -> None:
    with pytest.raises(InvalidInput):
        mapped(story, organiser, begun(story, organiser), **{part: value})


def test_only_an_organiser_brings_history_in_and_sees_it(story: Story, organiser: Actor) -> None:
    found = begun(story, organiser)
    with pytest.raises(NotAllowed):
        begun(story, story.maker_actor)
    with pytest.raises(NotAllowed):
        services.save_history(story.maker_actor, import_id=found.id)
    with pytest.raises(NotFound):
        services.save_history(acting(make_story().community, Role.ORGANISER), import_id=found.id)
