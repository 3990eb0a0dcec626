"""The package of a whole order or month: the packages themselves, an index, a map, the sums."""

import csv
import io
import json
from collections.abc import Mapping
from dataclasses import fields
from hashlib import sha256
from pathlib import Path

from qa.closeout import readme
from qa.closeout.bag import Contents, Copied
from qa.closeout.payload import VERIFIER
from qa.closeout.position import features
from qa.closeout.quantities import HEADER, quantity_rows
from qa.closeout.report.statement import statement_pdf
from qa.closeout.signature import Seal
from qa.closeout.statement import statement_csv
from qa.domain.collection import Collection, IndexLine, index
from qa.domain.manifest import BAGIT_TXT, bag_info_text, manifest_text, safe_name
from qa.domain.spreadsheet_text import inert
from qa.domain.statement import collected_statement

TEXT = """CLOSEOUT PACKAGES OF {of}
For {customer}, by {contractor}
Collected {collected_at} (UTC)
{invented}
WHAT IS HERE
  data/index.csv          one line a repair, sorted by pipe: where, how it was judged, which package
  data/position.geojson   all runs, defects and sleeves (WGS 84; any mapping program)
  data/statement.pdf      what is to be paid of the repairs you accepted, and apart what you have
                          not accepted yet; to read, to print and to keep (PDF/A). It tells your
                          answers when this was collected, and of a month what was closed in it:
                          it is not the monthly statement, which pays by the month of acceptance
  data/statement.csv      the same for a spreadsheet: pay by data/statement.csv, or by the monthly
                          statement, not by data/quantities.csv
  data/quantities.csv     pay items of each attempt that was closed, whatever you answered; nothing
                          is summed up, for a repair that was returned and done again stands in it
                          with each attempt
  data/packages/          {count} packages, byte for byte as they were handed over one by one
  verify_package.py       a small checking program, see below
{signature_line}{not_closed}
Each package in data/packages unpacks to a folder of its own with its report, its evidence and the
same checking program.

{check}
{whose}{history}"""

INVENTED = """
THIS PACKAGE SHOWS INVENTED DATA. No such pipe, person, company or repair exists.
"""


def contents(collection: Collection, files: Mapping[str, Path], seal: Seal | None) -> Contents:
    """Return what goes into the bag; `files` are the packages by id."""
    copied = tuple(
        Copied(
            f"data/packages/{each.file_name}",
            files.get(each.package_id),
            each.sha256,
            each.size_bytes,
            f"package {each.file_name}",
        )
        for each in collection.members
    )
    to_pay = collected_statement(collection)
    table = statement_csv(to_pay)
    return Contents(
        folder=safe_name(f"{collection.customer_code}-{collection.of}-packages"),
        dated=collection.collected_at,
        made={
            "data/index.csv": index_csv(collection),
            "data/position.geojson": position_geojson(collection),
            "data/quantities.csv": quantities_csv(collection),
            "data/statement.csv": table,
            "data/statement.pdf": statement_pdf(to_pay, sha256(table).hexdigest()),
        },
        copied=copied,
        tags=lambda payload, sizes: _tags(collection, payload, sizes, seal),
    )


def index_csv(collection: Collection) -> bytes:
    """Write one line a repair; a number is a number, an unknown place is empty."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    names = [each.name for each in fields(IndexLine)]
    writer.writerow(names)
    for line in index(collection.members):
        writer.writerow([_cell(getattr(line, name)) for name in names])
    return text.getvalue().encode()


def position_geojson(collection: Collection) -> bytes:
    """Write all places as one FeatureCollection (RFC 7946); a run or access point stands once."""
    found: dict[str, dict[str, object]] = {}
    for member in collection.members:
        attempt = member.facts.repair.attempt
        for feature in features(member.facts):
            identity = str(feature["id"])
            if identity.startswith(("defect:", "sleeve:")):
                identity = f"{identity}:attempt-{attempt}"
            found.setdefault(identity, {**feature, "id": identity})
    whole = {"type": "FeatureCollection", "features": [found[each] for each in sorted(found)]}
    return f"{json.dumps(whole, ensure_ascii=False, allow_nan=False, indent=1)}\n".encode()


def quantities_csv(collection: Collection) -> bytes:
    """Write each attempt's lines; what is to be paid is summed in the statement alone."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(HEADER)
    for member in collection.members:
        writer.writerows(quantity_rows(member.facts))
    return text.getvalue().encode()


def _tags(
    collection: Collection, payload: Mapping[str, str], sizes: list[int], seal: Seal | None
) -> dict[str, bytes]:
    head, key = collection.history_head, seal.key_id if seal else ""
    info = bag_info_text(
        closed_at=collection.collected_at,
        payload_sizes=sizes,
        identifier=f"{collection.customer_code}-{collection.of}",
        organisation=collection.contractor_name,
        description=(
            f"Closeout packages of {collection.of}, {len(collection.members)} repairs"
            f"{' (invented data)' if collection.invented else ''}"
        ),
        more=(
            ("Internal-Sender-Identifier", collection.id),
            *((("History-Head", head),) if head else ()),
            *((("Signing-Key", key),) if key else ()),
        ),
    )
    open_ones = ", ".join(collection.not_closed)
    text = TEXT.format(
        of=collection.of,
        customer=f"{collection.customer_name} ({collection.customer_code})",
        contractor=collection.contractor_name,
        collected_at=f"{collection.collected_at:%Y-%m-%d %H:%M}",
        count=len(collection.members),
        invented=INVENTED if collection.invented else "",
        not_closed=f"\nNOT CLOSED YET, so not here as they will be: {open_ones}\n"
        if open_ones
        else "",
        signature_line=readme.SIGNATURE_LINE if key else "",
        check=readme.how_to_check(key),
        whose=readme.whose(key),
        history=readme.history(head),
    )
    return {
        "bagit.txt": BAGIT_TXT.encode(),
        "bag-info.txt": info.encode(),
        "README.txt": text.encode(),
        "verify_package.py": VERIFIER.read_bytes(),
        "manifest-sha256.txt": manifest_text(payload).encode(),
    }


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, float):
        return f"{value:.3f}"
    text = value.strftime("%Y-%m-%dT%H:%M:%SZ") if hasattr(value, "strftime") else str(value)
    return inert(text)
