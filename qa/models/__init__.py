"""The records of proof: evidence, waivers, nonconformances, closings, packages, answers."""

from qa.models.client_answer import ClientAnswer
from qa.models.closeout_package import CloseoutPackage
from qa.models.closing import Closing
from qa.models.collected_package import CollectedPackage
from qa.models.evidence import Evidence
from qa.models.file_check import FileCheck
from qa.models.history import HistoryCheckpoint, HistoryEntry, HistoryHead, SigningKey
from qa.models.legal_hold import LegalHold
from qa.models.nonconformance import Nonconformance
from qa.models.package_link import PackageLink
from qa.models.package_message import PackageMessage
from qa.models.second_review import SecondReview
from qa.models.shown_time import ShownTime
from qa.models.upload import Upload
from qa.models.waiver import Waiver

__all__ = [
    "ClientAnswer",
    "CloseoutPackage",
    "Closing",
    "CollectedPackage",
    "Evidence",
    "FileCheck",
    "HistoryCheckpoint",
    "HistoryEntry",
    "HistoryHead",
    "LegalHold",
    "Nonconformance",
    "PackageLink",
    "PackageMessage",
    "SecondReview",
    "ShownTime",
    "SigningKey",
    "Upload",
    "Waiver",
]
