"""How hot, how long, and when to press again."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, exp, log

from network.workshop.core.conduction import air_time_s, centre_share, mean_share, wall_time_s

TWO_FACES, ONE_FACE, AIR = "two_faces", "one_face", "air"
ROOM_C = 20.0
# The heat of melting is left out of the series: about 200 kJ/kg, which can double a time.
LATENT_TIMES = 2.0
# From memory, unverified: polyolefin melts take about this much, in J/(g K).
HEAT_J_G_K = 2.3
# Common practice, no published source: pressed at once and again every 5 to 10 minutes.
PRESS_AGAIN_S_MAX = 600
PRESS_AGAIN_S_MIN = 60
_SHRINK_PARTS = 6
TRIAL_STEP_C = 10
# The middle is to be melted for certain, so somewhat above the top of the melting range.
OVER_MELTING_C = 3


@dataclass(frozen=True, kw_only=True)
class Thermal:
    """What is known of a resin's heat, from its figures: °C, mm²/s and g/cm³."""

    symbol: str
    press_low_c: float
    press_high_c: float
    melting_high_c: float
    release_c: float
    diffusivity_low_mm2_s: float
    diffusivity_mm2_s: float
    diffusivity_high_mm2_s: float
    density_g_cm3: float

    def __post_init__(self) -> None:
        low, usual, high = (
            self.diffusivity_low_mm2_s,
            self.diffusivity_mm2_s,
            self.diffusivity_high_mm2_s,
        )
        if not 0 < low <= usual <= high:
            raise ValueError("the usual diffusivity lies within its range")


@dataclass(frozen=True, kw_only=True)
class Span:
    """A time in s as reckoned, and the range in which it may really be."""

    s: int
    low_s: int
    high_s: int


@dataclass(frozen=True, kw_only=True)
class HeatPlan:
    """Times for one piece: until melted through, under pressure, and when to press again."""

    set_c: int
    melt: Span
    hold: Span
    press_at_s: tuple[int, ...]


def highest_set_c(thermal: Thermal, *, limit_c: int, source_c_max: int) -> int:
    """Return the highest temperature that may be set, in °C: the lowest of all limits."""
    return int(min(thermal.press_high_c, limit_c, source_c_max))


def lowest_set_c(thermal: Thermal) -> int:
    """Return the temperature to begin a first trial at, in °C."""
    return int(max(thermal.press_low_c, thermal.melting_high_c + OVER_MELTING_C + 1))


def trial_steps_c(low_c: int, high_c: int) -> tuple[int, ...]:
    """Return the temperatures of a first trial, going up in steps and never above the highest."""
    return (*range(low_c, high_c, TRIAL_STEP_C), high_c)


def heat_plan(
    thermal: Thermal,
    *,
    set_c: int,
    thickness_mm: float,
    cooling: str,
    wall_c: float = ROOM_C,
    start_c: float = ROOM_C,
    melts_slower_times: float = 1.0,
    cools_slower_times: float = 1.0,
) -> HeatPlan:
    """Return the times for a piece heated from both faces and cooled as said.

    `…_slower_times` are what the workshop's own log says of such times. Raises ValueError when the
    temperatures do not lie in their order: wall, release, melting, set.
    """
    target_c = thermal.melting_high_c + OVER_MELTING_C
    if not start_c < target_c < set_c:
        raise ValueError("set so low, the middle does not melt")
    if not wall_c < thermal.release_c < set_c:
        raise ValueError("the cold face is as warm as the piece at release")
    melt_share = (set_c - target_c) / (set_c - start_c)
    release_share = (thermal.release_c - wall_c) / (set_c - wall_c)
    hold_of = _cooling(thermal, cooling, thickness_mm, hottest=True)
    mean_of = _cooling(thermal, cooling, thickness_mm, hottest=False)
    hold = _span(thermal, lambda a: hold_of(release_share, a), cools_slower_times)
    slower = hold.s / max(1e-9, hold_of(release_share, thermal.diffusivity_mm2_s))
    return HeatPlan(
        set_c=set_c,
        melt=_span(
            thermal,
            lambda a: wall_time_s(
                melt_share, centre_share, thickness_mm=thickness_mm, diffusivity_mm2_s=a
            ),
            melts_slower_times,
        ),
        hold=hold,
        press_at_s=_press_again(
            hold.s,
            lambda share: slower * mean_of(share, thermal.diffusivity_mm2_s),
            release_share,
        ),
    )


def slower_times(ratios: Sequence[float]) -> float:
    """Return how many times longer things took than reckoned, from a workshop's own log.

    The geometric mean of measured over reckoned, with one piece 'as reckoned' beforehand, so that
    one odd afternoon does not turn everything. Raises ValueError for a ratio not above zero.
    """
    if any(ratio <= 0 for ratio in ratios):
        raise ValueError("a time is above zero")
    return exp(sum(log(ratio) for ratio in ratios) / (len(ratios) + 1))


def _cooling(
    thermal: Thermal, cooling: str, thickness_mm: float, *, hottest: bool
) -> Callable[[float, float], float]:
    """Return the time of a share left, for a diffusivity, of the hottest place or the mean."""
    if cooling == AIR:
        return lambda share, _: air_time_s(
            share,
            thickness_mm=thickness_mm,
            density_g_cm3=thermal.density_g_cm3,
            heat_j_g_k=HEAT_J_G_K,
        )
    of = centre_share if hottest else mean_share
    return lambda share, diffusivity_mm2_s: wall_time_s(
        share,
        of,
        thickness_mm=thickness_mm,
        diffusivity_mm2_s=diffusivity_mm2_s,
        two_faces=cooling == TWO_FACES,
    )


def _span(thermal: Thermal, time_of: Callable[[float], float], slower: float) -> Span:
    return Span(
        s=round(slower * time_of(thermal.diffusivity_mm2_s)),
        low_s=round(slower * time_of(thermal.diffusivity_high_mm2_s)),
        high_s=round(slower * LATENT_TIMES * time_of(thermal.diffusivity_low_mm2_s)),
    )


def _press_again(
    hold_s: int, mean_time_s: Callable[[float], float], release_share: float
) -> tuple[int, ...]:
    """Return when to press: at once, each time a sixth of the shrinking is done, never too long.

    It shrinks as it cools on average, so equal parts of shrinking are equal parts of that.
    """
    wanted = [
        round(mean_time_s(1 - part / _SHRINK_PARTS * (1 - release_share)))
        for part in range(1, _SHRINK_PARTS)
    ]
    at_s = [0]
    for time_s in [*wanted, hold_s]:
        gap_s = time_s - at_s[-1]
        if gap_s < PRESS_AGAIN_S_MIN and time_s < hold_s:
            continue
        pieces = max(1, ceil(gap_s / PRESS_AGAIN_S_MAX))
        at_s += [time_s - gap_s * left // pieces for left in reversed(range(pieces))]
    return tuple(at_s[:-1])  # the last is when it is cool
