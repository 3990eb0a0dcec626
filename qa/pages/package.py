"""The page of one package, and the client's answer to it."""

import zipfile
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.http import content_disposition_header

from qa.answers import longest_film_s
from qa.models import CloseoutPackage
from qa.pages.answer_form import AnswerForm
from qa.pages.package_list import READERS
from qa.pages.package_share import ShareForm, share_context
from qa.pages.package_sheet import package_sheet
from qa.sealed_files import package_path
from qa.selectors import visible_links, visible_packages
from qa.services.answer import answer_package
from qa.services.share_package import call_back, share_package
from repairs.domain.problem import Refused
from repairs.domain.roles import Role
from repairs.pages.doors import DoorPage, PageDoors, show


class _Shown(DoorPage):
    """What the page is shown by, whether it was opened or something on it was sent."""

    def _package(self, package_id: UUID) -> CloseoutPackage:
        rows = visible_packages(self.account).select_related(
            "closing__repair__run__site", "closing__closed_by", "client_answer__answered_by"
        )
        return get_object_or_404(rows, pk=package_id)

    def _page(
        self,
        request: HttpRequest,
        package: CloseoutPackage,
        form: AnswerForm | None,
        wrong: str,
        status: int,
    ) -> HttpResponse:
        """Show the package, with the forms for whoever may answer."""
        sheet = package_sheet(package)
        may_answer = self.account.role == Role.CLIENT and sheet.ready and sheet.answered is None
        context = {
            **share_context(package, account=self.account, now=timezone.now()),
            "sheet": sheet,
            "may_answer": may_answer,
            "form": form or AnswerForm(sheet.verdicts),
            "wrong": wrong,
            "now": timezone.now(),
        }
        return show(request, "qa/package.html", context, status=status)


class PackagePage(_Shown):
    """A package: looked at by the office and its client, answered by the client."""

    doors: PageDoors = {"GET": READERS, "POST": frozenset({Role.CLIENT})}

    def get(self, request: HttpRequest, package_id: UUID) -> HttpResponse:
        """Show it, with the forms for whoever may answer."""
        return self._page(request, self._package(package_id), None, "", 200)

    def post(self, request: HttpRequest, package_id: UUID) -> HttpResponseBase:
        """Accept or return it; what is wrong is said and nothing typed is lost."""
        package = self._package(package_id)
        form = AnswerForm(
            package_sheet(package).verdicts,
            request.POST,
            longest_film_s=longest_film_s(package.closing),
        )
        if not form.is_valid():
            return self._page(request, package, form, form.wrong(), 422)
        try:
            answer_package(
                package=package,
                answer=form.cleaned_data["answer"],
                reasons=form.reasons(),
                note=form.cleaned_data["note"],
                by=self.account,
                now=timezone.now(),
            )
        except Refused as refused:
            return self._page(request, package, form, refused.detail, refused.status)
        return redirect(f"/packages/{package.pk}")


class ReportPage(_Shown):
    """The report by itself, out of the package as it was handed over."""

    doors: PageDoors = {"GET": READERS}

    def get(self, _request: HttpRequest, package_id: UUID) -> HttpResponse:
        """Give it to be read in the browser."""
        package = self._package(package_id)
        if package.ready_at is None:
            raise Http404
        response = HttpResponse(_report(package), content_type="application/pdf")
        name = f"{package.file_name.removesuffix('.zip')}-report.pdf"
        shown = content_disposition_header(as_attachment=False, filename=name)
        response["Content-Disposition"] = shown or "inline"
        response["Cache-Control"] = "private, no-store"
        return response


def _report(package: CloseoutPackage) -> bytes:
    """Read the report out of the sealed zip: the very bytes the client was given."""
    with zipfile.ZipFile(package_path(package.storage_key)) as archive:
        top = archive.namelist()[0].split("/")[0]
        return archive.read(f"{top}/data/report.pdf")


class SharePage(_Shown):
    """The same page, after a link was asked for."""

    doors: PageDoors = {"POST": READERS}

    def after_login(self, request: HttpRequest) -> str:
        """Lead back to the package."""
        return request.path.rpartition("/")[0]

    def post(self, request: HttpRequest, package_id: UUID) -> HttpResponseBase:
        """Make a link that ends by itself."""
        package, form = self._package(package_id), ShareForm(request.POST)
        if not form.is_valid():
            return self._page(request, package, None, form.wrong(), 422)
        try:
            share_package(package=package, **form.cleaned_data, by=self.account, now=timezone.now())
        except Refused as refused:
            return self._page(request, package, None, refused.detail, refused.status)
        return redirect(f"/packages/{package.pk}#share")


class CallBackPage(_Shown):
    """The page of a link's package, after it was called back."""

    doors: PageDoors = {"POST": READERS}

    def after_login(self, _request: HttpRequest) -> str:
        """Lead to the packages; which one it was is told to nobody who is not signed in."""
        return "/packages"

    def post(self, _request: HttpRequest, link_id: UUID) -> HttpResponseBase:
        """End the link now."""
        link = get_object_or_404(visible_links(self.account), pk=link_id)
        call_back(link=link, now=timezone.now())
        page = f"/packages/{link.package_id}#share" if link.package_id else "/packages#collected"
        return redirect(page)
