"""What can be read of places: what an actor may see, and what is expected of it."""

from network.places.queries.calendars import calendars_for, local_day, open_windows_for
from network.places.queries.details import (
    AgreementDetail,
    ContainerDetail,
    LastReport,
    PlaceDetail,
    container_details,
    place_detail,
)
from network.places.queries.fills import (
    Ahead,
    Fills,
    expected_ahead,
    expected_fills,
    last_reports,
    waiting_since,
)
from network.places.queries.offers import Offer, offers_near, workshops_of
from network.places.queries.papers import card_pdf, labels_pdf_for
from network.places.queries.public import public_places
from network.places.queries.seen import (
    agreement_seen_by,
    agreements_seen_by,
    container_seen_by,
    containers_seen_by,
    fill_reports_seen_by,
    import_seen_by,
    imports_seen_by,
    place_seen_by,
    places_seen_by,
)
from network.places.queries.words import rules_for_places

__all__ = [
    "AgreementDetail",
    "Ahead",
    "ContainerDetail",
    "Fills",
    "LastReport",
    "Offer",
    "PlaceDetail",
    "agreement_seen_by",
    "agreements_seen_by",
    "calendars_for",
    "card_pdf",
    "container_details",
    "container_seen_by",
    "containers_seen_by",
    "expected_ahead",
    "expected_fills",
    "fill_reports_seen_by",
    "import_seen_by",
    "imports_seen_by",
    "labels_pdf_for",
    "last_reports",
    "local_day",
    "offers_near",
    "open_windows_for",
    "place_detail",
    "place_seen_by",
    "places_seen_by",
    "public_places",
    "rules_for_places",
    "waiting_since",
    "workshops_of",
]
