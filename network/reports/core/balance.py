"""The balance of a flow: what came in and was there is what went out, was lost and is there."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

ENTRY = "container"
# Where grams can lie, in the order in which they pass.
STOCKS = (
    "vehicle",
    "collected",
    "washed",
    "sorted",
    "shredded",
    "batch",
    "offcut",
    "product",
)


@dataclass(frozen=True, kw_only=True)
class Flow:
    """Grams that went from one kind of account to another, and why.

    Less than zero when more was reversed than done; a reversal counts in the direction of what it
    undoes.
    """

    from_kind: str
    to_kind: str
    reason: str
    mass_g: int


@dataclass(frozen=True, kw_only=True)
class Stock:
    """What lay in one kind of account at both ends of a period, and what passed, in g."""

    kind: str
    opening_g: int
    in_g: int
    out_g: int
    closing_g: int


@dataclass(frozen=True, kw_only=True)
class Exit:
    """What left for good, where to and why, in g."""

    kind: str
    reason: str
    mass_g: int


@dataclass(frozen=True, kw_only=True)
class Balance:
    """The flow of a period, in g; `difference_g` is what does not add up, and should be zero."""

    collected_g: int
    stocks: tuple[Stock, ...]
    exits: tuple[Exit, ...]
    flows: tuple[Flow, ...]

    @property
    def opening_g(self) -> int:
        """What lay anywhere when the period began."""
        return sum(stock.opening_g for stock in self.stocks)

    @property
    def closing_g(self) -> int:
        """What lay anywhere when the period ended."""
        return sum(stock.closing_g for stock in self.stocks)

    @property
    def gone_g(self) -> int:
        """What left for good."""
        return sum(one.mass_g for one in self.exits)

    @property
    def difference_g(self) -> int:
        """Collected and opening stock, less what left and the closing stock."""
        return self.collected_g + self.opening_g - self.gone_g - self.closing_g


def balance_of(
    flows: Iterable[Flow], *, opening_g: Mapping[str, int], closing_g: Mapping[str, int]
) -> Balance:
    """Return the balance of a period from its flows and the stocks at both ends, by kind.

    The stocks are given, not worked out, so that a line that is missing shows as a difference.
    """
    passed = _summed(flows)
    return Balance(
        collected_g=_net(passed, ENTRY),
        stocks=tuple(_stock(kind, passed, opening_g, closing_g) for kind in STOCKS),
        exits=tuple(_exits(passed)),
        flows=tuple(passed),
    )


def _summed(flows: Iterable[Flow]) -> list[Flow]:
    masses_g: dict[tuple[str, str, str], int] = defaultdict(int)
    for flow in flows:
        masses_g[flow.from_kind, flow.to_kind, flow.reason] += flow.mass_g
    return [
        Flow(from_kind=key[0], to_kind=key[1], reason=key[2], mass_g=mass_g)
        for key, mass_g in sorted(masses_g.items())
        if mass_g
    ]


def _stock(
    kind: str, passed: Iterable[Flow], opening_g: Mapping[str, int], closing_g: Mapping[str, int]
) -> Stock:
    other = [flow for flow in passed if flow.from_kind != flow.to_kind]
    return Stock(
        kind=kind,
        opening_g=opening_g.get(kind, 0),
        in_g=sum(flow.mass_g for flow in other if flow.to_kind == kind),
        out_g=sum(flow.mass_g for flow in other if flow.from_kind == kind),
        closing_g=closing_g.get(kind, 0),
    )


def _exits(passed: Iterable[Flow]) -> list[Exit]:
    """Return what went to each kind that is neither stock nor entry, less what came back."""
    masses_g: dict[tuple[str, str], int] = defaultdict(int)
    for flow in passed:
        for kind, mass_g in ((flow.to_kind, flow.mass_g), (flow.from_kind, -flow.mass_g)):
            if kind not in STOCKS and kind != ENTRY:
                masses_g[kind, flow.reason] += mass_g
    return [
        Exit(kind=kind, reason=reason, mass_g=mass_g)
        for (kind, reason), mass_g in sorted(masses_g.items())
        if mass_g
    ]


def _net(passed: Iterable[Flow], kind: str) -> int:
    return sum(flow.mass_g * ((flow.from_kind == kind) - (flow.to_kind == kind)) for flow in passed)
