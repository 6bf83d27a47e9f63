"""The story of a product and of a place's material: worked out from the ledger each time.

Never a person, and of places only their kind, so that no small place stands out by its name.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import QuerySet, Sum

from network.errors import NotFound
from network.lots.models import Account, Lot, Movement, Weighing
from network.people.core.actor import CONTACT, MAKER, Actor
from network.places.models import Place
from network.places.papers import qr_picture
from network.places.queries.seen import place_seen_by
from network.workshop.core.custody import (
    MEANING,
    Content,
    custody_of,
    in_parts,
    recycled_percent,
)
from network.workshop.models import Batch, BatchCharge, Passport, ProductRun
from network.workshop.queries.ancestry import descendants_of, origins_of

# Shares are shown in steps no finer than what the weighings bear out (k = 2), in tenths of 1 %.
_STEPS = ((Fraction(1, 1000), 1), (Fraction(1, 100), 10), (Fraction(1, 20), 50))
_COARSEST = 100
_TENTHS = 1000
CUSTODY_CHOICES = [(custody.value, custody.value.replace("_", " ")) for custody in MEANING]
STANDARDS = "ISO 22095:2020; ISO 14021 §7.8"
NOT_CERTIFIED = (
    "Worked out by the workshop from its own ledger. Nobody has certified it, and these standards"
    " do not by themselves allow a claim."
)


@dataclass(frozen=True, kw_only=True)
class OriginShare:
    """The part of a product from one stream and one kind of place; `mass_g` is the ledger's."""

    stream: str
    place_kind: str
    mass_g: int
    percent: Decimal


@dataclass(frozen=True, kw_only=True)
class Story:
    """What a product's ledger lines say of where it came from."""

    origins: Sequence[OriginShare]
    ledger_g: int
    bought_name: str
    bought_g: int
    bought_percent: Decimal
    step_percent: Decimal
    estimated_percent: Decimal
    collected_from: date
    collected_to: date
    custody: str
    custody_means: str
    recycled_percent: int
    regrind_g: int


@dataclass(frozen=True, kw_only=True)
class PassportPage:
    """What the public sees of a product; its days are those of the community's clock."""

    passport: Passport
    product: ProductRun
    maker: str
    story: Story
    made_on: date
    published_on: date
    standards: str = STANDARDS
    not_certified: str = NOT_CERTIFIED


@dataclass(frozen=True, kw_only=True)
class Whereabouts:
    """Grams of a place's material in one kind of account."""

    kind: str
    mass_g: int


@dataclass(frozen=True, kw_only=True)
class PartOfProduct:
    """Grams of a place's material in a run of pieces."""

    product: ProductRun
    slug: str | None
    mass_g: int


@dataclass(frozen=True, kw_only=True)
class Became:
    """What became of all that a place set aside; `rows` add up to `collected_g`."""

    collected_g: int
    rows: Sequence[Whereabouts]
    products: Sequence[PartOfProduct]


def passport_page(slug: str) -> PassportPage:
    """Return a published passport; raises NotFound."""
    passport = (
        Passport.objects.select_related("community", "product__batch__maker")
        .filter(slug=slug.lower())
        .first()
    )
    if passport is None:
        raise NotFound("There is no such passport.")
    product = passport.product
    zone = ZoneInfo(passport.community.timezone)
    return PassportPage(
        passport=passport,
        product=product,
        maker=product.batch.maker.name,
        story=story_of(product),
        made_on=product.made_at.astimezone(zone).date(),
        published_on=passport.published_at.astimezone(zone).date(),
    )


def passport_code(slug: str, *, origin: str) -> str:
    """Return the QR code, as SVG, of a published passport's page; raises NotFound."""
    if not Passport.objects.filter(slug=slug.lower()).exists():
        raise NotFound("There is no such passport.")
    return qr_picture(f"{origin}/#/passport/{slug.lower()}")


def story_of(product: ProductRun) -> Story:
    """Return what the ledger says of a run of pieces; raises NotFound when it was all reversed."""
    by_origin = _grams_by_origin(product)
    whole = sum(by_origin.values(), Fraction(0)) + product.additive_g
    if not by_origin:
        raise NotFound("The ledger holds nothing of these pieces any more.")
    lots = _origin_lots(by_origin)
    weighings = _last_weighings(by_origin)
    batch = product.batch
    content = _content(batch)
    days = _days(lots.values(), product.community.timezone)
    step = _step(by_origin, weighings)
    estimated = sum(
        (g for lot_id, g in by_origin.items() if _is_estimated(weighings.get(lot_id))), Fraction(0)
    )
    origins, bought_percent = _shares(by_origin, lots, product, step)
    custody = custody_of(
        places=len({lot.place_id for lot in lots.values()}),
        bought_g=batch.additive_g,
        regrind_is_mixed=_regrind_is_mixed(batch),
    )
    return Story(
        origins=origins,
        ledger_g=sum(share.mass_g for share in origins),
        bought_name=batch.additive_name,
        bought_g=product.additive_g,
        bought_percent=bought_percent,
        step_percent=Decimal(step) / 10,
        estimated_percent=Decimal(round(100 * estimated / whole)),
        collected_from=min(days),
        collected_to=max(days),
        custody=custody.value,
        custody_means=MEANING[custody],
        recycled_percent=recycled_percent(content),
        regrind_g=content.regrind_g,
    )


def what_became_of(actor: Actor, place_id: UUID) -> Became:
    """Return where all that a place set aside is now: for a maker, of what it collected itself.

    Raises NotFound for a place that the actor may not see.
    """
    place = place_seen_by(actor, place_id)
    entered = Account.objects.filter(
        community_id=actor.community_id,
        kind=Account.Kind.CONTAINER,
        lot__place=place,
        balance_g__lt=0,
    )
    if not (actor.is_organiser or place.organisation_id in actor.held_for(CONTACT)):
        entered = entered.filter(lot__maker_id__in=actor.held_for(MAKER))
    ours = dict(entered.values_list("lot_id", "balance_g"))
    accounts = (
        Account.objects.filter(lot_id__in=descendants_of(ours), balance_g__gt=0)
        .exclude(kind=Account.Kind.CONTAINER)
        .order_by("kind", "id")
    )
    made_of = origins_of(actor.community_id, {account.lot_id for account in accounts})
    parts = [
        (
            account,
            account.balance_g * sum(made_of[account.lot_id].get(o, Fraction(0)) for o in ours),
        )
        for account in accounts
    ]
    return _became(-sum(ours.values()), [(a, Fraction(part)) for a, part in parts if part])


def _became(collected_g: int, parts: Sequence[tuple[Account, Fraction]]) -> Became:
    by_kind: dict[str, Fraction] = defaultdict(Fraction)
    by_product: dict[UUID, Fraction] = defaultdict(Fraction)
    for account, part in parts:
        by_kind[account.kind] += part
        if account.kind == Account.Kind.PRODUCT:
            by_product[account.holder_id] += part
    grams = in_parts(by_kind, collected_g)
    in_products = in_parts(by_product, grams.get(Account.Kind.PRODUCT, 0))
    made = ProductRun.objects.filter(id__in=by_product).select_related("passport")
    return Became(
        collected_g=collected_g,
        rows=[Whereabouts(kind=kind, mass_g=mass_g) for kind, mass_g in grams.items()],
        products=[
            PartOfProduct(
                product=product,
                slug=product.passport.slug if hasattr(product, "passport") else None,
                mass_g=in_products[product.id],
            )
            for product in made.order_by("-made_at", "-id")
        ],
    )


def _grams_by_origin(product: ProductRun) -> dict[UUID, Fraction]:
    """Return the grams in the pieces by the lot they were collected as."""
    held = dict(
        Account.objects.filter(
            community_id=product.community_id,
            kind=Account.Kind.PRODUCT,
            holder_id=product.id,
            balance_g__gt=0,
        ).values_list("lot_id", "balance_g")
    )
    made_of = origins_of(product.community_id, held)
    grams: dict[UUID, Fraction] = defaultdict(Fraction)
    for lot_id, mass_g in held.items():
        for origin, share in made_of[lot_id].items():
            grams[origin] += share * mass_g
    return dict(grams)


def _origin_lots(lot_ids: Iterable[UUID]) -> dict[UUID, Lot]:
    found = Lot.objects.filter(id__in=list(lot_ids)).select_related("stream", "place")
    return {lot.id: lot for lot in found}


def _last_weighings(lot_ids: Iterable[UUID]) -> dict[UUID, Weighing]:
    found = Weighing.objects.filter(lot_id__in=list(lot_ids)).order_by("at", "id")
    return {weighing.lot_id: weighing for weighing in found}


def _is_estimated(weighing: Weighing | None) -> bool:
    return weighing is None or weighing.method != Weighing.Method.WEIGHED


def _step(grams: Mapping[UUID, Fraction], weighings: Mapping[UUID, Weighing]) -> int:
    """Return the step of the shares in tenths of a per cent: no finer than the weighings are.

    As if all were off the same way, since one scale weighs most of them (k = 2).
    """
    off = sum(
        (
            mass_g * Fraction(2 * w.uncertainty_mg, 1000 * w.net_g)
            for lot_id, mass_g in grams.items()
            if (w := weighings.get(lot_id)) is not None
        ),
        Fraction(0),
    )
    if any(lot_id not in weighings for lot_id in grams):
        return _COARSEST
    share = off / sum(grams.values(), Fraction(0))
    return next((step for most, step in _STEPS if share <= most), _COARSEST)


def _shares(
    by_origin: Mapping[UUID, Fraction], lots: Mapping[UUID, Lot], product: ProductRun, step: int
) -> tuple[list[OriginShare], Decimal]:
    """Return the shares by stream and kind of place, and that of what was bought: 100 in all."""
    grams: dict[tuple[str, str], Fraction] = defaultdict(Fraction)
    for lot_id, mass_g in by_origin.items():
        grams[_key(lots[lot_id])] += mass_g
    keys = sorted(grams, key=lambda key: (-grams[key], key))
    whole_g = round(sum(grams.values(), Fraction(0)))
    in_grams = in_parts({key: grams[key] for key in keys}, whole_g)
    bought = ("", "")
    parts = {**{key: grams[key] for key in keys}, bought: Fraction(product.additive_g)}
    steps = in_parts(parts, _TENTHS // step)
    percent = {key: Decimal(count * step) / 10 for key, count in steps.items()}
    shares = [
        OriginShare(stream=key[0], place_kind=key[1], mass_g=in_grams[key], percent=percent[key])
        for key in keys
    ]
    return shares, percent[bought]


def _key(lot: Lot) -> tuple[str, str]:
    return lot.stream.name, lot.place.kind if lot.place else Place.Kind.OTHER.value


def _days(lots: Iterable[Lot], timezone: str) -> list[date]:
    zone = ZoneInfo(timezone)
    made: list[datetime] = [lot.made_at for lot in lots]
    return [at.astimezone(zone).date() for at in made]


def _content(batch: Batch) -> Content:
    charged = list(
        _charged_lines(batch).values_list("from_account__kind").annotate(mass_g=Sum("mass_g"))
    )
    return Content(
        collected_g=sum(g for kind, g in charged if kind != Account.Kind.OFFCUT),
        regrind_g=sum(g for kind, g in charged if kind == Account.Kind.OFFCUT),
        bought_g=batch.additive_g,
    )


def _charged_lines(batch: Batch) -> QuerySet[Movement]:
    """Return the lines by which a batch was charged, without those that were reversed."""
    return Movement.objects.filter(
        community_id=batch.community_id,
        to_account__kind=Account.Kind.BATCH,
        to_account__holder_id=batch.id,
        reason=Movement.Reason.CHARGED,
        reversed_by__isnull=True,
    )


def _regrind_is_mixed(batch: Batch) -> bool:
    """Return whether offcuts went in that may hold what was bought for an earlier batch."""
    offcut_lines = _charged_lines(batch).filter(from_account__kind=Account.Kind.OFFCUT)
    offcuts = set(offcut_lines.values_list("from_account__lot_id", flat=True))
    if not offcuts:
        return False
    earlier = BatchCharge.objects.filter(
        batch__additive_g__gt=0, batch__community_id=batch.community_id
    ).exclude(batch=batch)
    return bool(descendants_of(earlier.values_list("lot_id", flat=True)) & offcuts)
