"""Each foreign key points down the chain of apps, as each import does."""

import pytest
from django.apps import apps
from django.db.models import Field, Model

CHAIN = ("qa", "dispatch", "repairs", "duework")
"""From the top down; a key may point to its own app or to one behind it."""
OURS = [model for model in apps.get_models() if model._meta.app_label in CHAIN]  # noqa: SLF001
FRAMEWORK = {"auth", "contenttypes"}
"""Django's own groups and permissions, which an account brings with it."""


def relations(model: type[Model]) -> list[Field]:
    """Return the fields of a model that point to another row."""
    return [field for field in model._meta.get_fields() if is_forward(field)]  # noqa: SLF001


def is_forward(field: Field) -> bool:
    """Whether a field is written on this side of the relation."""
    return bool(field.is_relation and not field.auto_created and field.related_model)


@pytest.mark.parametrize("model", OURS, ids=lambda model: model.__name__)
def test_no_key_points_up_the_chain(model: type[Model]) -> None:
    """A row of `repairs` never knows a row of `dispatch` or `qa`."""
    label = model._meta.app_label  # noqa: SLF001
    allowed = set(CHAIN[CHAIN.index(label) :]) | FRAMEWORK

    found = {
        field.name: field.related_model._meta.app_label  # noqa: SLF001
        for field in relations(model)
    }

    assert {name: app for name, app in found.items() if app not in allowed} == {}


def test_the_queue_knows_no_trade() -> None:
    """Rows of `duework` name their subject as text and point nowhere."""
    queue = [model for model in OURS if model._meta.app_label == "duework"]  # noqa: SLF001

    assert queue
    assert {model.__name__: relations(model) for model in queue if relations(model)} == {}


def test_there_are_keys_to_judge() -> None:
    """The chain is not kept by having no keys at all."""
    crossing = [
        (model.__name__, field.name)
        for model in OURS
        for field in relations(model)
        if field.related_model._meta.app_label != model._meta.app_label  # noqa: SLF001
    ]

    assert ("Assignment", "repair") in crossing
    assert ("Evidence", "repair") in crossing
