"""What may be asked in an address: a parameter nobody knows is refused, never silently ignored."""

from typing import Any

from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request

from repairs.domain.problem import Fault, malformed, shown
from repairs.models import Repair

ATTEMPT = OpenApiParameter(
    "attempt", int, description="Which attempt; without it the one under way, or all in a list."
)


class KnownQuestions:
    """For views that read: `asks` names the parameters, those of the pages are known besides."""

    asks: frozenset[str] = frozenset()

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        """Refuse what the view does not know, once the caller is let in."""
        super().initial(request, *args, **kwargs)  # type: ignore[misc]
        if request.method in ("GET", "HEAD"):
            _refuse_unknown(request, self.asks | _of_pages(getattr(self, "paginator", None)))


def _of_pages(paginator: Any) -> frozenset[str]:
    if paginator is None:
        return frozenset()
    return frozenset({paginator.cursor_query_param, paginator.page_size_query_param})


def _refuse_unknown(request: Request, known: frozenset[str]) -> None:
    expected = f"only {', '.join(sorted(known))}" if known else "no parameters here"
    faults = [
        Fault(name, shown(value), expected)
        for name, value in request.query_params.items()
        if name not in known
    ]
    if faults:
        raise malformed(*faults)


def attempt_asked(request: Request, repair: Repair) -> int | None:
    """Return which attempt is asked for, or None where none is named."""
    asked = request.query_params.get("attempt")
    if asked is None:
        return None
    if not (asked.isascii() and asked.isdigit() and 1 <= int(asked[:6]) <= repair.attempt):
        raise malformed(Fault("attempt", shown(asked), f"1 to {repair.attempt}"))
    return int(asked[:6])
