"""What goes on the truck for a day: kits by lot, the earliest expiry first, and packers."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from dispatch.models import Assignment, Crew, Equipment, KitStock
from dispatch.pages.cure_pairs import together
from repairs.domain.field_event import EventKind
from repairs.domain.units import Dimension, words
from repairs.models import FieldEvent, KitType


@dataclass(frozen=True, slots=True)
class LotLine:
    """A lot on the truck, and whether it may be used on the day."""

    number: str
    quantity: int
    expires_on: date
    in_date: bool


@dataclass(frozen=True, slots=True)
class KitLine:
    """Kits of one type: how many are still needed, which lots there are, what each contains."""

    name: str
    needed: int
    usable: int
    lots: tuple[LotLine, ...]
    contents: tuple[str, ...]

    @property
    def short(self) -> int:
        """Return how many are missing."""
        return max(0, self.needed - self.usable)


@dataclass(frozen=True, slots=True)
class PackerLine:
    """A packer on the truck: which of the day's pipes it serves, and its test date."""

    serial: str
    bores: str
    serves: str
    test_due_on: date
    in_test: bool
    usable: bool


@dataclass(frozen=True, slots=True)
class PairLine:
    """Two repairs that are live at once, and whether the truck has a packer for each."""

    words: str
    enough: bool


@dataclass(frozen=True, slots=True)
class LoadOut:
    """The list to tick before the truck leaves."""

    kits: tuple[KitLine, ...]
    packers: tuple[PackerLine, ...]
    pairs: tuple[PairLine, ...]
    other: tuple[Equipment, ...]


def load_out(crew: Crew, rows: Sequence[Assignment], *, today: date) -> LoadOut:
    """Return the list for a crew and the assignments of its day."""
    gear = list(crew.equipment.order_by("kind", "serial"))
    packers = [each for each in gear if each.kind == "packer"]
    return LoadOut(
        kits=_kits(crew, rows, today),
        packers=tuple(_packer(each, rows, today) for each in packers),
        pairs=tuple(
            _pair(outer, inner, [each for each in packers if _usable(each, today)])
            for chain in together(rows)
            for outer, inner in pairwise(chain)
        ),
        other=tuple(each for each in gear if each.kind != "packer"),
    )


def _kits(crew: Crew, rows: Sequence[Assignment], today: date) -> tuple[KitLine, ...]:
    needed: dict[str, int] = {}
    for row in rows:
        result = row.prescription.result or {}
        code = str(result.get("kit", ""))
        count = 0 if _mixed(row) else int(result.get("sleeve_count", 0))
        needed[code] = needed.get(code, 0) + count
    types = {each.code: each for each in KitType.objects.filter(code__in=needed)}
    return tuple(_kit(crew, types.get(code), code, needed[code], today) for code in sorted(needed))


def _mixed(row: Assignment) -> bool:
    return FieldEvent.objects.filter(
        repair=row.repair_id, attempt=row.attempt, kind=EventKind.MIXING_STARTED.value
    ).exists()


def _kit(crew: Crew, kit: KitType | None, code: str, needed: int, today: date) -> KitLine:
    stock = KitStock.objects.select_related("lot").filter(
        crew=crew, lot__kit_type__code=code, quantity__gt=0
    )
    lots = tuple(
        LotLine(each.lot.number, each.quantity, each.lot.expires_on, each.lot.expires_on >= today)
        for each in stock.order_by("lot__expires_on", "lot__number")
    )
    return KitLine(
        name=kit.name if kit else code,
        needed=needed,
        usable=sum(lot.quantity for lot in lots if lot.in_date),
        lots=lots,
        contents=tuple(str(each) for each in kit.contents) if kit else (),
    )


def _pair(outer: Assignment, inner: Assignment, packers: Sequence[Equipment]) -> PairLine:
    one = [each for each in packers if _fits(each, outer)]
    other = [each for each in packers if _fits(each, inner)]
    serials = sorted({each.serial for each in (*one, *other)})
    enough = bool(one and other) and len(serials) > 1
    said = f"{outer.repair.ref} and {inner.repair.ref} are live at once, each with its own packer: "
    found = ", ".join(serials) or "none"
    return PairLine(f"{said}{found}." if enough else f"{said}only {found} on the truck.", enough)


def _fits(row: Equipment, job: Assignment) -> bool:
    low, high = row.diameter_min_mm or 0.0, row.diameter_max_mm or 0.0
    return low <= job.repair.run.diameter_mm <= high


def _usable(row: Equipment, today: date) -> bool:
    return row.test_due_on >= today and not row.out_of_use


def _packer(row: Equipment, rows: Sequence[Assignment], today: date) -> PackerLine:
    low, high = row.diameter_min_mm or 0.0, row.diameter_max_mm or 0.0
    serves = [each.repair.ref for each in rows if _fits(row, each)]
    bores = " to ".join(words(each, Dimension.DIAMETER, 0) for each in (low, high))
    return PackerLine(
        serial=row.serial,
        bores=bores,
        serves=_serves(row, serves),
        test_due_on=row.test_due_on,
        in_test=row.test_due_on >= today,
        usable=_usable(row, today),
    )


def _serves(row: Equipment, refs: Sequence[str]) -> str:
    if row.out_of_use:
        return f"nothing, it is out of use: {row.out_of_use}"
    return ", ".join(refs) or "none of today's pipes"
