"""Identifiers that sort by the time they were made."""

from uuid import UUID

from uuid_utils import compat


def new_id() -> UUID:
    """Return a UUIDv7 (RFC 9562 §5.7): unique and ascending in time, so it pages well."""
    return compat.uuid7()
