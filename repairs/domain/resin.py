"""How much resin a sleeve takes, and how much of each part.

The ratio's basis must be said: 2:1 by volume at 1150 and 980 kg/m3 is 2.35:1 by mass,
and taking one for the other is wrong by 17 %.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from repairs.domain.units import Dimension, words

USUAL_FIBRE_SHARE = (0.15, 0.55)
USUAL_DENSITY_KG_M3 = (1050.0, 1350.0)
USUAL_THICKNESS_MM = (2.0, 15.0)
USUAL_WASTE_SHARE = (0.0, 0.30)
USUAL_FIBRE_MASS_SHARE = (0.30, 0.75)
"""Bounds outside which a figure is named, not refused. Source: from memory."""
DENSITIES_AGREE_SHARE = 0.05
"""How far the mixed density may lie off that of its parts. Source: common practice."""


class RatioBasis(StrEnum):
    """What a mixing ratio counts; makers differ, so no default."""

    MASS = "mass"
    VOLUME = "volume"


@dataclass(frozen=True, slots=True)
class ResinInputs:
    """A sleeve and its resin.

    Parameters
    ----------
    diameter_mm
        Inside diameter of the host pipe, which is the sleeve's outside, > 0.
    length_m, thickness_mm
        Length and wall of the finished sleeve, > 0; wall less than half the diameter.
    fibre_volume_fraction
        Share of the wall that is glass, 0 to below 1.
    density_mixed_kg_m3, density_a_kg_m3, density_b_kg_m3
        Densities of the mixed resin and of its two parts, > 0.
    ratio_a, ratio_b, ratio_basis
        The maker's mixing ratio, > 0, and what it counts.
    host_loss_fraction
        Share of the resin in the wall that goes into cracks and joints, >= 0; a guess.
    waste_fraction
        Share that stays in pot, on film and gloves, >= 0.
    density_fibre_kg_m3
        Density of the glass, for the share by mass only.
    """

    diameter_mm: float
    length_m: float
    thickness_mm: float
    fibre_volume_fraction: float
    density_mixed_kg_m3: float
    density_a_kg_m3: float
    density_b_kg_m3: float
    ratio_a: float
    ratio_b: float
    ratio_basis: RatioBasis
    host_loss_fraction: float
    waste_fraction: float
    density_fibre_kg_m3: float | None = None

    def __post_init__(self) -> None:
        """Refuse figures that cannot be."""
        for name in (
            "diameter_mm",
            "length_m",
            "thickness_mm",
            "density_mixed_kg_m3",
            "density_a_kg_m3",
            "density_b_kg_m3",
            "ratio_a",
            "ratio_b",
        ):
            _refuse(name, getattr(self, name), above_zero=True)
        for name in ("fibre_volume_fraction", "host_loss_fraction", "waste_fraction"):
            _refuse(name, getattr(self, name), above_zero=False)
        if self.density_fibre_kg_m3 is not None:
            _refuse("density_fibre_kg_m3", self.density_fibre_kg_m3, above_zero=True)
        if self.ratio_basis not in tuple(RatioBasis):
            expected = ", ".join(RatioBasis)
            raise ValueError(f"ratio_basis: found {self.ratio_basis!r}, expected {expected}.")
        if self.fibre_volume_fraction >= 1.0:
            found = self.fibre_volume_fraction
            raise ValueError(f"fibre_volume_fraction: found {found!r}, expected less than 1.")
        if 2.0 * self.thickness_mm >= self.diameter_mm:
            found = self.thickness_mm
            raise ValueError(f"thickness_mm: found {found!r}, expected less than half the bore.")


@dataclass(frozen=True, slots=True)
class ResinMasses:
    """What to weigh or measure out, and what looked odd."""

    volume_l: float
    mass_kg: float
    part_a_kg: float
    part_b_kg: float
    part_a_l: float
    part_b_l: float
    flags: tuple[str, ...]
    working: tuple[str, ...]


def resin_masses(inputs: ResinInputs) -> ResinMasses:
    """Compute the resin for one sleeve, and its two parts.

    ``wall = pi (D - t) t L``; ``resin = wall (1 - Vf) (1 + host loss) (1 + waste)``.

    Parameters
    ----------
    inputs
        Sleeve, densities, ratio and losses.

    Returns
    -------
    ResinMasses
        Mixed volume and mass, and each part by mass and by volume.

    Raises
    ------
    ValueError
        By `ResinInputs`, when a figure cannot be.

    Source
    ------
    Volume of a tube; filling the voids with an allowance for loss into the host pipe is
    read in public specifications for full-length liners.

    Limits
    ------
    Assumes full saturation and the stated wall after inflation.
    """
    wall_l = wall_volume_l(inputs.diameter_mm, inputs.thickness_mm, inputs.length_m)
    in_wall_l = wall_l * (1.0 - inputs.fibre_volume_fraction)
    volume_l = in_wall_l * (1.0 + inputs.host_loss_fraction) * (1.0 + inputs.waste_fraction)
    mass_kg = volume_l * inputs.density_mixed_kg_m3 / 1000.0
    share_a = mass_share_of_a(inputs)
    part_a_kg = mass_kg * share_a
    part_b_kg = mass_kg - part_a_kg
    return ResinMasses(
        volume_l=volume_l,
        mass_kg=mass_kg,
        part_a_kg=part_a_kg,
        part_b_kg=part_b_kg,
        part_a_l=part_a_kg / inputs.density_a_kg_m3 * 1000.0,
        part_b_l=part_b_kg / inputs.density_b_kg_m3 * 1000.0,
        flags=_flags(inputs),
        working=_working(inputs, (wall_l, in_wall_l, volume_l, mass_kg, part_a_kg)),
    )


def wall_volume_l(diameter_mm: float, thickness_mm: float, length_m: float) -> float:
    """Return the volume of a tube's wall, ``pi (D - t) t L``, in litres."""
    return math.pi * (diameter_mm - thickness_mm) * thickness_mm * length_m / 1000.0


def mass_share_of_a(inputs: ResinInputs) -> float:
    """Return the share of part A by mass, whatever the maker's ratio counts."""
    by_mass = inputs.ratio_basis == RatioBasis.MASS
    a = inputs.ratio_a * (1.0 if by_mass else inputs.density_a_kg_m3)
    b = inputs.ratio_b * (1.0 if by_mass else inputs.density_b_kg_m3)
    return a / (a + b)


def fibre_mass_fraction(
    fibre_volume_fraction: float, density_fibre_kg_m3: float, density_resin_kg_m3: float
) -> float:
    """Return the share of glass by mass from that by volume."""
    fibre = fibre_volume_fraction * density_fibre_kg_m3
    return fibre / (fibre + (1.0 - fibre_volume_fraction) * density_resin_kg_m3)


def _flags(inputs: ResinInputs) -> tuple[str, ...]:
    share_a = mass_share_of_a(inputs)
    blend = 1.0 / (share_a / inputs.density_a_kg_m3 + (1.0 - share_a) / inputs.density_b_kg_m3)
    off = abs(inputs.density_mixed_kg_m3 / blend - 1.0)
    found = {
        "unusual_fibre_share": _outside(inputs.fibre_volume_fraction, USUAL_FIBRE_SHARE),
        "unusual_density": _outside(inputs.density_mixed_kg_m3, USUAL_DENSITY_KG_M3),
        "unusual_thickness": _outside(inputs.thickness_mm, USUAL_THICKNESS_MM),
        "unusual_waste": _outside(inputs.waste_fraction, USUAL_WASTE_SHARE),
        "unusual_fibre_mass_share": _fibre_mass_is_unusual(inputs),
        "densities_disagree": off > DENSITIES_AGREE_SHARE,
    }
    return tuple(code for code, is_so in found.items() if is_so)


def _fibre_mass_is_unusual(inputs: ResinInputs) -> bool:
    if inputs.density_fibre_kg_m3 is None:
        return False
    share = fibre_mass_fraction(
        inputs.fibre_volume_fraction, inputs.density_fibre_kg_m3, inputs.density_mixed_kg_m3
    )
    return _outside(share, USUAL_FIBRE_MASS_SHARE)


def _working(
    inputs: ResinInputs, figures: tuple[float, float, float, float, float]
) -> tuple[str, ...]:
    wall_l, in_wall_l, volume_l, mass_kg, part_a_kg = figures
    return (
        (
            f"Wall = pi ({inputs.diameter_mm:g} - {inputs.thickness_mm:g}) mm x "
            f"{inputs.thickness_mm:g} mm x {inputs.length_m:g} m = {wall_l:.3f} L."
        ),
        (
            f"Resin in the wall = {wall_l:.3f} (1 - {inputs.fibre_volume_fraction:g}) = "
            f"{in_wall_l:.3f} L."
        ),
        (
            f"Mixed = {in_wall_l:.3f} (1 + {inputs.host_loss_fraction:g} into the host pipe) "
            f"(1 + {inputs.waste_fraction:g} waste) = {words(volume_l, Dimension.VOLUME, 3)}, at "
            f"{inputs.density_mixed_kg_m3:g} kg/m3 = {words(mass_kg, Dimension.MASS, 3)}."
        ),
        *_by_volume(inputs),
        (
            f"Ratio {inputs.ratio_a:g}:{inputs.ratio_b:g} by {inputs.ratio_basis}: "
            f"A {words(part_a_kg, Dimension.MASS, 3)}, "
            f"B {words(mass_kg - part_a_kg, Dimension.MASS, 3)}."
        ),
    )


def _by_volume(inputs: ResinInputs) -> tuple[str, ...]:
    """Show how a ratio by volume becomes one by mass: by the densities of the parts."""
    if inputs.ratio_basis != "volume":
        return ()
    a_kg_m3, b_kg_m3 = inputs.density_a_kg_m3 or 0.0, inputs.density_b_kg_m3 or 0.0
    by_mass = f"{inputs.ratio_a * a_kg_m3:g} : {inputs.ratio_b * b_kg_m3:g}"
    told = f"{inputs.ratio_a:g} x {a_kg_m3:g} kg/m3 : {inputs.ratio_b:g} x {b_kg_m3:g} kg/m3"
    return (f"By mass: {told} = {by_mass}. Mixed resin may take less room than its parts.",)


def _outside(value: float, usual: tuple[float, float]) -> bool:
    return not usual[0] <= value <= usual[1]


def _refuse(name: str, value: float, *, above_zero: bool) -> None:
    if not math.isfinite(value) or value < 0.0 or (above_zero and value == 0.0):
        expected = "more than 0" if above_zero else "0 or more"
        raise ValueError(f"{name}: found {value!r}, expected {expected}.")
