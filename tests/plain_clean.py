"""Run as a program: clean pictures from a file without the compiler, on threads or on a simulated card.

python plain_clean.py PICTURES.pickle CLEANED.pickle threads|card
"""

from __future__ import annotations

import pickle
import sys

from renderer.film.denoise import REACHES, Work, cleaned, plate_of
from renderer.kernels.denoise import WITHOUT_SPARK, work_on_rows


def main(pictures: str, out: str, on: str) -> None:
    with open(pictures, "rb") as file:
        picture, error, light, seen = pickle.load(file)
    plate = plate_of(picture, error, light, seen)
    if on == "card":
        from renderer.film.card import plate_on_card, work_on_plate

        plate = cleaned(plate_on_card(plate), work_on_plate)
        found = [plate.shown.copy_to_host(), plate.difference.copy_to_host()]
        work_on_plate(WITHOUT_SPARK, plate, REACHES[0])
        found.append(plate.shown.copy_to_host())
    else:
        work: Work = lambda step, plate, how: work_on_rows(step, 0, len(plate.picture), plate, how)  # noqa: E731
        plate = cleaned(plate, work)
        found = [plate.shown.copy(), plate.difference]
        work(WITHOUT_SPARK, plate, REACHES[0])
        found.append(plate.shown)
    with open(out, "wb") as file:
        pickle.dump(found, file)


if __name__ == "__main__":
    main(*sys.argv[1:])
