"""How long a search may take: by work for the same answer twice, by time for everyday use."""

import time
from collections.abc import Callable
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Budget:
    """Whichever is used up first ends the search.

    Parameters
    ----------
    iterations : int or None
        Steps of the search. With nothing else set, the same problem and seed give the same plan.
    cpu_s : float or None
        Seconds of processor time of this thread: what to compare machines by.
    wall_s : float or None
        Seconds on the wall: what a person waits.
    stop : callable or None
        Asked at each step; once it says yes the search ends with the best so far. What it
        does must be quick: there are thousands of steps a second.
    """

    iterations: int | None = None
    cpu_s: float | None = None
    wall_s: float | None = None
    stop: Callable[[], bool] | None = None

    def __post_init__(self) -> None:
        if self.iterations is None and self.cpu_s is None and self.wall_s is None:
            raise ValueError("a search without an end: set iterations, cpu_s or wall_s")


@dataclass(slots=True)
class Spent:
    """Counts what a search has used, from its making; called once a step by the engine."""

    budget: Budget
    steps: int = 0
    trace: list[tuple[float, int]] = field(default_factory=list)
    _cpu: float = field(default_factory=time.thread_time)
    _wall: float = field(default_factory=time.perf_counter)

    def __call__(self, best_cost: int) -> bool:
        """Return whether the search must end; remember when it got better."""
        self.steps += 1
        if not self.trace or best_cost < self.trace[-1][1]:
            self.trace.append((self.cpu_s, best_cost))
        return self.is_used_up

    def count(self, steps: int) -> None:
        """Count steps of a search that has no cost of its own to tell."""
        self.steps += steps

    @property
    def share(self) -> float:
        """Return how much of the budget is used up, from 0 to 1."""
        b = self.budget
        used = [
            taken / most if most > 0 else 1.0
            for taken, most in (
                (self.steps - 1, b.iterations),
                (self.cpu_s, b.cpu_s),
                (time.perf_counter() - self._wall, b.wall_s),
            )
            if most is not None
        ]
        return 1.0 if b.stop is not None and b.stop() else min(1.0, max(used))

    @property
    def cpu_s(self) -> float:
        """Return the processor seconds used so far."""
        return time.thread_time() - self._cpu

    @property
    def is_used_up(self) -> bool:
        """Return whether one of the limits is reached."""
        b = self.budget
        return (
            (b.iterations is not None and self.steps > b.iterations)
            or (b.cpu_s is not None and self.cpu_s >= b.cpu_s)
            or (b.wall_s is not None and time.perf_counter() - self._wall >= b.wall_s)
            or (b.stop is not None and b.stop())
        )
