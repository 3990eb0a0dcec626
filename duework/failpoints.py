"""Named places where a fault test lets the process die, as if the power had gone.

Off unless ``CUREWRIGHT_FAIL_AT`` names one. The process ends with ``os._exit``:
no ``finally`` runs, no buffer is flushed, no transaction is closed politely.
"""

import os

NAMES = (
    "scheduled",  # the cause is committed, the doorbell not yet rung
    "claimed",  # the lease is committed, no handler called
    "prepared",  # the slow part is done, nothing published
    "before_finish",  # in the finishing transaction, the handler not yet called
    "after_handler",  # in the finishing transaction, the handler's writes made
    "before_commit",  # effect and "done" written, not committed
    "after_finish",  # committed
    "failed",  # the handler raised, the back-off not yet written
)
EXIT_CODE = 9


def reach(name: str) -> None:
    """Die here when the environment says so."""
    if name not in NAMES:
        raise ValueError(f"{name!r} is not a failpoint; they are {', '.join(NAMES)}.")
    if os.environ.get("CUREWRIGHT_FAIL_AT") == name:
        os._exit(EXIT_CODE)
