"""A community in which everything has happened and each text is markup; prints ways in as JSON.

The texts are written into the tables, past every check of the API and the services, so that none
is missed: whatever got in by whichever way, the screens have to show it as text.
"""

import json
from collections.abc import Iterator
from typing import Any

import django

django.setup()

from django.apps import apps  # noqa: E402  # models need the settings first
from django.db import connection, transaction  # noqa: E402
from django.db.models import CharField, Field, JSONField, Model, TextField  # noqa: E402

from network.lots.models import Lot  # noqa: E402
from network.materials.models import Stream  # noqa: E402
from network.people.core.actor import Actor  # noqa: E402
from network.people.models import Community, CommunityRow, Role, User  # noqa: E402
from network.people.queries import actor_in  # noqa: E402
from network.people.services import invite, sign_in_link_token  # noqa: E402
from network.pickups.models import Pickup, Proposal  # noqa: E402
from network.places.models import Agreement, Container  # noqa: E402
from network.workshop.models import Batch, Passport, Pressing, ProductRun, Recipe  # noqa: E402
from tests.scenario import Populated, populate  # noqa: E402

SLUG = "tern-rock"
# Words that programs look up, of which no person writes any.
CODES = {"slug", "timezone", "country", "subdivision", "currency", "email", "password", "link"}
CODES |= {"token_sha256", "resin", "resin_symbol", "rating_source"}
WORDS_IN_JSON = {"words", "next_time", "notes", "note", "name", "label", "title", "text", "reason"}


def main() -> None:
    """Make the community, overwrite its texts, and say how its people come in."""
    isle = populate(SLUG)
    token = invite(_organiser(isle), role="contact", suggested_name="Quill", valid_days=9)[1]
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET LOCAL session_replication_role = replica")  # the ledger refuses it
        for table in apps.get_models():
            if issubclass(table, CommunityRow | Community | User) and table._meta.managed:
                _overwrite(table)
    ways_in = {role.value: sign_in_link_token(person) for role, person in _people(isle)}
    print(json.dumps({"ways_in": ways_in, "holes": {**_ids(isle), "invitation": token}}))  # noqa: T201  # read by the test


def _organiser(isle: Populated) -> Actor:
    return actor_in(community=isle.community, user_id=isle.people[Role.ORGANISER].id)


def _people(isle: Populated) -> Iterator[tuple[Role, User]]:
    for role, person in isle.people.items():
        yield role, User.objects.get(id=person.id)


def _ids(isle: Populated) -> dict[str, str]:
    """Return what stands for each hole in the address of a screen."""
    agreement = Agreement.objects.filter(place=isle.round.places[0]).get()
    pickup = Pickup.objects.filter(route__isnull=False).order_by("id")[0]
    rows: dict[str, Any] = {
        "place": isle.round.places[0],
        "agreement": agreement,
        "proposal": Proposal.objects.all()[0],
        "route": pickup.route,
        "pickup": pickup,
        "lot": Lot.objects.order_by("id")[0],
        "stream": Stream.objects.all()[0],
        "recipe": Recipe.objects.all()[0],
        "batch": Batch.objects.all()[0],
        "pressing": Pressing.objects.all()[0],
        "product": ProductRun.objects.all()[0],
    }
    return {
        **{name: str(row.pk) for name, row in rows.items()},
        "passport": Passport.objects.all()[0].slug,
        "tag": Container.objects.filter(agreement=agreement)[0].tag,
        "community": SLUG,
    }


def _overwrite(table: type[Model]) -> None:
    for number, row in enumerate(table._default_manager.order_by("pk")):
        for field in table._meta.concrete_fields:
            _write(row, field, number)
        row.save()


def _write(row: Model, field: "Field[Any, Any]", number: int) -> None:
    if field.choices or field.name in CODES:
        return
    code = f"{row._meta.db_table}.{field.name}"
    if isinstance(field, JSONField):
        setattr(row, field.name, _in_json(getattr(row, field.name), code))
    elif isinstance(field, CharField | TextField):
        setattr(row, field.name, markup(code, number)[: field.max_length])


def _in_json(value: Any, code: str, key: str = "") -> Any:
    if isinstance(value, dict):
        return {name: _in_json(part, code, name) for name, part in value.items()}
    if isinstance(value, list):
        return [_in_json(part, code, key or "words") for part in value]
    return markup(code, 0) if isinstance(value, str) and key in WORDS_IN_JSON else value


def markup(code: str, number: int) -> str:
    """Return what would add an element and run a script, were it not shown as text."""
    return f"<x-s>{number} {code}<img src=x onerror=ran()>"


if __name__ == "__main__":
    main()
