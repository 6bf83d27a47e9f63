"""How hot, how long, when to press again, and how hard: a plan for one piece, with its cautions."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID

from network.errors import InvalidInput
from network.materials import catalogue
from network.materials.core.figures import Figure
from network.people.core.actor import Actor
from network.workshop.cautions import AT_STEP, in_words
from network.workshop.core.heat import (
    ROOM_C,
    HeatPlan,
    Span,
    Thermal,
    heat_plan,
    highest_set_c,
    lowest_set_c,
    slower_times,
    trial_steps_c,
)
from network.workshop.core.press import cavity_mm, force_n, pressure_kpa_max
from network.workshop.models import Press, Pressing
from network.workshop.queries.limits import set_c_max_of
from network.workshop.queries.materials import check_resins
from network.workshop.queries.seen import presses_seen_by, pressings_seen_by
from network.workshop.refusals import BeyondPress, IncompatibleResin, TooHot

_UM_PER_MM = 1000
LOG_MAX = 20


@dataclass(frozen=True, kw_only=True)
class PieceWish:
    """The piece to press; the highest allowed temperature is taken when none is given."""

    press_id: UUID
    resin: str
    thickness_um: int
    width_mm: int
    length_mm: int
    pressure_kpa: int
    set_c: int | None = None
    wall_c: int = int(ROOM_C)


@dataclass(frozen=True, kw_only=True)
class MouldSide:
    """What a side of the mould is cut to, for the least, usual and most shrinkage."""

    piece_mm: int
    least_mm: Decimal
    usual_mm: Decimal
    most_mm: Decimal


@dataclass(frozen=True, kw_only=True)
class TrialStep:
    """One step of a first trial."""

    code: str
    text: str
    set_c: int | None = None


@dataclass(frozen=True, kw_only=True)
class PressPlan:
    """All that is to be known before a piece goes under the press."""

    resin: str
    set_c: int
    lowest_c: int
    highest_c: int
    limit_c: int
    melt: Span
    hold: Span
    press_at_s: Sequence[int]
    force_n: int
    rating_n: int
    pressure_kpa_max: int
    moulds: Sequence[MouldSide]
    rests_on_pressings: int
    melt_unlogged_s: int
    hold_unlogged_s: int
    trial: Sequence[TrialStep]
    cautions: Sequence[Mapping[str, str]]
    notes: Sequence[str]


NOTES = (
    "Reckoned for a solid sheet: loose flakes take several times as long to melt through.",
    "The heat of melting is in the upper end only. Log your own times: the next plan uses them.",
    "Estimates, not instructions: look, and stop when it smokes.",
)


def plan_press(actor: Actor, wish: PieceWish) -> PressPlan:
    """Return the plan for a piece.

    Raises TooHot, IncompatibleResin, BeyondPress, or InvalidInput naming what else cannot be.
    """
    press = presses_seen_by(actor).filter(id=wish.press_id).first()
    if press is None:
        raise InvalidInput.of("press_id", "There is no such press here.", "Choose one of yours.")
    thermal = _thermal(wish.resin)
    limit_c = set_c_max_of(actor.community_id)
    lowest_c, highest_c = _range(thermal, press, limit_c)
    set_c = _set_c(wish, press, thermal, lowest_c=lowest_c, highest_c=highest_c)
    force = _force_n(wish, press)
    log = _log(actor, press, wish.resin)
    plan = _heat(wish, press, thermal, set_c, log)
    unlogged = _heat(wish, press, thermal, set_c, ())
    return PressPlan(
        resin=wish.resin,
        set_c=set_c,
        lowest_c=lowest_c,
        highest_c=highest_c,
        limit_c=limit_c,
        melt=plan.melt,
        hold=plan.hold,
        press_at_s=plan.press_at_s,
        force_n=force,
        rating_n=press.rating_n,
        pressure_kpa_max=pressure_kpa_max(
            rating_n=press.rating_n, width_mm=wish.width_mm, length_mm=wish.length_mm
        ),
        moulds=[_mould(wish.resin, side) for side in (wish.width_mm, wish.length_mm)],
        rests_on_pressings=len(log),
        melt_unlogged_s=unlogged.melt.s,
        hold_unlogged_s=unlogged.hold.s,
        trial=_trial(press, lowest_c, highest_c),
        cautions=in_words(AT_STEP["press"]),
        notes=NOTES,
    )


def plan_data(plan: PressPlan) -> dict[str, Any]:
    """Return what of a plan is kept with the pressing that follows it."""
    return {
        "set_c": plan.set_c,
        "melt": asdict(plan.melt),
        "hold": asdict(plan.hold),
        "press_at_s": list(plan.press_at_s),
        "force_n": plan.force_n,
        "rests_on_pressings": plan.rests_on_pressings,
        "melt_unlogged_s": plan.melt_unlogged_s,
        "hold_unlogged_s": plan.hold_unlogged_s,
    }


def _thermal(symbol: str) -> Thermal:
    resin = catalogue.resins().get(symbol)
    if resin is None:
        raise InvalidInput.of("resin", "This resin is not known.", "Choose a listed resin.")
    check_resins({"resin": symbol})
    figures = resin.figures
    needed = ("press", "melting", "release", "thermal_diffusivity", "density")
    if any(name not in figures for name in needed):
        raise IncompatibleResin.of(
            "resin",
            f"No figures are known for pressing {symbol}, or it wants more heat than is allowed.",
            "Press PE-HD, PE-LD or PP, or pass this on to a recycler who works it.",
        )
    press, diffusivity = figures["press"], figures["thermal_diffusivity"]
    return Thermal(
        symbol=symbol,
        press_low_c=_low(press),
        press_high_c=_high(press),
        melting_high_c=_high(figures["melting"]),
        release_c=float(figures["release"].value),
        diffusivity_low_mm2_s=_low(diffusivity),
        diffusivity_mm2_s=float(diffusivity.value),
        diffusivity_high_mm2_s=_high(diffusivity),
        density_g_cm3=float(figures["density"].value),
    )


def _low(figure: Figure) -> float:
    return float(figure.value if figure.low is None else figure.low)


def _high(figure: Figure) -> float:
    return float(figure.value if figure.high is None else figure.high)


def _range(thermal: Thermal, press: Press, limit_c: int) -> tuple[int, int]:
    lowest_c = lowest_set_c(thermal)
    highest_c = highest_set_c(thermal, limit_c=limit_c, source_c_max=press.heats_c_max)
    if lowest_c > highest_c:
        raise TooHot.of(
            "resin",
            f"{thermal.symbol} wants at least {lowest_c} °C, and {highest_c} °C is the most here.",
            "Choose a resin that melts lower.",
        )
    if not press.is_settable and press.heats_c_max > min(limit_c, thermal.press_high_c):
        raise TooHot.of(
            "press_id",
            f"This source goes to {press.heats_c_max} °C and cannot be set lower.",
            "Use one that can be set.",
        )
    return lowest_c, highest_c


def _set_c(
    wish: PieceWish, press: Press, thermal: Thermal, *, lowest_c: int, highest_c: int
) -> int:
    if not press.is_settable:
        return press.heats_c_max
    set_c = highest_c if wish.set_c is None else wish.set_c
    if set_c > highest_c:
        raise TooHot.of(
            "set_c",
            f"{set_c} °C is above {highest_c} °C, the most for {thermal.symbol} on this source in"
            " this community.",
            f"Set {highest_c} °C or less.",
        )
    if set_c < lowest_c:
        raise InvalidInput.of(
            "set_c",
            f"At {set_c} °C {thermal.symbol} does not melt through.",
            f"Set from {lowest_c} to {highest_c} °C.",
        )
    return set_c


def _force_n(wish: PieceWish, press: Press) -> int:
    size = {"width_mm": wish.width_mm, "length_mm": wish.length_mm}
    if min(*size.values(), wish.thickness_um, wish.pressure_kpa) <= 0:
        raise InvalidInput.of("thickness_um", "A piece has a size.", "Send sizes above zero.")
    force = force_n(pressure_kpa=wish.pressure_kpa, **size)
    if force > press.rating_n:
        most_kpa = pressure_kpa_max(rating_n=press.rating_n, **size)
        raise BeyondPress.of(
            "pressure_kpa",
            f"That takes {force} N, and {press.name} is rated for {press.rating_n} N.",
            f"Send {most_kpa} kPa or less, or make the piece smaller. Never go beyond a rating.",
        )
    return force


def _heat(
    wish: PieceWish, press: Press, thermal: Thermal, set_c: int, log: Sequence[Pressing]
) -> HeatPlan:
    try:
        return heat_plan(
            thermal,
            set_c=set_c,
            thickness_mm=wish.thickness_um / _UM_PER_MM,
            cooling=press.cooling,
            wall_c=float(wish.wall_c),
            melts_slower_times=slower_times(_ratios(log, "melt", "melted_s")),
            cools_slower_times=slower_times(_ratios(log, "hold", "cooled_s")),
        )
    except ValueError as fault:
        raise InvalidInput.of(
            "wall_c", f"These temperatures do not fit: {fault}.", "Cool it down to release it."
        ) from None


def _log(actor: Actor, press: Press, resin: str) -> list[Pressing]:
    """Return the latest good pressings of a resin on a press whose times were kept."""
    good = pressings_seen_by(actor).filter(
        press=press, resin_id=resin, outcome=Pressing.Outcome.GOOD
    )
    return list(good.order_by("-at", "-id")[:LOG_MAX])


def _ratios(log: Sequence[Pressing], planned: str, measured: str) -> list[float]:
    """Return measured over reckoned times, the latter as they were before any log was used."""
    return [
        getattr(one, measured) / one.plan[f"{planned}_unlogged_s"]
        for one in log
        if getattr(one, measured) and one.plan[f"{planned}_unlogged_s"]
    ]


def _mould(symbol: str, side_mm: int) -> MouldSide:
    shrinkage = catalogue.resins()[symbol].figures["mould_shrinkage"]
    piece = Decimal(side_mm)
    return MouldSide(
        piece_mm=side_mm,
        least_mm=cavity_mm(piece, shrinkage_percent=shrinkage.low or shrinkage.value),
        usual_mm=cavity_mm(piece, shrinkage_percent=shrinkage.value),
        most_mm=cavity_mm(piece, shrinkage_percent=shrinkage.high or shrinkage.value),
    )


def _trial(press: Press, lowest_c: int, highest_c: int) -> list[TrialStep]:
    """Return the steps of a first trial: one small piece, low, going up."""
    temperatures = trial_steps_c(lowest_c, highest_c) if press.is_settable else ()
    return [
        TrialStep(code="clean", text="Take one small piece, clean and dry, of a known resin."),
        TrialStep(code="air", text="Start the extraction, open the doors, and stay beside it."),
        *(
            TrialStep(
                code="heat",
                text=f"Set {set_c} °C and look after the time for melting through.",
                set_c=set_c,
            )
            for set_c in temperatures
        ),
        TrialStep(
            code="stop",
            text="Go up only if it is not melted through. If it smokes, switch off and air.",
        ),
        TrialStep(
            code="press",
            text="Press lightly at first, then again as the timer says, until it is cool.",
        ),
        TrialStep(code="log", text="Write down the times and how it came out."),
    ]
