"""The points at which diverted mass can be counted, each a method of its own."""

from collections.abc import Mapping
from types import MappingProxyType

from network.reports.core.balance import ENTRY, Balance, Flow
from network.reports.core.method import DIVERTED, Method

_DECISION = (
    "Decision (EU) 2019/1004, Annex I: where separated plastic enters the operation that turns it"
    " into products."
)
_REGRIND = (
    "ISO 14021, 7.8 (read in a secondary source): what is cut off and used again in the same"
    " process is no new content."
)
_STORE = "collected"
_OUTSIDE = (ENTRY, "vehicle")
_PREPARED = ("collected", "washed", "sorted", "shredded")

COLLECTED = Method(
    code="collected-from-places",
    version=1,
    name="Mass collected from places",
    calculation_point="collected",
    statement=(
        "Collected is what left the containers at places, by the last weighing or estimate of it,"
        " less what went back to them. What was turned away at the doorstep never left. What was"
        " turned away or thrown away later is still counted, so this is the largest of the figures."
    ),
    sources=("JCGM 100:2008 (GUM), 5.1.2, 5.2.2 and 6.2: the uncertainty of the total.",),
)
ENTERING = Method(
    code="entering-recycling",
    version=1,
    name="Mass entering recycling",
    calculation_point="entering recycling",
    statement=(
        "Entering recycling is what was charged to batches out of the stores, washed or sorted or"
        " shredded, less what was taken back. Offcuts that are charged again are not counted a"
        " second time. What was passed on to another recycler is not counted here: it is counted"
        " where it enters. Water that was not dried off, and what does not belong, are counted if"
        " nobody took them out, so this is at most the mass at the point of Decision (EU)"
        " 2019/1004."
    ),
    sources=(
        _DECISION,
        _REGRIND,
    ),
)
IN_PRODUCTS = Method(
    code="in-products",
    version=1,
    name="Mass in products",
    calculation_point="in products",
    statement=(
        "In products is what became pieces, by their weight, less what was bought in addition."
        " Offcuts, residue and loss of the making are not counted."
    ),
    sources=(_REGRIND,),
)
POINTS: Mapping[str, Method] = MappingProxyType(
    {
        "collected": COLLECTED,
        "accepted": DIVERTED,
        "entering": ENTERING,
        "products": IN_PRODUCTS,
    }
)


def counted_g(point: str, balance: Balance) -> int:
    """Return the mass of a period at a point, in g; raises KeyError for one that is none."""
    counters = {
        "collected": _collected_g,
        "accepted": _accepted_g,
        "entering": _entering_g,
        "products": _in_products_g,
    }
    return sum(counters[point](flow) for flow in balance.flows)


def _collected_g(flow: Flow) -> int:
    return flow.mass_g * ((flow.from_kind == ENTRY) - (flow.to_kind == ENTRY))


def _accepted_g(flow: Flow) -> int:
    if flow.reason in {"turned_away", "inspected_out"}:
        return -flow.mass_g
    home = flow.from_kind in _OUTSIDE and flow.to_kind == _STORE
    back = flow.from_kind == _STORE and flow.to_kind in _OUTSIDE
    return flow.mass_g * (home - back)


def _entering_g(flow: Flow) -> int:
    return flow.mass_g if flow.from_kind in _PREPARED and flow.to_kind == "batch" else 0


def _in_products_g(flow: Flow) -> int:
    return flow.mass_g if flow.from_kind == "batch" and flow.to_kind == "product" else 0
