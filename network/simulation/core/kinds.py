"""The kinds of places of an invented community: how they fill, when they work, what they hold.

None of these numbers has a source: they are made up to be various, not to be typical.
"""

from collections.abc import Mapping
from dataclasses import dataclass

LITRE_ML = 1000


@dataclass(frozen=True, kw_only=True)
class PlaceKind:
    """What places of a kind have in common.

    `share` is their part of all places; `days_to_fill` the median of working days in which one
    fills its container, and `spread` that of its natural logarithm; `weekdays` how much more or
    less is put in from Monday to Sunday, 0 where the place does not work; `portion_ml` what is
    put in at once; `contamination` the usual share of what does not belong.
    """

    name: str
    share: float
    days_to_fill: float
    spread: float
    weekdays: tuple[float, ...]
    portion_ml: int
    volumes_ml: tuple[int, ...]
    keeps_terms: bool
    contamination: float
    opens_h: int
    closes_h: int


KINDS: tuple[PlaceKind, ...] = (
    PlaceKind(
        name="school",
        share=0.3,
        days_to_fill=16,
        spread=0.5,
        weekdays=(1.3, 0.9, 0.9, 0.9, 1.0, 0, 0),
        portion_ml=1500,
        volumes_ml=(60 * LITRE_ML, 120 * LITRE_ML),
        keeps_terms=True,
        contamination=0.05,
        opens_h=8,
        closes_h=15,
    ),
    PlaceKind(
        name="cafe",
        share=0.35,
        days_to_fill=9,
        spread=0.5,
        weekdays=(0.7, 0.8, 0.9, 1.0, 1.2, 1.4, 0),
        portion_ml=2500,
        volumes_ml=(60 * LITRE_ML, 80 * LITRE_ML),
        keeps_terms=False,
        contamination=0.04,
        opens_h=8,
        closes_h=16,
    ),
    PlaceKind(
        name="salon",
        share=0.2,
        days_to_fill=22,
        spread=0.45,
        weekdays=(0.5, 0.9, 1.0, 1.1, 1.3, 1.4, 0),
        portion_ml=800,
        volumes_ml=(60 * LITRE_ML,),
        keeps_terms=False,
        contamination=0.03,
        opens_h=9,
        closes_h=16,
    ),
    PlaceKind(
        name="cleaner",
        share=0.15,
        days_to_fill=7,
        spread=0.6,
        weekdays=(1.0, 1.0, 1.0, 1.0, 1.0, 0, 0),
        portion_ml=8000,
        volumes_ml=(120 * LITRE_ML, 240 * LITRE_ML),
        keeps_terms=False,
        contamination=0.06,
        opens_h=7,
        closes_h=16,
    ),
)
BY_NAME: Mapping[str, PlaceKind] = {kind.name: kind for kind in KINDS}
