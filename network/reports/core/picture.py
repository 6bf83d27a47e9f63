"""A flow drawn in layers from top to bottom, every band as wide as its mass.

A bar that is wider than what leaves it has kept the rest; one wider than what comes has had it.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

WIDTH = 1000.0
GAP = 45.0


@dataclass(frozen=True, kw_only=True)
class Bar:
    """A place in the flow: its layer from the top, and in g what it had before and has after."""

    name: str
    layer: int
    opening_g: int = 0
    closing_g: int = 0


@dataclass(frozen=True, kw_only=True)
class Link:
    """Grams from one bar down to another."""

    source: str
    target: str
    mass_g: int


@dataclass(frozen=True, kw_only=True)
class DrawnBar:
    """A bar on the picture; x and widths in parts of the picture's width of 1000."""

    name: str
    layer: int
    mass_g: int
    x: float
    width: float
    # What was there before stands at the right of the bar's top, what stays at the right below.
    opening_width: float
    closing_width: float


@dataclass(frozen=True, kw_only=True)
class Band:
    """A link on the picture: its left edge at each layer it begins at, passes and ends at."""

    source: str
    target: str
    mass_g: int
    width: float
    layers: tuple[int, ...]
    xs: tuple[float, ...]


@dataclass(frozen=True, kw_only=True)
class Picture:
    """Bars and bands, and how many layers they are in."""

    layers: int
    bars: tuple[DrawnBar, ...]
    bands: tuple[Band, ...]


def drawn(bars: Sequence[Bar], links: Iterable[Link]) -> Picture:
    """Return the picture of a flow; bars of one layer stand in the order given.

    Links of nothing, or that do not go down, are left out, and so are bars of nothing. Raises
    KeyError for a link to a bar that is none.
    """
    layer_of = {bar.name: bar.layer for bar in bars}
    down = [
        link for link in links if link.mass_g > 0 and layer_of[link.source] < layer_of[link.target]
    ]
    masses_g = {bar.name: _mass_g(bar, down) for bar in bars}
    shown = [bar for bar in bars if masses_g[bar.name] > 0]
    if not shown:
        return Picture(layers=0, bars=(), bands=())
    canvas = _Canvas(shown, down, masses_g)
    return Picture(
        layers=1 + max(layer_of.values()),
        bars=tuple(canvas.bar(bar) for bar in shown),
        bands=tuple(canvas.band(link) for link in canvas.links),
    )


def _mass_g(bar: Bar, links: Iterable[Link]) -> int:
    in_g, out_g = bar.opening_g, bar.closing_g
    for link in links:
        in_g += link.mass_g if link.target == bar.name else 0
        out_g += link.mass_g if link.source == bar.name else 0
    return max(in_g, out_g)


class _Canvas:
    """Where everything stands: each layer is packed from the left, passing bands included."""

    def __init__(
        self, bars: Sequence[Bar], links: Sequence[Link], masses_g: Mapping[str, int]
    ) -> None:
        self._layer_of = {bar.name: bar.layer for bar in bars}
        self._order = {bar.name: index for index, bar in enumerate(bars)}
        self._masses_g = masses_g
        self.links = sorted(links, key=self._place)
        self._scale = self._scale_of(bars)
        self._bar_x: dict[str, float] = {}
        self._pass_x: dict[tuple[Link, int], float] = {}
        for layer in self._layers():
            self._pack(layer, bars)
        self._ends = self._ends_of()

    def bar(self, bar: Bar) -> DrawnBar:
        mass_g = self._masses_g[bar.name]
        return DrawnBar(
            name=bar.name,
            layer=bar.layer,
            mass_g=mass_g,
            x=self._bar_x[bar.name],
            width=mass_g * self._scale,
            opening_width=max(bar.opening_g, 0) * self._scale,
            closing_width=max(bar.closing_g, 0) * self._scale,
        )

    def band(self, link: Link) -> Band:
        first, last = self._layer_of[link.source], self._layer_of[link.target]
        between = tuple(range(first + 1, last))
        start, end = self._ends[link]
        return Band(
            source=link.source,
            target=link.target,
            mass_g=link.mass_g,
            width=link.mass_g * self._scale,
            layers=(first, *between, last),
            xs=(start, *(self._pass_x[link, layer] for layer in between), end),
        )

    def _place(self, link: Link) -> tuple[int, int, int]:
        target = self._order[link.target]
        return self._layer_of[link.target], target, self._order[link.source]

    def _passing(self, layer: int) -> list[Link]:
        return [
            link
            for link in self.links
            if self._layer_of[link.source] < layer < self._layer_of[link.target]
        ]

    def _scale_of(self, bars: Sequence[Bar]) -> float:
        """Return how wide a gram is, so that the fullest layer with its gaps fits."""
        scales = []
        for layer in self._layers():
            masses_g = [self._masses_g[bar.name] for bar in bars if bar.layer == layer]
            masses_g += [link.mass_g for link in self._passing(layer)]
            if masses_g:
                scales.append((WIDTH - GAP * (len(masses_g) - 1)) / sum(masses_g))
        return min(scales)

    def _layers(self) -> range:
        return range(max(self._layer_of.values()) + 1)

    def _pack(self, layer: int, bars: Sequence[Bar]) -> None:
        x = 0.0
        for bar in bars:
            if bar.layer == layer:
                self._bar_x[bar.name] = x
                x += self._masses_g[bar.name] * self._scale + GAP
        for link in self._passing(layer):
            self._pass_x[link, layer] = x
            x += link.mass_g * self._scale + GAP

    def _ends_of(self) -> dict[Link, tuple[float, float]]:
        """Return where each band leaves its source and reaches its target, side by side."""
        out: dict[str, float] = defaultdict(float)
        into: dict[str, float] = defaultdict(float)
        starts = {}
        for link in self.links:
            starts[link] = self._bar_x[link.source] + out[link.source]
            out[link.source] += link.mass_g * self._scale
        ends = {}
        for link in sorted(self.links, key=lambda one: self._order[one.source]):
            ends[link] = self._bar_x[link.target] + into[link.target]
            into[link.target] += link.mass_g * self._scale
        return {link: (starts[link], ends[link]) for link in self.links}
