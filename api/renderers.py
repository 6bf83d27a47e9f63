"""Answers that are files; a refusal in their place is JSON as anywhere."""

from collections.abc import Mapping
from typing import Any

from api.languages import SayingJSONRenderer


class _MadeFile(SayingJSONRenderer):
    """Passes on a file that the view has made."""

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


class PdfRenderer(_MadeFile):
    """A paper to print."""

    media_type = "application/pdf"
    format = "pdf"


class JpegRenderer(_MadeFile):
    """A photo."""

    media_type = "image/jpeg"
    format = "jpg"


class SvgRenderer(_MadeFile):
    """A drawing."""

    media_type = "image/svg+xml"
    format = "svg"
