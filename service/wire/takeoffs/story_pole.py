"""The story pole of a house on the wire: every course, floor, sill, head and top by its height."""

from __future__ import annotations

from operator import attrgetter

from service.drawing.elevation import draw_house_pole
from service.drawing.svg import svg
from service.wire.base import AnsweredSchema
from service.wire.fields import Many, Words
from service.wire.numbers import UNITS, Count, LengthField, SaidLength
from service.wire.plans.cutting import SAID

_LEVEL = "How far above the house's level line; negative below it."


class WallCourseSchema(AnsweredSchema):
    """One wall's course at a height."""

    wall = Words("Which wall, by id.", of=lambda pair: pair[0])
    course = Count("The course's number on it.", of=lambda pair: pair[1])


class PoleCourseSchema(AnsweredSchema):
    """The lower edge of a course on the house's story pole."""

    height = LengthField(_LEVEL)
    text = SaidLength(SAID, of=attrgetter("height"))
    walls = Many("Which walls have a course there, each with its number.", WallCourseSchema)


class PoleMarkSchema(AnsweredSchema):
    """A floor, sill, head or top on the house's story pole."""

    height = LengthField(_LEVEL)
    text = SaidLength(SAID, of=attrgetter("height"))
    what = Words("What lies there.", of=attrgetter("text"))


class StartSchema(AnsweredSchema):
    """Where the siding of a wall begins."""

    wall = Words("On which wall, by id.")
    over = Words("Over what.")
    height = LengthField(_LEVEL)
    text = SaidLength(SAID, of=attrgetter("height"))
    left = SaidLength("How far above that it begins at its left end.", of=attrgetter("left"))
    right = SaidLength("How far above that it begins at its right end.", of=attrgetter("right"))


class HousePoleSchema(AnsweredSchema):
    """The house's one story pole, on which the courses of all walls are held against its level line."""

    courses = Many("Lower edges of courses, from the lowest.", PoleCourseSchema)
    marks = Many("Floors, sills, heads and tops, from the lowest.", PoleMarkSchema)
    starts = Many("Where the siding of each wall begins.", StartSchema)
    steps = Many("The steps from floor to floor, in words, from the lowest.", Words())
    drawing = Words("The pole, as SVG.", of=lambda pole: svg(draw_house_pole(pole, UNITS.get())))
