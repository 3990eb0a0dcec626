"""The tables of due work, one record a file."""

from duework.models.effect import Effect
from duework.models.ruling import Ruling
from duework.models.runner_heartbeat import RunnerHeartbeat
from duework.models.tally import Tally
from duework.models.work_item import WorkItem

__all__ = ["Effect", "Ruling", "RunnerHeartbeat", "Tally", "WorkItem"]
