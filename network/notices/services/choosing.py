"""A person chooses what to be told, how, and when not."""

from collections.abc import Mapping
from datetime import time

from django.db import transaction

from network.errors import InvalidInput, NotAllowed
from network.notices.models import Notice, NoticeChoice
from network.people.core.actor import Actor


@transaction.atomic
def choose(
    actor: Actor, *, ways: Mapping[str, str], quiet_from: time, quiet_until: time
) -> NoticeChoice:
    """Keep a person's choices for a community, whole; what is left out goes by e-mail.

    Raises InvalidInput for a kind or way that there is not.
    """
    if actor.user_id is None:
        raise NotAllowed("Sign in first.")
    for kind, way in ways.items():
        if kind not in Notice.Kind.values or way not in NoticeChoice.Way.values:
            raise InvalidInput.of(
                f"ways.{kind}",
                "There is no such kind of notice, or no such way.",
                f"Choose for each kind one of: {', '.join(NoticeChoice.Way.values)}.",
            )
    choice, _ = NoticeChoice.objects.update_or_create(
        community_id=actor.community_id,
        user_id=actor.user_id,
        defaults={"ways": dict(ways), "quiet_from": quiet_from, "quiet_until": quiet_until},
    )
    return choice
