"""Records that are corrected in place, and of which editions are kept."""

from typing import ClassVar

from django.db import models


class Kept(models.Model):
    """A record of which each edition is kept.

    `correctable` names the columns that are corrected in place, `kept` all that belong to an
    edition: those, and what says which record it is.
    """

    correctable: ClassVar[tuple[str, ...]] = ()
    kept: ClassVar[tuple[str, ...]] = ()

    class Meta:
        abstract = True
