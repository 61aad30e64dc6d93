"""What is drawn of a walk: lengths, distances, corners, numbers, diagonals, the closing error."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry import Point as Dot
from shapely.geometry.base import BaseGeometry

from designkit.figures import dimensions, ink, marks
from designkit.figures import type as lettering
from designkit.figures.drawing import XY, Line, Primitive, Text
from designkit.model import Point
from designkit.plan.survey import Survey, SurveyWall
from designkit.plan.survey_items import corner
from designkit.units import in_sentence, on_sheet

__all__ = ["Draughts", "OnPaper", "is_whole", "wall_words"]

FAR = (7.0, 12.0, 17.0)  # of a dimension from the outer face, the nearest that is free [mm]
SYMBOL = 2.6  # mm; half of the room that the symbol of a service takes
WALL = 0.2  # m; as thick as walls are drawn


def is_whole(survey: Survey) -> bool:
    """Whether a walk is a room with its openings, and not a line yet.

    Parameters
    ----------
    survey : Survey
        As walked.

    Returns
    -------
    bool
        It closes and nothing is wrong with it.
    """
    return survey.area is not None and not survey.problems


def wall_words(wall: SurveyWall, *, units: str) -> str:
    """The length of a wall for its dimension, or that it is to be measured.

    Parameters
    ----------
    wall : SurveyWall
        As walked.
    units : str
        The project's unit of length.

    Returns
    -------
    str
        As "4120", or "? 2620" where it follows from the others.
    """
    words = on_sheet(round(wall.length, 6), units=units)
    return words if wall.measured else f"? {words}"


@dataclass(frozen=True, kw_only=True, eq=False)
class OnPaper:
    """Where the walk lies on the paper."""

    scale: float
    origin: XY
    width: float  # [mm]
    height: float  # [mm]
    bounds: tuple[float, float, float, float]
    below: tuple[Primitive, ...] = ()
    solid: BaseGeometry = field(default_factory=Polygon)  # walls, openings: no words on these
    swings: tuple[BaseGeometry, ...] = ()

    def paper(self, point: Point) -> XY:
        """A point of the walk on the paper. [mm]

        Parameters
        ----------
        point : Point
            In the frame of the walk. [m]

        Returns
        -------
        XY
            On the paper. [mm]
        """
        k = 1000.0 / self.scale
        return self.origin[0] + point[0] * k, self.origin[1] + point[1] * k


@dataclass(eq=False)
class Draughts:
    """Draws one walk and remembers where words stand."""

    survey: Survey
    base: OnPaper
    pens: ink.Pens
    taken: list[BaseGeometry] = field(default_factory=list)

    def __post_init__(self) -> None:
        whole = is_whole(self.survey)
        points = self.survey.outline if whole else self.survey.walked
        self.points: list[XY] = [self.base.paper(p) for p in points]
        count = len(self.survey.walls)
        self.ends = [
            (self.points[k], self.points[(k + 1) % len(self.points)]) for k in range(count)
        ]
        ring = [*self.points, self.points[0]]
        area = math.fsum(a[0] * b[1] - b[0] * a[1] for a, b in itertools.pairwise(ring))
        self.turn = 1.0 if area >= 0 else -1.0
        self.room = Polygon(self.points) if len(self.points) > 2 else Polygon()
        self.out = WALL * 1000.0 / self.base.scale if whole else 0.0

        if whole:
            k = 1000.0 / self.base.scale
            for one in self.survey.services:  # no words on their symbols
                a, _, way, out, _ = self._frame(one.wall)
                x = a[0] + (way[0] * one.along - out[0] * one.out) * k
                y = a[1] + (way[1] * one.along - out[1] * one.out) * k
                self.taken.append(Dot(x - out[0] * 1.5, y - out[1] * 1.5).buffer(SYMBOL))

    def _frame(self, k: int) -> tuple[XY, XY, XY, XY, float]:
        """Ends of a wall on the paper, its direction, the one out of the room, its length."""
        a, b = self.ends[k]
        long = math.dist(a, b) or 1.0
        way = ((b[0] - a[0]) / long, (b[1] - a[1]) / long)
        return a, b, way, (way[1] * self.turn, -way[0] * self.turn), long

    def _clear(self, shape: BaseGeometry, *, walls: bool = True) -> bool:
        if walls and not self.base.solid.is_empty and self.base.solid.intersects(shape):
            return False
        return not any(other.intersects(shape) for other in self.taken)

    def lines(self) -> list[Primitive]:
        """The walls of a walk that is no room yet; what was left open is dashed."""
        found: list[Primitive] = []
        for k, wall in enumerate(self.survey.walls):
            a, b = self.ends[k]
            if math.dist(a, b) > 1e-6:
                found.append(
                    Line(
                        points=(a, b),
                        weight=1.0 if wall.measured else 0.35,
                        dash=() if wall.measured else (2.4, 1.2),
                        about=f"wall {k + 1}",
                    )
                )
                self.taken.append(LineString([a, b]))
        return found

    def _words(self, wall: SurveyWall, typed: bool) -> str:
        if typed:
            return wall.said
        return wall_words(wall, units=self.survey.units)

    def length(self, wall: SurveyWall, *, typed: bool) -> list[Primitive]:
        """The length of a wall: outside where there is room, else beside it within.

        Parameters
        ----------
        wall : SurveyWall
            As walked.
        typed : bool
            Write what was typed in place of the length.

        Returns
        -------
        list of Primitive
            In painting order.
        """
        a, b, _way, out, _long = self._frame(wall.index)
        if math.dist(a, b) < 1e-6:
            return []
        words = self._words(wall, typed)
        about = f"wall {wall.index + 1}"
        for far in FAR:
            away = self.out + far
            one = (a[0] + out[0] * away, a[1] + out[1] * away)
            two = (b[0] + out[0] * away, b[1] + out[1] * away)
            made = dimensions.between(one, two, words, pens=self.pens, halo=0.0, about=about)
            text = next(item for item in made if isinstance(item, Text))
            shape = shapely.union_all([LineString([one, two]).buffer(1.2), _box(text)])
            if not self._clear(shape):
                continue
            self.taken.append(shape)
            stubs: list[Primitive] = [
                Line(
                    points=(
                        (p[0] + out[0] * (away - 2.5), p[1] + out[1] * (away - 2.5)),
                        (p[0] + out[0] * (away + 1.2), p[1] + out[1] * (away + 1.2)),
                    ),
                    weight=self.pens.dimension,
                    about=about,
                )
                for p in (a, b)
            ]
            return [*made, *stubs]
        return self._within(wall, words)

    def _within(self, wall: SurveyWall, words: str) -> list[Primitive]:
        """Beside the wall, on the room's side, where no dimension line finds room."""
        a, b, way, out, _ = self._frame(wall.index)
        turn = math.degrees(math.atan2(way[1], way[0]))
        while turn > 90.0001:
            turn -= 180
        while turn <= -89.9999:
            turn += 180
        up = (-math.sin(math.radians(turn)), math.cos(math.radians(turn)))
        inner = (-out[0], -out[1])
        away = 1.6 if up[0] * inner[0] + up[1] * inner[1] > 0 else 1.6 + ink.NAME
        best: Text | None = None
        shares = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.15, 0.85)
        for more, share in itertools.product((0.0, 3.0, 6.0), shares):
            x = a[0] + (b[0] - a[0]) * share + inner[0] * (away + more)
            y = a[1] + (b[1] - a[1]) * share + inner[1] * (away + more)
            text = Text(
                at=(x, y), text=words, size=ink.NAME, anchor="middle", rotation=round(turn, 6),
                halo=0.6, about=f"wall {wall.index + 1}",
            )  # fmt: skip
            best = best or text
            if self._clear(_box(text), walls=False):
                best = text
                break
        assert best is not None
        self.taken.append(_box(best))
        return [best]

    def stops(self, wall: SurveyWall) -> list[Primitive]:
        """Distances of the openings along a wall, between its corners.

        Parameters
        ----------
        wall : SurveyWall
            As walked.

        Returns
        -------
        list of Primitive
            Nothing where the wall has no opening.
        """
        here = sorted(
            (one for one in self.survey.openings if one.wall == wall.index),
            key=lambda one: one.offset,
        )
        if not here:
            return []
        marks_m = [0.0]
        for one in here:
            marks_m += [one.offset, one.offset + one.width]
        marks_m.append(wall.length)
        for away in (self.out + FAR[0], self.out + FAR[1], -FAR[1], -FAR[2]):
            found, shape, clear = self._chain(wall, marks_m, away)
            if clear:
                break
        self.taken.append(shape)
        return found

    def _chain(
        self, wall: SurveyWall, marks_m: Sequence[float], away: float
    ) -> tuple[list[Primitive], BaseGeometry, bool]:
        """The chain at a distance from its wall, where it is, and whether its words are clear."""
        a, _, way, out, _ = self._frame(wall.index)
        k = 1000.0 / self.base.scale
        found: list[Primitive] = []
        shapes: list[BaseGeometry] = []
        said = [
            (low, high, on_sheet(round(high - low, 6), units=self.survey.units))
            for low, high in itertools.pairwise(marks_m)
            if high - low >= 1e-4
        ]

        def narrow(row: tuple[float, float, str]) -> bool:
            return (row[1] - row[0]) * k < lettering.advance(row[2], size=ink.NAME) + 1.0

        for low, high, words in sorted(said, key=narrow):  # what fits its stretch comes first
            ends = [
                (a[0] + way[0] * n * k + out[0] * away, a[1] + way[1] * n * k + out[1] * away)
                for n in (low, high)
            ]
            if narrow((low, high, words)):
                words = self._beside(words, ends, found, shapes)
            made = dimensions.between(ends[0], ends[1], words, pens=self.pens, halo=0.0)
            found += made
            shapes += [_box(item) for item in made if isinstance(item, Text)]
            shapes.append(LineString(ends).buffer(1.0))
        words_at = [_box(item) for item in found if isinstance(item, Text)]
        clear = all(self._clear(box) for box in words_at)
        return found, shapely.union_all(shapes), clear

    def _beside(
        self,
        words: str,
        ends: Sequence[XY],
        found: list[Primitive],
        shapes: list[BaseGeometry],
    ) -> str:
        """Words that are wider than their stretch stand on the other side of the line."""
        dx, dy = ends[1][0] - ends[0][0], ends[1][1] - ends[0][1]
        turn = math.degrees(math.atan2(dy, dx))
        while turn > 90.0001:
            turn -= 180
        while turn <= -89.9999:
            turn += 180
        up = (-math.sin(math.radians(turn)), math.cos(math.radians(turn)))
        middle = ((ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2)
        wide = lettering.advance(words, size=ink.NAME)
        near, far = -(ink.NAME + 1.3), -(ink.NAME * 2 + 2.0)
        places = [(near, 0.0), (near, 0.7), (near, -0.7), (far, 0.0), (far, 0.7), (far, -0.7)]
        for low, aside in places:
            text = Text(
                at=(
                    middle[0] + up[0] * low + up[1] * aside * wide,
                    middle[1] + up[1] * low - up[0] * aside * wide,
                ),
                text=words,
                size=ink.NAME,
                anchor="middle",
                rotation=round(turn, 6),
            )
            box = _box(text)
            if not any(box.intersects(shape) for shape in shapes) and self._clear(box):
                found.append(text)
                shapes.append(box)
                return ""
        return words

    def corners(self) -> list[Primitive]:
        """Letters of the corners, in the room; the first says that the walk begins there."""
        found: list[Primitive] = []
        for k, at in enumerate(self.points):
            if k == len(self.survey.walls) and not is_whole(self.survey):
                continue  # where one arrived, which the gap tells
            words = corner(k)
            spot = self._near_corner(k, at, words)
            text = Text(
                at=spot, text=words, size=2.2, weight="semibold", anchor="middle", halo=0.5,
                about=f"corner {words}",
            )  # fmt: skip
            self.taken.append(_box(text))
            found.append(text)
        return found

    def _near_corner(self, k: int, at: XY, words: str) -> XY:
        best: XY | None = None
        for far in (4.0, 5.5, 7.0, 9.0):
            for step in range(16):
                angle = math.radians(45 + step * 22.5)
                spot = (at[0] + far * math.cos(angle), at[1] + far * math.sin(angle) - 1.1)
                box = _box(Text(at=spot, text=words, size=2.2, anchor="middle")).buffer(0.8)
                within = self.room.is_empty or self.room.contains(box)
                if within and self._clear(box) and not self._swung(box):
                    return spot
                if best is None and self._clear(box):
                    best = spot
        return best or (at[0] + 4.0, at[1] + 4.0)

    def _swung(self, box: BaseGeometry) -> bool:
        return any(swing.boundary.intersects(box) for swing in self.base.swings)

    def numbers(self) -> list[Primitive]:
        """Numbers of the walls in circles, on the room's side."""
        found: list[Primitive] = []
        for wall in self.survey.walls:
            a, b, _way, out, _long = self._frame(wall.index)
            if math.dist(a, b) < 1e-6:
                continue
            spot = None
            for far in (4.6, 7.0, 9.5, 12.5):
                for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9):
                    x = a[0] + (b[0] - a[0]) * share - out[0] * far
                    y = a[1] + (b[1] - a[1]) * share - out[1] * far
                    disc = Dot(x, y).buffer(marks.KEYED / 2 + 0.5)
                    if self._clear(disc) and not self._swung(disc):
                        spot = (x, y)
                        break
                if spot is not None:
                    break
            spot = spot or (
                (a[0] + b[0]) / 2 - out[0] * 4.6,
                (a[1] + b[1]) / 2 - out[1] * 4.6,
            )
            self.taken.append(Dot(spot).buffer(marks.KEYED / 2))
            found += marks.keyed(
                spot, wall.index + 1, colour=ink.INK, about=f"wall {wall.index + 1}"
            )
        return found

    def diagonals(self) -> list[Primitive]:
        """Measured diagonals; one that does not agree in the colour of findings."""
        found: list[Primitive] = []
        if not is_whole(self.survey):
            return found
        for one in self.survey.diagonals:
            a, b = (self.points[k] for k in one.corners)
            colour = ink.INK if one.agrees else ink.ACCENT
            words = on_sheet(round(one.measured, 6), units=self.survey.units)
            found.append(
                Line(points=(a, b), weight=self.pens.zone, dash=self.pens.dash_sight, ink=colour)
            )
            text = self._on_line(a, b, words, colour)
            self.taken.append(_box(text))
            found.append(text)
        return found

    def _on_line(self, a: XY, b: XY, words: str, colour: str) -> Text:
        turn = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
        turn = (turn + 90.0001) % 180.0 - 90.0001
        up = (-math.sin(math.radians(turn)), math.cos(math.radians(turn)))
        for share in (0.5, 0.35, 0.65, 0.25, 0.75):
            text = Text(
                at=(
                    a[0] + (b[0] - a[0]) * share + up[0] * 0.9,
                    a[1] + (b[1] - a[1]) * share + up[1] * 0.9,
                ),
                text=words,
                size=ink.NAME,
                anchor="middle",
                rotation=round(turn, 6),
                ink=colour,
                halo=0.6,
            )
            if self._clear(_box(text)):
                break
        return text

    def gap(self) -> list[Primitive]:
        """From where one arrived back to where one began."""
        survey = self.survey
        if survey.error_length < 5e-4 or len(survey.walls) < 2:
            return []
        end = self.base.paper(survey.walked[-1])
        start = self.base.paper(survey.walked[0])
        words = in_sentence(round(survey.error_length, 6), units=survey.units)
        if is_whole(survey):
            # too small to be drawn to scale: said where the walk began
            at = self.points[0]
            return self._note(at, f"closing error {words}")
        if math.dist(start, end) < lettering.advance(words, size=ink.NAME) + 6.0:
            return [
                Line(points=(end, start), weight=0.5, ink=ink.ACCENT),
                *self._note(end, f"{words} apart"),
            ]
        text = self._on_line(end, start, words, ink.ACCENT)
        return [
            Line(points=(end, start), weight=0.35, ink=ink.ACCENT, dash=(2.4, 1.2)),
            text,
        ]

    def _note(self, at: XY, words: str) -> list[Primitive]:
        wide = lettering.advance(words, size=ink.NAME)
        options = [
            (at[0] + dx, at[1] + dy)
            for dy in (-8.0, -12.0, 8.0, -18.0, 12.0)
            for dx in (-wide - 4.0, 5.0, -wide / 2)
        ]
        for x, y in options:
            text = Text(at=(x, y), text=words, size=ink.NAME, ink=ink.ACCENT, halo=0.6)
            inside = 1.0 < x < self.base.width - wide - 1.0
            if inside and self._clear(_box(text)):
                break
        self.taken.append(_box(text))
        end = (x + (wide + 1.0 if x < at[0] - wide / 2 else -1.0), y + ink.NAME / 2)
        return [*marks.leader(at, end, colour=ink.ACCENT), text]

    def name(self, name: str) -> list[Primitive]:
        """What the room is called, its floor and its height, in its middle.

        Parameters
        ----------
        name : str
            Of the room.

        Returns
        -------
        list of Primitive
            Nothing where there is no room for words.
        """
        survey = self.survey
        assert survey.area is not None
        rows = [name, in_sentence(survey.area, kind="area", units=survey.units)]
        high = survey.height
        said = "height to measure" if high is None else f"height {_high(high, survey.units)}"
        rows.append(said)
        points = [self.room.representative_point(), self.room.centroid]
        x0, y0, x1, y1 = self.room.bounds
        points += [
            Dot(x0 + (x1 - x0) * i / 12, y0 + (y1 - y0) * j / 12)
            for j in range(2, 11)
            for i in range(2, 11)
        ]
        centre = self.room.centroid
        points[2:] = sorted(points[2:], key=lambda p: p.distance(centre))
        for point in points:
            texts = _block(rows, (point.x, point.y))
            box = shapely.union_all([_box(t) for t in texts]).envelope.buffer(0.8)
            if self.room.contains(box) and self._clear(box) and not self._swung(box):
                return list(texts)
        return []


def _high(height: float, units: str) -> str:
    return on_sheet(round(height, 6), units=units)


def _block(rows: Sequence[str], at: XY) -> list[Text]:
    return [
        Text(
            at=(at[0], at[1] + (1 - k) * 3.8 - 1.0),
            text=words,
            size=2.5 if k == 0 else ink.NAME,
            italic=k == 0,
            anchor="middle",
            halo=0.6,
        )
        for k, words in enumerate(rows)
    ]


def _box(text: Text) -> Polygon:
    return Polygon(lettering.box(text))
