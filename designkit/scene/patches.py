"""A furnished space cut into patches, for the exchange of light.

Rooms count as they are: floors, ceilings and walls on any simple outline, with
their openings, and the jambs, soffit and threshold of each passage. What stands
in them counts *by its bounding parts*: each part is an upright box about its
footprint, a disc a square of the same area. Sticks (legs, stems, frames: two of
three sizes small) and open rings are left out, a rug is part of the floor. What
was left out and how far the patches were coarsened stands in `Patches.notes`.

A patch may hold several finishes: it is a cell of a grid, and a window frame or
the edge of a rug may run through it. Its light is one number, its finishes are
kept with their shares.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from designkit.errors import InputError
from designkit.model import Home
from designkit.reference import value
from designkit.scene.bounding import Box, Boxes, Numbers, bounding
from designkit.scene.openings import Hole, Rect, holes, panes
from designkit.scene.solids import Shell, Solid

__all__ = ["Faces", "Level", "Patches", "Upright", "patches_of"]

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
_OFF = 1e-3  # points are tried this far before their face [m]


@dataclass(frozen=True, kw_only=True, eq=False)
class Faces:
    """Flat faces, each with a grid of cells on it."""

    origin: Array  # (f, 3)
    u: Array  # (f, 3), unit
    v: Array  # (f, 3), unit; the normal is towards the room
    normal: Array  # (f, 3)
    length: Array  # (f, 2) [m]
    cells: Ints  # (f, 2)
    first: Ints  # (f,), of its cells in `patch`
    patch: Ints  # of every cell; −1: none

    def at(self, face: Ints, points: Array) -> Ints:
        """The patch of points on faces, −1 where there is none.

        Parameters
        ----------
        face : array (n,)
            Face of each point, −1 for none.
        points : array (n, 3)
            The points. [m]

        Returns
        -------
        array (n,)
            Patch of each point.
        """
        known = np.maximum(face, 0)
        away = points - self.origin[known]
        count, length = self.cells[known], self.length[known]
        i = np.einsum("ij,ij->i", away, self.u[known]) / length[:, 0] * count[:, 0]
        j = np.einsum("ij,ij->i", away, self.v[known]) / length[:, 1] * count[:, 1]
        i = np.clip(i.astype(np.int64), 0, count[:, 0] - 1)
        j = np.clip(j.astype(np.int64), 0, count[:, 1] - 1)
        return np.where(face < 0, -1, self.patch[self.first[known] + i * count[:, 1] + j])

    def between(self, face: Ints, points: Array, values: Array) -> Array:
        """Values of patches, linear between the middles of the cells of a face.

        Parameters
        ----------
        face : array (n,)
            Face of each point; not −1.
        points : array (n, 3)
            The points. [m]
        values : array (k, p)
            Values of the patches.

        Returns
        -------
        array (k, n)
            Values at the points; cells without a patch take no part.
        """
        away = points - self.origin[face]
        count, length = self.cells[face], self.length[face]
        i = np.einsum("ij,ij->i", away, self.u[face]) / length[:, 0] * count[:, 0] - 0.5
        j = np.einsum("ij,ij->i", away, self.v[face]) / length[:, 1] * count[:, 1] - 0.5
        total = np.zeros((len(values), len(points)))
        weight = np.zeros(len(points))
        low_i, low_j = np.floor(i).astype(np.int64), np.floor(j).astype(np.int64)
        for di in (0, 1):
            for dj in (0, 1):
                a = np.clip(low_i + di, 0, count[:, 0] - 1)
                b = np.clip(low_j + dj, 0, count[:, 1] - 1)
                patch = self.patch[self.first[face] + a * count[:, 1] + b]
                part = np.abs(1 - di - (i - low_i)) * np.abs(1 - dj - (j - low_j))
                part = np.where(patch < 0, 0.0, np.maximum(part, 1e-9))
                total += part * values[:, np.maximum(patch, 0)]
                weight += part
        return np.asarray(total / np.maximum(weight, 1e-12), dtype=np.float64)


@dataclass(frozen=True, kw_only=True, eq=False)
class Upright:
    """A wall or jamb that stops rays, open where its passages are."""

    face: int
    start: Array
    along: Array
    length: float
    base: float
    top: float
    through: tuple[Rect, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class Level:
    """A floor, a ceiling, a threshold or a soffit that stops rays."""

    face: int
    shape: Polygon
    height: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Patches:
    """The patches of a furnished space; the same for any finishes."""

    centre: Array  # (p, 3), of its free points [m]
    normal: Array  # (p, 3)
    area: Array  # (p,), that is free [m²]
    face: Ints  # (p,)
    points: Array  # (m, 3), free points, `_OFF` before the face [m]
    first_point: Ints  # (p + 1,), of the points of each patch
    mix_patch: Ints  # shares of labels in patches, as a list
    mix_label: Ints
    mix_share: Array
    labels: int  # how many
    glass: tuple[tuple[Hole, str, Rect, int], ...]  # opening, room, pane, face of its wall
    faces: Faces
    boxes: Boxes
    uprights: tuple[Upright, ...]
    levels: tuple[Level, ...]
    rooms: Shell
    single: bool  # one room: what is met before its walls is its own floor or ceiling
    empty_box: bool  # a rectangular room with nothing in it: exact factors exist
    size: float  # largest side of a patch [m]
    notes: tuple[str, ...]

    def mixed(self, of_label: Array) -> Array:
        """The mean of a value of labels over each patch, as (p,)."""
        shares = self.mix_share * of_label[self.mix_label]
        found = np.bincount(self.mix_patch, weights=shares, minlength=len(self.area))
        return np.asarray(found, dtype=np.float64)


# --- faces ----------------------------------------------------------------------


class _Cutter:
    """Collects faces and cuts them into cells."""

    def __init__(self, size: float) -> None:
        self.size = size
        self.frames: list[tuple[Array, Array, Array, Array, float, float, int, int]] = []
        self.shape: dict[int, Polygon] = {}
        self.plain: dict[int, int] = {}  # face -> its one label
        self.rects: dict[int, list[tuple[Rect, int]]] = {}  # later ones lie over earlier
        self.cut: dict[int, list[Rect]] = {}
        self.over: dict[int, list[tuple[Polygon, int]]] = {}  # rugs

    def add(
        self,
        origin: Array,
        u: Array,
        v: Array,
        normal: Array,
        length: tuple[float, float],
        label: int,
    ) -> int:
        nu, nv = (max(1, math.ceil(side / self.size - 1e-9)) for side in length)
        self.frames.append((origin, u, v, normal, length[0], length[1], nu, nv))
        self.plain[len(self.frames) - 1] = label
        return len(self.frames) - 1

    def arrays(self) -> Faces:
        cells = np.array([f[6:8] for f in self.frames], dtype=np.int64)
        size = cells.prod(axis=1)
        return Faces(
            origin=np.array([f[0] for f in self.frames]),
            u=np.array([f[1] for f in self.frames]),
            v=np.array([f[2] for f in self.frames]),
            normal=np.array([f[3] for f in self.frames]),
            length=np.array([f[4:6] for f in self.frames]),
            cells=cells,
            first=np.cumsum(size) - size,
            patch=np.full(int(size.sum()), -1),
        )


def _shell_faces(
    cutter: _Cutter,
    rooms: Shell,
    numbers: Numbers,
    in_walls: dict[str, list[Hole]],
    rugs: Sequence[tuple[int, Solid]],
    frame_width: float,
) -> tuple[list[Upright], list[Level], list[tuple[Hole, str, Rect, int]]]:
    uprights: list[Upright] = []
    levels: list[Level] = []
    glass: list[tuple[Hole, str, Rect, int]] = []
    x, y, z = np.eye(3)
    for id in rooms.rooms:
        shape, tall = rooms.outlines[id], rooms.heights[id]
        x0, y0, x1, y1 = shape.bounds
        for height, normal, label in ((0.0, z, numbers.floor[id]), (tall, -z, numbers.ceiling[id])):
            face = cutter.add(np.array([x0, y0, height]), x, y, normal, (x1 - x0, y1 - y0), label)
            cutter.shape[face] = shape
            levels.append(Level(face=face, shape=shape, height=height))
            if height == 0:
                cutter.over[face] = [(b.footprint, n) for n, b in rugs if b.room == id]
        for wall in rooms.walls[id]:
            if wall.length <= 0:
                continue
            start = np.array(wall.start, dtype=np.float64)
            along = (np.array(wall.end) - start) / wall.length
            inward = np.array([*wall.inward, 0.0], dtype=np.float64)
            face = cutter.add(
                np.array([*start, 0.0]),
                np.array([*along, 0.0]),
                z,
                inward,
                (wall.length, tall),
                numbers.wall[id, wall.index],
            )
            through: list[Rect] = []
            over: list[tuple[Rect, int]] = []
            for hole in in_walls[id]:
                if hole.wall != wall.index:
                    continue
                label = numbers.frame[id, hole.id]
                if hole.opening.kind == "passage":
                    other = hole.opening.to if hole.own else hole.opening.room
                    if other in rooms.rooms:
                        through.append(hole.rect)
                    else:
                        over.append((hole.rect, 0))
                    continue
                over.append((hole.rect, label))
                for pane in panes(hole, frame_width=frame_width)[0]:
                    over.append((pane, label + 1))
                    if hole.opening.kind != "door":
                        glass.append((hole, id, pane, face))
            cutter.cut[face], cutter.rects[face] = through, over
            uprights.append(
                Upright(
                    face=face,
                    start=start,
                    along=along,
                    length=wall.length,
                    base=0.0,
                    top=tall,
                    through=tuple(through),
                )
            )
    _passages(cutter, rooms, numbers, uprights, levels)
    return uprights, levels, glass


def _passages(
    cutter: _Cutter,
    rooms: Shell,
    numbers: Numbers,
    uprights: list[Upright],
    levels: list[Level],
) -> None:
    """Jambs, soffit and threshold of each passage between two rooms of the scene."""
    z = np.array([0.0, 0.0, 1.0])
    for space in rooms.spaces:
        for at in space.openings:
            opening = at.opening
            if opening.kind != "passage" or at.far:
                continue
            if at.room not in rooms.rooms or at.to not in rooms.rooms or opening.thickness <= 0:
                continue
            wall = numbers.wall[at.room, opening.wall]
            out = -np.array([*at.inward, 0.0])
            left, right = np.array([*at.left, 0.0]), np.array([*at.right, 0.0])
            across = (right - left) / np.linalg.norm(right - left)
            tall = opening.head - opening.sill
            for point, normal in ((left, across), (right, -across)):
                face = cutter.add(
                    point + z * opening.sill, out, z, normal, (opening.thickness, tall), wall
                )
                uprights.append(
                    Upright(
                        face=face,
                        start=point[:2],
                        along=out[:2],
                        length=opening.thickness,
                        base=opening.sill,
                        top=opening.head,
                        through=(),
                    )
                )
            wide = float(np.linalg.norm(right - left))
            for height, normal, label in (
                (opening.sill, z, numbers.floor[at.room]),
                (opening.head, -z, wall),
            ):
                face = cutter.add(
                    left + z * height, across, out, normal, (wide, opening.thickness), label
                )
                cutter.shape[face] = at.strip
                levels.append(Level(face=face, shape=at.strip, height=height))


def _box_faces(cutter: _Cutter, boxes: Sequence[Box]) -> Boxes:
    first = []
    z = np.array([0.0, 0.0, 1.0])
    for box in boxes:
        c, s = box.turn
        a, b = np.array([c, s, 0.0]), np.array([-s, c, 0.0])
        middle, (ha, hb, hz) = np.array(box.middle), box.half
        corner = middle - a * ha - b * hb - z * hz
        first.append(len(cutter.frames))
        cutter.add(corner, b, z, -a, (2 * hb, 2 * hz), box.label)
        cutter.add(corner + 2 * a * ha, b, z, a, (2 * hb, 2 * hz), box.label)
        cutter.add(corner, a, z, -b, (2 * ha, 2 * hz), box.label)
        cutter.add(corner + 2 * b * hb, a, z, b, (2 * ha, 2 * hz), box.label)
        cutter.add(corner, a, b, -z, (2 * ha, 2 * hb), box.label)
        cutter.add(corner + 2 * z * hz, a, b, z, (2 * ha, 2 * hb), box.label)
    n = len(boxes)
    return Boxes(
        middle=np.array([b.middle for b in boxes]).reshape(n, 3),
        half=np.array([b.half for b in boxes]).reshape(n, 3),
        turn=np.array([b.turn for b in boxes]).reshape(n, 2),
        label=np.array([b.label for b in boxes], dtype=np.int64),
        first_face=np.array(first, dtype=np.int64),
    )


def _overlap(low: Array, high: Array, a: float, b: float) -> Array:
    return np.asarray(np.maximum(0.0, np.minimum(high, b) - np.maximum(low, a)), dtype=np.float64)


def _cell_shapes(cutter: _Cutter, face: int) -> NDArray[np.object_]:
    """The cells of a level face as they are cut by its outline, (nu, nv)."""
    origin, u_way, v_way, _, lu, lv, nu, nv = cutter.frames[face]
    u, v = np.linspace(0, lu, nu + 1), np.linspace(0, lv, nv + 1)
    i, j = np.meshgrid(np.arange(nu), np.arange(nv), indexing="ij")
    corners = np.stack(
        [
            origin[:2] + u[i + a, None] * u_way[:2] + v[j + b, None] * v_way[:2]
            for a, b in ((0, 0), (1, 0), (1, 1), (0, 1))
        ],
        axis=2,
    )
    found = shapely.intersection(shapely.polygons(corners), cutter.shape[face])
    return np.asarray(found, dtype=object)


def _slivers(cutter: _Cutter, faces: Faces, held: Ints) -> tuple[Array, Ints, Ints]:
    """One point for each cell of a cut floor or ceiling that no grid point falls in."""
    points, cells, whose = [np.zeros((0, 3))], [], []
    have = np.zeros(len(faces.patch), dtype=np.bool_)
    have[held] = True
    for face in cutter.shape:
        first, count = int(faces.first[face]), int(faces.cells[face].prod())
        empty = np.flatnonzero(~have[first : first + count])
        if not len(empty):
            continue
        shapes = _cell_shapes(cutter, face).ravel()[empty]
        some = shapely.area(shapes) > 1e-6
        at = shapely.get_coordinates(shapely.point_on_surface(shapes[some]))
        height = faces.origin[face][2] + _OFF * faces.normal[face][2]
        points.append(np.column_stack([at, np.full(len(at), height)]))
        cells.append(first + empty[some])
        whose.append(np.full(len(at), face))
    none = [np.zeros(0, dtype=np.int64)]
    return np.concatenate(points), np.concatenate(cells or none), np.concatenate(whose or none)


def _cell_labels(cutter: _Cutter, face: int) -> tuple[Array, dict[int, Array]]:
    """Area of each cell of a face, and of each label in it."""
    *_, lu, lv, nu, nv = cutter.frames[face]
    u, v = np.linspace(0, lu, nu + 1), np.linspace(0, lv, nv + 1)
    cell = np.full((nu, nv), lu * lv / (nu * nv))
    plain = cutter.plain[face]
    shape = cutter.shape.get(face)
    if shape is not None and abs(float(shape.area) - lu * lv) > 1e-9 * lu * lv:
        cell = np.asarray(shapely.area(_cell_shapes(cutter, face)), dtype=np.float64)
    areas: dict[int, Array] = {plain: cell.copy()}
    for a, low, b, high in cutter.cut.get(face, ()):
        hole = np.outer(_overlap(u[:-1], u[1:], a, b), _overlap(v[:-1], v[1:], low, high))
        cell = cell - hole
        areas[plain] = areas[plain] - hole
    for n, (rect, label) in enumerate(cutter.rects.get(face, ())):
        a, low, b, high = rect
        part = np.outer(_overlap(u[:-1], u[1:], a, b), _overlap(v[:-1], v[1:], low, high))
        below = plain
        for other, under in cutter.rects[face][:n]:
            if other[0] <= a + 1e-9 and b <= other[2] + 1e-9 and other[1] <= low + 1e-9:
                below = under if other[3] >= high - 1e-9 else below
        areas[below] = areas[below] - part
        areas[label] = areas.get(label, np.zeros_like(cell)) + part
    for shape_, label in cutter.over.get(face, ()):
        _lay_over(cutter, face, areas, shape_, label)
    return np.maximum(cell, 0.0), areas


def _lay_over(
    cutter: _Cutter, face: int, areas: dict[int, Array], shape: Polygon, label: int
) -> None:
    """A rug takes its part of each cell from the floor; of two, the first counts."""
    origin, _, _, _, lu, lv, nu, nv = cutter.frames[face]
    x, y = origin[0] + np.linspace(0, lu, nu + 1), origin[1] + np.linspace(0, lv, nv + 1)
    i, j = np.meshgrid(np.arange(nu), np.arange(nv), indexing="ij")
    cells = shapely.box(x[i], y[j], x[i + 1], y[j + 1])
    part = np.asarray(shapely.area(shapely.intersection(cells, shape)))
    plain = cutter.plain[face]
    part = np.minimum(part, np.maximum(areas[plain], 0.0))
    areas[plain] = areas[plain] - part
    areas[label] = areas.get(label, np.zeros_like(part)) + part


def _inside_rooms(rooms: Shell, points: Array) -> NDArray[np.bool_]:
    shapely.prepare(rooms.polygon)
    found = np.asarray(shapely.contains_xy(rooms.polygon, points[:, 0], points[:, 1]))
    tall = max(rooms.heights.values())
    return found & (points[:, 2] > 0) & (points[:, 2] < tall)


def _grid_points(faces: Faces) -> tuple[Array, Ints, Ints]:
    """Sub-points of all cells, with the cell and the face of each."""
    found, cells, whose = [], [], []
    for f in range(len(faces.origin)):
        nu, nv = faces.cells[f]
        side = faces.length[f] / faces.cells[f]
        # Three by three: a lamp near a wall needs them (two by two miss its peak).
        k = 2 if side.max() < 0.12 else 3
        a = (np.arange(nu * k) + 0.5) * side[0] / k
        b = (np.arange(nv * k) + 0.5) * side[1] / k
        i, j = np.meshgrid(np.arange(nu * k), np.arange(nv * k), indexing="ij")
        found.append(
            faces.origin[f]
            + np.multiply.outer(a[i.ravel()], faces.u[f])
            + np.multiply.outer(b[j.ravel()], faces.v[f])
            + _OFF * faces.normal[f]
        )
        cells.append(faces.first[f] + (i.ravel() // k) * nv + j.ravel() // k)
        whose.append(np.full(i.size, f))
    return np.concatenate(found), np.concatenate(cells), np.concatenate(whose)


def _free(
    cutter: _Cutter, faces: Faces, boxes: Boxes, rooms: Shell, points: Array, whose: Ints
) -> NDArray[np.bool_]:
    """Which points are in the open: not in a body, not past the walls, not in a passage."""
    free = _inside_rooms(rooms, points)
    free &= ~boxes.inside(points).any(axis=0)
    for face, cut in cutter.cut.items():
        if not cut:
            continue
        mine = np.flatnonzero(whose == face)
        away = points[mine] - faces.origin[face]
        s, z = away @ faces.u[face], away @ faces.v[face]
        for a, low, b, high in cut:
            free[mine] &= ~((s > a) & (s < b) & (z > low) & (z < high))
    return free


def patches_of(
    home: Home,
    bodies: Sequence[Solid],
    *,
    rooms: Shell,
    size: float | None = None,
    most: int | None = None,
) -> Patches:
    """Cut rooms and what stands in them into patches.

    Parameters
    ----------
    home : Home
        Gives its own rules.
    bodies : sequence of Solid
        From `solids`.
    rooms : Shell
        From `shell`.
    size : float, optional
        Largest side of a patch. [m]
    most : int, optional
        Most patches; the size grows until they are so few, and the notes say so.

    Returns
    -------
    Patches
        Free parts of all faces. The light that a patch meets does not depend on
        finishes, so these are not read.

    Raises
    ------
    InputError
        The size is not over 0, or even the coarsest patches are too many.
    """
    want = value("scene.patch.size", home.rules) if size is None else size
    limit = int(value("scene.patch.most", home.rules)) if most is None else most
    if not (math.isfinite(want) and want > 0.02):
        raise InputError("size of a patch", given=f"{want:g} m", allowed="over 0.02 m")
    if limit < 6:
        raise InputError("patches", given=limit, allowed="6 or more", mend="2000 is usual")
    stick = value("scene.patch.stick", home.rules)
    at, small = want, stick
    for _ in range(24):
        made = _cut(home, bodies, rooms, at, small)
        if len(made.area) <= limit:
            break
        grow = max(1.05, min(1.6, math.sqrt(len(made.area) / limit)))
        at, small = at * grow, small * grow
    else:
        raise InputError(
            "patches",
            given=f"{len(made.area)} at {at:.1f} m",
            allowed=f"at most {limit}",
            mend="look at fewer rooms at once",
        )
    if at == want:
        return made
    said = f"patches coarsened from {want:.2f} to {at:.2f} m so that they are at most {limit}"
    return dataclasses.replace(made, notes=(said, *made.notes))


def _cut(home: Home, bodies: Sequence[Solid], rooms: Shell, size: float, stick: float) -> Patches:
    in_walls = holes(rooms)
    numbers = Numbers(bodies, rooms, in_walls)
    rug = value("plan.clear.rug", home.rules)
    held, rugs, left_out, simplified = bounding(bodies, numbers.body, stick=stick, rug=rug)
    cutter = _Cutter(size)
    frame_width = value("palette.frame.width", home.rules)
    uprights, levels, glass = _shell_faces(cutter, rooms, numbers, in_walls, rugs, frame_width)
    boxes = _box_faces(cutter, held)
    faces = cutter.arrays()
    count = len(faces.patch)
    points, cell, whose = _grid_points(faces)
    counted = _counted(cutter, faces, points, whose)
    more, more_cell, more_whose = _slivers(cutter, faces, cell[counted])
    points = np.concatenate([points[counted], more])
    cell = np.concatenate([cell[counted], more_cell])
    whose = np.concatenate([whose[counted], more_whose])
    # Two faces nearer than this hide each other: no light is reckoned between them.
    before = (value("palette.against", home.rules) - _OFF) * faces.normal[whose]
    free = _free(cutter, faces, boxes, rooms, points, whose)
    free[free] = _free(cutter, faces, boxes, rooms, (points + before)[free], whose[free])
    part = np.bincount(cell[free], minlength=count) / np.maximum(
        np.bincount(cell, minlength=count), 1
    )
    areas = np.zeros(count)
    rows: list[tuple[Ints, int, Array]] = []
    for f in range(len(faces.origin)):
        whole, by_label = _cell_labels(cutter, f)
        span = slice(int(faces.first[f]), int(faces.first[f] + whole.size))
        areas[span] = whole.ravel()
        for label, held_area in by_label.items():
            at = np.flatnonzero(held_area.ravel() > 1e-9)
            rows.append((at + span.start, label, held_area.ravel()[at]))
    free_area = areas * part
    kept = np.flatnonzero((free_area > 1e-6) & (part > 0))
    faces.patch[kept] = np.arange(len(kept))
    order = np.argsort(cell[free], kind="stable")
    mine = faces.patch[cell[free][order]]
    good = mine >= 0
    of_patch, open_points = mine[good], points[free][order][good]
    number = np.bincount(of_patch, minlength=len(kept))
    mix_patch = np.concatenate([faces.patch[at] for at, _, _ in rows])
    mix_label = np.concatenate([np.full(len(at), label) for at, label, _ in rows])
    mix_area = np.concatenate([held_area for _, _, held_area in rows])
    seen = mix_patch >= 0
    mix_patch, mix_label, mix_area = mix_patch[seen], mix_label[seen], mix_area[seen]
    total = np.bincount(mix_patch, weights=mix_area, minlength=len(kept))
    face_of_cell = np.repeat(np.arange(len(faces.origin)), faces.cells.prod(axis=1))
    face = face_of_cell[kept]
    centre = (
        np.stack(
            [
                np.bincount(of_patch, weights=open_points[:, k], minlength=len(kept))
                for k in range(3)
            ],
            axis=1,
        )
        / number[:, None]
    )
    notes = ["pieces count by their bounding parts"]
    if left_out:
        notes.append(f"{left_out} thin parts (legs, stems, rings) left out")
    if simplified:
        notes.append(f"{simplified} round or cut parts counted as boxes")
    return Patches(
        centre=centre,
        normal=faces.normal[face],
        area=free_area[kept],
        face=face,
        points=open_points,
        first_point=np.concatenate([[0], np.cumsum(number)]),
        mix_patch=mix_patch,
        mix_label=mix_label,
        mix_share=mix_area / total[mix_patch],
        labels=numbers.count,
        glass=tuple(glass),
        faces=faces,
        boxes=boxes,
        uprights=tuple(uprights),
        levels=tuple(levels),
        rooms=rooms,
        single=len(rooms.rooms) == 1,
        empty_box=_is_box(rooms, boxes, faces, cutter),
        size=size,
        notes=tuple(notes) if len(held) or left_out else (),
    )


def _counted(cutter: _Cutter, faces: Faces, points: Array, whose: Ints) -> NDArray[np.bool_]:
    """Points on their face's own shape, free or not: what the free ones are a share of."""
    counted = np.ones(len(points), dtype=np.bool_)
    for face, shape in cutter.shape.items():
        mine = np.flatnonzero(whose == face)
        shapely.prepare(shape)
        counted[mine] = shapely.contains_xy(shape, points[mine, 0], points[mine, 1])
    for face, cut in cutter.cut.items():
        mine = np.flatnonzero(whose == face)
        away = points[mine] - faces.origin[face]
        s, z = away @ faces.u[face], away @ faces.v[face]
        for a, low, b, high in cut:
            counted[mine] &= ~((s > a) & (s < b) & (z > low) & (z < high))
    return counted


def _is_box(rooms: Shell, boxes: Boxes, faces: Faces, cutter: _Cutter) -> bool:
    if len(rooms.rooms) != 1 or len(boxes.middle) or len(faces.origin) != 6:
        return False
    shape = rooms.outlines[rooms.rooms[0]]
    whole = float(shape.minimum_rotated_rectangle.area)
    upright = all(
        abs(w.inward[0]) < 1e-9 or abs(w.inward[1]) < 1e-9 for w in rooms.walls[rooms.rooms[0]]
    )
    return (
        upright and abs(whole - float(shape.area)) < 1e-9 * whole and not any(cutter.cut.values())
    )
