"""Who signs a package, and where the history stands for it."""

from datetime import datetime

from django.db import transaction

from qa import signing
from qa.closeout.signature import Seal
from qa.domain.history import Checkpoint
from qa.models import CloseoutPackage, CollectedPackage
from qa.services.write_history import known_key, last_checkpoint_row, write_history


@transaction.atomic
def seal_of(package: CloseoutPackage | CollectedPackage, *, now: datetime) -> Seal:
    """Return the seal of a package; its place in the history is chosen once and kept."""
    row = type(package)._default_manager.select_for_update().get(pk=package.pk)  # noqa: SLF001
    if row.checkpoint is None:
        write_history(now=now, checkpoint=True)
        row.checkpoint = last_checkpoint_row()
        row.save(update_fields=["checkpoint"])
    found, key = row.checkpoint, known_key(now)
    if found is None:
        raise ValueError("a closing is a fact, so the history cannot be empty")
    checkpoint = Checkpoint(found.entries, found.head, found.made_at, found.key_id, found.signature)
    return Seal(key.key_id, key.public_hex, checkpoint, signing.sign)
