"""The queue in Django's admin: everything to see, nothing to edit, and two decisions to take.

Django's permissions decide: whoever may view work items sees the queue, whoever
may add rulings takes the decisions.
"""

from typing import Any

from django import forms
from django.contrib import admin, messages
from django.contrib.admin.helpers import ActionForm
from django.db.models import Model, QuerySet
from django.http import HttpRequest, HttpResponse

from duework import sight
from duework.clock import db_now
from duework.models import Effect, Ruling, RunnerHeartbeat, WorkItem
from duework.models.ruling import LONGEST_REASON
from duework.rulings import NotPutAsideError, rule


class OnlyToSee(admin.ModelAdmin):
    """Rows that nobody edits: programs write them."""

    def has_add_permission(self, _request: HttpRequest) -> bool:
        """Nobody adds."""
        return False

    def has_change_permission(self, _request: HttpRequest, _obj: Model | None = None) -> bool:
        """Nobody changes."""
        return False

    def has_delete_permission(self, _request: HttpRequest, _obj: Model | None = None) -> bool:
        """Nobody deletes."""
        return False


class RulingForm(ActionForm):
    """The action and why."""

    reason = forms.CharField(max_length=LONGEST_REASON, required=False, label="Reason")


class LateFilter(admin.SimpleListFilter):
    """Late is no state of its own: due for more than ten seconds."""

    title = "late"
    parameter_name = "late"

    def lookups(self, *_: object) -> list[tuple[str, str]]:
        """Return the one choice."""
        return [("yes", f"due for more than {sight.LATE_AFTER_S:g} s")]

    def queryset(self, _request: HttpRequest, rows: QuerySet[WorkItem]) -> QuerySet[WorkItem]:
        """Keep the late rows when asked to."""
        late = sight.rows_in(state="late", now=db_now())
        return rows.filter(pk__in=late.values("pk")) if self.value() else rows


@admin.register(WorkItem)
class QueueAdmin(OnlyToSee):
    """The queue: its figures on top, its rows below, retry and drop for what was put aside."""

    list_display = ("kind", "dedupe_key", "state", "due_at", "attempts", "held_by", "last_error")
    list_filter = ("state", LateFilter, "kind")
    search_fields = ("dedupe_key", "subject_id", "held_by")
    ordering = ("due_at", "id")
    show_full_result_count = False
    action_form = RulingForm
    actions = ("retry", "drop")

    def has_ruling_permission(self, request: HttpRequest) -> bool:
        """Whoever may add rulings may rule."""
        return request.user.has_perm("duework.add_ruling")

    def changelist_view(
        self, request: HttpRequest, extra_context: dict[str, Any] | None = None
    ) -> HttpResponse:
        """Show the figures above the list."""
        now = db_now()
        figures = {"backlog": sight.backlog(now=now), "runners": sight.runners(now=now)}
        return super().changelist_view(request, {**figures, **(extra_context or {})})

    @admin.action(description="Try again (dead or expired)", permissions=["ruling"])
    def retry(self, request: HttpRequest, rows: QuerySet[WorkItem]) -> None:
        """Let the chosen items be done again."""
        self._rule(request, rows, Ruling.Word.RETRY)

    @admin.action(description="Drop (dead or expired)", permissions=["ruling"])
    def drop(self, request: HttpRequest, rows: QuerySet[WorkItem]) -> None:
        """Give the chosen items up for good."""
        self._rule(request, rows, Ruling.Word.DROP)

    def _rule(self, request: HttpRequest, rows: QuerySet[WorkItem], word: Ruling.Word) -> None:
        ruled = 0
        for row in rows:
            try:
                rule(
                    item_id=row.pk,
                    word=word,
                    reason=str(request.POST.get("reason", "")),
                    ruled_by=request.user.get_username(),
                    now=db_now(),
                )
                ruled += 1
            except (ValueError, NotPutAsideError) as error:
                self.message_user(request, f"{row.dedupe_key}: {error}", messages.ERROR)
        self.message_user(request, f"{ruled} ruled on: {word.label}.")


@admin.register(Ruling)
class RulingAdmin(OnlyToSee):
    """Who decided what, and why."""

    list_display = ("ruled_at", "ruled_by", "word", "dedupe_key", "reason", "state_before")
    list_filter = ("word", "kind")
    search_fields = ("dedupe_key", "ruled_by")


@admin.register(RunnerHeartbeat)
class RunnerAdmin(OnlyToSee):
    """Who turns the crank."""

    list_display = ("runner", "started_at", "beat_at", "handled")


@admin.register(Effect)
class EffectAdmin(OnlyToSee):
    """What was ever done."""

    list_display = ("dedupe_key", "kind", "done_at")
    search_fields = ("dedupe_key",)
    show_full_result_count = False
