"""Writes of streams and their rules, and the loading of the reference data."""

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.db.models import Max, Q
from django.utils import timezone

from network.errors import Conflict, InvalidInput, NotFound
from network.events import Event, announce
from network.ids import new_id
from network.materials import catalogue
from network.materials.core import figures as core_figures
from network.materials.core import resins as core
from network.materials.core.rules_data import rules_from_data, rules_to_data
from network.materials.models import Figure, Item, Resin, RuleVersion, Stream
from network.materials.queries import under
from network.people.core.actor import MAKER, Actor
from network.people.models import Organisation
from network.people.queries import organisation_in
from network.people.services.trail import Act, note_act

# Half round the Earth: whatever is further is a slip of the unit.
REACH_M_MAX = 20_040_000


@transaction.atomic
def create_stream(
    actor: Actor,
    *,
    maker_id: UUID,
    name: str,
    summary: str,
    reach_m: int,
    rules: object,
    open_to_places: bool = True,
    stream_id: UUID | None = None,
    at: datetime | None = None,
) -> Stream:
    """Say what a maker accepts, with the first version of its rules as plain data.

    Raises InvalidInput naming what cannot be used, Conflict for a name the maker has in use.
    """
    maker = organisation_in(actor.community_id, maker_id, field="maker_id")
    if maker.kind != Organisation.Kind.MAKER:
        raise InvalidInput.of("maker_id", "This is not a maker.", "Choose a maker.")
    actor.require(MAKER, organisation_id=maker.id)
    stream = Stream(
        id=stream_id or new_id(),
        community_id=actor.community_id,
        maker=maker,
        name=name,
        summary=summary,
        reach_m=reach_m,
        open_to_places=open_to_places,
        created_at=at or timezone.now(),
    )
    _check_stream(stream)
    stream.save(force_insert=True)
    publish_rules(actor, stream_id=stream.id, rules=rules, at=at)
    return stream


@transaction.atomic
def change_stream(
    actor: Actor,
    *,
    stream_id: UUID,
    name: str | None = None,
    summary: str | None = None,
    reach_m: int | None = None,
    open_to_places: bool | None = None,
) -> Stream:
    """Change how a stream is offered, as its maker; what is None stays.

    Raises NotFound, NotAllowed, InvalidInput, or Conflict for a name in use.
    """
    stream = _own_stream(actor, stream_id)
    given = {
        "name": name,
        "summary": summary,
        "reach_m": reach_m,
        "open_to_places": open_to_places,
    }
    changes = {field: value for field, value in given.items() if value is not None}
    for field, value in changes.items():
        setattr(stream, field, value)
    _check_stream(stream)
    stream.save(update_fields=list(changes))
    return stream


@transaction.atomic
def publish_rules(
    actor: Actor,
    *,
    stream_id: UUID,
    rules: object,
    note: str = "",
    rule_version_id: UUID | None = None,
    at: datetime | None = None,
) -> RuleVersion:
    """Publish the next version of a stream's rules; agreements stay under theirs until moved.

    Raises NotFound, NotAllowed, or InvalidInput naming each part of the rules that is at fault.
    """
    stream = _own_stream(actor, stream_id)
    try:
        read = rules_from_data(rules, resins=catalogue.resins(), items=catalogue.items())
    except InvalidInput as refusal:
        raise under("rules", refusal) from None
    last = stream.rule_versions.aggregate(last=Max("number"))["last"] or 0
    version = RuleVersion.objects.create(
        id=rule_version_id or new_id(),
        community_id=actor.community_id,
        stream=stream,
        number=last + 1,
        rules=rules_to_data(read),
        note=note,
        created_by_id=actor.user_id,
        created_at=at or timezone.now(),
    )
    note_act(actor, Act.RULES_PUBLISHED, version)
    announce(
        Event.RULES_PUBLISHED,
        community_id=actor.community_id,
        subject_id=version.id,
        at=version.created_at,
    )
    return version


def _own_stream(actor: Actor, stream_id: UUID) -> Stream:
    """Return a stream of the actor's maker with its row locked, so that numbers are not doubled."""
    here = Stream.objects.filter(community_id=actor.community_id, id=stream_id)
    stream = here.select_for_update(of=("self",)).first()
    if stream is None:
        raise NotFound("There is no such stream here.")
    actor.require(MAKER, organisation_id=stream.maker_id)
    return stream


def _check_stream(stream: Stream) -> None:
    for field, value in (("name", stream.name), ("summary", stream.summary)):
        if not value.strip():
            raise InvalidInput.of(field, "It says nothing.", "Write what places should read.")
    if not 0 < stream.reach_m <= REACH_M_MAX:
        raise InvalidInput.of(
            "reach_m", "This is not a distance one drives.", "Write it in metres: 12000 for 12 km."
        )
    others = Stream.objects.filter(
        community_id=stream.community_id, maker_id=stream.maker_id, name=stream.name
    )
    if others.exclude(id=stream.id).exists():
        raise Conflict("This maker has a stream of that name.")


@transaction.atomic
def load_reference_data() -> None:
    """Bring resins, items and their figures to what this release knows; safe to do again.

    A resin or item that a release no longer has stays, since agreements may refer to it; of a
    figure that it no longer has nothing stays.
    """
    resins, items = catalogue.resins(), catalogue.items()
    Resin.objects.bulk_create(
        [_resin_row(resin) for resin in resins.values()],
        update_conflicts=True,
        unique_fields=["symbol"],
        update_fields=["code", "name", "danger", "danger_source", "hand_behaviour"],
    )
    Item.objects.bulk_create(
        [_item_row(item) for item in items.values()],
        update_conflicts=True,
        unique_fields=["slug"],
        update_fields=["name", "forming", "usual_resins_source"],
    )
    _load_usual_resins(items)
    _load_figures(resins, items)


def _resin_row(resin: core.Resin) -> Resin:
    return Resin(
        symbol=resin.symbol,
        code=resin.code,
        name=resin.name,
        danger=resin.danger,
        danger_source=resin.danger_source,
        hand_behaviour=resin.hand_behaviour,
    )


def _item_row(item: core.Item) -> Item:
    return Item(
        slug=item.slug,
        name=item.name,
        forming=item.forming or Item.Forming.UNKNOWN,
        usual_resins_source=item.usual_resins_source,
    )


def _load_usual_resins(items: Mapping[str, core.Item]) -> None:
    pairs = Item.usual_resins.through
    pairs.objects.filter(item_id__in=items).delete()
    pairs.objects.bulk_create(
        pairs(item_id=item.slug, resin_id=symbol)
        for item in items.values()
        for symbol in item.usual_resins
    )


def _load_figures(resins: Mapping[str, core.Resin], items: Mapping[str, core.Item]) -> None:
    Figure.objects.filter(Q(resin_id__in=resins) | Q(item_id__in=items)).delete()
    Figure.objects.bulk_create(
        [
            *(_figure_row(q, f, resin_id=r.symbol) for r in resins.values() for q, f in _of(r)),
            *(_figure_row(q, f, item_id=i.slug) for i in items.values() for q, f in _of(i)),
        ]
    )


def _of(thing: core.Resin | core.Item) -> list[tuple[str, core_figures.Figure]]:
    return list(thing.figures.items())


def _figure_row(
    quantity: str,
    figure: core_figures.Figure,
    *,
    resin_id: str | None = None,
    item_id: str | None = None,
) -> Figure:
    return Figure(
        resin_id=resin_id,
        item_id=item_id,
        quantity=quantity,
        value=figure.value,
        low=figure.low,
        high=figure.high,
        unit=figure.unit,
        source=figure.source,
        verified=figure.verified,
        note=figure.note,
    )
