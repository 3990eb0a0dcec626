"""Quantities, times and texts as the report prints them: SI first, US units beside."""

from datetime import datetime
from html import escape
from itertools import pairwise
from unicodedata import normalize
from zoneinfo import ZoneInfo

from reportlab.pdfbase import pdfmetrics

from qa.closeout.report.style import FONT
from qa.domain.closeout import FactValue, VerdictWord

# Exact by definition (international foot, inch and pound; pound-force per square inch rounded).
METRES_A_FOOT, MM_AN_INCH, KG_A_POUND, KPA_A_PSI = 0.3048, 25.4, 0.45359237, 6.894757
MINUTES_AN_HOUR = 60

VERDICTS: dict[VerdictWord, str] = {
    "met": "met",
    "judged": "met by judgement",
    "waived": "waived",
    "not_applicable": "does not apply",
    "not_met": "not met",
    "incomplete": "incomplete",
    "cannot_tell": "cannot tell",
}
UNITS = (
    ("_percent", "%"), ("_kpa", "kPa"), ("_min", "min"), ("_mm", "mm"), ("_kg", "kg"),
    ("_m", "m"), ("_c", "°C"), ("_s", "s"), ("_l", "l"),
)  # fmt: skip
NB = "\N{NO-BREAK SPACE}"
"""Keeps a unit with its number."""
MINUS = "\N{MINUS SIGN}"
SPECIAL = {"ø": "o", "\N{NON-BREAKING HYPHEN}": "-", "→": "->", "←": "<-", "✓": "yes", "\t": " "}


def glyphs(text: str) -> str:
    """Keep what the typeface can draw; else the plain letter, else a question mark."""
    known = pdfmetrics.getFont(FONT).face.charToGlyph
    found = []
    for letter in normalize("NFC", text):
        if ord(letter) in known or letter == "\n":
            found.append(letter)
        elif letter in SPECIAL:
            found.append(SPECIAL[letter])
        else:
            plain = normalize("NFKD", letter)[0]
            found.append(plain if ord(plain) in known else "?")
    return "".join(found)


def xml(text: str) -> str:
    """Make a text safe inside a paragraph."""
    return escape(glyphs(text), quote=False).replace("\n", "<br/>")


def metres(value_m: float, places: int = 2) -> str:
    """Say a length: 31.48 m (103.3 ft)."""
    return f"{value_m:.{places}f}{NB}m ({value_m / METRES_A_FOOT:.{max(places - 1, 1)}f}{NB}ft)"


def millimetres(value_mm: float) -> str:
    """Say a diameter: 200 mm (7.9 in)."""
    return f"{value_mm:.0f}{NB}mm ({value_mm / MM_AN_INCH:.1f}{NB}in)"


def kilograms(value_kg: float) -> str:
    """Say a mass: 1.62 kg (3.57 lb)."""
    return f"{value_kg:.2f}{NB}kg ({value_kg / KG_A_POUND:.2f}{NB}lb)"


def pressure_span(low_kpa: float, high_kpa: float) -> str:
    """Say a pressure range: 31.0 to 38.0 kPa (4.5 to 5.5 psi)."""
    low, high = low_kpa / KPA_A_PSI, high_kpa / KPA_A_PSI
    return f"{low_kpa:.1f} to {high_kpa:.1f}{NB}kPa ({low:.1f} to {high:.1f}{NB}psi)"


def celsius(value_c: float) -> str:
    """Say a temperature: 11.2 °C (52.2 °F)."""
    return f"{value_c:.1f}{NB}°C ({value_c * 9 / 5 + 32:.1f}{NB}°F)"


def span(minutes: float) -> str:
    """Say a duration: 38 min, or 2 h 14 min."""
    whole = round(abs(minutes))
    if whole < 2 * MINUTES_AN_HOUR:
        return f"{whole}{NB}min"
    hours, minutes = divmod(whole, MINUTES_AN_HOUR)
    return f"{hours}{NB}h {minutes:02d}{NB}min" if minutes else f"{hours}{NB}h"


def gap(seconds: float) -> str:
    """Say a silence between readings, in seconds while it is short: 61 s, 14 min."""
    short = seconds < 2 * 60
    return f"{seconds:.0f}{NB}s" if short else span(seconds / 60)


def minutes_between(start: datetime, end: datetime) -> float:
    """Give the minutes from one instant to another; negative if the second is earlier."""
    return (end - start).total_seconds() / 60


def offset(at: datetime, zone: ZoneInfo) -> str:
    """Say the zone's offset at an instant: UTC-05:00, with a true minus sign."""
    text = at.astimezone(zone).isoformat()[-6:]
    return f"UTC{text.replace('-', MINUS)}"


def zone_words(name: str, at: datetime) -> str:
    """Say which clock the times are of: CST6CDT, UTC-05:00.

    The names Etc/GMT+1 and the like count westwards, against the sign of every offset: beside
    the offset they read as a contradiction, so it stands alone.
    """
    beside = offset(at, ZoneInfo(name))
    return beside if name.startswith("Etc/") else f"{name}, {beside}"


def day(at: datetime, zone: ZoneInfo) -> str:
    """Say the day in the zone, unmistakable on either side of an ocean: 2031-03-11."""
    return at.astimezone(zone).date().isoformat()


def clock(at: datetime, zone: ZoneInfo, *, seconds: bool = False) -> str:
    """Say the time of day in the zone: 09:02, or 09:02:14."""
    return at.astimezone(zone).strftime("%H:%M:%S" if seconds else "%H:%M")


def moment(at: datetime, zone: ZoneInfo) -> str:
    """Say an instant in full: 2031-03-11 09:02 UTC-05:00."""
    return f"{day(at, zone)} {clock(at, zone)} {offset(at, zone)}"


def number_words(name: str, value: FactValue) -> str:
    """Say a named figure: 'least_m', 0.35 becomes 'least 0.35 m'."""
    ending, unit = next((pair for pair in UNITS if name.endswith(pair[0])), ("", ""))
    words = name.removesuffix(ending).replace("_", " ")
    if value is None:
        return f"{words} not known"
    if isinstance(value, bool):
        return f"{words} {'yes' if value else 'no'}"
    shown = f"{value:g}" if isinstance(value, float) else str(value)
    return f"{words} {shown}{NB}{unit}" if unit else f"{words} {shown}"


def shortened(text: str, most: int) -> str:
    """Cut a long text for page one, and say where the whole is."""
    if len(text) <= most:
        return text
    return f"{text[:most].rsplit(' ', 1)[0]} … (whole text in record.json)"


def listed(parts: list[str]) -> str:
    """Join words as a sentence does: a, b and c."""
    if len(parts) <= 1:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} and {parts[-1]}"


def longest_gap_s(times: list[datetime]) -> float:
    """Give the longest silence between neighbouring readings, seconds."""
    return max(((b - a).total_seconds() for a, b in pairwise(times)), default=0.0)
