"""Refusals of the web alone."""

from network.errors import FieldError, MillraceError


class NotOurPage(MillraceError):
    """The request did not come from a page of ours."""

    code = "csrf_failed"
    status = 403

    def __init__(self, reason: str) -> None:
        error = FieldError(
            field="X-CSRFToken",
            detail="The header is missing or wrong.",
            mend="Read the session first, and send its csrftoken cookie in this header.",
        )
        detail = f"The request did not come from a page of ours. {reason}".strip()
        super().__init__(detail, fields=(error,))
