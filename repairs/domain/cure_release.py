"""Takes the latest of chart, dose and kinetic model: a model may lengthen, never shorten."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from repairs.domain.cure_clock import CureEstimate, CureInputs, CureStatus
from repairs.domain.cure_profile import ColdSide, cure_profile
from repairs.domain.instants import utc
from repairs.domain.kinetics import KineticModel, KineticStatus, kinetic_estimate
from repairs.domain.temperature_log import Keep, clean


@dataclass(frozen=True, slots=True)
class KineticLate:
    """What a kinetic model says of the cold side.

    Parameters
    ----------
    status
        Whether the target is reached.
    at
        When; None when it is not.
    working
        Lines as an engineer would write them.
    """

    status: KineticStatus
    at: datetime | None
    working: tuple[str, ...]


def kinetic_late(inputs: CureInputs, model: KineticModel, now: datetime) -> KineticLate | None:
    """Follow a kinetic model through the temperatures of the cure clock's late bound.

    Parameters
    ----------
    inputs
        What the cure clock rests on; its start is taken as the model's, however early
        the resin was mixed.
    model
        The resin.
    now
        The instant of the question; later readings are not used.

    Returns
    -------
    KineticLate or None
        None before the clock has started or without any temperature.

    Raises
    ------
    ValueError, RuntimeError, ArithmeticError
        As for `cure_clock` and `kinetic_estimate`.

    Source
    ------
    docs/calculations.md, "Kinetics".

    Limits
    ------
    Those of `kinetic_estimate`.
    """
    if inputs.started_at is None:
        return None
    at, started = utc(now, "now"), utc(inputs.started_at, "started_at")
    elapsed_min = (at - started).total_seconds() / 60.0
    if elapsed_min < 0.0:
        return None
    log = clean(inputs.readings, started, at, Keep.COLDEST)
    side = ColdSide(inputs.declared_wall_c, inputs.sensor_tolerance_k, inputs.longest_gap_s / 60.0)
    profile = cure_profile(log, elapsed_min, side, inputs.chart)
    if profile is None:
        return None
    found = kinetic_estimate(model, profile.late, profile.future_late_c)
    reached = None if found.minutes is None else started + timedelta(minutes=found.minutes)
    return KineticLate(found.status, reached, found.working)


def lengthened(hold_until: datetime | None, kinetic: KineticLate) -> datetime | None:
    """Return the later of a hold and a kinetic model's time.

    Parameters
    ----------
    hold_until
        The cure clock's; None where it cannot tell.
    kinetic
        The model's.

    Returns
    -------
    datetime or None
        Never earlier than `hold_until`; None, which releases nothing, where the clock
        cannot tell or the model never reaches its target.
    """
    if hold_until is None or kinetic.at is None:
        return None
    return max(hold_until, kinetic.at)


def with_kinetics(
    estimate: CureEstimate, kinetic: KineticLate | None, started_at: datetime, now: datetime
) -> CureEstimate:
    """Put a kinetic model's word beside the cure clock's.

    Parameters
    ----------
    estimate
        The cure clock's, at `now`.
    kinetic
        The model's at the same instant; None leaves everything as it is.
    started_at, now
        The clock's start, and the instant of the question.

    Returns
    -------
    CureEstimate
        With the later hold, ``cannot_tell`` where the target is never reached, and a
        flag that says so.
    """
    if kinetic is None:
        return estimate
    hold_until = lengthened(estimate.hold_until, kinetic)
    working = (*estimate.working, *kinetic.working)
    if kinetic.at is None:
        return replace(
            estimate,
            status=CureStatus.CANNOT_TELL,
            hold_until=None,
            percent=0.0,
            flags=(*estimate.flags, "target_not_reached"),
            working=working,
        )
    if hold_until is None or hold_until == estimate.hold_until:
        return replace(estimate, working=working)
    complete = utc(now, "now") >= hold_until
    passed = (utc(now) - utc(started_at, "started_at")) / (hold_until - utc(started_at))
    return replace(
        estimate,
        status=CureStatus.COMPLETE if complete else CureStatus.RUNNING,
        hold_until=hold_until,
        percent=100.0 if complete else min(estimate.percent, 100.0 * passed),
        flags=(*estimate.flags, "kinetics_later"),
        working=working,
    )
