"""A drawing put on a PDF page: vector lines and real letters, to its scale."""

from __future__ import annotations

from typing import Any

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from renderer.brief.drawing import Drawing, Line, Words
from renderer.brief.letter import BOLD, REGULAR, legible


class DrawingBox(Flowable):  # type: ignore[misc]
    """A drawing as something that flows down a page."""

    def __init__(self, drawing: Drawing) -> None:
        super().__init__()
        self.drawing = drawing
        wide, high = drawing.size
        self.width, self.height = wide * mm, high * mm
        self.hAlign = "CENTER"

    def wrap(self, wide: float, high: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        for item in self.drawing.items:
            if isinstance(item, Line):
                self._line(self.canv, item)
            else:
                self._words(self.canv, item)

    def _line(self, canvas: Any, line: Line) -> None:
        path = canvas.beginPath()
        for k, point in enumerate(line.points):
            x, y = self.drawing.on_paper(point)
            (path.lineTo if k else path.moveTo)(x * mm, y * mm)
        if line.closed:
            path.close()
        if line.pen is not None:
            canvas.setStrokeGray(line.pen.grey)
            canvas.setLineWidth(line.pen.width * mm)
            canvas.setDash([dash * mm for dash in line.pen.dash])
        if line.fill is not None:
            canvas.setFillGray(line.fill)
        canvas.drawPath(path, stroke=int(line.pen is not None), fill=int(line.fill is not None))

    def _words(self, canvas: Any, words: Words) -> None:
        x, y = (side * mm for side in self.drawing.on_paper(words.at))
        if words.backed:
            (x0, y0), (x1, y1) = (self.drawing.on_paper(corner) for corner in self.drawing.box_of(words))
            canvas.setFillGray(1.0)
            canvas.rect((x0 - 0.3) * mm, y0 * mm, (x1 - x0 + 0.6) * mm, (y1 - y0) * mm, stroke=0, fill=1)
        canvas.setFillGray(0.0)
        canvas.setFont(BOLD if words.bold else REGULAR, words.size)
        text = legible(words.text)
        {"left": canvas.drawString, "middle": canvas.drawCentredString, "right": canvas.drawRightString}[
            words.align
        ](x, y, text)
