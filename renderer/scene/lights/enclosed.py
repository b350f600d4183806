"""Lights whose brightness follows from a lamp of their own and from what stands round it."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import ClassVar

from renderer.scene.field import Problem
from renderer.scene.lights.base import LEVELS, Lamp


class Enclosed(Lamp):
    """A light whose level is that of the lamp in the table `inner`; its faces are worked out from that.

    Working it out needs numpy, which is imported in the functions that do it; `shapes` and `problems` do
    without, so that a faulty scene is answered at once.
    """

    inner: ClassVar[str]
    """The key of the table that holds the lamp."""
    inner_needed: ClassVar[bool]
    """Whether there is no other way to give a level."""

    @classmethod
    def key_problems(cls, given: Collection[str]) -> Iterator[Problem]:
        if cls.inner not in given and not cls.inner_needed:
            yield from super().key_problems(given)
            return
        yield from super(Lamp, cls).key_problems(given)
        for key in LEVELS:
            if key in given:
                yield (
                    (key,),
                    f"a second level beside its {cls.inner}: expected {cls.inner}.lumens alone",
                )
