"""A document in the house's paper and margins, with the same bytes each time it is built."""

import io

from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate

from qa.closeout.report.style import BOTTOM, FONT, MARGIN, PAPERS, TOP
from qa.domain.closeout import Paper


def new_document(
    out: io.BytesIO, *, paper: Paper, title: str, author: str, subject: str
) -> BaseDocTemplate:
    """Set paper, margins and what a reader program shows about the file."""
    document = BaseDocTemplate(
        out,
        pagesize=PAPERS[paper],
        leftMargin=MARGIN,
        rightMargin=MARGIN,
        topMargin=TOP,
        bottomMargin=BOTTOM,
        title=title,
        author=author,
        subject=subject,
        creator="Curewright",
        lang="en",
        displayDocTitle=1,
        invariant=1,
        initialFontName=FONT,
    )
    frame = Frame(MARGIN, BOTTOM, document.width, document.height, 0, 0, 0, 0)
    document.addPageTemplates(PageTemplate("page", frames=[frame]))
    return document
