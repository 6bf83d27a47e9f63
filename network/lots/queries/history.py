"""Imports of earlier weights: which there are, what is known to read them by, what they wrote."""

from collections import Counter
from collections.abc import Iterable
from datetime import date
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.utils import timezone

from network.lots.core.history import Known
from network.lots.models import Account, HistoryImport, Movement, Seal
from network.materials.models import Stream
from network.people.core.actor import ORGANISER, Actor
from network.people.models import Community
from network.places.core.spreadsheet_columns import folded
from network.places.models import Place
from network.rows import one_of

_LAST_FIRST: list[str] = [
    Movement.Reason.WORKED_EARLIER,
    Movement.Reason.BROUGHT_HOME,
    Movement.Reason.COLLECTED,
]


def history_seen_by(actor: Actor) -> QuerySet[HistoryImport]:
    """Return the imports of the community, newest first, which are the organiser's."""
    actor.require(ORGANISER)
    here = HistoryImport.objects.filter(community_id=actor.community_id)
    return here.select_related("maker").order_by("-created_at", "-id")


def history_by_id(actor: Actor, import_id: UUID) -> HistoryImport:
    """Return one import; raises NotFound."""
    return one_of(history_seen_by(actor), import_id, "There is no such import here.")


def remembered_columns(actor: Actor) -> dict[str, Any]:
    """Return what the columns meant the last time that somebody chose it; none if nobody did."""
    chosen = history_seen_by(actor).filter(maker__isnull=False)
    last = chosen.values_list("columns", flat=True).first()
    return dict(last or {})


def known_for(community: Community, *, maker_id: UUID) -> Known:
    """Return what an import of a maker's weights is read by."""
    zone = ZoneInfo(community.timezone)
    seal = Seal.objects.filter(community=community).order_by("number").last()
    places = Place.objects.filter(community=community).values_list("name", "id")
    streams = Stream.objects.filter(community=community, maker_id=maker_id)
    return Known(
        places=_by_name(places),
        streams=_by_name(streams.values_list("name", "id")),
        imported=_imported(community, maker_id, zone),
        closed_to=seal.last_day if seal else None,
        today=timezone.now().astimezone(zone).date(),
    )


def lines_of(found: HistoryImport) -> list[Movement]:
    """Return the lines that an import wrote, the last step of each row first."""
    through = Account.objects.filter(
        community_id=found.community_id, kind=Account.Kind.VEHICLE, holder_id=found.id
    )
    lines = Movement.objects.filter(
        community_id=found.community_id,
        from_account__lot_id__in=through.values("lot_id"),
        reverses__isnull=True,
    ).select_related("from_account", "to_account")
    return sorted(lines, key=lambda line: _LAST_FIRST.index(line.reason))


def _by_name(named: Iterable[tuple[str, UUID]]) -> dict[str, UUID]:
    """Return ids by folded name, without names that two share."""
    rows = [(folded(name), row_id) for name, row_id in named]
    count = Counter(name for name, _ in rows)
    return {name: row_id for name, row_id in rows if count[name] == 1}


def _imported(
    community: Community, maker_id: UUID, zone: ZoneInfo
) -> frozenset[tuple[date, UUID, UUID, int]]:
    standing = Movement.objects.filter(
        community=community,
        reason=Movement.Reason.WORKED_EARLIER,
        reversed_by__isnull=True,
        from_account__lot__maker_id=maker_id,
        from_account__lot__place__isnull=False,
    ).values_list("at", "from_account__lot__place_id", "from_account__lot__stream_id", "mass_g")
    return frozenset(
        (at.astimezone(zone).date(), place_id, stream_id, mass_g)
        for at, place_id, stream_id, mass_g in standing
    )
