from rest_framework.pagination import CursorPagination


class KeysetPagination(CursorPagination):
    """Pages by the id, which ascends in time, so that a page costs the same however far it is."""

    ordering = "-id"
    page_size_query_param = "page_size"
    max_page_size = 200
