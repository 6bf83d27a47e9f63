"""The limits that people set: how hot, and how sure."""

from decimal import Decimal
from uuid import UUID

from network.materials.queries import stream_seen_by
from network.people.core.actor import Actor
from network.workshop.models import SET_C_MAX, HeatLimit, StreamCertainty

CERTAINTY_MIN = Decimal("0.90")


def set_c_max_of(community_id: UUID) -> int:
    """Return the highest temperature that may be set in a community, in °C."""
    limit = HeatLimit.objects.filter(community_id=community_id).first()
    return limit.set_c_max if limit else SET_C_MAX


def certainty_min_of(actor: Actor, stream_id: UUID | None) -> Decimal:
    """Return how sure an identification must be for a stream; raises NotFound for the stream."""
    if stream_id is None:
        return CERTAINTY_MIN
    stream = stream_seen_by(actor, stream_id)
    own = StreamCertainty.objects.filter(stream=stream).first()
    return own.certainty_min if own else CERTAINTY_MIN
