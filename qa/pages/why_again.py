"""Why there is another attempt at a repair: what the client, or a decision, asks for."""

from qa.domain.requirement import RULES
from qa.domain.return_reason import reason_words
from qa.models import ClientAnswer
from repairs.domain.field_event import OFFICE_KINDS, EventKind
from repairs.models import FieldEvent, Repair


def why_again(repair: Repair, *, attempt: int) -> tuple[str, ...]:
    """Return the reasons, a line each; none for the first attempt."""
    return (*_returned(repair, attempt), *_reworked(repair, attempt))


def has_begun(repair: Repair, *, attempt: int) -> bool:
    """Return whether a crew reported anything in this very attempt."""
    office = [kind.value for kind in OFFICE_KINDS]
    rows = FieldEvent.objects.filter(repair=repair, attempt=attempt)
    return rows.exclude(kind__in=office).exists()


def _returned(repair: Repair, attempt: int) -> tuple[str, ...]:
    answer = ClientAnswer.objects.filter(
        package__closing__repair=repair,
        package__closing__attempt=attempt - 1,
        answer=ClientAnswer.RETURNED,
    ).first()
    if answer is None:
        return ()
    said = [
        f"The client returned it: {_title(each['requirement'])}: {reason_words(each)}"
        for each in answer.reasons
    ]
    return (*said, f"The client's note: {answer.note}") if answer.note else tuple(said)


def _title(code: str) -> str:
    return RULES[code][0] if code in RULES else code.replace("_", " ")


def _reworked(repair: Repair, attempt: int) -> tuple[str, ...]:
    rows = FieldEvent.objects.filter(
        repair=repair, attempt=attempt, kind=EventKind.REWORK_ORDERED.value
    )
    said = rows.order_by("received_at").values_list("data__words", flat=True)
    return tuple(f"{words[:1].upper()}{words[1:]}" for words in said if words)
