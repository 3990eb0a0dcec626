"""What lies in the package and where: the made files, the evidence, and the tag files."""

from collections.abc import Mapping
from pathlib import Path

from qa.closeout.position import position_geojson
from qa.closeout.quantities import quantities_csv
from qa.closeout.readme import readme_text
from qa.closeout.record import digest, record_json, schema_json
from qa.closeout.report.build import report_pdf
from qa.closeout.signature import Seal
from qa.domain.closeout import CloseoutFacts
from qa.domain.manifest import BAGIT_TXT, bag_info_text, manifest_text, numbered_names

VERIFIER = Path(__file__).with_name("verify_package.py")


def evidence_paths(facts: CloseoutFacts) -> dict[str, str]:
    """Give each evidence file its place in the package, by evidence id, in the facts' order."""
    names = numbered_names([one.file_name for one in facts.evidence])
    return {
        one.id: f"data/evidence/{name}" for one, name in zip(facts.evidence, names, strict=True)
    }


def made_files(facts: CloseoutFacts, shown: Mapping[str, Path]) -> dict[str, bytes]:
    """Make the payload files that are not evidence, by path; `shown` are the report's pictures."""
    paths = evidence_paths(facts)
    record = record_json(facts, paths)
    return {
        "data/report.pdf": report_pdf(facts, shown, paths, digest(record)),
        "data/record.json": record,
        "data/record.schema.json": schema_json(),
        "data/position.geojson": position_geojson(facts),
        "data/quantities.csv": quantities_csv(facts),
    }


def tag_files(
    facts: CloseoutFacts,
    sha256_by_path: Mapping[str, str],
    sizes: list[int],
    seal: Seal | None = None,
) -> dict[str, bytes]:
    """Make the tag files beside the payload, all but the tag manifest, by path."""
    repair = facts.repair
    info = bag_info_text(
        closed_at=facts.closed_at,
        payload_sizes=sizes,
        identifier=f"{repair.work_order}-{repair.ref}-attempt-{repair.attempt}",
        organisation=facts.contractor_name,
        description=(
            f"Closeout of repair {repair.ref}, attempt {repair.attempt}, on run {facts.run.ref}"
            f"{' (invented data)' if facts.invented else ''}"
        ),
        more=(
            ("Internal-Sender-Identifier", repair.id),
            ("Bag-Group-Identifier", repair.work_order),
            *((("History-Head", facts.history_head),) if facts.history_head else ()),
            *((("Signing-Key", seal.key_id),) if seal else ()),
        ),
    )
    readme = readme_text(facts, sha256_by_path["data/record.json"], seal.key_id if seal else "")
    return {
        "bagit.txt": BAGIT_TXT.encode(),
        "bag-info.txt": info.encode(),
        "README.txt": readme.encode(),
        "verify_package.py": VERIFIER.read_bytes(),
        "manifest-sha256.txt": manifest_text(sha256_by_path).encode(),
    }
