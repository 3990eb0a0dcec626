"""The marks of the verdicts."""

import pypdfium2
from PIL import ImageChops
from reportlab.graphics import renderPDF

from qa.closeout.report.mark import SHAPES, mark


def test_each_verdict_is_told_apart_in_grey() -> None:
    """No two marks look alike when printed without colour."""
    drawn = {}
    for verdict in SHAPES:
        page = pypdfium2.PdfDocument(renderPDF.drawToString(mark(verdict, 40)))[0]
        drawn[verdict] = page.render(scale=1, grayscale=True).to_pil().convert("1")

    names = list(drawn)
    for n, first in enumerate(names):
        for second in names[n + 1 :]:
            apart = ImageChops.logical_xor(drawn[first], drawn[second])
            share = sum(apart.convert("L").histogram()[1:]) / (apart.width * apart.height)
            assert share > 0.04, (first, second)
