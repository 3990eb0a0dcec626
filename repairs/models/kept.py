"""Records that are corrected in place, and of which editions are kept."""

from typing import ClassVar

from django.db import models


class Kept(models.Model):
    """A record of which each edition is kept; `kept` names the columns that belong to it."""

    kept: ClassVar[tuple[str, ...]] = ()

    class Meta:
        abstract = True
