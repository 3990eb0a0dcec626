"""Whose packages or statement: an order's, or a customer's of a month, and never both."""

from collections.abc import Mapping

from repairs.domain.problem import Fault, malformed, shown

EITHER = "a work_order, or customer and month together"
_EXPECTED = {
    "customer": "the code of a customer, beside the month",
    "month": "a month such as 2031-03, beside the customer",
}


def refuse_unclear(given: Mapping[str, object]) -> None:
    """Refuse what asks for both, for neither, or for half of it, naming the field.

    Raises
    ------
    Refused
        With a fault for each field that is one too many, or for the one that is missing.
    """
    named = {name: given[name] for name in _EXPECTED if given.get(name) is not None}
    if given.get("work_order") is not None:
        # Passed over, it would look as if the order's had been cut to the month.
        faults = [
            Fault(name, shown(value), f"nothing beside a work_order: {EITHER}")
            for name, value in named.items()
        ]
    elif not named:
        faults = [Fault("work_order", "nothing", EITHER)]
    else:
        missing = (name for name in _EXPECTED if name not in named)
        faults = [Fault(name, "nothing", _EXPECTED[name]) for name in missing]
    if faults:
        raise malformed(*faults)
