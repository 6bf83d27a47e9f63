"""The rules card and the container labels, as a printer would get them."""

import io
import re

import pypdfium2
import pytest
import zxingcpp
from pypdf import PdfReader

from network.errors import NotFound
from network.people.models import Role, User
from network.places.models import Place
from network.places.queries import card_pdf, labels_pdf_for
from network.places.services import PlaceInput, register_place, retire_container
from tests.factories import CommunityFactory, acting
from tests.services.places_story import Isle, a_place, an_agreement, make_isle

pytestmark = pytest.mark.django_db
ORIGIN = "https://millrace.example"
# What would stop the press, or read a file, if a name were taken for typst's own markup.
MARKUP = '#panic("no") *bold* $x^2$ @nowhere #read("card.typ") `raw` <a> \\ [École]'


@pytest.fixture
def isle() -> Isle:
    isle = make_isle()
    User.objects.filter(memberships__role=Role.ORGANISER).update(name="Mara Quill")
    isle.stream.name = "Bottle caps"
    isle.stream.save()
    return isle


def _register(isle: Isle, place: PlaceInput, *, bags: int = 2) -> Place:
    return register_place(
        isle.contact,
        place=place,
        organisation=isle.school.id,
        agreement=an_agreement(isle.stream.id, bags=bags),
    )


def _text(pdf: bytes) -> str:
    """Return all the text of a PDF with its lines joined."""
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages]
    return re.sub(r"\s+", " ", " ".join(pages))


def _codes(pdf: bytes) -> list[str]:
    """Return what a phone reads from all QR codes of a PDF, at the resolution of a poor print."""
    document = pypdfium2.PdfDocument(pdf)
    return [
        code.text
        for page in document
        for code in zxingcpp.read_barcodes(page.render(scale=100 / 72).to_numpy())
    ]


def test_the_card_says_what_to_keep_how_and_what_never(isle: Isle) -> None:
    place = _register(isle, a_place())

    text = _text(card_pdf(isle.contact, place.id))

    for said in (
        "Quill School",
        "Bottle caps",
        "Milk bottle cap",
        "Look for a 2 in the triangle (PE-HD).",
        "Rinse each piece with water until nothing sticks to it.",
        "If you can: shake the water out",
        "Plastic that must never be melted.",
        "Metal.",
        "glass cuts",
    ):
        assert said in text


def test_the_card_names_the_organiser_and_carries_the_cautions(isle: Isle) -> None:
    place = _register(isle, a_place())

    text = _text(card_pdf(isle.contact, place.id))

    assert "Ask Mara Quill of" in text
    for caution in ("ask a grown-up", "lift and carry", "Do not warm, melt or burn", "local rules"):
        assert caution in text


def test_a_card_is_one_page_for_each_stream(isle: Isle) -> None:
    place = _register(isle, a_place())
    assert len(PdfReader(io.BytesIO(card_pdf(isle.contact, place.id))).pages) == 1


def test_a_name_is_printed_and_never_run(isle: Isle) -> None:
    place = _register(isle, a_place(MARKUP))

    for pdf in (
        card_pdf(isle.contact, place.id),
        labels_pdf_for(isle.contact, place.id, origin=ORIGIN),
    ):
        text = _text(pdf)
        assert '#panic("no") *bold*' in text
        assert "[École]" in text


def test_the_same_card_is_the_same_file(isle: Isle) -> None:
    place = _register(isle, a_place())
    assert card_pdf(isle.contact, place.id) == card_pdf(isle.contact, place.id)


def test_each_label_carries_its_tag_and_a_code_that_opens_it(isle: Isle) -> None:
    place = _register(isle, a_place(), bags=9)
    tags = [bag.tag for bag in place.agreements.get().containers.all()]

    pdf = labels_pdf_for(isle.contact, place.id, origin=ORIGIN)

    assert len(PdfReader(io.BytesIO(pdf)).pages) == 2  # eight to a page
    assert all(tag in _text(pdf) for tag in tags)
    assert sorted(_codes(pdf)) == sorted(f"{ORIGIN}/#/t/{tag}" for tag in tags)


def test_a_retired_container_gets_no_label(isle: Isle) -> None:
    place = _register(isle, a_place())
    gone, kept = place.agreements.get().containers.all()
    retire_container(isle.making, container_id=gone.id)

    text = _text(labels_pdf_for(isle.contact, place.id, origin=ORIGIN))

    assert kept.tag in text
    assert gone.tag not in text


def test_a_place_without_an_agreement_has_nothing_to_print(isle: Isle) -> None:
    place = register_place(isle.contact, place=a_place(), organisation=isle.school.id)

    with pytest.raises(NotFound):
        card_pdf(isle.contact, place.id)
    with pytest.raises(NotFound):
        labels_pdf_for(isle.contact, place.id, origin=ORIGIN)


def test_nobody_prints_for_a_place_they_may_not_see(isle: Isle) -> None:
    place = _register(isle, a_place())
    elsewhere = acting(CommunityFactory.create(), Role.ORGANISER)

    with pytest.raises(NotFound):
        card_pdf(elsewhere, place.id)
    with pytest.raises(NotFound):
        labels_pdf_for(elsewhere, place.id, origin=ORIGIN)
