"""What comes next in the street: the field sequence in the words of somebody doing it."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from repairs.domain.field_event import EventKind


@dataclass(frozen=True, slots=True)
class Step:
    """A step of the field sequence.

    `do` is the order in large type, `before` names it in "before mixing", `how`
    says what to look at, `caution` is there where the step can hurt somebody.
    """

    kind: EventKind
    do: str
    before: str
    how: str
    caution: str = ""


SEQUENCE: tuple[Step, ...] = (
    Step(
        EventKind.LOADED_OUT,
        "Load the truck",
        "leaving",
        "Kit complete and in date, packer for this bore in test, gauge and regulator assembled.",
    ),
    Step(
        EventKind.ARRIVED,
        "Drive to the site and report that you are there",
        "arriving",
        "Compare street and access points with the order below.",
    ),
    Step(
        EventKind.MADE_SAFE,
        "Make the site safe",
        "work begins",
        "Traffic control, air readings, flow control, permits.",
        "Gas and lack of oxygen give no warning. Nobody enters without a permit, an air test, "
        "ventilation, a harness and somebody above who may not leave.",
    ),
    Step(
        EventKind.INSPECTED,
        "Clean and inspect the pipe",
        "the inspection",
        "Film it. No sharp edges, no standing debris; the sleeve can pass offsets and bends.",
    ),
    Step(
        EventKind.DISTANCE_MARKED,
        "Mark the distance",
        "marking",
        "Camera head at the centre of the defect, tape on the cable at the access edge; then the "
        "same on the hose, cable and hose straight. Photo of the mark.",
    ),
    Step(
        EventKind.DRY_RUN_DONE,
        "Dry run with a film on the packer",
        "the dry run",
        "It reaches the mark and comes back. Look at the film.",
    ),
    Step(
        EventKind.FILM_CHANGED,
        "Put a new film on the packer",
        "changing the film",
        "Always a new one, whatever the old one looks like.",
    ),
    Step(
        EventKind.HOLD_TEST_DONE,
        "Hold test of the packer",
        "the hold test",
        "Inflate to the repair pressure and watch the gauge; then empty it by vacuum until flat.",
        "Stand clear of the packer's ends. Never above its limit, and never unrestrained.",
    ),
    Step(
        EventKind.MIXING_STARTED,
        "Mix the resin",
        "mixing",
        "Measure its temperature, weigh both parts, photo of the lot labels. The working time "
        "runs from here.",
        "Fresh gloves, two pairs, and goggles; good air. Resin burns skin and sensitises for life: "
        "read its safety data sheet. A deep pot heats itself.",
    ),
    Step(
        EventKind.WET_OUT_DONE,
        "Wet out the sleeve",
        "the wet-out",
        "Both sides, even colour, no dry spots. Take off the surplus. Photo. Tie it to the packer.",
    ),
    Step(
        EventKind.PLACED,
        "Place the sleeve at the mark",
        "placing",
        "Clean gloves for hose and regulator. Camera sees both ends beside the defect.",
    ),
    Step(
        EventKind.INFLATED,
        "Inflate to the tested pressure",
        "inflating",
        "Before the working time is over. Start the pressure log.",
        "Nobody above the access point or in line with the hose while pressure rises.",
    ),
    Step(
        EventKind.DEFLATED,
        "Hold the pressure",
        "deflating",
        "The packer stays inside its window until the hold is over and the sample is hard.",
        "A hose under pressure whips when it parts: keep clear, release it slowly.",
    ),
    Step(
        EventKind.WITHDRAWN,
        "Withdraw the packer",
        "withdrawing",
        "Flat by vacuum. Pull by the rope; the hose only follows. Does the film come out?",
    ),
    Step(
        EventKind.FILMED,
        "Film the finished repair",
        "filming",
        "Ends, wrinkles, voids, position, connections.",
    ),
    Step(
        EventKind.LEFT,
        "Restore the flow and leave the site clean",
        "leaving the site",
        "Plugs out and counted, connections open, residents told.",
        "Water behind a plug comes at once: nobody below when it is pulled.",
    ),
)
"""In the order of the work."""


BY_THE_CLOCK: Mapping[str, str] = {
    "working_time_kept": "Full pressure before the working time is over; see the clock.",
    "cured_before_deflation": "Keep the pressure until the clock says that the hold is over.",
}
"""Requirements that the clocks decide, and what to do until then.

Before its step a rule asks for the report of that step; on a crew's page "report the
deflation" would stand there while the pressure must be kept.
"""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a crew stands in the sequence."""

    next: Step | None
    missed: tuple[Step, ...]
    ahead: tuple[Step, ...]


def place_in(done: Collection[EventKind]) -> Place:
    """Return the step after the last one reported, and earlier ones that nobody reported."""
    reported = [number for number, step in enumerate(SEQUENCE) if step.kind in done]
    reached = max(reported, default=-1) + 1
    return Place(
        next=SEQUENCE[reached] if reached < len(SEQUENCE) else None,
        missed=tuple(step for step in SEQUENCE[:reached] if step.kind not in done),
        ahead=SEQUENCE[reached + 1 :],
    )


def before_words(kind: EventKind) -> str:
    """Return what a hold point stands before: ``mixing``."""
    return next((step.before for step in SEQUENCE if step.kind is kind), kind.replace("_", " "))
