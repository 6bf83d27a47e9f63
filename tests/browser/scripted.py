"""A community in which everything has happened and each text is markup; prints ways in as JSON.

The texts are written into the tables, past every check of the API and the services, so that none
is missed: whatever got in by whichever way, the screens have to show it as text.
"""

import json
from urllib.parse import quote

import django

django.setup()

from network.people.models import User  # noqa: E402  # models need the settings first
from network.people.services import sign_in_link_token  # noqa: E402
from network.places.models import Container  # noqa: E402
from tests.browser.screen_addresses import addresses_in  # noqa: E402
from tests.overwriting import overwrite_texts  # noqa: E402
from tests.scenario import populate  # noqa: E402

SLUG = "tern-rock"


def main() -> None:
    """Make the community, overwrite its texts, and say how its people come in and where to."""
    isle = populate(SLUG)
    people = {role.value: User.objects.get(id=person.id) for role, person in isle.people.items()}
    chosen = {who: people[who] for who in ("contact", "maker", "organiser")}
    addresses = addresses_in(isle.community, **chosen)
    overwrite_texts(markup)
    tag = Container.objects.filter(agreement__place=isle.round.places[0]).earliest("id").tag
    addresses["/t/:tag"] = f"/t/{quote(tag, safe='')}"
    ways_in = {who: sign_in_link_token(person) for who, person in people.items()}
    print(json.dumps({"ways_in": ways_in, "addresses": addresses}))  # noqa: T201  # read by the test


def markup(column: str, number: int) -> str:
    """Return what would add an element and run a script, were it not shown as text."""
    return f"<x-s>{number} {column}<img src=x onerror=ran()>"


if __name__ == "__main__":
    main()
