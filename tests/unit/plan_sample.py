"""An invented home of two rooms and a hall for the tests of the plan."""

from __future__ import annotations

from designkit.model import (
    Brief,
    Chairs,
    Column,
    Fixture,
    Home,
    Known,
    Lamp,
    Layout,
    Opening,
    Person,
    Piece,
    Placement,
    Room,
    Service,
)

SURE = Known(source="measured", within=0.0)


def sample(**changes: object) -> Home:
    """Living and dining in an L, a hall behind a passage, a bedroom behind a door."""
    living = (
        (0, 0),
        (7.9, 0),
        (7.9, 3.7),
        (4.7, 3.7),
        (4.7, 3.85),
        (3.0, 3.85),
        (3.0, 5.2),
        (0, 5.2),
    )
    rooms = {
        "living": Room(
            name="living and dining",
            outline=living,
            height=2.7,
            columns=(Column(at=(3.0, 1.9), size=(0.18, 0.18), shape="circle"),),
            known=SURE,
        ),
        "hall": Room(
            name="hall", outline=((3.15, 4.0), (5.4, 4.0), (5.4, 6.0), (3.15, 6.0)), height=2.7
        ),
        "bedroom": Room(
            name="bedroom", outline=((5.6, 4.0), (5.6, 7.4), (9.4, 7.4), (9.4, 4.0)), height=2.7
        ),
    }
    openings = {
        "way": Opening(
            room="living", wall=4, offset=0.1, width=1.1, head=2.3, kind="passage", to="hall",
            thickness=0.15,
        ),
        "balcony": Opening(
            room="living", wall=0, offset=0.7, width=1.1, head=2.3, kind="balcony", to="balcony",
            hinge="right", swing="in", thickness=0.4,
        ),
        "window": Opening(
            room="living", wall=0, offset=3.5, width=3.2, sill=0.9, head=2.3, kind="window",
            to="outside", leaf="tilt-turn", leaves=3, thickness=0.4, view="canal",
            drop_outside=8.0,
        ),
        "bed door": Opening(
            room="hall", wall=1, offset=0.6, width=0.95, head=2.1, kind="door", to="bedroom",
            hinge="left", swing="out", thickness=0.2,
        ),
        "front": Opening(
            room="hall", wall=2, offset=0.6, width=1.0, head=2.1, kind="door", to="stair",
            hinge="right", swing="in", thickness=0.3,
        ),
    }  # fmt: skip
    services = {
        "panel": Service(
            room="living", kind="panel", at=(3.0, 4.3), height=1.5, size=(0.4, 0.1, 0.6),
            clear=(0.8, 1.0),
        ),
        "radiator": Service(
            room="living", kind="radiator", at=(5.1, 0.0), height=0.1, size=(2.0, 0.1, 0.6)
        ),
        "outlet": Service(room="living", kind="ceiling outlet", at=(4.0, 2.6), height=2.7),
    }  # fmt: skip
    pieces = {
        "sofa": Piece(name="sofa", kind="sofa", size=(2.2, 0.95, 0.78), seat_height=0.42),
        "armchair": Piece(name="armchair", kind="armchair", size=(0.8, 0.82, 0.74)),
        "low": Piece(name="low table", kind="low table", size=(0.9, 0.9, 0.38), shape="circle"),
        "side": Piece(
            name="side table", kind="side table", size=(0.45, 0.45, 0.52), shape="circle"
        ),
        "books": Piece(name="bookcase", kind="bookcase", size=(2.0, 0.35, 2.2), anchored=True),
        "table": Piece(
            name="dining table", kind="dining table", size=(1.8, 0.9, 0.74),
            chairs=Chairs(piece="chair", front=3, back=3),
        ),
        "chair": Piece(name="chair", kind="chair", size=(0.46, 0.5, 0.8), seat_height=0.46),
        "board": Piece(name="sideboard", kind="sideboard", size=(1.8, 0.45, 0.76), anchored=True),
        "rug": Piece(
            name="rug", kind="rug", size=(2.8, 2.1, 0.012), finishes={"border": "black wool"}
        ),
        "lamp": Piece(name="table lamp", kind="table lamp", size=(0.3, 0.3, 0.5)),
        "picture": Piece(name="picture", kind="picture", size=(0.9, 0.03, 0.6)),
        "bed": Piece(name="bed", kind="bed", size=(1.6, 2.05, 1.0)),
        "night": Piece(name="bedside table", kind="bedside table", size=(0.45, 0.4, 0.5)),
        "chest": Piece(
            name="chest", kind="chest of drawers", size=(1.0, 0.48, 0.85), anchored=True
        ),
    }  # fmt: skip
    layout = Layout(
        name="A",
        pieces={
            "rug": Placement(at=(5.9, 2.2)),
            "sofa": Placement(at=(6.0, 3.2)),
            "armchair": Placement(at=(4.3, 1.9), rotation=70.0),
            "low": Placement(at=(6.0, 1.85)),
            "side": Placement(at=(7.4, 3.4)),
            "books": Placement(at=(7.7, 2.0), rotation=270.0),
            "table": Placement(at=(1.45, 3.0), rotation=90.0),
            "board": Placement(at=(1.2, 4.97)),
            "lamp": Placement(at=(0.6, 4.97), on="board"),
            "picture": Placement(at=(6.0, 3.685)),
            "bed": Placement(at=(7.6, 6.375)),
            "night1": Placement(at=(6.5, 7.2), item="night"),
            "night2": Placement(at=(8.7, 7.2), item="night"),
            "chest": Placement(at=(8.6, 4.24), rotation=180.0),
        },
        lamps={
            "pendant": Lamp(fixture="shade", at=(1.45, 3.0), over="table"),
            "reading": Lamp(fixture="reader", at=(4.9, 3.4)),
        },
    )
    values: dict[str, object] = {
        "name": "sample",
        "rooms": rooms,
        "openings": openings,
        "services": services,
        "pieces": pieces,
        "fixtures": {
            "shade": Fixture(name="pendant", kind="pendant", size=(0.5, 0.5, 0.3), mass=3.0),
            "reader": Fixture(name="floor lamp", kind="floor lamp", size=(0.42, 0.42, 1.55)),
        },
        "layouts": {"a": layout},
        "layout": "a",
        "brief": Brief(people=(Person(role="adult"), Person(role="child", age=4))),
    }
    return Home(**{**values, **changes})  # type: ignore[arg-type]
