"""Writing a brief: PDF, HTML, JSON and two tables, all or none."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from renderer.brief import readings, schedule
from renderer.brief.contents import brief_of
from renderer.brief.data import data
from renderer.brief.html import html
from renderer.brief.material import Material
from renderer.brief.pdf import pdf
from renderer.errors import InputError
from renderer.picture.atomic import together, whole_file

PDF, HTML, JSON = "brief.pdf", "brief.html", "brief.json"
SCHEDULE, READINGS = "schedule.csv", "readings.csv"


def write_brief(material: Material, folder: str | Path) -> list[Path]:
    """The files, in the order of reading. Raises InputError where one cannot be written."""
    folder = Path(folder)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"{folder}: cannot be made a folder: {error.strerror}") from None
    brief = brief_of(material)
    files: dict[str, bytes] = {
        PDF: pdf(brief),
        HTML: html(brief).encode(),
        JSON: (
            json.dumps(data(material, brief), indent=1, ensure_ascii=False, allow_nan=False) + "\n"
        ).encode(),
        SCHEDULE: _csv(schedule.HEAD, schedule.schedule_rows(material)),
        READINGS: _csv(readings.HEAD, readings.readings_rows(material)),
    }
    with together() as written:
        for name, content in files.items():
            with whole_file(folder / name, written) as part:
                part.write_bytes(content)
    return [folder / name for name in files]


def _csv(head: tuple[str, ...], rows: Iterable[tuple[Any, ...]]) -> bytes:
    """Comma separated, UTF-8 with a mark at its start, which spreadsheets look for."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(head)
    writer.writerows(rows)
    return out.getvalue().encode("utf-8-sig")
