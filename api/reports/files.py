"""What views of files have in common."""

from collections.abc import Iterable
from typing import Any

from django.http import HttpResponse
from rest_framework.negotiation import BaseContentNegotiation
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request

PDF = "application/pdf"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
CSV = "text/csv; charset=utf-8; header=present"


class WhateverIsAccepted(BaseContentNegotiation):
    """A file is what its address says; only a refusal is rendered, as JSON."""

    def select_parser(self, request: Request, parsers: Any) -> Any:
        """Return the first parser: nothing is read."""
        return parsers[0]

    def select_renderer(
        self, request: Request, renderers: Iterable[BaseRenderer], format_suffix: str | None = None
    ) -> tuple[BaseRenderer, str]:
        """Return the first renderer, whatever the client accepts."""
        renderer = next(iter(renderers))
        return renderer, str(renderer.media_type)


def attached(content: bytes, media_type: str, name: str) -> HttpResponse:
    """Return a file that a browser saves under a name."""
    return HttpResponse(
        content,
        content_type=media_type,
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )
