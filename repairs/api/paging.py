"""Lists are cut into pages by a cursor, so a page costs the same at any depth."""

from rest_framework.pagination import CursorPagination
from rest_framework.request import Request

from repairs.domain.problem import Fault, malformed, shown


class CursorPages(CursorPagination):
    """Newest last; `page_size` up to 200."""

    ordering = ("created_at", "id")
    page_size = 50
    page_size_query_param = "page_size"
    max_page_size = 200

    def get_page_size(self, request: Request) -> int:
        """Return how many are asked for; what is no such number is refused, not guessed."""
        asked = request.query_params.get(self.page_size_query_param)
        if asked is None:
            return self.page_size
        if not (asked.isascii() and asked.isdigit() and 1 <= int(asked[:6]) <= self.max_page_size):
            expected = f"1 to {self.max_page_size}"
            raise malformed(Fault(self.page_size_query_param, shown(asked), expected))
        return int(asked[:6])
