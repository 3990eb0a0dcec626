"""README.txt: what is in the package and how to check it, for a person who has only this."""

from qa.domain.closeout import CloseoutFacts

INVENTED = """
THIS PACKAGE SHOWS INVENTED DATA. No such pipe, person, company or repair exists.
"""

TEXT = """CLOSEOUT PACKAGE
Repair {ref}, attempt {attempt}, work order {work_order}
Run {run}, site {site}
For {customer}, by {contractor}
Closed {closed_at} (UTC) by {closed_by}
{invented}
WHAT IS HERE
  data/report.pdf         the report to read, starting with a one-page summary
  data/record.json        the same facts for programs; units are in the names, times are UTC
  data/position.geojson   run, access points, defect and sleeves (WGS 84; any mapping program)
  data/quantities.csv     pay items and quantities (any spreadsheet; a text that a spreadsheet
                          would run as a formula has an apostrophe in front)
  data/evidence/          {evidence} original files, byte for byte as they were received
  verify_package.py       a small checking program, see below
  manifest-sha256.txt     the SHA-256 of each file in data/
  tagmanifest-sha256.txt  the SHA-256 of each file beside data/
  bagit.txt, bag-info.txt what makes this folder a bag (BagIt 1.0, RFC 8493)

HOW TO CHECK THAT NOTHING WAS CHANGED OR LOST
Unpack the package. Then, in this folder, any one of:
  a) any BagIt program: validate this folder as a bag;
  b) with Python 3, nothing else needed:     python3 verify_package.py
  c) on Linux or macOS:                      sha256sum -c manifest-sha256.txt
                                             sha256sum -c tagmanifest-sha256.txt
     (macOS: shasum -a 256 -c ...)
  d) on Windows, file by file:               certutil -hashfile data\\report.pdf SHA256
The report prints the SHA-256 of record.json at the foot of each page:
  {digest}

A package alone cannot show who made it: whoever changes a file can also change the lists.
Keep the SHA-256 of the whole package file, or of tagmanifest-sha256.txt, where the contractor
told it to you (message, portal, paper), and compare.{audit}
"""

AUDIT = """
The contractor's audit log stood at this entry when the package was made:
  {head}"""


def readme_text(facts: CloseoutFacts, digest: str) -> str:
    """Write the text; `digest` is the SHA-256 of record.json."""
    repair = facts.repair
    return TEXT.format(
        ref=repair.ref,
        attempt=repair.attempt,
        work_order=repair.work_order,
        run=facts.run.ref,
        site=f"{facts.site.ref}, {facts.site.street}",
        customer=f"{repair.customer_name} ({repair.customer_code})",
        contractor=facts.contractor_name,
        closed_at=facts.closed_at.strftime("%Y-%m-%d %H:%M"),
        closed_by=f"{facts.closed_by.name}, {facts.closed_by.role}",
        invented=INVENTED if facts.invented else "",
        evidence=len(facts.evidence),
        digest=digest,
        audit=AUDIT.format(head=facts.audit_head) if facts.audit_head else "",
    )
