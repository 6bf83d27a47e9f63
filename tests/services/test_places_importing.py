"""A spreadsheet of places: previewed, then saved whole and once, or not at all."""

import pytest

from network.errors import Conflict, NotAllowed, NotFound, WrongState
from network.people.models import District, Organisation, Role
from network.places.models import Place, PlaceImport
from network.places.services import preview_import, register_place, save_import
from tests.factories import CommunityFactory, DistrictFactory, acting
from tests.services.places_story import Isle, a_place, make_isle

pytestmark = pytest.mark.django_db
HEADER = "Place,Type,Organisation,Address,District,Lat,Long,Joined\n"
TWO_ROWS = (
    HEADER
    + "Cove Café,café,Cove,3 Quay,Harbour,45.01,-29.99,2026-01-12\n"
    + "Shore Salon,SALON,,4 Quay,Harbour,45.02,-29.98,\n"
)


@pytest.fixture
def isle() -> Isle:
    isle = make_isle()
    DistrictFactory.create(community=isle.community, name="Harbour")
    return isle


def _preview(isle: Isle, text: str) -> PlaceImport:
    return preview_import(isle.organiser, file_name="places.csv", content=text.encode())


def test_a_preview_adds_no_place(isle: Isle) -> None:
    preview = _preview(isle, TWO_ROWS)

    assert [row["name"] for row in preview.preview["rows"]] == ["Cove Café", "Shore Salon"]
    assert preview.preview["errors"] == []
    assert Place.objects.get() == isle.workshop


def test_saving_adds_every_place_admitted_with_its_organisation(isle: Isle) -> None:
    saved = save_import(isle.organiser, import_id=_preview(isle, TWO_ROWS).id)

    assert saved.status == PlaceImport.Status.SAVED
    cafe = Place.objects.get(name="Cove Café")
    assert (cafe.kind, cafe.status, cafe.organisation.name) == ("cafe", "admitted", "Cove")
    assert cafe.district == District.objects.get(name="Harbour")
    # The day in its row, by the community's clock.
    assert cafe.created_at.date().isoformat() == "2026-01-12"
    salon = Place.objects.get(name="Shore Salon")
    assert (salon.organisation.name, salon.organisation.kind) == ("Shore Salon", "salon")


def test_an_organisation_that_is_here_gets_the_place(isle: Isle) -> None:
    text = HEADER + f"Annexe,school,{isle.school.name.upper()},9 Quay,,45.01,-29.99,\n"

    save_import(isle.organiser, import_id=_preview(isle, text).id)

    assert Place.objects.get(name="Annexe").organisation == isle.school


def test_a_community_without_districts_gets_those_of_the_file(isle: Isle) -> None:
    Place.objects.update(district=None)
    District.objects.all().delete()

    save_import(isle.organiser, import_id=_preview(isle, TWO_ROWS).id)

    assert District.objects.get(community=isle.community).name == "Harbour"


def test_a_maker_and_its_workshop_come_from_a_row(isle: Isle) -> None:
    text = HEADER + "Halyard Works,workshop,,9 Quay,,45.01,-29.99,\n"

    save_import(isle.organiser, import_id=_preview(isle, text).id)

    assert Organisation.objects.get(name="Halyard Works").kind == Organisation.Kind.MAKER


def test_while_errors_stand_nothing_is_saved(isle: Isle) -> None:
    preview = _preview(isle, TWO_ROWS + "Nowhere,cafe,,5 Quay,,95,200,\n")

    assert [error["row"] for error in preview.preview["errors"]] == [4]
    with pytest.raises(WrongState):
        save_import(isle.organiser, import_id=preview.id)
    assert Place.objects.get() == isle.workshop


def test_a_second_save_is_refused(isle: Isle) -> None:
    preview = _preview(isle, TWO_ROWS)
    save_import(isle.organiser, import_id=preview.id)

    with pytest.raises(WrongState):
        save_import(isle.organiser, import_id=preview.id)
    assert Place.objects.count() == 3


def test_a_place_that_is_here_already_is_found_in_the_preview(isle: Isle) -> None:
    register_place(isle.contact, place=a_place(), organisation=isle.school.id)
    text = HEADER + "QUILL school,school,,1 quay lane,,45.0,-29.975,\n"

    (error,) = _preview(isle, text).preview["errors"]

    assert (error["row"], error["column"]) == (2, "name")
    assert "already here" in error["detail"]


def test_what_became_a_place_since_the_preview_stops_all_of_it(isle: Isle) -> None:
    preview = _preview(isle, TWO_ROWS)
    register_place(
        isle.contact,
        place=a_place("Shore Salon", address="4 Quay"),
        organisation=isle.school.id,
    )

    with pytest.raises(Conflict) as refusal:
        save_import(isle.organiser, import_id=preview.id)

    assert [fault.field for fault in refusal.value.fields] == ["rows[3]"]
    assert not Place.objects.filter(name="Cove Café").exists()
    assert not Organisation.objects.filter(name="Cove").exists()
    preview.refresh_from_db()
    assert preview.status == PlaceImport.Status.PREVIEW


def test_swapped_coordinates_are_set_right_with_a_warning(isle: Isle) -> None:
    preview = _preview(isle, HEADER + "Cove,cafe,,3 Quay,,-29.99,45.01,\n").preview

    assert (preview["rows"][0]["latitude"], preview["rows"][0]["longitude"]) == (45.01, -29.99)
    assert "swapped" in preview["warnings"][0]["detail"]


@pytest.mark.parametrize(("longitude", "east"), [(179.9, -179.95), (-179.9, 179.95)])
def test_a_community_on_the_date_line_reaches_over_it(longitude: float, east: float) -> None:
    community = CommunityFactory.create(longitude=longitude, latitude=-17.0)
    organiser = acting(community, Role.ORGANISER)
    text = HEADER + f"Cove,cafe,,3 Quay,,-17.0,{east},\n"

    preview = preview_import(organiser, file_name="places.csv", content=text.encode())

    assert preview.preview["errors"] == []


@pytest.mark.parametrize("who", ["contact", "making", "driver"])
def test_only_an_organiser_imports(isle: Isle, who: str) -> None:
    preview = _preview(isle, TWO_ROWS)
    with pytest.raises(NotAllowed):
        preview_import(getattr(isle, who), file_name="places.csv", content=TWO_ROWS.encode())
    with pytest.raises(NotAllowed):
        save_import(getattr(isle, who), import_id=preview.id)


def test_another_communitys_import_is_not_there(isle: Isle) -> None:
    preview = _preview(isle, TWO_ROWS)
    elsewhere = acting(CommunityFactory.create(), Role.ORGANISER)
    with pytest.raises(NotFound):
        save_import(elsewhere, import_id=preview.id)
