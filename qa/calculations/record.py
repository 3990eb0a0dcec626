"""Fields made of fields: a record such as a chart, and a list such as a log."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from qa.calculations.field import Field, Wrong
from qa.calculations.said import fault_said
from repairs.domain.problem import Fault, shown


@dataclass(frozen=True, slots=True, kw_only=True)
class Record(Field):
    """Several fields together.

    Parameters
    ----------
    fields
        What it is made of.
    build
        What makes the pure value of them, by their names; without it a dict remains.
    between
        What parts them when the record is typed as one word, as in ``10C:180``.
    """

    fields: tuple[Field, ...]
    build: Callable[..., Any] = dict
    between: str = ""

    def read(self, sent: Any, path: str) -> Any:
        """Read each field; unknown, missing and wrong ones are named together."""
        if not isinstance(sent, Mapping):
            raise Wrong(Fault(path or "body", shown(sent), self.bounds()))
        faults, values = list(self._unknown(sent, path)), {}
        for field in self.fields:
            try:
                values[field.name] = _value(field, sent, path)
            except Wrong as wrong:
                faults += wrong.faults
        if faults:
            raise Wrong(*faults)
        try:
            return self.build(**values)
        except Wrong:
            raise
        except ValueError as error:
            raise Wrong(fault_said(str(error), [f.name for f in self.fields], path)) from error

    def _unknown(self, sent: Mapping[str, Any], path: str) -> Iterator[Fault]:
        known = [field.name for field in self.fields]
        for name in sorted(set(map(str, sent)) - set(known)):
            near = get_close_matches(name, known, n=1)
            told = f"no field of this name, only {', '.join(known)}"
            meant = f"{near[0]}, or another of {', '.join(known)}" if near else told
            yield Fault(_under(path, name), shown(sent.get(name)), meant)

    def field(self, name: str) -> Field | None:
        """Return the field of a name, or of a path such as ``chart.rows``."""
        first, _, rest = name.partition(".")
        found = next((field for field in self.fields if field.name == first), None)
        if not rest:
            return found
        return found.field(rest) if isinstance(found, Record) else None

    def typed(self, text: str) -> Any:
        """Part the word into its fields, in their order."""
        if not self.between:
            return text
        parts = text.split(self.between)
        if len(parts) > len(self.fields):
            return text
        return {
            field.name: field.typed(part) for field, part in zip(self.fields, parts, strict=False)
        }

    def spoken(self, sent: Any) -> str:
        """Join the fields to one word."""
        return self.between.join(
            field.spoken(sent[field.name]) for field in self.fields if field.name in sent
        )

    def bounds(self) -> str:
        """Name the fields."""
        return f"an object with {', '.join(field.name for field in self.fields)}"

    def told(self) -> dict[str, Any]:
        """Describe each field too."""
        return {**Field.told(self), "fields": [field.told() for field in self.fields]}

    def schema(self) -> dict[str, Any]:
        """Return an object that takes nothing else."""
        return {
            "type": "object",
            "description": self.meaning,
            "properties": {field.name: field.schema() for field in self.fields},
            "required": [field.name for field in self.fields if field.required],
            "additionalProperties": False,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class ListOf(Field):
    """A list of `fewest` to `most` items of one kind."""

    item: Field
    fewest: int = 0
    most: int

    def read(self, sent: Any, path: str) -> tuple[Any, ...]:
        """Read each item; wrong ones are named by their number, counted from 0."""
        if not isinstance(sent, list) or not self.fewest <= len(sent) <= self.most:
            found = f"{len(sent)} items" if isinstance(sent, list) else shown(sent)
            raise Wrong(Fault(path, found, self.bounds()))
        faults: list[Fault] = []
        values = []
        for number, each in enumerate(sent):
            try:
                values.append(self.item.read(each, f"{path}[{number}]"))
            except Wrong as wrong:
                faults += wrong.faults
        if faults:
            raise Wrong(*faults)
        return tuple(values)

    def typed(self, text: str) -> Any:
        """Take the items parted by commas."""
        return [self.item.typed(part) for part in text.split(",") if part.strip()]

    def spoken(self, sent: Any) -> str:
        """Join the items by commas."""
        return ",".join(self.item.spoken(each) for each in sent)

    def bounds(self) -> str:
        """Name the number of items."""
        return f"a list of {self.fewest} to {self.most} items, each {self.item.bounds()}"

    def told(self) -> dict[str, Any]:
        """Describe the item too."""
        return {**Field.told(self), "item": self.item.told()}

    def schema(self) -> dict[str, Any]:
        """Return a list."""
        return {
            "type": "array",
            "description": self.meaning,
            "items": self.item.schema(),
            "minItems": self.fewest,
            "maxItems": self.most,
        }


def _value(field: Field, sent: Mapping[str, Any], path: str) -> Any:
    value = sent.get(field.name)
    if value is not None:
        return field.read(value, _under(path, field.name))
    if field.required:
        raise Wrong(Fault(_under(path, field.name), "nothing", field.bounds()))
    return field.default


def _under(path: str, name: str) -> str:
    return f"{path}.{name}".lstrip(".")
