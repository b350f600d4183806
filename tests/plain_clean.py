"""Run as a program: clean pictures from a file without the compiler, on threads or on a simulated card.

python plain_clean.py PICTURES.pickle CLEANED.pickle threads|card
"""

from __future__ import annotations

import pickle
import sys

from renderer.film.denoise import REACHES, cleaned, plate_of
from renderer.film.place import Place
from renderer.kernels.denoise import WITHOUT_SPARK


def main(pictures: str, out: str, on: str) -> None:
    with open(pictures, "rb") as file:
        picture, error, light, seen = pickle.load(file)
    place = Place(1)
    if on == "card":
        from renderer.film.card import CardPlace

        place = CardPlace(1)
    plate = cleaned(plate_of(picture, error, light, seen, place), place)
    found = [place.back(plate.shown).copy(), place.back(plate.difference)]
    place.clean(WITHOUT_SPARK, plate, REACHES[0])
    found.append(place.back(plate.shown))
    with open(out, "wb") as file:
        pickle.dump(found, file)


if __name__ == "__main__":
    main(*sys.argv[1:])
