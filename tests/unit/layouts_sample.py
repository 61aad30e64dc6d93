"""Rooms and pieces on which proposals are tried: our own, the duplex rooms, the demos."""

from __future__ import annotations

import json
import math
from pathlib import Path

from designkit.model import Brief, Chairs, Column, Home, Opening, Person, Piece, Room

DATA = Path(__file__).parents[1] / "reference" / "data"
Points = list[tuple[float, float]]

PIECES: dict[str, Piece] = {
    "sofa": Piece(name="sofa", kind="sofa", size=(2.1, 0.92, 0.80)),
    "small_sofa": Piece(name="small sofa", kind="sofa", size=(1.6, 0.85, 0.80)),
    "armchair": Piece(name="armchair", kind="armchair", size=(0.75, 0.80, 0.78)),
    "low_table": Piece(name="low table", kind="low table", size=(1.0, 0.6, 0.40)),
    "side_table": Piece(
        name="side table", kind="side table", size=(0.45, 0.45, 0.52), shape="circle"
    ),
    "cabinet": Piece(name="low cabinet", kind="low cabinet", size=(1.5, 0.42, 0.50)),
    "sideboard": Piece(name="sideboard", kind="sideboard", size=(1.5, 0.45, 0.78)),
    "bookcase": Piece(name="bookcase", kind="bookcase", size=(0.9, 0.32, 2.0)),
    "table": Piece(
        name="dining table",
        kind="dining table",
        size=(1.4, 0.85, 0.74),
        chairs=Chairs(piece="chair", front=2, back=2),
    ),
    "round_table": Piece(
        name="round table",
        kind="dining table",
        size=(1.1, 1.1, 0.74),
        shape="circle",
        chairs=Chairs(piece="chair", around=4),
    ),
    "chair": Piece(name="chair", kind="chair", size=(0.45, 0.50, 0.82)),
    "bed": Piece(name="bed", kind="bed", size=(1.6, 2.05, 1.0)),
    "narrow_bed": Piece(name="narrow bed", kind="bed", size=(0.9, 2.05, 0.9)),
    "bedside": Piece(name="bedside table", kind="bedside table", size=(0.42, 0.40, 0.50)),
    "wardrobe": Piece(name="wardrobe", kind="wardrobe", size=(1.5, 0.60, 2.2)),
    "chest": Piece(name="chest", kind="chest of drawers", size=(0.9, 0.46, 0.85)),
    "desk": Piece(name="desk", kind="desk", size=(1.3, 0.65, 0.74)),
    "desk_chair": Piece(name="desk chair", kind="desk chair", size=(0.58, 0.58, 0.9)),
    "plant": Piece(name="plant", kind="plant", size=(0.5, 0.5, 1.4), shape="circle"),
    "lamp": Piece(name="floor lamp", kind="floor lamp", size=(0.4, 0.4, 1.5), shape="circle"),
}
LIVING = ["sofa", "low_table", "armchair", "cabinet"]
DINING = ["table", "sideboard"]
SLEEPING = ["bed", "bedside", "bedside", "wardrobe"]
WORKING = ["desk", "desk_chair", "bookcase"]


def door(wall: int, offset: float, *, width: float = 0.9, **more: object) -> Opening:
    values: dict[str, object] = {
        "room": "r",
        "kind": "door",
        "hinge": "left",
        "swing": "out",
        "to": "hall",
        "head": 2.05,
        "clear_width": width - 0.08,
    }
    return Opening(wall=wall, offset=offset, width=width, **{**values, **more})  # type: ignore[arg-type]


def window(wall: int, offset: float, width: float, **more: object) -> Opening:
    values: dict[str, object] = {"room": "r", "kind": "window", "sill": 0.85, "head": 2.2}
    return Opening(wall=wall, offset=offset, width=width, **{**values, "to": "outside", **more})  # type: ignore[arg-type]


def home(
    outline: Points,
    openings: list[Opening],
    *,
    columns: tuple[Column, ...] = (),
    use: str = "living",
    rooms: dict[str, Room] | None = None,
    brief: Brief | None = None,
    rules: dict[str, float] | None = None,
) -> Home:
    room = Room(name="room", outline=tuple(outline), height=2.6, columns=columns, use=use)
    return Home(
        name="a room",
        rooms={"r": room, **(rooms or {})},
        openings={f"o{i}": o for i, o in enumerate(openings)},
        pieces=PIECES,
        brief=brief or Brief(),
        rules=rules or {},
    )


def rect(width: float, depth: float) -> Points:
    return [(0.0, 0.0), (width, 0.0), (width, depth), (0.0, depth)]


def turned(points: Points, angle: float) -> Points:
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return [(c * x - s * y, s * x + c * y) for x, y in points]


def arc(cx: float, cy: float, r: float, start: float, end: float, count: int) -> Points:
    return [
        (
            cx + r * math.cos(math.radians(start + (end - start) * k / count)),
            cy + r * math.sin(math.radians(start + (end - start) * k / count)),
        )
        for k in range(count + 1)
    ]


def synthetic() -> dict[str, tuple[Home, str, list[str]]]:
    """Twenty-two spaces of our own: a home, the space, the pieces."""
    out: dict[str, tuple[Home, str, list[str]]] = {}

    def add(id: str, where: Home, pieces: list[str], space: str = "r") -> None:
        out[id] = (where, space, pieces)

    add("plain", home(rect(5.0, 4.0), [door(3, 0.4), window(1, 1.0, 2.0)]), LIVING)
    add(
        "two doors",
        home(rect(6.0, 3.8), [door(3, 0.4), door(1, 2.4, to="kitchen"), window(0, 2.0, 2.4)]),
        [*LIVING, "table"],
    )
    add(
        "ell",
        home(
            [(0, 0), (6.5, 0), (6.5, 3.6), (3.4, 3.6), (3.4, 6.2), (0, 6.2)],
            [door(4, 0.6), door(2, 0.5, to="kitchen"), window(0, 2.0, 2.5)],
        ),
        [*LIVING, "armchair", *DINING],
    )
    add(
        "tee",
        home(
            [(0, 3), (2, 3), (2, 0), (5, 0), (5, 3), (7, 3), (7, 6.4), (0, 6.4)],
            [door(2, 0.9), window(6, 2.0, 3.0), window(1, 1.0, 1.2)],
        ),
        [*LIVING, "table", "bookcase"],
    )
    add(
        "ewe",
        home(
            [(0, 0), (3, 0), (3, 3), (5, 3), (5, 0), (8, 0), (8, 5.5), (0, 5.5)],
            [door(0, 0.4), door(4, 1.6, to="kitchen"), window(6, 1.0, 2.0), window(6, 5.0, 2.0)],
        ),
        [*LIVING, *DINING],
    )
    add(
        "skewed",
        home([(0, 0), (5.2, 0.5), (5.6, 4.6), (-0.4, 4.2)], [door(3, 0.5), window(1, 1.0, 2.0)]),
        [*LIVING, "bookcase"],
    )
    add(
        "trapeze",
        home([(0, 0), (6.4, 0), (5.0, 3.9), (1.0, 3.9)], [door(0, 0.3), window(2, 1.0, 2.0)]),
        [*LIVING, "lamp"],
    )
    add(
        "cut corner",
        home([(0, 0), (5, 0), (5, 2.8), (3.8, 4.2), (0, 4.2)], [door(4, 0.4), window(2, 0.3, 1.2)]),
        LIVING,
    )
    add(
        "hexagon",
        home(
            [(1.6, 0), (4.6, 0), (6.2, 2.6), (4.6, 5.2), (1.6, 5.2), (0, 2.6)],
            [door(0, 0.5), window(3, 0.5, 2.0)],
        ),
        ["sofa", "low_table", "armchair", "armchair"],
    )
    add(
        "bay",
        home(
            [(0, 0), *arc(2.5, 0, 1.4, 180, 360, 16), (5, 0), (5, 4.4), (0, 4.4)],
            [door(19, 3.0), window(18, 1.4, 1.6)],
        ),
        LIVING,
    )
    add(
        "round end",
        home(
            [*arc(4.0, 2.0, 2.0, -90, 90, 18), (0, 4.0), (0, 0)],
            [door(19, 1.0), window(18, 1.4, 1.6)],
        ),
        ["sofa", "low_table", "armchair"],
    )
    add(
        "column",
        home(
            rect(6.0, 5.0),
            [door(3, 0.4), window(1, 1.4, 2.2)],
            columns=(Column(at=(3.0, 2.6), size=(0.4, 0.4)),),
        ),
        [*LIVING, "table"],
    )
    add(
        "two columns",
        home(
            rect(7.2, 4.6),
            [door(3, 0.5), door(1, 0.4, to="kitchen"), window(2, 1.5, 3.0)],
            columns=(
                Column(at=(2.4, 2.3), size=(0.35, 0.35), shape="circle"),
                Column(at=(4.8, 2.3), size=(0.35, 0.35), shape="circle"),
            ),
        ),
        [*LIVING, *DINING],
    )
    add(
        "chimney breast",
        home(
            rect(5.4, 4.2),
            [door(2, 0.5), window(0, 1.6, 1.8)],
            columns=(Column(at=(0.2, 2.1), size=(0.4, 1.5)),),
        ),
        ["sofa", "low_table", "armchair", "armchair", "bookcase"],
    )
    second = Room(name="back room", outline=((4.2, 0), (8.0, 0), (8.0, 4), (4.2, 4)), height=2.6)
    add(
        "two rooms",
        home(
            rect(4.0, 4.0),
            [
                door(3, 1.4),
                Opening(room="r", wall=1, offset=1.1, width=1.8, head=2.2, kind="passage",
                        to="s", thickness=0.2),
                window(0, 1.0, 2.0),
                window(0, 1.0, 2.0, room="s"),
            ],
            rooms={"s": second},
        ),
        [*LIVING, "table"],
        "r+s",
    )  # fmt: skip
    add(
        "corridor",
        home(rect(8.0, 3.0), [door(3, 0.4), door(1, 1.6, to="kitchen"), window(0, 3.0, 2.0)]),
        ["small_sofa", "low_table", "armchair", "cabinet", "bookcase"],
    )
    add("bedroom", home(rect(3.6, 3.6), [door(3, 2.4), window(1, 0.9, 1.6)]), SLEEPING)
    add(
        "bedroom ell",
        home(
            [(0, 0), (4.2, 0), (4.2, 3.0), (2.2, 3.0), (2.2, 4.6), (0, 4.6)],
            [door(3, 0.4), window(0, 1.4, 1.6)],
        ),
        [*SLEEPING, "chest"],
    )
    add("study", home(rect(3.2, 2.9), [door(3, 1.9), window(1, 0.6, 1.6)]), WORKING)
    add(
        "guest and work",
        home(rect(4.0, 3.2), [door(2, 0.3), window(0, 1.1, 1.8)]),
        ["narrow_bed", "bedside", "desk", "desk_chair", "chest"],
    )
    add(
        "turned",
        home(turned(rect(5.4, 4.2), 30.0), [door(3, 0.4), window(1, 1.0, 2.0)]),
        [*LIVING, "bookcase"],
    )
    add(
        "hall of doors",
        home(
            rect(8.5, 5.5),
            [
                door(3, 0.6),
                door(3, 4.0, to="bath"),
                door(1, 0.6, to="kitchen"),
                door(2, 6.4, to="bedroom"),
                window(0, 2.5, 3.0, view="garden"),
            ],
        ),
        [*LIVING, "armchair", *DINING, "bookcase", "plant"],
    )
    eight = [*LIVING, "armchair", *DINING, "bookcase"]
    add(
        "open plan",
        home(
            rect(7.6, 4.6),
            [door(3, 0.5), door(1, 0.5, to="kitchen"), window(2, 1.0, 2.4), window(2, 4.6, 2.0)],
        ),
        eight,
    )
    add(
        "wide ell",
        home(
            [(0, 0), (7.0, 0), (7.0, 4.0), (3.6, 4.0), (3.6, 7.0), (0, 7.0)],
            [door(4, 1.4), door(2, 0.5, to="kitchen"), window(0, 2.4, 2.5, view="garden")],
        ),
        eight,
    )
    add(
        "leaning",
        home(
            [(0, 0), (7.4, 0.6), (7.0, 5.2), (-0.3, 4.8)],
            [door(3, 0.6), door(1, 0.5, to="kitchen"), window(2, 2.0, 2.6)],
        ),
        eight,
    )
    add(
        "nine in a tee",
        home(
            [(0, 3), (2.4, 3), (2.4, 0), (5.6, 0), (5.6, 3), (8, 3), (8, 7), (0, 7)],
            [door(2, 1.1), door(4, 0.8, to="kitchen"), window(6, 2.0, 3.6)],
        ),
        [*eight, "lamp"],
    )
    add(
        "ten in a hall",
        home(
            rect(9.0, 5.0),
            [
                door(3, 0.6),
                door(1, 0.6, to="kitchen"),
                door(2, 7.4, to="garden"),
                window(0, 1.5, 2.4),
                window(0, 5.2, 2.4),
            ],
        ),
        [*eight, "side_table", "plant"],
    )
    add(
        "child's window",
        home(
            rect(5.2, 4.0),
            [door(3, 0.4), window(1, 1.0, 2.0, leaf="inward", drop_outside=6.0)],
            brief=Brief(people=(Person(role="child", age=4),)),
        ),
        [*LIVING, "round_table"],
    )
    return out


def duplex() -> dict[str, tuple[Home, str, list[str]]]:
    """The rooms of the duplex apartment (attribution in the data file)."""
    rooms = json.loads((DATA / "duplex_rooms.json").read_text(encoding="utf-8"))["rooms"]
    pieces = {
        "Living Room": [*LIVING, "armchair", "bookcase"],
        "Kitchen": ["round_table", "sideboard"],
        "Bedroom 1": [*SLEEPING, "desk", "desk_chair"],
        "Bedroom 2": [*SLEEPING, "desk", "desk_chair"],
    }
    out: dict[str, tuple[Home, str, list[str]]] = {}
    for room in rooms:
        outline: Points = [tuple(p) for p in room["polygon_m"]]
        openings = []
        for entry in room["doors"]:
            wall, offset, width = _on_wall(outline, entry["a"], entry["b"])
            openings.append(
                Opening(
                    room="r", wall=wall, offset=offset, width=width, head=2.1, kind="door",
                    to="hall", hinge="left", swing="in", clear_width=width - 0.06,
                )
            )  # fmt: skip
        for entry in room["windows"]:
            wall, offset, width = _on_wall(outline, entry["a"], entry["b"])
            openings.append(window(wall, offset, width, sill=entry["sill_m"], head=entry["head_m"]))
        out[room["id"]] = (home(outline, openings), "r", pieces[room["name"]])
    return out


def _on_wall(outline: Points, a: list[float], b: list[float]) -> tuple[int, float, float]:
    """Wall, offset and width of an opening between two points of an outline."""
    for wall, start in enumerate(outline):
        end = outline[(wall + 1) % len(outline)]
        long = math.dist(start, end)
        u = ((end[0] - start[0]) / long, (end[1] - start[1]) / long)
        off, t = [], []
        for p in (a, b):
            rel = (p[0] - start[0], p[1] - start[1])
            off.append(abs(rel[0] * u[1] - rel[1] * u[0]))
            t.append(rel[0] * u[0] + rel[1] * u[1])
        if max(off) < 1e-3 and min(t) > -1e-3 and max(t) < long + 1e-3:
            return wall, max(0.0, min(t)), min(abs(t[1] - t[0]), long - max(0.0, min(t)))
    raise AssertionError(f"{a} to {b} is on no wall")


def demos() -> dict[str, tuple[Home, str, list[str]]]:
    """The two demo projects, with the pieces of their first layout."""
    from designkit.project.reading import read

    root = Path(__file__).parents[2] / "data"
    out: dict[str, tuple[Home, str, list[str]]] = {}
    for folder, space in (("harbour-flat", "living"), ("parlor-floor", "parlor")):
        where = read(root / folder).project.home
        layout = where.layouts[where.layout]
        pieces = [
            id
            for id, p in layout.pieces.items()
            if not id.startswith("hall") and where.pieces[p.item or id].mount == "floor"
        ]
        out[folder] = (where, space, pieces)
    return out


def every() -> dict[str, tuple[Home, str, list[str]]]:
    """All of them."""
    return {**synthetic(), **duplex(), **demos()}
