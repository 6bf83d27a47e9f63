"""Makes what a server is then killed over: lots in a store, a scale, and two who write by token.

    python -m tests.api.killed_world FOLDER LOTS

The folder is that of a running server. Prints what a client needs, as JSON.
"""

import json
import os
import sys
from pathlib import Path

import django

from api.server.postgres import EmbeddedPostgres


def make(lots: int) -> dict[str, object]:
    """Make the world; return its addresses, ids and secrets."""
    from network.people.core.actor import Actor
    from network.people.models import Role
    from network.people.services import make_machine_token
    from tests.factories import acting
    from tests.services.lots_story import make_story

    story = make_story()

    def token_of(actor: Actor) -> str:
        return make_machine_token(actor, name="load", may_write=True, valid_days=1)[1]

    return {
        "slug": story.community.slug,
        "scale_id": str(story.scale.id),
        "lots": [str(story.at_home(8_000).id) for _ in range(lots)],
        "maker": token_of(story.maker_actor),
        "organiser": token_of(acting(story.community, Role.ORGANISER)),
    }


if __name__ == "__main__":
    with EmbeddedPostgres(Path(sys.argv[1])) as database:
        os.environ["DATABASE_URL"] = database.url
        os.environ["DJANGO_SETTINGS_MODULE"] = "api.settings"
        django.setup()
        sys.stdout.write(json.dumps(make(int(sys.argv[2]))))
