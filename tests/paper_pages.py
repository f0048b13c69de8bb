"""Pages of a PDF as pdfium (pypdfium2) reads them: their ink, their lines, their words, and where the drawing lies."""

import ctypes
from dataclasses import dataclass, field

import numpy
import pypdfium2
import pypdfium2.raw as pdfium

MM = 25.4 / 72
# Chords of a curve: a mould's longest has a rise of a thousandth of a millimetre over such a chord.
CHORDS = 64


@dataclass
class Page:
    """A page: its size, mm; its words; lines of the drawing and of what is added, each (n, 2), mm of the page; the way
    from the drawing to the page, where one is shown at full size."""

    size: tuple[float, float]
    words: str
    drawn: list[numpy.ndarray] = field(default_factory=list)
    added: list[numpy.ndarray] = field(default_factory=list)
    shift: tuple[float, float] | None = None

    def on_drawing(self, edge=8.0):
        """What of the drawing is within `edge` of the page's sides: left, bottom, right, top, mm."""
        (x, y), (width, height) = self.shift, self.size
        return edge - x, edge - y, width - edge - x, height - edge - y


def matrix(thing):
    """The matrix of a page's object."""
    told = pdfium.FS_MATRIX()
    assert pdfium.FPDFPageObj_GetMatrix(thing, told)
    return numpy.array([[told.a, told.b], [told.c, told.d], [told.e, told.f]])


def through(inner, outer):
    """One matrix after the other."""
    return numpy.vstack([inner[:2] @ outer[:2], inner[2] @ outer[:2] + outer[2]])


def lines(path, way):
    """The lines of a path object, mm, chords where it is curved."""
    found, points, curve = [], [], []
    for i in range(pdfium.FPDFPath_CountSegments(path)):
        segment = pdfium.FPDFPath_GetPathSegment(path, i)
        x, y = ctypes.c_float(), ctypes.c_float()
        assert pdfium.FPDFPathSegment_GetPoint(segment, x, y)
        at = numpy.array([x.value, y.value])
        kind = pdfium.FPDFPathSegment_GetType(segment)
        if kind == pdfium.FPDF_SEGMENT_MOVETO:
            points = [at]
            found.append(points)
        elif kind == pdfium.FPDF_SEGMENT_LINETO:
            points.append(at)
        else:
            curve.append(at)
            if len(curve) == 3:
                t = numpy.linspace(0, 1, CHORDS + 1)[1:, None]
                a, (b, c, d) = points[-1], curve
                points += list((1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t**2 * (1 - t) * c + t**3 * d)
                curve = []
        if pdfium.FPDFPathSegment_GetClose(segment):
            points.append(points[0])
    return [(numpy.array(points) @ way[:2] + way[2]) * MM for points in found]


def pages(path):
    """The pages of a file."""
    found = []
    with pypdfium2.PdfDocument(path) as document:
        for page in document:
            text = page.get_textpage()
            one = Page(tuple(side * MM for side in page.get_size()), text.get_text_range())
            for i in range(pdfium.FPDFPage_CountObjects(page)):
                thing = pdfium.FPDFPage_GetObject(page, i)
                kind = pdfium.FPDFPageObj_GetType(thing)
                if kind == pdfium.FPDF_PAGEOBJ_PATH:
                    one.added += lines(thing, matrix(thing))
                elif kind == pdfium.FPDF_PAGEOBJ_FORM:
                    outer = matrix(thing)
                    if abs(outer[0, 0] * MM - 1) < 1e-4:
                        one.shift = tuple(outer[2] * MM)
                    for j in range(pdfium.FPDFFormObj_CountObjects(thing)):
                        inner = pdfium.FPDFFormObj_GetObject(thing, j)
                        one.drawn += lines(inner, through(matrix(inner), outer))
            found.append(one)
    return found


def ink(path, dots):
    """The ink of each page as a mask, `dots` to the millimetre, the last row at the foot of the page."""
    with pypdfium2.PdfDocument(path) as document:
        for page in document:
            grey = page.render(scale=dots * MM, grayscale=True).to_numpy()
            yield grey.reshape(grey.shape[:2]) < 200
