"""A maker's vans."""

from dataclasses import dataclass, fields
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction

from network.errors import FieldError, InvalidInput, WrongState
from network.people.core.actor import MAKER, Actor
from network.pickups.models import Vehicle
from network.pickups.queries import STANDING_ROUTES, vehicle_for
from network.pickups.services._shared import moment, refused_by, replayed
from network.pickups.words import day_text

PAYLOAD_G_MAX = 50_000_000
VOLUME_ML_MAX = 200_000_000
MONEY_MAX = Decimal(1_000_000)


@dataclass(frozen=True, kw_only=True)
class VehicleFigures:
    """What a van may carry (its plated mass less kerb mass, driver and fuel) and costs to use.

    Money is in the community's currency.
    """

    payload_g: int
    volume_ml: int
    cost_per_shift: Decimal
    cost_per_km: Decimal
    cost_per_hour: Decimal

    def __post_init__(self) -> None:
        faults = [
            *_fault_of_amount("payload_g", self.payload_g, PAYLOAD_G_MAX),
            *_fault_of_amount("volume_ml", self.volume_ml, VOLUME_ML_MAX),
        ]
        faults += [
            FieldError(
                field=name,
                detail=f"A cost is from 0 to {MONEY_MAX}.",
                mend="Write it in the community's currency.",
            )
            for name in ("cost_per_shift", "cost_per_km", "cost_per_hour")
            if not 0 <= getattr(self, name) <= MONEY_MAX
        ]
        if faults:
            raise InvalidInput("Such a van cannot be.", fields=tuple(faults))


def _fault_of_amount(name: str, amount: int, amount_max: int) -> list[FieldError]:
    if 0 < amount <= amount_max:
        return []
    detail = f"It must be above 0 and at most {amount_max}."
    return [FieldError(field=name, detail=detail, mend="Write it in grams or millilitres.")]


@transaction.atomic
def add_vehicle(
    actor: Actor,
    *,
    vehicle_id: UUID,
    name: str,
    figures: VehicleFigures,
    maker_id: UUID | None = None,
) -> Vehicle:
    """Add a van to a maker's; the maker may be left out by who acts for one only.

    Raises NotAllowed, InvalidInput for a name in use, DifferentBody for an id in use.
    """
    maker_id = maker_id or sole_maker(actor)
    actor.require(MAKER, organisation_id=maker_id)
    content = {"maker_id": maker_id, "name": name, **vars(figures)}
    made = replayed(actor, Vehicle, vehicle_id, **content)
    if made is not None:
        return made
    with refused_by("vehicle_unique", _name_in_use(name)):
        return Vehicle.objects.create(id=vehicle_id, community_id=actor.community_id, **content)


def sole_maker(actor: Actor) -> UUID:
    """Return the maker that someone acts for; raises InvalidInput where there are several."""
    makers = actor.held_for(MAKER)
    if len(makers) == 1:
        return next(iter(makers))
    if not makers:
        actor.require(MAKER)
    raise InvalidInput.of("maker_id", "You act for several makers.", "Say for which one.")


def _name_in_use(name: str) -> InvalidInput:
    return InvalidInput.of("name", f"There is a van called {name} already.", "Choose another name.")


@transaction.atomic
def change_vehicle(
    actor: Actor,
    *,
    vehicle_id: UUID,
    name: str | None = None,
    payload_g: int | None = None,
    volume_ml: int | None = None,
    cost_per_shift: Decimal | None = None,
    cost_per_km: Decimal | None = None,
    cost_per_hour: Decimal | None = None,
    retired: bool | None = None,
    at: datetime | None = None,
) -> Vehicle:
    """Change a van's name or figures, retire it, or take it back into use; None leaves as it is.

    Booked routes stand as they were planned. Raises WrongState when it still has routes and is
    to be retired.
    """
    vehicle = vehicle_for(actor, vehicle_id, lock=True)
    actor.require(MAKER, organisation_id=vehicle.maker_id)
    vehicle.name = vehicle.name if name is None else name
    told = {
        "payload_g": payload_g,
        "volume_ml": volume_ml,
        "cost_per_shift": cost_per_shift,
        "cost_per_km": cost_per_km,
        "cost_per_hour": cost_per_hour,
    }
    _set_figures(vehicle, {field: value for field, value in told.items() if value is not None})
    if retired:
        _refuse_while_booked(vehicle)
        vehicle.retired_at = vehicle.retired_at or moment(at)
    elif retired is False:
        vehicle.retired_at = None
    with refused_by("vehicle_unique", _name_in_use(vehicle.name)):
        vehicle.save()
    return vehicle


def _set_figures(vehicle: Vehicle, changes: dict[str, Any]) -> None:
    before = {field.name: getattr(vehicle, field.name) for field in fields(VehicleFigures)}
    for name, value in vars(VehicleFigures(**{**before, **changes})).items():
        setattr(vehicle, name, value)


def _refuse_while_booked(vehicle: Vehicle) -> None:
    route = vehicle.routes.filter(status__in=STANDING_ROUTES).order_by("starts_at").first()
    if route is not None:
        raise WrongState(
            f"{vehicle.name} is booked on {day_text(route.day)}: call that route off first."
        )
