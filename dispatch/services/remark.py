"""What a crew should be told about an event that was stored, so that no slip stays silent."""

from repairs.domain.device_clock import skew_s
from repairs.domain.field_event import SLEEVE_KINDS, EventKind
from repairs.domain.measuring import CORRECTING
from repairs.domain.progress import NEW_SLEEVE
from repairs.domain.units import Dimension, words
from repairs.models import FieldEvent
from repairs.selectors import prescription_in_force

_USUAL = {
    "pressure_kpa": ("a pressure of", -100.0, 700.0, Dimension.PRESSURE),
    "temperature_c": ("a temperature of", -30.0, 90.0, Dimension.TEMPERATURE),
    "resin_temperature_c": ("a resin temperature of", -10.0, 60.0, Dimension.TEMPERATURE),
}
"""What such a value lies between on any site: common practice, no source."""


def remarks_on(event: FieldEvent) -> tuple[str, ...]:
    """Return what is odd about a stored event; it stays stored whatever is said here."""
    found = (
        _prescription(event),
        _sleeve(event),
        _correction(event),
        _measuring(event),
        _odd_values(event),
        _future(event),
        _clock(event),
    )
    return tuple(each for each in found if each)


def _prescription(event: FieldEvent) -> str:
    """Say that a sleeve is made ready or mixed which nobody has prescribed in this attempt."""
    if EventKind(event.kind) not in NEW_SLEEVE or event.data.get("taken_back") is True:
        return ""
    if prescription_in_force(event.repair, attempt=event.attempt) is not None:
        return ""
    clocks = "; the clocks go by that of the attempt before" if event.attempt > 1 else ""
    return f"attempt {event.attempt} has no prescription{clocks}: call the office before you mix"


def _sleeve(event: FieldEvent) -> str:
    if EventKind(event.kind) not in SLEEVE_KINDS:
        return ""
    prescription = prescription_in_force(event.repair, attempt=event.attempt)
    count = int((prescription.result or {}).get("sleeve_count", 1)) if prescription else 1
    told = event.data.get("sleeve")
    if told is None and count > 1:
        return f"sleeve not said: counted for sleeve 1 of {count}"
    if told is not None and told > count:
        return f"sleeve {told} was reported, prescribed are {count}"
    return ""


def _correction(event: FieldEvent) -> str:
    if event.corrects is None:
        return ""
    target = FieldEvent.objects.filter(pk=event.corrects).first()
    if target is None:
        return "the event it corrects has not come in yet"
    if target.repair_id != event.repair_id:
        return "the event it corrects is of another repair: nothing is corrected"
    if event.kind == EventKind.MEASURING_CORRECTED:
        return ""
    if target.kind != event.kind and event.data.get("taken_back") is not True:
        return f"the event it corrects is {target.kind!r}, not {event.kind!r}: nothing is corrected"
    return ""


def _measuring(event: FieldEvent) -> str:
    """Say when a correction of the measuring corrects nothing, or names no end of the run."""
    if event.kind != EventKind.MEASURING_CORRECTED or event.data.get("taken_back") is True:
        return ""
    said = event.data
    if not any(said.get(name) for name in CORRECTING):
        names = ", ".join(name.removesuffix("_m") for name in CORRECTING)
        return f"nothing is corrected: say one of {names}"
    run = event.repair.run
    if said.get("datum") and said["datum"] not in (run.upstream.ref, run.downstream.ref):
        ends = f"{run.upstream.ref} or {run.downstream.ref}"
        return f"{said['datum']} is no end of this run: {ends}"
    return ""


def _future(event: FieldEvent) -> str:
    """Say that an event lies ahead of now, whatever the phone's clock: its time is mistyped."""
    ahead_s = (event.device_time - event.received_at).total_seconds() + event.offset_low_s
    if ahead_s <= 0:
        return ""
    return f"its time lies {ahead_s / 60:.0f} min ahead of now: correct it with the right time"


def _odd_values(event: FieldEvent) -> str:
    """Say which value hardly can be; what was reported stays as it was reported."""
    data, run = event.data, event.repair.run
    found = [
        f"{what} {words(data[name], dimension)} is hardly right"
        for name, (what, low, high, dimension) in _USUAL.items()
        if isinstance(data.get(name), int | float) and not low <= data[name] <= high
    ]
    distance_m = data.get("distance_m")
    if isinstance(distance_m, int | float) and distance_m > run.length_m:
        told, end = (words(each, Dimension.LENGTH) for each in (distance_m, run.length_m))
        found.append(f"{told} is beyond the end of the run: {end}")
    return "; ".join(found)


def _clock(event: FieldEvent) -> str:
    if not event.clock_verified:
        return "the phone's clock was not compared: send the header Device-Time"
    if (off_s := skew_s(event.offset_low_s, event.offset_high_s)) is None:
        return ""
    way = "slow" if off_s > 0 else "fast"
    return f"the phone's clock is {abs(off_s) / 60:.0f} min {way}: set it; times are put right"
