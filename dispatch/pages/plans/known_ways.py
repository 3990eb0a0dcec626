"""The ways that somebody knows better than the estimate: listed, taken away, sent as a file."""

from dataclasses import dataclass
from uuid import UUID

from django.core.files.uploadedfile import UploadedFile
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone

from dispatch.domain.way_file import SUCH_AS, read_ways
from dispatch.models import KnownWay
from dispatch.pages.plans.plan_words import long_words
from dispatch.services.known_ways import STORED, WayAnswer, import_ways
from repairs.api.text_files import text_of
from repairs.domain.order_file import NotAnOrderFile, cut_csv
from repairs.domain.problem import Refused
from repairs.domain.roles import Role
from repairs.pages.doors import BOARD, DoorPage, PageDoors, show

KEEPERS = frozenset({Role.DISPATCHER, Role.ADMINISTRATOR})
A_PAGE = 50
NO_FILE = "Choose a file first."
MILE_M = 1609.344
"""The international mile, exactly (agreement of 1959)."""


@dataclass(frozen=True, slots=True)
class WayLine:
    """A known way as it is read."""

    id: str
    start: str
    end: str
    minutes: str
    length: str
    note: str
    who: str


class KnownWaysPage(DoorPage):
    """The ways that somebody knows better: listed, taken away, sent as a file."""

    doors: PageDoors = {"GET": BOARD, "POST": KEEPERS}

    def get(self, request: HttpRequest) -> HttpResponse:
        """Show them in the order they were entered."""
        return self._shown(request)

    def post(self, request: HttpRequest) -> HttpResponse:
        """Take one away, or take a file; each line that is wrong is named with its number."""
        if "remove" in request.POST:
            get_object_or_404(KnownWay, pk=_id(request.POST["remove"])).delete()
            return redirect("/known-ways")
        upload = request.FILES.get("file")
        if not isinstance(upload, UploadedFile):
            return self._shown(request, wrong=NO_FILE)
        try:
            read = read_ways(cut_csv(text_of(upload), SUCH_AS))
        except NotAnOrderFile as error:
            return self._shown(request, wrong=str(error.fault))
        except Refused as refused:
            return self._shown(request, wrong=refused.detail)
        answers = import_ways(read=read, by=self.account, now=timezone.now())
        if all(each.outcome == STORED for each in answers):
            return redirect("/known-ways")
        return self._shown(request, answers=answers)

    def _shown(
        self, request: HttpRequest, *, wrong: str = "", answers: list[WayAnswer] | None = None
    ) -> HttpResponse:
        rows = KnownWay.objects.select_related("entered_by")
        page = Paginator(rows, A_PAGE).get_page(request.GET.get("page"))
        told = answers or []
        context = {
            "page": page,
            "lines": [_way_line(row) for row in page],
            "may_keep": self.account.role in KEEPERS,
            "such_as": SUCH_AS,
            "wrong": wrong,
            "stored": sum(each.outcome == STORED for each in told),
            "faulty": [each for each in told if each.faults],
        }
        status = 422 if wrong or told else 200
        return show(request, "dispatch/plans/known_ways.html", context, status=status)


def _way_line(row: KnownWay) -> WayLine:
    return WayLine(
        id=str(row.pk),
        start=f"{row.from_latitude:.4f}, {row.from_longitude:.4f}",
        end=f"{row.to_latitude:.4f}, {row.to_longitude:.4f}",
        minutes=long_words(row.seconds),
        length=f"{row.metres / 1000:.1f} km ({row.metres / MILE_M:.1f} mi)",
        note=row.note,
        who=row.entered_by.display_name,
    )


def _id(sent: str) -> UUID:
    try:
        return UUID(sent)
    except ValueError:
        return UUID(int=0)
