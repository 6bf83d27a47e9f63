"""Papers for a place: the rules card for its wall, and labels for its containers, as PDF.

What people wrote reaches the templates as JSON data, never as markup, so that nothing in a name is
run. The templates use the fonts that come with typst; a letter these lack is taken from the
machine's own fonts if it has them.
"""

import io
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path

import segno
import typst

FOLDER = Path(__file__).resolve().parent


@dataclass(frozen=True, kw_only=True)
class Unwanted:
    """What never belongs in it, and what to do with it."""

    name: str
    advice: str


@dataclass(frozen=True, kw_only=True)
class Card:
    """One stream's rules for the wall of one place: what to keep by name, all else by sentence."""

    place: str
    stream: str
    summary: str
    maker: str
    community: str
    organiser: str
    rules_number: int
    keep: Sequence[str]
    look: Sequence[str]
    ready: Sequence[str]
    never: Sequence[Unwanted]
    notes: str


@dataclass(frozen=True, kw_only=True)
class Label:
    """What stands on one container."""

    tag: str
    stream: str
    place: str
    container: str
    address: str


def cards_pdf(cards: Sequence[Card]) -> bytes:
    """Return a PDF with one A4 page for each card."""
    return _pdf("card.typ", {"cards": [asdict(card) for card in cards]})


def labels_pdf(labels: Sequence[Label]) -> bytes:
    """Return a PDF of labels to cut out, eight on an A4 page, each with its QR code."""
    rows = [{**asdict(label), "code": qr_svg(label.address)} for label in labels]
    return _pdf("labels.typ", {"labels": rows})


def qr_svg(address: str) -> str:
    """Return the QR code of an address (ISO/IEC 18004, level M: a smudge does not matter)."""
    code = segno.make(address, error="m", micro=False)
    svg: str = code.svg_inline(border=0, omitsize=True)
    return svg


def qr_picture(address: str) -> str:
    """Return the QR code of an address as an SVG that stands alone, with its quiet zone."""
    drawn = io.BytesIO()
    segno.make(address, error="m", micro=False).save(drawn, kind="svg", omitsize=True)
    return drawn.getvalue().decode()


def _pdf(template: str, data: Mapping[str, object]) -> bytes:
    pdf = typst.compile(
        FOLDER / template,
        root=FOLDER,
        font_paths=_fonts(),
        format="pdf",
        sys_inputs={"data": json.dumps(data)},
    )
    if not isinstance(pdf, bytes):
        raise TypeError("a PDF is one file")
    return pdf


@cache
def _fonts() -> typst.Fonts:
    return typst.Fonts()
