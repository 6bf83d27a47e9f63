"""The report on paper: four pages that state what the ledger does, and no place by name."""

import io
from datetime import UTC, date, datetime

import pytest
from pypdf import PdfReader

from network.errors import NotAllowed
from network.ids import new_id
from network.lots import services
from network.lots.models import Seal
from network.people.models import Role
from network.places.models import Place
from network.reports.filing import diverted_pdf
from network.reports.queries import Selection
from tests.factories import CommunityFactory, acting
from tests.services.reports_story import OCTOBER, Months, bring, months

pytestmark = pytest.mark.django_db

MADE = datetime(2026, 1, 9, 12, tzinfo=UTC)
OCTOBER_ONLY = Selection(first_day=date(2025, 10, 1), last_day=date(2025, 10, 31))


@pytest.fixture
def here() -> Months:
    return months()


def pages(here: Months, period: Selection) -> list[str]:
    paper = diverted_pdf(here.organiser, community=here.community, period=period, made_at=MADE)
    read = PdfReader(io.BytesIO(paper))
    return [" ".join(page.extract_text().split()) for page in read.pages]


def close_october(here: Months) -> Seal:
    return services.seal_period(here.organiser, seal_id=new_id(), last_day=date(2025, 10, 31))


def test_four_pages_state_the_figure_its_uncertainty_method_and_seal(here: Months) -> None:
    seal = close_october(here)
    figure, over_time, groups, checking = pages(here, OCTOBER_ONLY)
    assert here.community.name in figure
    assert "25.4 kg" in figure
    assert "± 1.3 kg" in figure
    assert "25.431 kg" in figure
    assert "accepted at the workshop" in figure
    assert "Closed and sealed" in figure
    assert "25.542 collected + 0.000 there before = 0.111 left for good + 25.431" in figure
    assert "adds up to the gram" in figure
    assert "Mass entering recycling 0.000" in figure
    assert "2025-10 25.542 0.000 0.111 25.431 0.000" in over_time
    assert "3 25.542 25.431" in groups
    assert seal.hash in checking
    assert "weighed on a scale 22.842 89.4 %" in checking
    assert "not a recycling rate" in checking
    assert "not a carbon credit" in checking


def test_what_came_late_is_told_apart_and_the_closed_month_stays(here: Months) -> None:
    close_october(here)
    before = pages(here, OCTOBER_ONLY)
    bring(here.first, here.containers[0], OCTOBER, net_g=1_500)
    assert pages(here, OCTOBER_ONLY) == before
    figure, over_time, *_ = pages(here, Selection())
    assert "after its own period was closed 1.500" in figure
    assert "2025-11" in over_time
    assert "Closed up to 31 October 2025 only" in figure


def test_no_place_is_named_and_none_can_be_worked_out(here: Months) -> None:
    """Kinds and districts have one or two places each, so they are put together."""
    text = " ".join(pages(here, Selection()))
    for place in Place.objects.filter(community=here.community):
        assert place.name not in text
    assert "salon" not in text
    assert text.count("Smaller groups, together 3") == 3


def test_a_period_without_anything_says_so_and_makes_up_no_figure(here: Months) -> None:
    found = pages(here, Selection(first_day=date(2024, 1, 1), last_day=date(2024, 12, 31)))
    assert len(found) == 4
    assert "Nothing is in the ledger for this period." in found[0]
    assert "±" not in found[0]
    assert "Nothing of this period is closed yet" in found[3]


def test_ten_years_are_drawn_by_years(here: Months) -> None:
    long = Selection(first_day=date(2016, 1, 1), last_day=date(2025, 12, 31))
    _, over_time, *_ = pages(here, long)
    assert "Diverted mass by year" in over_time
    assert "2016 0.000" in over_time
    assert "2025 26.795" in over_time


def test_the_paper_is_the_organisers(here: Months) -> None:
    stranger = acting(CommunityFactory.create(), Role.MAKER, here.first.maker)
    for actor in (here.first.maker_actor, stranger):
        with pytest.raises(NotAllowed):
            diverted_pdf(actor, community=here.community, period=OCTOBER_ONLY, made_at=MADE)


def test_a_name_is_shown_as_it_is_written(here: Months) -> None:
    here.community.name = "#pagebreak() *Isle* $x$"
    assert "#pagebreak() *Isle* $x$" in pages(here, Selection())[0]


def test_a_year_of_seals_still_fits_on_four_pages(here: Months) -> None:
    seals = [
        services.seal_period(here.organiser, seal_id=new_id(), last_day=date(2025, month, 28))
        for month in range(1, 12)
    ]
    *_, checking = found = pages(here, Selection())
    assert len(found) == 4
    assert seals[-1].hash in checking
    assert seals[0].hash not in checking
