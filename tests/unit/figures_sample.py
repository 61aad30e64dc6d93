"""An invented L-shaped home, and an imperial one, for the tests of figures."""

from __future__ import annotations

from designkit.model import (
    Chairs,
    Column,
    Finding,
    Home,
    Layout,
    Opening,
    Piece,
    Placement,
    Room,
    Service,
)

FT, IN = 0.3048, 0.0254


def l_shaped() -> Home:
    rooms = {
        "living": Room(
            name="living and dining",
            outline=((0, 0), (7.6, 0), (7.6, 3.6), (2.9, 3.6), (2.9, 5.1), (0, 5.1)),
            height=2.7,
            use="living",
            columns=(Column(at=(2.9, 1.8), size=(0.2, 0.2), shape="circle"),),
        ),
        "hall": Room(
            name="hall",
            outline=((3.02, 3.72), (6.2, 3.72), (6.2, 5.1), (3.02, 5.1)),
            height=2.7,
            use="hall",
        ),
        "balcony": Room(
            name="balcony",
            outline=((0.2, -1.5), (2.6, -1.5), (2.6, -0.3), (0.2, -0.3)),
            height=2.7,
            use="balcony",
        ),
    }
    openings = {
        "passage": Opening(
            room="living",
            wall=2,
            offset=3.4,
            width=1.1,
            head=2.3,
            kind="passage",
            to="hall",
            thickness=0.12,
        ),
        "balcony-door": Opening(
            room="living",
            wall=0,
            offset=0.7,
            width=1.0,
            head=2.3,
            kind="balcony",
            to="balcony",
            hinge="left",
            swing="in",
            thickness=0.3,
        ),
        "window": Opening(
            room="living",
            wall=0,
            offset=3.4,
            width=3.0,
            sill=0.85,
            head=2.4,
            kind="window",
            to="outside",
            leaves=3,
            thickness=0.3,
            view="orchard",
        ),
        "front": Opening(
            room="hall",
            wall=1,
            offset=0.2,
            width=0.95,
            head=2.1,
            kind="door",
            to="stair",
            hinge="right",
            swing="in",
            thickness=0.3,
        ),
    }
    services = {
        "radiator": Service(
            room="living", kind="radiator", at=(4.9, 0.1), height=0.15, size=(1.8, 0.1, 0.5)
        ),
        "panel": Service(
            room="living", kind="panel", at=(2.9, 4.5), height=1.5, size=(0.4, 0.12, 0.5)
        ),
        "socket": Service(room="living", kind="socket", at=(2.5, 0), height=0.3),
    }
    pieces = {
        "sofa": Piece(name="sofa", kind="sofa", size=(2.2, 0.95, 0.78), seat_count=3),
        "armchair": Piece(name="armchair", kind="armchair", size=(0.8, 0.82, 0.74)),
        "low": Piece(name="low table", kind="low table", size=(0.9, 0.9, 0.38), shape="circle"),
        "books": Piece(name="bookcase", kind="bookcase", size=(1.8, 0.35, 2.2)),
        "table": Piece(
            name="table",
            kind="dining table",
            size=(1.8, 0.9, 0.74),
            chairs=Chairs(piece="chair", front=3, back=3),
        ),
        "chair": Piece(name="chair", kind="chair", size=(0.46, 0.5, 0.8)),
        "sideboard": Piece(name="sideboard", kind="sideboard", size=(1.6, 0.45, 0.76)),
        "lamp": Piece(name="floor lamp", kind="floor lamp", size=(0.42, 0.42, 1.55)),
        "rug": Piece(name="rug", kind="rug", size=(2.6, 2.0, 0.012)),
    }
    layouts = {
        "a": Layout(
            name="sofa on the hall wall",
            pieces={
                "rug": Placement(at=(5.5, 1.9)),
                "sofa": Placement(at=(5.5, 3.1)),
                "armchair": Placement(at=(4.1, 1.4), rotation=70),
                "low": Placement(at=(5.5, 1.8)),
                "books": Placement(at=(7.42, 1.8), rotation=-90),
                "table": Placement(at=(1.3, 3.0), rotation=90),
                "sideboard": Placement(at=(0.95, 4.87)),
                "lamp": Placement(at=(3.7, 0.8)),
            },
        ),
        "b": Layout(
            name="sofa on the gable",
            pieces={
                "rug": Placement(at=(5.4, 1.8)),
                "sofa": Placement(at=(7.1, 1.8), rotation=-90),
                "armchair": Placement(at=(4.2, 1.8), rotation=90),
                "low": Placement(at=(5.4, 1.8)),
                "table": Placement(at=(1.3, 3.0), rotation=90),
                "sideboard": Placement(at=(0.95, 4.87)),
            },
        ),
    }
    return Home(
        name="Flat over the orchard",
        north=60,
        rooms=rooms,
        openings=openings,
        services=services,
        pieces=pieces,
        layouts=layouts,
    )


def findings() -> tuple[Finding, ...]:
    return (
        Finding(
            what="Main route, hall to balcony",
            measured=0.865,
            required=0.9,
            within=0.02,
            verdict="fails",
            severity="tight",
            rule="plan.route.main",
            why="between the column and the armchair",
            mend="Move the armchair 40 mm away from the column.",
            line=((3.0, 1.77), (3.72, 1.52)),
        ),
        Finding(
            what="Bookcase: before the bookcase",
            measured=0.5,
            required=0.6,
            verdict="measure first",
            severity="inconvenient",
            rule="plan.clear.cupboard",
            why="",
            mend="Measure the bookcase.",
            area=((6.7, 0.9), (7.24, 0.9), (7.24, 1.4), (6.7, 1.4)),
        ),
        Finding(
            what="Before the passage",
            measured=1.1,
            required=0.8,
            verdict="passes",
            severity="tight",
            rule="plan.route.main",
            why="",
            at=(3.6, 3.3),
        ),
    )


ROUTE = ((3.9, 4.7), (3.8, 3.8), (3.6, 2.5), (2.5, 1.0), (1.25, 0.3), (1.2, -0.5))
SIGHT = ((6.0, 2.9), (3.4, 0.0)), ((6.0, 2.9), (6.4, 0.0))


def long_room() -> Home:
    width, length = 11.5 * FT, 27 * FT
    rooms = {
        "living": Room(
            name="living room",
            # Clockwise, as some people measure.
            outline=((0, 0), (0, width), (length, width), (length, 0)),
            height=8.5 * FT,
            use="living",
        )
    }
    openings = {
        "street": Opening(
            room="living",
            wall=0,
            offset=3 * FT,
            width=5.5 * FT,
            sill=30 * IN,
            head=84 * IN,
            kind="window",
            to="outside",
            leaf="hung",
            leaves=2,
            thickness=10 * IN,
            view="street",
        ),
        "door": Opening(
            room="living",
            wall=1,
            offset=20 * FT,
            width=36 * IN,
            head=80 * IN,
            kind="door",
            to="landing",
            hinge="left",
            swing="in",
            thickness=10 * IN,
        ),
        "porch": Opening(
            room="living",
            wall=3,
            offset=5 * FT,
            width=6 * FT,
            head=80 * IN,
            kind="balcony",
            to="porch",
            leaf="sliding",
            leaves=2,
            swing="slide",
            thickness=10 * IN,
        ),
    }
    pieces = {
        "sofa": Piece(name="sofa", kind="sofa", size=(84 * IN, 36 * IN, 32 * IN)),
        "wing": Piece(name="wing chair", kind="armchair", size=(31 * IN, 33 * IN, 38 * IN)),
        "bed": Piece(name="bed", kind="bed", size=(62 * IN, 84 * IN, 44 * IN)),
        "wardrobe": Piece(name="wardrobe", kind="wardrobe", size=(60 * IN, 24 * IN, 84 * IN)),
        "plant": Piece(name="plant", kind="plant", size=(20 * IN, 20 * IN, 60 * IN)),
        "pendant": Piece(
            name="pendant", kind="pendant", size=(18 * IN, 18 * IN, 12 * IN), mount="ceiling"
        ),
    }
    layout = Layout(
        name="long room",
        pieces={
            "sofa": Placement(at=(2.5, 0.6), rotation=180),
            "wing": Placement(at=(1.0, 2.4), rotation=45),
            "bed": Placement(at=(6.6, 1.25), rotation=90),
            "wardrobe": Placement(at=(4.2, 3.1)),
            "plant": Placement(at=(4.4, 0.4)),
            "pendant": Placement(at=(2.5, 1.7)),
        },
    )
    return Home(
        name="Row house",
        units="ft",
        north=15,
        rooms=rooms,
        openings=openings,
        pieces=pieces,
        layouts={"a": layout},
    )
