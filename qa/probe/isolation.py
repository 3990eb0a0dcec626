"""Takes everything away from the process that reads a file: network, files, rights, memory.

What is open stays open: the one file, and the place for what is made of it. After that no
further descriptor can be had, so nothing else can be opened and no socket made, whether or
not the kernel grants a network namespace of its own.
"""

import ctypes
import os
import resource
from contextlib import suppress

GIB = 2**30
NO_NETWORK = "own network namespace"
NO_DESCRIPTORS = "no descriptor left"
NO_RIGHTS = "nobody's rights"

_NEW_USER = 0x1000_0000
_NEW_NETWORK = 0x4000_0000
"""Flags of Linux' unshare(2)."""

_NOBODY = 65_534
CPU_S = 10
LIMITS = (
    (resource.RLIMIT_AS, GIB),
    (resource.RLIMIT_CPU, CPU_S),
    (resource.RLIMIT_CORE, 0),
)
"""Measured to be ample for a 64-megapixel photo; a file that needs more is refused."""


def cut_the_network() -> list[str]:
    """Move into a network namespace without any device, where the kernel allows it.

    Called before any library is loaded: a process with threads gets no user namespace.
    """
    with suppress(OSError, AttributeError):
        kernel = ctypes.CDLL(None, use_errno=True)
        if kernel.unshare(_NEW_NETWORK) == 0 or kernel.unshare(_NEW_USER | _NEW_NETWORK) == 0:
            return [NO_NETWORK]
    return []


def shut(most_written_bytes: int) -> list[str]:
    """Give up rights, memory and descriptors for good; called when all is imported and open."""
    done = [NO_DESCRIPTORS]
    if os.geteuid() == 0:
        # In some namespaces there is nobody else to become.
        with suppress(OSError):
            os.setgroups([])
            os.setgid(_NOBODY)
            os.setuid(_NOBODY)
            done.append(NO_RIGHTS)
    # A descriptor is the lowest free number: below the limit, none is free.
    in_use = [number for number in range(256) if _is_open(number)]
    gaps = [number for number in range(max(in_use)) if number not in in_use]
    for number in gaps:
        os.dup2(0, number)
    for which, most in (
        *LIMITS,
        (resource.RLIMIT_FSIZE, most_written_bytes),
        (resource.RLIMIT_NOFILE, max(in_use) + 1),
    ):
        resource.setrlimit(which, (most, most))
    return done


def _is_open(number: int) -> bool:
    try:
        os.fstat(number)
    except OSError:
        return False
    return True
