"""What stands at the app's address while there is no app."""

from django.http import HttpRequest, HttpResponse


def app_not_built(_request: HttpRequest) -> HttpResponse:
    """Say so; a built page is served before this is asked."""
    return HttpResponse(
        "The app has not been built. Run: millrace build\n",
        status=503,
        content_type="text/plain; charset=utf-8",
    )
