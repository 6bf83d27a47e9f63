"""What a place's first pickup depends on, in words."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from math import ceil

from network.materials.core.amounts import mass_of_volume
from network.materials.core.figures import Figure
from network.places.core.fill import FillRate
from network.units import kg_text


@dataclass(frozen=True, kw_only=True)
class Condition:
    """One thing it depends on, as a code with its params and in words.

    `met` once it is so; None for what is not to be seen from a place and its agreements.
    """

    code: str
    params: Mapping[str, str] = field(default_factory=dict)
    text: str
    met: bool | None


@dataclass(frozen=True, kw_only=True)
class Prospect:
    """How matters stand with a place and one stream.

    `expected_g` is what is expected in its containers now; None where it cannot be said.
    `running_days_to_worthwhile` counts from empty containers, None where no rate is known.
    """

    maker: str
    is_admitted: bool
    has_container: bool
    smallest_g: int
    expected_g: int | None
    running_days_to_worthwhile: int | None


def first_pickup_depends_on(prospect: Prospect) -> tuple[Condition, ...]:
    """Return the conditions in the order in which they are met."""
    return (
        Condition(
            code="admitted",
            text="The organiser has admitted your place.",
            met=prospect.is_admitted,
        ),
        Condition(
            code="container_placed",
            text="A container with its label stands at your place.",
            met=prospect.has_container,
        ),
        *_worthwhile(prospect),
        Condition(
            code="on_a_route",
            params={"maker": prospect.maker},
            text=f"Your place lies on the way of a route that {prospect.maker} drives. "
            "You are told the day once it is planned.",
            met=None,
        ),
    )


def running_days_to(smallest_g: int, *, rate: FillRate, bulk_density: Figure | None) -> int | None:
    """Return how many running days gather an amount; None where it cannot be said."""
    if bulk_density is None:
        return None
    # Over a thousand days, so that the rounding to grams does not matter.
    over_days = 1000
    gathered = mass_of_volume(int(rate.ml_per_running_day * over_days), bulk_density)
    if gathered.mass_g == 0:
        return None
    return ceil(Fraction(smallest_g * over_days, gathered.mass_g))


def _worthwhile(prospect: Prospect) -> tuple[Condition, ...]:
    if prospect.smallest_g == 0:
        return ()
    params = {"smallest_kg": kg_text(prospect.smallest_g)}
    text = f"There is enough for a journey to be worth it: {kg_text(prospect.smallest_g)}."
    if prospect.running_days_to_worthwhile is not None:
        days = prospect.running_days_to_worthwhile
        params["running_days"] = str(days)
        text += f" At the rate expected at first, that takes about {_days(days)}."
    met = prospect.expected_g is not None and prospect.expected_g >= prospect.smallest_g
    return (Condition(code="worthwhile_amount", params=params, text=text, met=met),)


def _days(days: int) -> str:
    return "1 working day" if days == 1 else f"{days} working days"
