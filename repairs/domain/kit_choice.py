"""Which kit serves a defect: the one with the fewest sleeves, then the shortest."""

from collections.abc import Sequence
from dataclasses import dataclass

from repairs.domain.chart import Chart
from repairs.domain.limits import Limits
from repairs.domain.resin import RatioBasis
from repairs.domain.sleeve_fit import SleeveFit, sleeve_fit


@dataclass(frozen=True, slots=True)
class Kit:
    """The maker's data of one kit type, with its resin and the charts for this bore."""

    code: str
    name: str
    diameter_min_mm: float
    diameter_max_mm: float
    sleeve_lengths_m: tuple[float, ...]
    thickness_mm: float
    fibre_volume_fraction: float
    host_loss_fraction: float
    waste_fraction: float
    usual_inflation_kpa: float
    limit_kpa: float
    resin_code: str
    ratio_a: float
    ratio_b: float
    ratio_basis: RatioBasis
    density_a_kg_m3: float
    density_b_kg_m3: float
    density_mixed_kg_m3: float
    model_allowance: float
    cure_chart: Chart | None
    working_chart: Chart | None

    def fits(self, diameter_mm: float) -> bool:
        """Whether the kit is made for this bore."""
        return self.diameter_min_mm <= diameter_mm <= self.diameter_max_mm


@dataclass(frozen=True, slots=True)
class KitChoice:
    """The chosen kit and its sleeves, or the reasons why none serves."""

    kit: Kit | None
    fit: SleeveFit | None
    reasons: tuple[str, ...]


def choose_kit(
    kits: Sequence[Kit], *, diameter_mm: float, defect_extent_m: float, limits: Limits
) -> KitChoice:
    """Choose among the kits made for the bore; never a kit beside its diameter range."""
    fits: list[tuple[Kit, SleeveFit]] = []
    reasons: list[str] = []
    for kit in sorted(kits, key=lambda each: each.code):
        if not kit.fits(diameter_mm):
            reasons.append(
                f"{kit.code} serves {kit.diameter_min_mm:g} to {kit.diameter_max_mm:g} mm, "
                f"the pipe has {diameter_mm:g} mm"
            )
        elif kit.cure_chart is None or kit.working_chart is None:
            reasons.append(f"{kit.code} has no cure chart and working-time chart for this bore")
        else:
            fits.append((kit, _fit(kit, defect_extent_m, limits)))
    if not fits:
        return KitChoice(None, None, tuple(reasons) or ("there is no kit type at all",))
    kit, fit = min(fits, key=lambda pair: (pair[1].count, pair[1].sleeve_length_m, pair[0].code))
    return KitChoice(kit, fit, ())


def _fit(kit: Kit, defect_extent_m: float, limits: Limits) -> SleeveFit:
    return sleeve_fit(
        defect_extent_m=defect_extent_m,
        coverage_m=limits.end_coverage_m,
        allowance_m=limits.location_allowance_m,
        overlap_m=limits.sleeve_overlap_m,
        stock_lengths_m=kit.sleeve_lengths_m,
    )
