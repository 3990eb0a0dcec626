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
  data/record.schema.json what may stand in record.json (JSON Schema, 2020-12)
  data/position.geojson   run, access points, defect and sleeves (WGS 84; any mapping program)
  data/quantities.csv     pay items and quantities (any spreadsheet; a text that a spreadsheet
                          would run as a formula has an apostrophe in front)
  data/evidence/          {evidence} original files, byte for byte as they were received
  verify_package.py       a small checking program, see below
  manifest-sha256.txt     the SHA-256 of each file in data/
  tagmanifest-sha256.txt  the SHA-256 of each file beside data/
{signature_line}  bagit.txt, bag-info.txt what makes this folder a bag (BagIt 1.0, RFC 8493)

{check}
The report prints the SHA-256 of record.json at the foot of each page:
  {digest}

{whose}{history}
"""

CHECK = """HOW TO CHECK THAT NOTHING WAS CHANGED, LOST OR ADDED
Unpack the package. Then, in this folder:
  a) with Python 3.8 or later, nothing else:  {command}
     finds whatever was changed, lost or added anywhere in the folder, files, folders and links,
     and whose signature it is;
  b) any BagIt program: validate this folder as a bag. It finds a changed, lost or added file in
     data/, and a changed or lost one beside it that a list names. What was added beside data/ and
     anything about signature.json it does not find;
  c) on Linux or macOS:                       sha256sum -c manifest-sha256.txt
                                              sha256sum -c tagmanifest-sha256.txt
     (macOS: shasum -a 256 -c ...) finds changed and lost files, no added ones;
  d) on Windows, file by file:                certutil -hashfile data\\report.pdf SHA256
Whoever forges a package can put another program in the place of verify_package.py. So use a copy
kept from elsewhere, out of an earlier package or fetched from the contractor's service at
/verify_package.py (no account is needed), and name this folder:
  python3 KEPT/verify_package.py THIS_FOLDER{options}
"""

SIGNATURE_LINE = """\
  signature.json          the contractor's signature over tagmanifest-sha256.txt
"""

SIGNED = """WHO MADE IT
The package is signed (Ed25519, RFC 8032) by the key with this id:
  {key}
Whoever changes a file can also change the lists and sign them with a key of their own. So ask for
the id the contractor gave you apart from this package (contract, portal, paper), not for the one
printed here. All keys: /api/v1/signing-keys of the contractor's service (no account is needed).
"""

UNSIGNED = """A package alone cannot show who made it: whoever changes a file can also change the
lists. Keep the SHA-256 of the whole package file, or of tagmanifest-sha256.txt, where the
contractor told it to you (message, portal, paper), and compare.
"""

HISTORY = """
THE CONTRACTOR'S HISTORY
When the package was made, the history of all records stood here:
  {head}
Keep signature.json: with it anybody can have the contractor show that nothing before that was
edited, deleted or put in since.
"""


def readme_text(facts: CloseoutFacts, digest: str, key: str = "") -> str:
    """Write the text; `digest` is the SHA-256 of record.json, `key` the id of who signed."""
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
        signature_line=SIGNATURE_LINE if key else "",
        check=how_to_check(key),
        whose=whose(key),
        history=history(facts.history_head),
    )


def how_to_check(key: str) -> str:
    """Say how a package is checked, and what each way does not find."""
    options = " --key ID" if key else " --accept-unsigned"
    return CHECK.format(command=f"python3 verify_package.py{options}", options=options)


def whose(key: str) -> str:
    """Say who made it, by the key's id; empty where nobody signed."""
    return SIGNED.format(key=key) if key else UNSIGNED


def history(head: str) -> str:
    """Say where the contractor's history stood, where that is known."""
    return HISTORY.format(head=head) if head else ""
