"""The words that rules and observations share."""

from enum import StrEnum


class Forming(StrEnum):
    """How an item was made: caps flow when molten, blow-moulded bottles stay stiff."""

    INJECTION = "injection"
    BLOW = "blow"
    THERMOFORMED = "thermoformed"
    FILM = "film"


class Colour(StrEnum):
    """The colours people sort by; `natural` is the milky see-through of undyed polyethylene."""

    CLEAR = "clear"
    NATURAL = "natural"
    WHITE = "white"
    GREY = "grey"
    BLACK = "black"
    RED = "red"
    ORANGE = "orange"
    YELLOW = "yellow"
    GREEN = "green"
    BLUE = "blue"
    PURPLE = "purple"
    PINK = "pink"
    BROWN = "brown"


class State(StrEnum):
    """A state in which a maker may ask for material."""

    RINSED = "rinsed"
    DRY = "dry"
    LABEL_OFF = "label_off"
    LID_OFF = "lid_off"
    SORTED_BY_COLOUR = "sorted_by_colour"


class Need(StrEnum):
    """How much a state matters: a `must` not met is turned away, a `wanted` is extra work."""

    MUST = "must"
    WANTED = "wanted"


class Finding(StrEnum):
    """What may be found among the material and does not belong there."""

    OTHER_RESIN = "other_resin"
    DANGEROUS_RESIN = "dangerous_resin"
    OTHER_ITEM = "other_item"
    OTHER_COLOUR = "other_colour"
    FOOD_RESIDUE = "food_residue"
    OIL_OR_CHEMICAL = "oil_or_chemical"
    MEDICAL = "medical"
    METAL = "metal"
    GLASS = "glass"
    PAPER = "paper"
    LABEL = "label"
    WATER = "water"
    OTHER = "other"


class ContainerKind(StrEnum):
    """What material is set aside in."""

    BAG = "bag"
    CRATE = "crate"
    BIN = "bin"
    DRUM = "drum"


class Unmarked(StrEnum):
    """What a maker does with a piece that carries no resin mark.

    `taken_if_it_floats` asks that it floats in plain water, which leaves only polyethylene and
    polypropylene of the resins known here, and never PVC.
    """

    TAKEN_IF_IT_FLOATS = "taken_if_it_floats"
    EXTRA_WORK = "extra_work"
    TURNED_AWAY = "turned_away"
