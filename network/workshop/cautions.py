"""The cautions that belong where material is heated, pressed and handled, in one place, by code.

They remind; they do not advise. Local codes and licensed practice come first.
"""

from collections.abc import Iterable, Mapping
from enum import StrEnum


class Caution(StrEnum):
    """All cautions that a step of the workshop can carry; each has its words in CAUTION_TEXT."""

    LOCAL_CODES = "local_codes"
    HEAT = "heat"
    FUMES = "fumes"
    NEVER_BURN = "never_burn"
    NEVER_PVC = "never_pvc"
    PRESS = "press"
    LIFTING = "lifting"
    SHREDDER = "shredder"
    WASH_WATER = "wash_water"
    DUST = "dust"
    ALCOHOL = "alcohol"
    EYES = "eyes"


CAUTION_TEXT: Mapping[Caution, str] = {
    Caution.LOCAL_CODES: (
        "The codes and permits of where you are come first: fire, machines, waste and water. Ask"
        " before you heat plastic waste at all, and have wiring, gas and presses seen to by those"
        " licensed for it."
    ),
    Caution.HEAT: (
        "Hot plates, moulds and molten plastic burn deep, since the melt sticks. Wear dry"
        " heat-proof gloves and long sleeves, keep others away, never leave it alone, and cool a"
        " burn under running water at once."
    ),
    Caution.FUMES: (
        "Heat as low and as briefly as it takes, with extraction at the source and doors open or"
        " outdoors. Residues of food and glue smoke first: clean before heating. If it smokes,"
        " switch off, leave, and air the room."
    ),
    Caution.NEVER_BURN: (
        "Never burn plastic, also not to find out what it is, and never smell its smoke: it can"
        " hold hydrogen chloride, styrene and others, and burning drips set fire to what they"
        " fall on."
    ),
    Caution.NEVER_PVC: (
        "Never heat PVC: it gives off hydrogen chloride, an acid gas. What is not known for sure"
        " is set aside, not melted."
    ),
    Caution.PRESS: (
        "Keep hands out of the press while anything can move, stand aside of a loaded jack, and"
        " never go beyond what the weakest part of press and mould is rated for."
    ),
    Caution.LIFTING: (
        "Moulds and sacks are heavy and awkward, and moulds are hot: use a trolley or two people,"
        " and follow the local rules on manual handling."
    ),
    Caution.SHREDDER: (
        "Feed a shredder with its hopper closed and never by hand. Before clearing it, switch off,"
        " unplug and lock it off."
    ),
    Caution.WASH_WATER: (
        "Let no flake or label down the drain: use a fine filter, and ask whether the water may go"
        " where it goes."
    ),
    Caution.DUST: (
        "Scrape, cut or plane rather than sand: large chips can go back in, dust cannot: it is"
        " breathed in, and it is microplastic."
    ),
    Caution.ALCOHOL: (
        "Alcohol mixtures are flammable: adults only, away from any flame or hot plate, never with"
        " pupils."
    ),
    Caution.EYES: "Wear eye protection: brittle pieces throw splinters.",
}

CAUTION_CHOICES = [(caution.value, caution.value.replace("_", " ")) for caution in Caution]

NEVER_FLAME_OR_SNIFF = (
    "No test by flame, heat or smell is ever asked for or kept here. Burning plastic gives off"
    " poisons such as hydrogen chloride (PVC) and styrene (PS, ABS), drips while it burns, and a"
    " sniff is a dose. A piece that harmless looks cannot settle is set aside."
)

HEATING = (
    Caution.HEAT,
    Caution.FUMES,
    Caution.NEVER_PVC,
    Caution.NEVER_BURN,
    Caution.PRESS,
    Caution.LIFTING,
    Caution.LOCAL_CODES,
)


# What is shown at each step of the work.
AT_STEP: Mapping[str, tuple[Caution, ...]] = {
    "identify": (Caution.NEVER_BURN, Caution.NEVER_PVC, Caution.ALCOHOL, Caution.EYES),
    "wash": (Caution.WASH_WATER, Caution.LIFTING, Caution.LOCAL_CODES),
    "delabel": (Caution.HEAT, Caution.WASH_WATER),
    "sort": (Caution.NEVER_PVC, Caution.LIFTING),
    "shred": (Caution.SHREDDER, Caution.EYES, Caution.DUST, Caution.LIFTING),
    "charge": (Caution.NEVER_PVC, Caution.LIFTING),
    "press": (*HEATING, Caution.EYES),
    "finish": (Caution.DUST, Caution.EYES),
}


def in_words(cautions: Iterable[Caution]) -> list[dict[str, str]]:
    """Return cautions as the screens show them, each once, in the order of their list."""
    found = set(cautions)
    return [{"code": c.value, "text": CAUTION_TEXT[c]} for c in Caution if c in found]


def cautions_at_each_step() -> list[dict[str, object]]:
    """Return the cautions of each step of the work, in the order of the work."""
    return [{"step": step, "cautions": in_words(found)} for step, found in AT_STEP.items()]
