from collections.abc import Callable
from typing import Any
from uuid import UUID

from rest_framework.exceptions import NotFound
from rest_framework.pagination import CursorPagination
from rest_framework.request import Request

from network.errors import InvalidInput


class KeysetPagination(CursorPagination):
    """Pages by the id, which ascends in time, so that a page costs the same however far it is."""

    ordering = "-id"
    #: What reads the place a page starts at; raises ValueError for another.
    read_place: Callable[[str], object] = UUID
    page_size_query_param = "page_size"
    max_page_size = 200

    def decode_cursor(self, request: Request) -> Any:
        """Return the place a page starts at; raises InvalidInput for one we did not give out."""
        refusal = InvalidInput.of(
            "cursor", "This is no page of ours.", "Follow the `next` and `previous` links."
        )
        try:
            cursor = super().decode_cursor(request)
            if cursor is not None and cursor.position is not None:
                self.read_place(str(cursor.position))
        except (NotFound, ValueError):
            raise refusal from None
        return cursor

    def get_page_size(self, request: Request) -> int | None:
        """Return how many to show; raises InvalidInput for what is not a number above zero."""
        asked = request.query_params.get(self.page_size_query_param)
        if asked is not None and not (asked.isascii() and asked.isdecimal() and int(asked) > 0):
            raise InvalidInput.of(
                self.page_size_query_param,
                "This is not a number of rows.",
                f"Ask for 1 to {self.max_page_size}.",
            )
        return super().get_page_size(request)


class NumberPagination(KeysetPagination):
    """Pages by a number that counts up, whatever the ids are that were sent with what it counts."""

    ordering = "-number"
    read_place = int
