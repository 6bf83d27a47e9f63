"""The one family of refusals: a code, words for a person and, where it can, field and mend."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class FieldError:
    """What is wrong with one field, and the mend; `field` is a path such as `windows[0].opens`."""

    field: str
    detail: str
    mend: str = ""


class MillraceError(Exception):
    """Something was refused."""

    code = "refused"
    status = 400

    def __init__(
        self,
        detail: str = "",
        *,
        fields: tuple[FieldError, ...] = (),
        extra: Mapping[str, object] | None = None,
    ) -> None:
        self.detail = detail or (type(self).__doc__ or "").strip()
        self.fields = fields
        self.extra = dict(extra or {})
        super().__init__(self.detail)


class InvalidInput(MillraceError):
    """Some of what was sent cannot be used."""

    code = "invalid_input"
    status = 422

    @classmethod
    def of(cls, field: str, detail: str, mend: str = "") -> "InvalidInput":
        """Return the refusal of one field."""
        return cls(detail, fields=(FieldError(field=field, detail=detail, mend=mend),))


class NotAllowed(MillraceError):
    """Your role does not allow this."""

    code = "not_allowed"
    status = 403


class NotFound(MillraceError):
    """There is no such thing here, or you may not see it."""

    code = "not_found"
    status = 404


class Conflict(MillraceError):
    """This does not fit with how things stand now."""

    code = "conflict"
    status = 409


class AlreadyBooked(Conflict):
    """The van, container or lot is already in use for that."""

    code = "already_booked"


class WrongState(Conflict):
    """The thing is not in a state in which this can be done."""

    code = "wrong_state"


class DifferentBody(Conflict):
    """This id was used before with different content: nothing was changed."""

    code = "different_body"


class NotEnough(Conflict):
    """There is not as much there as would be taken."""

    code = "not_enough"


class Expired(MillraceError):
    """The link has expired or was used."""

    code = "expired"
    status = 410
