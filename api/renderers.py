"""Answers that are files; a refusal in their place is JSON as anywhere."""

from collections.abc import Mapping
from typing import Any

from rest_framework.renderers import JSONRenderer


class PdfRenderer(JSONRenderer):
    """Passes on a PDF that the view has made."""

    media_type = "application/pdf"
    format = "pdf"

    def render(
        self,
        data: Any,
        accepted_media_type: str | None = None,
        renderer_context: Mapping[str, Any] | None = None,
    ) -> bytes:
        """Return the file as it is, or a problem detail as JSON."""
        if isinstance(data, bytes):
            return data
        rendered: bytes = super().render(data, accepted_media_type, renderer_context)
        return rendered
