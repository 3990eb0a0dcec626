"""What a defect code means, in our own words.

Source: main codes of EN 13508-2. Those marked 'read' below were read in public
texts that quote the standard; the others are from memory and say so.
"""

from collections.abc import Mapping

READ = "read"
FROM_MEMORY = "from memory"

DEFECT_CODES: Mapping[str, tuple[str, str]] = {
    "BAA": ("pipe pressed out of its round section", FROM_MEMORY),
    "BAB": ("crack, the pieces still in place", READ),
    "BAC": ("broken or collapsed, pieces displaced or missing", READ),
    "BAD": ("brickwork damaged", READ),
    "BAE": ("mortar missing", FROM_MEMORY),
    "BAF": ("surface worn, spalled or corroded", FROM_MEMORY),
    "BAG": ("connection reaches into the pipe", FROM_MEMORY),
    "BAH": ("connection defective", FROM_MEMORY),
    "BAI": ("joint seal hangs in", FROM_MEMORY),
    "BAJ": ("joint displaced", FROM_MEMORY),
    "BAK": ("inner lining defective", READ),
    "BAL": ("earlier point repair defective", FROM_MEMORY),
    "BAM": ("weld failed", FROM_MEMORY),
    "BAN": ("pipe porous", FROM_MEMORY),
    "BAO": ("soil seen through the defect", READ),
    "BAP": ("void seen through the defect", READ),
    "BBA": ("roots", FROM_MEMORY),
    "BBB": ("deposits stick to the wall", FROM_MEMORY),
    "BBC": ("deposits lie in the pipe", FROM_MEMORY),
    "BBD": ("soil comes in", FROM_MEMORY),
    "BBE": ("obstacle in the pipe", READ),
    "BBF": ("groundwater comes in", READ),
    "BBG": ("sewage leaks out", FROM_MEMORY),
}


def meaning_of(code: str) -> str:
    """Return what a main code means; a code not in the list is said to be the owner's own."""
    found = DEFECT_CODES.get(code.upper()[:3])
    return found[0] if found else "the owner's own code"
