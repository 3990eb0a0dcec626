"""Which edition of ASTM F1216 a wall is reckoned by: X1.3 changed between two of them."""

import re
from dataclasses import dataclass

_NAME = re.compile(r"F1216-(?P<year>\d{2})(?P<letter>[a-z]?)(?:\(\d{4}\))?(?:e\d)?")
_FIRST_YEAR = 89
_CHANGED = (2007, "b")
"""From F1216-07b the ovality factor stands under the root of X1.3.

Source: a conference abstract of 2008 says that the ovality term changed then and thinned
fully deteriorated designs (read); where it stood before is from memory.
"""


@dataclass(frozen=True, slots=True)
class F1216Edition:
    """An edition by its designation.

    Parameters
    ----------
    designation
        As printed on its cover, for example ``F1216-22``; kept with every result.

    Raises
    ------
    ValueError
        When the designation is not one of this practice.
    """

    designation: str

    def __post_init__(self) -> None:
        """Refuse what is not an edition of the practice."""
        _year_and_letter(self.designation)

    @property
    def ovality_under_root(self) -> bool:
        """Whether C stands under the root of X1.3, as from F1216-07b on."""
        return _year_and_letter(self.designation) >= _CHANGED


def _year_and_letter(designation: str) -> tuple[int, str]:
    found = _NAME.fullmatch(designation)
    if found is None:
        raise ValueError(f"edition: found {designation!r}, expected for example F1216-22.")
    year = int(found["year"])
    return year + (1900 if year >= _FIRST_YEAR else 2000), found["letter"]
