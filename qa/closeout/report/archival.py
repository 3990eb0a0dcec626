"""What makes the report archival, PDF/A-2b (ISO 19005-2): metadata, colours, nothing from outside.

The typeface is embedded by `style`; here come the XMP packet, which must say what the document
information says, and the colour space the colours are meant in.
"""

import io
import struct
from datetime import UTC, datetime
from functools import cache
from xml.sax.saxutils import escape

from PIL import ImageCms
from reportlab.pdfbase.pdfdoc import (
    PDFArray,
    PDFDictionary,
    PDFName,
    PDFObject,
    PDFString,
)
from reportlab.pdfbase.pdfdoc import format as pdf_bytes
from reportlab.pdfgen.canvas import Canvas

VERSION = (1, 7)
"""The PDF version that PDF/A-2 rests on."""

_XMP = """<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about=""
 xmlns:dc="http://purl.org/dc/elements/1.1/"
 xmlns:xmp="http://ns.adobe.com/xap/1.0/"
 xmlns:pdf="http://ns.adobe.com/pdf/1.3/"
 xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/">
<pdfaid:part>2</pdfaid:part>
<pdfaid:conformance>B</pdfaid:conformance>
<dc:format>application/pdf</dc:format>
<dc:language><rdf:Bag><rdf:li>en</rdf:li></rdf:Bag></dc:language>
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>
<dc:creator><rdf:Seq><rdf:li>{author}</rdf:li></rdf:Seq></dc:creator>
<dc:description><rdf:Alt><rdf:li xml:lang="x-default">{subject}</rdf:li></rdf:Alt></dc:description>
<xmp:CreatorTool>{creator}</xmp:CreatorTool>
<xmp:CreateDate>{date}</xmp:CreateDate>
<xmp:ModifyDate>{date}</xmp:ModifyDate>
<pdf:Producer>{producer}</pdf:Producer>
<pdf:Keywords>{keywords}</pdf:Keywords>
</rdf:Description>
</rdf:RDF>
</x:xmpmeta>
<?xpacket end="w"?>
"""


class PlainStream(PDFObject):  # type: ignore[misc]  # reportlab has no types
    """A stream as it is, without any filter: archives read metadata with plain tools."""

    __RefOnly__ = 1

    def __init__(self, content: bytes, **entries: object) -> None:
        self.content, self.entries = content, entries

    def format(self, document: object) -> bytes:
        """Write dictionary and content."""
        head = pdf_bytes(PDFDictionary({**self.entries, "Length": len(self.content)}), document)
        return bytes(head) + b"\nstream\n" + self.content + b"\nendstream\n"


def make_archival(canvas: Canvas, made_at: datetime) -> None:
    """Add what an archive wants, before the file is written.

    `made_at` is the one instant the document tells as that of its making: it belongs to the facts,
    for the same facts must give the same bytes.
    """
    document = canvas._doc  # noqa: SLF001 - reportlab has no door for it
    instant = made_at.astimezone(UTC)
    document._timeStamp.YMDhms = instant.timetuple()[:6]  # noqa: SLF001 - as above
    catalog, info = document.Catalog, document.info
    words = {
        name: escape(str(getattr(info, name)))
        for name in ("title", "author", "subject", "creator", "producer", "keywords")
    }
    packet = _XMP.format(date=instant.isoformat(timespec="seconds"), **words).encode()
    catalog.Metadata = PlainStream(packet, Type=PDFName("Metadata"), Subtype=PDFName("XML"))
    profile = PlainStream(srgb(), N=3)
    intent = PDFDictionary(
        {
            "Type": PDFName("OutputIntent"),
            "S": PDFName("GTS_PDFA1"),
            "OutputConditionIdentifier": PDFString("sRGB IEC61966-2.1"),
            "Info": PDFString("sRGB IEC61966-2.1"),
            "DestOutputProfile": document.Reference(profile),
        }
    )
    catalog.__NoDefault__ = [*catalog.__NoDefault__, "OutputIntents"]
    catalog.OutputIntents = PDFArray([intent])


@cache
def srgb() -> bytes:
    """Return an ICC profile of sRGB, the same bytes each time.

    The date of its making (bytes 24 to 35 of the header, ICC.1, section 7.2.8) is set to one that
    never changes: it says nothing of the report.
    """
    out = io.BytesIO(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    content = bytearray(out.getvalue())
    content[24:36] = struct.pack(">6H", 2000, 1, 1, 0, 0, 0)
    return bytes(content)
