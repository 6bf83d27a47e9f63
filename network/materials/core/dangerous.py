"""Materials that are never melted, whatever a maker's rules or the reference data say.

The list is in code and not in data, so that no edit of data can shorten it; the reference data may
add to it (`Resin.danger`). Sources: HSE Plastics Processing Sheet 13, Table 1 (PVC, acetal,
flame-retarded ABS); HSE reports of PTFE overheating. PVDC and the other fluoropolymers are set
beside their relatives from memory, unverified.
"""

import re

_HYDROGEN_CHLORIDE = "it gives off hydrogen chloride, an acid gas, when it gets hot"
_FLUORINE = "overheated, it gives off fumes that cause polymer fume fever"
_FORMALDEHYDE = "it gives off formaldehyde, a poison gas, when it gets hot"
_FLAME_RETARDED = "its flame retardant makes its fumes more poisonous when it gets hot"

DANGEROUS_PARTS: dict[str, str] = {
    "PVC": _HYDROGEN_CHLORIDE,
    "PVCU": _HYDROGEN_CHLORIDE,
    "UPVC": _HYDROGEN_CHLORIDE,
    "V": _HYDROGEN_CHLORIDE,
    "VINYL": _HYDROGEN_CHLORIDE,
    "CPVC": _HYDROGEN_CHLORIDE,
    "PVDC": _HYDROGEN_CHLORIDE,
    "PTFE": _FLUORINE,
    "TEFLON": _FLUORINE,
    "FEP": _FLUORINE,
    "PFA": _FLUORINE,
    "PVDF": _FLUORINE,
    "POM": _FORMALDEHYDE,
    "ACETAL": _FORMALDEHYDE,
    "FR": _FLAME_RETARDED,
}


def danger_of(symbol: str) -> str | None:
    """Return why a resin must not be melted, or None; blends and variants are seen through.

    `PVC-U`, `ABS+PVC`, `>ABS-FR(17)<` and `PVC/PE` are all caught by one of their parts.
    """
    for part in re.findall(r"[A-Z]+", symbol.upper()):
        if part in DANGEROUS_PARTS:
            return DANGEROUS_PARTS[part]
    return None
