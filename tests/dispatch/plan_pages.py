"""What the tests of pages about plans begin with: a company, its plan, and a browser."""

from typing import Any

from dispatch.models import Plan
from dispatch.pages.plans.ask_form import first_values
from repairs.models import Account
from tests.dispatch.plan_rows import Company
from tests.factories import now
from tests.page_reader import Page, client_of, page_of


def typed(company: Company, **other: Any) -> dict[str, Any]:
    """Return what a dispatcher types to ask for the plan of tomorrow."""
    day = company.tomorrow.isoformat()
    plain = {**first_values(now().date()), "starts_on": day, "ends_on": day, "search_s": 1}
    return {**plain, **other}


def sent(account: Account, address: str, body: dict[str, Any], *, status: int) -> Page:
    """Send a form that is answered with a page."""
    return page_of(client_of(account).post(address, body), status=status)


def went(account: Account, address: str, body: dict[str, Any]) -> str:
    """Send a form that leads on, and return where to."""
    answer = client_of(account).post(address, body)
    assert answer.status_code == 302, answer.content[:2000]
    return str(answer["Location"])


def page_address(plan: Plan, more: str = "") -> str:
    """Return where a plan is looked at."""
    return f"/plans/{plan.pk}{more}"
