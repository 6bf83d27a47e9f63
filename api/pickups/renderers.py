from typing import Any

from rest_framework.renderers import BaseRenderer, JSONRenderer


class _TextRenderer(BaseRenderer):
    """Sends a text as it is; a refusal stays JSON, as its own content type says."""

    def render(
        self,
        data: Any,
        accepted_media_type: str | None = None,
        renderer_context: Any = None,
    ) -> bytes:
        """Return the bytes to send."""
        if isinstance(data, str):
            return data.encode()
        return JSONRenderer().render(data, accepted_media_type, renderer_context)


class GpxRenderer(_TextRenderer):
    media_type = "application/gpx+xml"
    format = "gpx"


class CalendarRenderer(_TextRenderer):
    media_type = "text/calendar"
    format = "ics"
