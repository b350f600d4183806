"""Writing a brief: PDF, HTML, JSON and two tables, all or none."""

from __future__ import annotations

import json
from pathlib import Path

from renderer.brief import readings, schedule
from renderer.brief.contents import brief_of
from renderer.brief.data import data
from renderer.brief.html import html
from renderer.brief.material import Material
from renderer.brief.pdf import pdf
from renderer.meter.expected import csv_bytes, readings_csv
from renderer.picture.atomic import made_folder, write_all

PDF, HTML, JSON = "brief.pdf", "brief.html", "brief.json"
SCHEDULE, READINGS = "schedule.csv", "readings.csv"


def write_brief(material: Material, folder: str | Path) -> list[Path]:
    """The files, in the order of reading. Raises InputError where one cannot be written."""
    folder = made_folder(folder)
    brief = brief_of(material)
    files: dict[str, bytes] = {
        PDF: pdf(brief),
        HTML: html(brief).encode(),
        JSON: (
            json.dumps(data(material, brief), indent=1, ensure_ascii=False, allow_nan=False) + "\n"
        ).encode(),
        SCHEDULE: csv_bytes(schedule.HEAD, schedule.schedule_rows(material)),
        READINGS: readings_csv(readings.settings_of(material)),
    }
    return write_all(folder, files)
