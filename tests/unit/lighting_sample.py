"""An invented L-shaped living and dining room that opens to a hall."""

from __future__ import annotations

from designkit.model import (
    Brief,
    Chairs,
    Circuit,
    Colour,
    Finish,
    Fixture,
    Home,
    Lamp,
    Layout,
    Opening,
    Person,
    Piece,
    Placement,
    Room,
    Service,
)


def lit_home(**changes: object) -> Home:
    values: dict[str, object] = {
        "name": "test home",
        "brief": Brief(people=(Person(role="adult", age=41), Person(role="adult", age=70))),
        "rooms": {
            "living": Room(
                name="living room",
                outline=((0, 0), (7, 0), (7, 4), (4, 4), (4, 6), (0, 6)),
                height=2.7,
                floor="oak",
                ceiling="white",
                wall="light grey",
                use="living",
            ),
            "hall": Room(
                name="hall",
                outline=((4.2, 4.2), (7, 4.2), (7, 6), (4.2, 6)),
                height=2.6,
                floor="oak",
                ceiling="white",
                wall="light grey",
                use="hall",
            ),
        },
        "openings": {
            "window": Opening(
                room="living",
                wall=0,
                offset=1.0,
                width=3.0,
                sill=0.4,
                head=2.4,
                kind="window",
                view="park",
            ),
            "passage": Opening(
                room="living",
                wall=2,
                offset=0.5,
                width=1.2,
                head=2.2,
                kind="passage",
                to="hall",
            ),
        },
        "services": {
            "outlet": Service(
                room="living",
                kind="ceiling outlet",
                at=(2.0, 4.6),
                height=2.7,
                circuit="light",
                weight_limit=23.0,
            ),
            "hall outlet": Service(
                room="hall", kind="ceiling outlet", at=(5.6, 5.1), height=2.6, circuit="light"
            ),
        },
        "circuits": {
            "light": Circuit(name="light", volts=230, amps=10, existing_watts=60, dimmer=True),
            "sockets": Circuit(name="sockets", volts=230, amps=16),
        },
        "finishes": {
            "oak": Finish(name="oak", kind="timber", colours=(Colour(lrv=30.0),)),
            "white": Finish(name="white paint", colours=(Colour(lrv=85.0),)),
            "light grey": Finish(name="light grey paint", colours=(Colour(lrv=60.0),)),
        },
        "pieces": {
            "sofa": Piece(name="sofa", kind="sofa", size=(2.2, 0.95, 0.8)),
            "table": Piece(
                name="dining table",
                kind="dining table",
                size=(1.8, 0.9, 0.74),
                chairs=Chairs(piece="chair", front=3, back=3),
            ),
            "chair": Piece(name="chair", kind="chair", size=(0.46, 0.52, 0.82)),
            "side table": Piece(name="side table", kind="side table", size=(0.45, 0.45, 0.52)),
        },
        "fixtures": {
            "pendant": Fixture(
                name="pendant",
                kind="pendant",
                size=(0.5, 0.5, 0.3),
                lamps=1,
                lumens=1500,
                watts=14,
                kelvin=2700,
                cri=95,
                shade="white fabric",
                up_share=0.4,
                mass=3.0,
            ),
            "globe": Fixture(
                name="hall globe",
                kind="ceiling light",
                size=(0.3, 0.3, 0.3),
                lamps=1,
                lumens=2000,
                watts=18,
                kelvin=2700,
                cri=92,
                shade="milky",
                mass=2.0,
            ),
            "floor lamp": Fixture(
                name="floor lamp",
                kind="floor lamp",
                size=(0.4, 0.4, 1.55),
                lamps=1,
                lumens=1100,
                watts=11,
                kelvin=2700,
                cri=92,
                shade="white fabric",
            ),
            "table lamp": Fixture(
                name="table lamp",
                kind="table lamp",
                size=(0.3, 0.3, 0.5),
                lamps=1,
                lumens=450,
                watts=5,
                kelvin=2700,
                cri=92,
                shade="white fabric",
            ),
        },
        "layouts": {},
    }
    values.update(changes)
    return Home(**values)  # type: ignore[arg-type]


def lit_layout(**changes: object) -> Layout:
    values: dict[str, object] = {
        "name": "A",
        "pieces": {
            "table": Placement(at=(2.0, 4.6)),
            "sofa": Placement(at=(5.5, 3.3), rotation=0),
            "side table": Placement(at=(3.9, 3.4)),
        },
        "lamps": {
            "pendant": Lamp(fixture="pendant", service="outlet", over="table", base=1.55),
            "hall": Lamp(fixture="globe", service="hall outlet"),
            "reading": Lamp(fixture="floor lamp", at=(4.5, 2.9), layer="task", circuit="sockets"),
            "small": Lamp(fixture="table lamp", on="side table", layer="task", circuit="sockets"),
        },
    }
    values.update(changes)
    return Layout(**values)  # type: ignore[arg-type]
