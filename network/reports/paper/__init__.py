"""The report on paper, as PDF.

What people wrote reaches the template as JSON data, never as markup, so that nothing in a name is
run. It uses the fonts that come with typst.
"""

import json
from collections.abc import Mapping
from pathlib import Path

import typst

FOLDER = Path(__file__).resolve().parent


def pdf(data: Mapping[str, object]) -> bytes:
    """Return the report as a PDF of A4 pages; `data` is what `diverted.typ` reads."""
    made = typst.compile(
        FOLDER / "diverted.typ",
        root=FOLDER,
        format="pdf",
        sys_inputs={"data": json.dumps(data)},
    )
    if not isinstance(made, bytes):
        raise TypeError("a PDF is one file")
    return made
