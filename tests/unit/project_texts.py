"""A small project as text, that the tests of project folders write and break."""

from __future__ import annotations

from pathlib import Path

HOME = """\
# The flat by the park.
schema = 1
name = "Flat by the park"
units = "m"
layout = "a"

[brief]
budget = 24000 # with tax
keeps = ["table"]

[brief.wishes.way]
text = "a free way to the window"
kind = "route"
start = "entry"
end = "window"
at_least = "900 mm"

# ---- rooms ----------------------------------------------------
[rooms.living]
name = "Living room"
outline = [
    [0, 0], # the corner by the door
    ["5.2 m", 0],
    [5.2, "410 cm"],
    [0, 4.1], # the corner by the window
]
height = "2600 mm"
floor = "oak"
wall = "white"
known = "measured"

[openings.entry]
room = "living"
wall = 0
offset = 0.3
width = 0.9
head = 2.05
kind = "door"
hinge = "left"
swing = "in"
to = "outside"

[openings.window]
room = "living"
wall = 2
offset = 1
width = 2
sill = 0.9
head = 2.3
kind = "window"

[circuits.c1]
name = "Lights"
volts = 230
amps = 10

[services.outlet]
room = "living"
kind = "ceiling outlet"
at = [2.6, 2]
height = 2.6
circuit = "c1"

# Finishes: stated, never guessed.
[finishes.oak]
name = "Oak boards"
kind = "timber"
munsell_value = 6
warm = true

[finishes.white]
name = "White paint"
lrv = 83 # from the tin

[finishes.stripe]
name = "Striped cloth"
kind = "cloth"
colours = [{ share = 0.6, hex = "#202020" }, { share = 0.4, lrv = 70 }]
patterned = true

# The sofa was measured in the shop.
[pieces.sofa]
name = "Sofa"
kind = "sofa"
size = [2.2, 0.95, 0.8]
finish = "stripe"
known = { source = "measured", within = "5 mm" }

# The table stays.
[pieces.table]
name = "Old table"
kind = "dining table"
size = ["1.6 m", "0.9 m", "0.74 m"]
old = true

[fixtures.pendant]
name = "Pendant"
kind = "pendant"
size = [0.4, 0.4, 0.3]
lumens = 800

[layouts.a]
name = "Facing the window"

[layouts.a.pieces]
sofa = { at = ["2.6 m", 0.6], rotation = 180 } # facing the window
table = { at = [4, 3] }

[layouts.a.lamps]
over_table = { fixture = "pendant", service = "outlet", over = "table", base = 1.5 }

[layouts.a.drapes]
front = { opening = "window", finish = "stripe", track = 2.6 }

[scenarios.base]
name = "As drawn"

[scenarios.less]
name = "Less"
start = "base"
changes = [{ line = "sofa_new", quantity = 0, text = "no sofa" }]

[scopes.painting]
name = "Painting"
trade = "painter"
lines = { walls = { text = "walls, two coats", quantity = 48.36, unit = "m²" } }

[rules]
"plan.route.main" = "95 cm"
"""

COSTS = """\
id,piece,item,category,likely,status,supplier
sofa_new,sofa,"Sofa, grey",seating,1200.50,quoted,Supplier 1
sofa_move,sofa,Delivery,seating,90,guess,Supplier 1
"""

QUOTES = """\
scope,contractor,line,amount,included
painting,Contractor A,walls,1450.00,yes
painting,Contractor A,"covering the floor",120.00,apart
"""

TASKS = """\
id,task,likely,after
prepare,Protect the floor,1,
paint,Paint the walls,3,prepare
"""


def write(
    folder: Path,
    home: str = HOME,
    *,
    costs: str | None = COSTS,
    quotes: str | None = QUOTES,
    tasks: str | None = TASKS,
) -> Path:
    """Write a project folder; None leaves a file out."""
    place = folder / "flat"
    place.mkdir(exist_ok=True)
    (place / "project.toml").write_text(home, "utf-8")
    for name, text in (("costs", costs), ("quotes", quotes), ("tasks", tasks)):
        if text is not None:
            (place / f"{name}.csv").write_text(text, "utf-8")
    return place


def swap(old: str, new: str, text: str = HOME) -> str:
    """The text with one thing changed; the thing must be there once."""
    assert text.count(old) == 1, f"{text.count(old)} times: {old}"
    return text.replace(old, new)
