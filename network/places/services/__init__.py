"""What people do with places: register and change them, agree streams, report fill, import.

`at` is when it happened, by default now; a client that made the id of a new thing passes it.
"""

from network.places.core.inputs import (
    CONTAINERS_MAX,
    TARE_G_MAX,
    VOLUME_ML_MAX,
    AgreementInput,
    ContainersInput,
    NewOrganisation,
    PlaceInput,
    SpanInput,
    WindowInput,
)
from network.places.core.precision import Precision
from network.places.services.agreements import (
    agree,
    close_lapsed_agreements,
    end_agreement,
    move_to_rule_version,
)
from network.places.services.containers import (
    add_containers,
    record_emptied,
    report_fill,
    retire_container,
)
from network.places.services.imports import preview_import, save_import
from network.places.services.learning import learn_fill_habits
from network.places.services.places import (
    PlaceChanges,
    admit_place,
    change_place,
    note_contact_seen,
    refuse_place,
    register_place,
)

__all__ = [
    "CONTAINERS_MAX",
    "TARE_G_MAX",
    "VOLUME_ML_MAX",
    "AgreementInput",
    "ContainersInput",
    "NewOrganisation",
    "PlaceChanges",
    "PlaceInput",
    "Precision",
    "SpanInput",
    "WindowInput",
    "add_containers",
    "admit_place",
    "agree",
    "change_place",
    "close_lapsed_agreements",
    "end_agreement",
    "learn_fill_habits",
    "move_to_rule_version",
    "note_contact_seen",
    "preview_import",
    "record_emptied",
    "refuse_place",
    "register_place",
    "report_fill",
    "retire_container",
    "save_import",
]
