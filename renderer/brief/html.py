"""The brief as one HTML file that loads nothing: pictures inside, drawings as SVG."""

from __future__ import annotations

import base64
from html import escape

from renderer.brief.letter import FAMILY
from renderer.brief.page import Beside, Block, Brief, Figure, Picture, Pictures, Table, Text
from renderer.brief.svg import svg

STYLE = f"""
@page {{ size: A4; margin: 12mm 10mm; }}
body {{ font: 9pt/1.35 {FAMILY}; color: #000; background: #fff; width: 190mm; margin: 6mm auto; }}
h1 {{ font-size: 15pt; margin: 0 0 2mm; border-bottom: 0.4mm solid #000; }}
h2 {{ font-size: 11.5pt; margin: 5mm 0 1.5mm; break-after: avoid; }}
section.page {{ break-before: page; }}
p {{ margin: 0 0 1.2mm; }}
p.lead {{ font-size: 10pt; }}
p.note {{ font-size: 8pt; }}
p.caution, p.twice {{ font-weight: bold; }}
p.twice {{ font-size: 8pt; }}
table {{ border-collapse: collapse; margin: 0 0 2mm; font-size: 8pt; width: 100%; }}
td, th {{ border: 0.15mm solid #777; padding: 0.5mm 0.8mm; vertical-align: top; text-align: left;
 overflow-wrap: break-word; }}
th {{ background: #ebebeb; font-size: 7.5pt; }}
tr {{ break-inside: avoid; }}
td.bold {{ font-weight: bold; }}
.beside {{ display: flex; justify-content: space-between; gap: 3mm; }}
.pictures {{ display: flex; flex-wrap: wrap; gap: 2mm; margin: 0 0 2mm; }}
figure {{ margin: 0; break-inside: avoid; }}
figcaption {{ font-size: 7.5pt; }}
svg.drawing {{ display: block; margin: 0 auto; }}
footer {{ font-size: 7.5pt; margin-top: 5mm; border-top: 0.15mm solid #777; }}
@media print {{ body {{ margin: 0; }} }}
"""


def html(brief: Brief) -> str:
    """The whole page."""
    parts = [
        f'<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><title>{escape(brief.title)}</title>',
        f"<style>{STYLE}</style></head><body><h1>{escape(brief.title)}: lighting brief</h1>",
    ]
    for section in brief.sections:
        page = ' class="page"' if section.new_page else ""
        parts.append(f"<section{page}><h2>{escape(section.title)}</h2>")
        parts += [_block(block) for block in section.blocks]
        parts.append("</section>")
    parts.append(f"<footer>{escape(brief.foot)}</footer></body></html>\n")
    return "\n".join(parts)


def _block(block: Block) -> str:
    if isinstance(block, Text):
        kind = "" if block.kind == "body" else f' class="{block.kind}"'
        return f"<p{kind}>{_lines(block.text)}</p>"
    if isinstance(block, Figure):
        return svg(block.drawing)
    if isinstance(block, Pictures):
        return f'<div class="pictures">{"".join(_picture(picture) for picture in block.pictures)}</div>'
    if isinstance(block, Beside):
        sides = [
            f'<div style="width: {wide:g}mm">{"".join(_block(inner) for inner in blocks)}</div>'
            for blocks, wide in ((block.left, block.left_wide), (block.right, block.right_wide))
        ]
        return f'<div class="beside">{"".join(sides)}</div>'
    return _table(block)


def _table(table: Table) -> str:
    whole = sum(table.widths)
    columns = "".join(f'<col style="width: {100.0 * share / whole:.2f}%">' for share in table.widths)
    head = "".join(f"<th>{_lines(text)}</th>" for text in table.head)
    high = f' style="height: {table.blank:g}mm"' if table.blank else ""
    rows = []
    for row in table.rows:
        cells = [_cell(text, k in table.bold) for k, text in enumerate(row)]
        rows.append(f"<tr{high}>{''.join(cells)}</tr>")
    body = f"<thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody>"
    return f"<table><colgroup>{columns}</colgroup>{body}</table>"


def _cell(text: str, bold: bool) -> str:
    kind = ' class="bold"' if bold else ""
    return f"<td{kind}>{_lines(text)}</td>"


def _picture(picture: Picture) -> str:
    data, caption = base64.b64encode(picture.data).decode(), escape(picture.caption)
    image = f'<img alt="{caption}" style="width: 100%" src="data:image/{picture.kind};base64,{data}">'
    return f'<figure style="width: {picture.wide:.1f}mm">{image}<figcaption>{caption}</figcaption></figure>'


def _lines(text: str) -> str:
    return escape(text).replace("\n", "<br>")
