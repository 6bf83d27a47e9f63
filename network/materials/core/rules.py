"""A maker's accepted-material rules, as data: what is taken, in which state, and what never."""

from dataclasses import dataclass
from decimal import Decimal

from network.errors import FieldError, InvalidInput
from network.materials.core.dangerous import danger_of
from network.materials.core.terms import Colour, ContainerKind, Finding, Forming, State, Unmarked

SCHEMA_VERSION = 1
# A tonne: no place sets aside more between two visits, so a larger figure is a slip of the unit.
SMALLEST_G_MAX = 1_000_000
NOTES_LENGTH_MAX = 2000
CONTAMINATION_MAX = Decimal(1)
# A millionth is a milligram in a kilogram: no workshop scale reads less.
CONTAMINATION_PLACES_MAX = 6


@dataclass(frozen=True, kw_only=True)
class AcceptanceRules:
    """What one maker accepts, exactly.

    None for `items`, `colours`, `forming` and `containers` means any. Contamination limits are
    fractions by mass of what was sampled: up to and including `contamination_clean_max` it is
    taken, up to and including `contamination_extra_work_max` it is taken with extra work, above
    that it is turned away. Below `smallest_g` a journey is not worthwhile (0: always is).
    Raises InvalidInput, naming each field, for rules that contradict themselves or would let in
    a material that is dangerous to melt.
    """

    resins: tuple[str, ...]
    items: tuple[str, ...] | None
    colours: tuple[Colour, ...] | None = None
    forming: tuple[Forming, ...] | None = None
    must: frozenset[State] = frozenset()
    wanted: frozenset[State] = frozenset()
    never: frozenset[Finding] = frozenset()
    unmarked: Unmarked = Unmarked.EXTRA_WORK
    contamination_clean_max: Decimal
    contamination_extra_work_max: Decimal
    smallest_g: int = 0
    containers: tuple[ContainerKind, ...] | None = None
    notes: str = ""

    def __post_init__(self) -> None:
        faults = [*_list_faults(self), *_state_faults(self), *_limit_faults(self)]
        if faults:
            raise InvalidInput("These rules cannot be used.", fields=tuple(faults))


def _list_faults(rules: AcceptanceRules) -> list[FieldError]:
    faults = _faults_of_choice("resins", rules.resins)
    for name in ("items", "colours", "forming", "containers"):
        faults += _faults_of_choice(name, getattr(rules, name))
    for index, symbol in enumerate(rules.resins):
        danger = danger_of(symbol)
        if danger:
            faults.append(
                FieldError(
                    field=f"resins[{index}]",
                    detail=f"{symbol} is never melted: {danger}.",
                    mend=f"Take {symbol} out of the list.",
                )
            )
    return faults


def _faults_of_choice(name: str, values: tuple[str, ...] | None) -> list[FieldError]:
    if values is None:
        return []
    if not values:
        return [
            FieldError(
                field=name,
                detail="The list is empty, so nothing could ever be accepted.",
                mend="Name at least one." if name == "resins" else 'Name at least one, or "any".',
            )
        ]
    return [
        FieldError(
            field=f"{name}[{index}]",
            detail=f"{value} is in the list twice.",
            mend="Keep one of the two.",
        )
        for index, value in enumerate(values)
        if value in values[:index]
    ]


def _state_faults(rules: AcceptanceRules) -> list[FieldError]:
    return [
        FieldError(
            field=f"states.{state.value}",
            detail="It is both a must and wanted.",
            mend="Choose one of the two.",
        )
        for state in sorted(rules.must & rules.wanted)
    ]


def _limit_faults(rules: AcceptanceRules) -> list[FieldError]:
    faults = []
    clean, extra = rules.contamination_clean_max, rules.contamination_extra_work_max
    for name, share in (
        ("contamination_clean_max", clean),
        ("contamination_extra_work_max", extra),
    ):
        if not _is_share(share):
            faults.append(
                FieldError(
                    field=name,
                    detail="A share of the mass lies between 0 and 1, with at most six places.",
                    mend='Write two per cent as "0.02".',
                )
            )
    if not faults and clean > extra:
        faults.append(
            FieldError(
                field="contamination_extra_work_max",
                detail=f"It is below contamination_clean_max ({clean}).",
                mend="Make it at least as high.",
            )
        )
    if not 0 <= rules.smallest_g <= SMALLEST_G_MAX:
        faults.append(
            FieldError(
                field="smallest_g",
                detail=f"The smallest worthwhile amount is 0 to {SMALLEST_G_MAX} grams.",
                mend="Write it in grams: 2000 for two kilograms.",
            )
        )
    if len(rules.notes) > NOTES_LENGTH_MAX:
        faults.append(
            FieldError(
                field="notes",
                detail=f"The notes are longer than {NOTES_LENGTH_MAX} characters.",
                mend="Shorten them: a place reads them on a card.",
            )
        )
    return faults


def _is_share(share: Decimal) -> bool:
    if not share.is_finite() or not 0 <= share <= CONTAMINATION_MAX:
        return False
    return share == round(share, CONTAMINATION_PLACES_MAX)
