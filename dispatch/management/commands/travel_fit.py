"""Says what observed drives suggest for the estimate of ways."""

from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from dispatch.domain.plan.travel_fit import LEAST_TRIPS
from dispatch.plan_facts.learned_table import learned_table


class Command(BaseCommand):
    help = (
        "Says which speed and which seconds a trip the drives of the last months suggest for the "
        "estimate of ways. Changes nothing: the settings are yours."
    )

    def handle(self, *_args: Any, **_options: Any) -> None:
        found = learned_table(now=timezone.now())
        now_set, fitted = found.travel_set, found.travel_fit
        self.stdout.write(
            f"Set: {now_set.speed_kmh:.0f} km/h, {now_set.trip_s} s a trip, "
            f"detour {now_set.detour:.2f}."
        )
        if fitted is None:
            self.stdout.write(
                f"{found.trips} drives observed in {found.days} days: fewer than {LEAST_TRIPS}, "
                "or too alike. Nothing is suggested."
            )
            return
        self.stdout.write(
            f"{fitted.trips} drives suggest, at that detour: {fitted.speed_kmh:.0f} km/h, "
            f"{fitted.trip_s} s a trip.\n"
            f"Half of the drives lie within {fitted.typical_error_s_set} s of the estimate as it "
            f"is set, and would lie within {fitted.typical_error_s_fitted} s."
        )
