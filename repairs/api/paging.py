"""Lists are cut into pages by a cursor, so a page costs the same at any depth."""

from rest_framework.pagination import CursorPagination


class CursorPages(CursorPagination):
    """Newest last; `page_size` up to 200."""

    ordering = ("created_at", "id")
    page_size = 50
    page_size_query_param = "page_size"
    max_page_size = 200
