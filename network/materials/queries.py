"""Reads of resins, items, streams and their rules, and what the rules say of an observation."""

from collections.abc import Sequence
from uuid import UUID

from django.db.models import Prefetch, QuerySet

from network.errors import FieldError, InvalidInput
from network.materials import catalogue
from network.materials.core.acceptance import Stage, Verdict, evaluate
from network.materials.core.observation_data import observation_from_data
from network.materials.core.rules import AcceptanceRules
from network.materials.core.rules_data import rules_from_data
from network.materials.models import Figure, Item, Resin, RuleVersion, Stream
from network.people.core.actor import Actor
from network.rows import one_of

_FIGURES = Prefetch("figures", Figure.objects.order_by("quantity"))


def resins() -> QuerySet[Resin]:
    """Return the known resins with their figures."""
    return Resin.objects.prefetch_related(_FIGURES)


def items() -> QuerySet[Item]:
    """Return the known items with their figures and usual resins."""
    return Item.objects.prefetch_related(_FIGURES, "usual_resins")


def item_by_slug(slug: str, *, field: str = "main_item") -> Item:
    """Return an item named in what was sent; raises InvalidInput naming `field`."""
    item = Item.objects.filter(slug=slug).first()
    if item is None:
        raise InvalidInput.of(field, "This item is not known.", "Choose one of the listed items.")
    return item


def streams_seen_by(actor: Actor) -> QuerySet[Stream]:
    """Return streams with their latest rules: all for members, those open to places for others.

    The latest version stands in `latest` of each, a list of one.
    """
    here = Stream.objects.filter(community_id=actor.community_id)
    if not actor.roles:
        here = here.filter(open_to_places=True)
    latest = RuleVersion.objects.order_by("stream_id", "-number").distinct("stream_id")
    return here.select_related("maker").prefetch_related(
        Prefetch("rule_versions", latest, to_attr="latest")
    )


def stream_seen_by(actor: Actor, stream_id: UUID) -> Stream:
    """Return one stream; raises NotFound."""
    return one_of(streams_seen_by(actor), stream_id, "There is no such stream here.")


def stream_in(community_id: UUID, stream_id: UUID, *, field: str = "stream_id") -> Stream:
    """Return a stream named in what was sent; raises InvalidInput naming `field`."""
    stream = Stream.objects.filter(community_id=community_id, id=stream_id).first()
    if stream is None:
        raise InvalidInput.of(
            field, "There is no such stream in this community.", "Choose one of its streams."
        )
    return stream


def rule_versions_seen_by(actor: Actor, stream_id: UUID) -> QuerySet[RuleVersion]:
    """Return the versions of a stream's rules; raises NotFound for the stream."""
    stream = stream_seen_by(actor, stream_id)
    return RuleVersion.objects.filter(community_id=actor.community_id, stream=stream)


def rule_version_of(
    stream: Stream, rule_version_id: UUID, *, field: str = "rule_version_id"
) -> RuleVersion:
    """Return a version of a stream's rules named in what was sent; raises InvalidInput."""
    version = stream.rule_versions.filter(id=rule_version_id).first()
    if version is None:
        raise InvalidInput.of(
            field, "This stream has no such rule version.", "Choose one of its versions."
        )
    return version


def latest_rules(stream: Stream) -> RuleVersion:
    """Return the version of a stream's rules that a new agreement is made under."""
    prefetched: Sequence[RuleVersion] = getattr(stream, "latest", ())
    return prefetched[0] if prefetched else stream.rule_versions.latest("number")


def rules_of(version: RuleVersion) -> AcceptanceRules:
    """Return the rules of a stored version."""
    return rules_from_data(version.rules)


def evaluate_under(version: RuleVersion, observation: object, *, stage: Stage) -> Verdict:
    """Return the verdict of a rule version on an observation given as plain data.

    Raises InvalidInput naming the part of the observation that cannot be read.
    """
    seen = observation_from_data(observation, stage=stage)
    return evaluate(rules_of(version), seen, catalogue.resins())


def evaluate_for(
    actor: Actor,
    *,
    stream_id: UUID,
    observation: object,
    stage: str,
    rule_version_id: UUID | None = None,
) -> Verdict:
    """Return the verdict of a stream's rules, the latest unless a version is named.

    Raises NotFound for the stream, InvalidInput for the version or a part of the observation.
    """
    stream = stream_seen_by(actor, stream_id)
    version = rule_version_of(stream, rule_version_id) if rule_version_id else latest_rules(stream)
    try:
        return evaluate_under(version, observation, stage=Stage(stage))
    except InvalidInput as refusal:
        raise under("observation", refusal) from None


def under(field: str, refusal: InvalidInput) -> InvalidInput:
    """Return a refusal of data that was sent as one field, its paths starting at that field."""
    fields = tuple(
        FieldError(
            field=f"{field}.{fault.field}" if fault.field else field,
            detail=fault.detail,
            mend=fault.mend,
        )
        for fault in refusal.fields
    )
    return InvalidInput(refusal.detail, fields=fields, extra=refusal.extra)
