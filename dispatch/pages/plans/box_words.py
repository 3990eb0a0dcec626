"""What boxes say of what was typed: what would be right, in the words of the other refusals."""

from collections.abc import Mapping

from django import forms


def say_what_is_right(form: forms.Form) -> None:
    """Give each box of a form words for what is wrong in it, where it has none of its own."""
    for field in form.fields.values():
        usual: dict[str, object] = {}
        for kind in reversed(type(field).__mro__):
            usual.update(getattr(kind, "default_error_messages", {}))
        for code, words in _words(field).items():
            if field.error_messages.get(code) == usual.get(code):
                field.error_messages[code] = words


def _words(field: forms.Field) -> Mapping[str, str]:
    found = {"required": "Fill this in."}
    if isinstance(field, forms.ChoiceField):
        found["invalid_choice"] = "Choose one of those that are offered."
    elif isinstance(field, forms.IntegerField):
        between = _between(field)
        kind = "a number" if isinstance(field, forms.FloatField) else "a whole number"
        words = f"Expected {kind}{between}."
        found |= {"invalid": words, "min_value": words, "max_value": words}
    elif isinstance(field, forms.CharField) and field.max_length is not None:
        found["max_length"] = f"Expected {field.max_length} characters at most."
    return found


def _between(field: forms.IntegerField) -> str:
    low, high = field.min_value, field.max_value
    if low is not None and high is not None:
        return f" from {low} to {high}"
    return f" of at least {low}" if low is not None else ""
