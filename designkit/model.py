"""The things that two modules share, each defined once.

Plain frozen dataclasses, keyword-only. Ids are the keys of dictionaries.
Lengths are metres, angles degrees counter-clockwise, heights above finished
floor, masses kilograms, money `decimal.Decimal`. Plan points are (x right, y
up) in one frame for the whole home, so rooms that touch share coordinates.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Annotated, Literal

from designkit.units import Unit

__all__ = [
    "Area",
    "Brief",
    "Building",
    "Chairs",
    "Circuit",
    "Colour",
    "Column",
    "CostLine",
    "CsvFormat",
    "Cutout",
    "DeliveryStep",
    "Drape",
    "Edit",
    "Finding",
    "Finish",
    "Fixture",
    "Home",
    "Known",
    "Lamp",
    "Layout",
    "Length",
    "Mass",
    "Money",
    "Opening",
    "Part",
    "Person",
    "Photo",
    "Piece",
    "Placement",
    "Point",
    "Project",
    "QuoteLine",
    "Room",
    "Scenario",
    "ScenarioChange",
    "Scope",
    "ScopeLine",
    "Seat",
    "Service",
    "Target",
    "Task",
    "Walk",
    "Wish",
    "Zone",
    "digest",
]

Length = Annotated[float, Unit("length")]
Area = Annotated[float, Unit("area")]
Mass = Annotated[float, Unit("mass")]
Point = tuple[Length, Length]

Source = Literal["measured", "plan", "seller", "client", "guess"]
Side = Literal["front", "back", "left", "right"]
Verdict = Literal["passes", "fails", "measure first"]
Severity = Literal["law here", "safety", "tight", "inconvenient", "note"]


@dataclass(frozen=True, kw_only=True)
class Known:
    """How a dimension is known; in a file the bare word stands for it."""

    source: Source = "plan"
    within: Length | None = None  # ± ; None: by source, rule P07


# --- the shell ---------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Column:
    """A column, pier or chimney breast inside a room, floor to ceiling."""

    at: Point  # centre
    size: tuple[Length, Length]  # x, y before rotation; equal for a round one
    shape: Literal["rectangle", "circle"] = "rectangle"
    rotation: float = 0.0  # [°]
    finish: str = ""  # "": as the walls


@dataclass(frozen=True, kw_only=True)
class Room:
    """A room; wall i joins outline[i] and outline[i + 1] as written."""

    name: str
    outline: tuple[Point, ...]
    height: Length  # one flat ceiling
    columns: tuple[Column, ...] = ()
    floor: str = ""  # finish ids
    ceiling: str = ""
    wall: str = ""
    walls: Mapping[str, str] = field(default_factory=dict)  # "2" -> finish id
    use: str = ""  # living, dining, sleeping, working, hall …
    known: Known = Known()
    known_of: Mapping[str, Known] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Opening:
    """A door, window, balcony door or passage in one wall of a room.

    Left and right are seen from inside the room, facing the opening.
    """

    room: str
    wall: int
    offset: Length  # from outline[wall], along the wall as written
    width: Length  # structural opening [m]
    head: Length  # [m]
    sill: Length = 0.0  # [m]
    kind: Literal["door", "window", "balcony", "passage"]
    name: str = ""
    to: str = ""  # room id, "outside", "balcony", "stair" …
    hinge: Literal["left", "right"] | None = None
    swing: Literal["in", "out", "slide", "none"] = "none"
    clear_width: Length | None = None  # None: width less frames, by rule [m]
    leaf: Literal["fixed", "sliding", "hung", "inward", "outward", "tilt-turn"] = "fixed"
    leaves: int = 1
    thickness: Length = 0.2  # of the wall it stands in [m]
    view: str = ""  # what one sees; "" nothing worth seeing
    frame: str = ""  # finish id
    glass: str = ""  # key of reference/glass.csv
    transmittance: float | None = None  # of the glass, visible; None: as its glass
    drop_outside: Length | None = None  # height of the sill above ground outside
    known: Known = Known()
    known_of: Mapping[str, Known] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Service:
    """What the building brings: outlets, radiators, vents, panels, detectors."""

    room: str
    kind: Literal[
        "ceiling outlet",
        "wall outlet",
        "socket",
        "switch",
        "radiator",
        "vent",
        "panel",
        "sprinkler",
        "detector",
    ]
    at: Point
    height: Length = 0.0  # of its centre (of its underside for a radiator) [m]
    size: tuple[Length, Length, Length] | None = None  # width, depth, height
    rotation: float = 0.0  # [°]
    clear: tuple[Length, Length] | None = None  # width, depth kept clear in front
    circuit: str = ""
    weight_limit: Mass | None = None  # [kg] marked on the box
    switched_with: str = ""  # service id of the switch
    name: str = ""


@dataclass(frozen=True, kw_only=True)
class Walk:
    """How a room was walked with the tape, in the words `designkit.plan.survey` reads."""

    name: str = ""
    use: str = ""  # living, dining, sleeping, working, hall …
    walls: str = ""  # as typed, also while it does not close yet
    height: str = ""  # floor to ceiling, as typed
    diagonals: str = ""  # from corner to corner, as typed
    spread: Literal["", "square", "compass", "pinned"] = ""  # where the closing error goes
    pinned: int = 0  # the wall that takes it
    source: Source = "measured"  # of lengths that say nothing


@dataclass(frozen=True, kw_only=True)
class Photo:
    """A photograph of the home as found, pinned to a wall."""

    file: str  # in the project folder
    room: str = ""
    wall: int | None = None
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Circuit:
    """An electrical circuit as found; a licensed electrician decides."""

    name: str
    volts: float  # [V]
    amps: float
    existing_watts: float = 0.0  # [W]
    dimmer: bool = False


@dataclass(frozen=True, kw_only=True)
class DeliveryStep:
    """One place that a piece passes on its way from the street to the flat."""

    kind: Literal["door", "passage", "lift", "corner", "flight", "stair turn"]
    name: str = ""
    way: str = ""  # "": on every way; else one of several, as by lift or by stair
    width: Length  # clear: of the door, the passage, the cab, the flight, before a corner [m]
    height: Length  # clear height, of a stair square up from the pitch line [m]
    depth: Length | None = None  # lift: the cab, from its door to its back [m]
    door_width: Length | None = None  # lift: clear width of its door [m]
    door_height: Length | None = None  # [m]
    after: Length | None = None  # corner: width after it; stair turn: depth of the landing
    turn: Literal["quarter", "half"] = "quarter"  # of a stair
    well: Length = 0.0  # half turn: gap between the two flights
    known: Known = Known(source="measured")


@dataclass(frozen=True, kw_only=True)
class Building:
    """What the building is and what the house rules allow."""

    year: int | None = None  # None: unknown, counts as old
    sampled: Literal["yes", "no", "unknown"] = "unknown"  # old paint and ceilings
    walls: str = ""
    ceiling: str = ""
    work_hours: str = ""
    lift: str = ""
    house_rules: str = ""


# --- the brief ---------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Person:
    """One of the people (or animals) who will live there, by role."""

    role: str  # adult, child, guest, cat …
    age: int | None = None
    height: Length | None = None  # [m]


@dataclass(frozen=True, kw_only=True)
class Wish:
    """One wish of the brief that a study can check."""

    text: str
    kind: Literal[
        "route", "view", "screen", "seats", "diners", "black", "light", "budget", "date", "turning"
    ]
    start: str = ""  # route: from, view and screen: the seat's piece
    end: str = ""  # route: to, view: the opening, screen: its piece; light: place
    at_least: float | None = None  # widths in m, shares 0…1, lx, persons; screen: degrees across
    at_most: float | None = None


@dataclass(frozen=True, kw_only=True)
class Brief:
    """What the client asks for."""

    client: str = "the client"
    people: tuple[Person, ...] = ()
    seats: int | None = None
    seats_guests: int | None = None
    diners: int | None = None
    diners_guests: int | None = None
    budget: Decimal | None = None
    budget_includes_tax: bool = True
    budget_includes_fee: bool = False
    date: str = ""  # installation day, ISO 8601
    decides: str = ""
    keeps: tuple[str, ...] = ()  # piece ids
    dislikes: tuple[str, ...] = ()
    activities: tuple[str, ...] = ()
    storage: Length | None = None
    wishes: Mapping[str, Wish] = field(default_factory=dict)
    priorities: Mapping[str, float] = field(default_factory=dict)  # line as drawn -> weight
    may_leave_out: tuple[str, ...] = ()  # lines as drawn that the client could do without


# --- finishes and pieces -----------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Colour:
    """One colour of a finish, given in exactly one way (an LRV may stand beside)."""

    share: float = 1.0  # of the finish's area [1]
    hex: str | None = None  # sRGB
    lab: tuple[float, float, float] | None = None  # CIELAB, D65, 2°
    lrv: float | None = None  # light reflectance value, 0–100
    munsell_value: float | None = None
    ladder: float | None = None  # step of the printed value ladder, Munsell value
    guess: Literal["black", "dark", "mid", "light", "white"] | None = None
    within: float | None = None  # ± L*; None: by how it is known


@dataclass(frozen=True, kw_only=True)
class Finish:
    """A surface as it is seen; warm and patterned are stated, never guessed."""

    name: str
    kind: str = "paint"  # paint, cloth, timber, metal, stone, glass, paper, plaster …
    colours: tuple[Colour, ...]
    sheen: Literal["matt", "eggshell", "satin", "gloss", "mirror"] | None = None  # not said
    warm: bool = False
    patterned: bool = False
    transmittance: float = 0.0
    spectrum: str = ""  # file of wavelengths and reflectances
    texture: str = ""
    rubs: float | None = None  # of a cloth: what it stood before it showed wear
    rub_test: Literal["Martindale", "Wyzenbeek"] | None = None
    pilling: float | None = None  # grade of ISO 12945-2, 1 to 5
    light_fastness: float | None = None  # step of ISO 105-B02, 1 to 8
    known: Known = Known(source="guess")


@dataclass(frozen=True, kw_only=True)
class Part:
    """A prism of a piece in its own coordinates (front at −y, centre 0, 0)."""

    name: str = ""
    shape: Literal["rectangle", "circle", "ring"] = "rectangle"
    at: Point = (0.0, 0.0)
    size: tuple[Length, Length]  # x, y; ring: outer and inner diameter
    base: Length = 0.0
    top: Length
    finish: str = ""  # "": as the piece
    transmits: bool = False  # light and sight pass (glass, wire)


@dataclass(frozen=True, kw_only=True)
class Zone:
    """Floor that the use of a piece needs."""

    kind: str  # in the words of a sentence: "before the drawers"
    side: Side
    depth: Length  # [m]
    width: Length | None = None  # None: the piece's whole side [m]
    severity: Severity = "inconvenient"
    rule: str = ""


@dataclass(frozen=True, kw_only=True)
class Seat:
    """Where a person sits, in the piece's own coordinates."""

    at: Point
    facing: float = -90.0  # degrees, own coordinates; −90 looks to the front
    height: Length = 0.45  # [m]
    eye: Length = 1.2


@dataclass(frozen=True, kw_only=True)
class Chairs:
    """Chairs that stand at a table and move with it."""

    piece: str
    front: int = 0
    back: int = 0
    left: int = 0
    right: int = 0
    around: int = 0  # evenly round a circular top


@dataclass(frozen=True, kw_only=True)
class Cutout:
    """A hole in a top: a rectangle, or round where it has no depth."""

    at: Point  # its middle, from the left front corner [m]
    width: Length  # or diameter [m]
    depth: Length | None = None  # None: round [m]


@dataclass(frozen=True, kw_only=True)
class Piece:
    """A piece of furniture, by kind and size.

    Parts, zones and seats that are not written are made from the kind
    (`designkit.plan.pieces`).
    """

    name: str
    kind: str  # key of reference/kinds.csv
    size: tuple[Length, Length, Length]  # width, depth, height
    shape: Literal["rectangle", "circle"] = "rectangle"
    finish: str = ""
    finishes: Mapping[str, str] = field(default_factory=dict)  # part name -> finish id
    parts: tuple[Part, ...] | None = None
    zones: tuple[Zone, ...] | None = None
    seats: tuple[Seat, ...] | None = None
    seat_count: int | None = None
    seat_height: Length | None = None  # [m]
    seat_depth: Length | None = None  # [m]
    arm_height: Length | None = None  # [m]
    overhang: Length = 0.0  # of a glass or stone top beyond what carries it [m]
    radius: Length = 0.0  # of the corners of a top [m]
    cutouts: tuple[Cutout, ...] = ()  # in a top
    chairs: Chairs | None = None
    mount: Literal["floor", "wall", "ceiling", "on"] = "floor"
    mass: Mass | None = None
    packed: tuple[Length, Length, Length] | None = None
    old: bool = False
    condition: Mapping[str, Literal["ok", "repair", "unknown"]] = field(default_factory=dict)
    climbable: bool | None = None  # None: by kind
    anchored: bool | None = None  # anti-tip restraint fitted
    note: str = ""
    photo: str = ""  # file in the project folder
    seller: str = ""  # by role: Supplier 2
    held_until: str = ""  # ISO 8601; a candidate that is held for us
    known: Known = Known(source="seller")
    known_of: Mapping[str, Known] = field(default_factory=dict)  # width, depth, height


# --- light and drapery -------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Fixture:
    """A luminaire, by kind and size."""

    name: str
    kind: Literal[
        "pendant",
        "chandelier",
        "ceiling light",
        "recessed light",
        "wall light",
        "floor lamp",
        "table lamp",
        "track spot",
    ]
    size: tuple[Length, Length, Length]
    lamps: int = 1
    lumens: float | None = None  # each lamp [lm]
    watts: float = 0.0  # each lamp [W]
    kelvin: float | None = None  # [K]
    cri: float | None = None
    shade: Literal["bare", "clear", "prismatic", "milky", "white fabric", "lined metal"] = "bare"
    up_share: float = 0.5  # of its light, above the horizontal [1]
    beam: float | None = None  # full beam angle of a spot [°]
    photometry: str = ""  # LM-63 file under photometry/
    mass: Mass | None = None
    dimmable: bool = True
    finish: str = ""


@dataclass(frozen=True, kw_only=True)
class Lamp:
    """A fixture placed in a layout."""

    fixture: str
    at: Point | None = None  # None: at its service or on its piece
    service: str = ""
    on: str = ""  # placement id it stands on
    base: Length | None = None  # underside of the luminaire
    layer: Literal["general", "task", "accent"] = "general"
    over: str = ""  # placement id it hangs over or lights
    circuit: str = ""
    dim: float = 1.0


@dataclass(frozen=True, kw_only=True)
class Drape:
    """Drapery at an opening, as drawn in a layout."""

    opening: str
    finish: str
    track: Length  # its length [m]
    track_offset: Length | None = None  # start along the wall; None: centred on the opening
    heading: Literal["wave", "pinch", "pencil", "eyelet", "tab", "sheer"] = "wave"
    fullness: float | None = None  # None: by heading, rule P10 [1]
    draw: Literal["pair", "left", "right"] = "pair"
    mount: Literal["ceiling", "wall"] = "ceiling"
    hem: Literal["clear", "kissing", "break", "puddle"] = "clear"
    state: Literal["open", "part", "closed"] = "open"
    top: Length | None = None  # None: ceiling
    cloth_width: Length = 1.4  # [m]
    repeat: Length = 0.0
    lined: bool = False


# --- layouts, scenarios, scopes ---------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Placement:
    """Where a piece stands: the centre of its footprint, in the home's frame."""

    at: Point
    rotation: float = 0.0  # [°]
    item: str = ""  # piece id; "": the placement's own id
    base: Length | None = None  # None: floor, or the top of what it stands on
    on: str = ""  # placement id it stands on
    room: str = ""  # "": the room that holds it
    locked: bool = False


@dataclass(frozen=True, kw_only=True)
class Layout:
    """One arrangement of pieces, lamps and drapery."""

    name: str
    pieces: Mapping[str, Placement] = field(default_factory=dict)
    lamps: Mapping[str, Lamp] = field(default_factory=dict)
    drapes: Mapping[str, Drape] = field(default_factory=dict)
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class ScenarioChange:
    """One change of a scenario, in words and in numbers."""

    line: str  # cost line id
    text: str = ""
    to: str = ""  # another line's id that replaces it (alternative_of)
    quantity: Decimal | None = None
    likely: Decimal | None = None
    year: int | None = None  # 2: paid next year
    drop: bool = False


@dataclass(frozen=True, kw_only=True)
class Scenario:
    """A named set of changes to the cost lines as drawn, or to another scenario."""

    name: str
    start: str = ""  # scenario it starts from; "": the lines as drawn
    note: str = ""
    changes: tuple[ScenarioChange, ...] = ()


@dataclass(frozen=True, kw_only=True)
class ScopeLine:
    """One thing that every quote for a scope has to price."""

    text: str
    quantity: Decimal | None = None
    unit: str = ""


@dataclass(frozen=True, kw_only=True)
class Scope:
    """A written scope of work that is sent, the same, to each contractor."""

    name: str
    trade: str
    unit: str = ""  # what the whole is compared by: m² …
    quantity: Decimal | None = None
    disturbs_old_surface: bool = False  # scrape, sand, drill, strip
    lines: Mapping[str, ScopeLine] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Target:
    """A lighting target that the project sets itself."""

    place: str  # piece placement id, room id or rule place
    lux: float  # [lx]
    plane: Length | None = None
    text: str = ""


@dataclass(frozen=True, kw_only=True)
class CsvFormat:
    """How the project's CSV files write numbers; None: told by the file."""

    delimiter: str | None = None
    decimal: Literal[".", ","] | None = None


@dataclass(frozen=True, kw_only=True)
class Money:
    """How money is counted."""

    currency: str = "EUR"
    tax: Decimal = Decimal("0")  # rate where a line states none
    tax_per: Literal["line", "invoice"] = "line"
    prices_include_tax: bool = False
    fee: Decimal = Decimal("0")  # rate on the goods and works
    contingency: Mapping[str, Decimal] = field(default_factory=dict)  # kind of work -> rate


@dataclass(frozen=True, kw_only=True)
class Home:
    """The whole of project.toml."""

    schema: int = 1
    name: str
    place: str = ""
    units: Literal["m", "cm", "mm", "ft", "in"] = "m"
    north: float = 90.0  # direction of north on the plan, degrees counter-clockwise from x
    rule_set: Literal["home", "step-free"] = "home"
    code: str = ""  # a named code that is law here
    layout: str = ""  # the current one
    money: Money = Money()
    csv: CsvFormat = CsvFormat()
    building: Building = Building()
    delivery: tuple[DeliveryStep, ...] = ()  # from the street to the flat, in order
    brief: Brief = Brief()
    rooms: Mapping[str, Room] = field(default_factory=dict)
    openings: Mapping[str, Opening] = field(default_factory=dict)
    services: Mapping[str, Service] = field(default_factory=dict)
    walks: Mapping[str, Walk] = field(default_factory=dict)  # by room id
    photos: Mapping[str, Photo] = field(default_factory=dict)
    circuits: Mapping[str, Circuit] = field(default_factory=dict)
    finishes: Mapping[str, Finish] = field(default_factory=dict)
    pieces: Mapping[str, Piece] = field(default_factory=dict)
    fixtures: Mapping[str, Fixture] = field(default_factory=dict)
    layouts: Mapping[str, Layout] = field(default_factory=dict)
    targets: Mapping[str, Target] = field(default_factory=dict)
    scopes: Mapping[str, Scope] = field(default_factory=dict)
    scenarios: Mapping[str, Scenario] = field(default_factory=dict)
    rules: Mapping[str, float] = field(default_factory=dict)  # rule id -> the project's own value


# --- rows of the CSV files ---------------------------------------------------

CostKind = Literal[
    "purchase",
    "delivery",
    "repair",
    "labour",
    "fabric",
    "allowance",
    "work",
    "fee",
    "discount",
    "credit",
    "return",
    "sale",
]
Firmness = Literal["guess", "catalogue", "quoted", "ordered", "paid"]


@dataclass(frozen=True, kw_only=True)
class CostLine:
    """One row of costs.csv; amounts are per unit, before tax unless the project says else."""

    id: str
    piece: str = ""  # piece or fixture id; lines of one piece make its all-in cost
    item: str
    room: str = ""
    category: str
    kind: CostKind = "purchase"
    supplier: str = ""
    quantity: Decimal = Decimal(1)
    unit: str = "piece"
    low: Decimal | None = None  # None: from the firmness, rule P15
    likely: Decimal
    high: Decimal | None = None
    trade_price: Decimal | None = None
    client_price: Decimal | None = None
    tax: Decimal | None = None  # rate; None: the project's
    alternative_of: str = ""
    status: Firmness = "guess"
    lead_time: Decimal | None = None  # weeks
    currency: str = ""  # "": the project's
    rate: Decimal | None = None  # project currency for one of the line's
    rate_date: str = ""
    work: str = ""
    note: str = ""
    more: Mapping[str, str] = field(default_factory=dict)  # unknown columns, kept
    row: int = 0  # in the file, for messages


@dataclass(frozen=True, kw_only=True)
class QuoteLine:
    """One row of quotes.csv."""

    scope: str
    contractor: str
    line: str  # scope line id, or new words: something outside the scope
    quantity: Decimal | None = None
    unit: str = ""
    amount: Decimal | None = None  # for the whole line
    included: Literal["yes", "no", "apart", "unclear"] = "yes"
    valid_until: str = ""
    note: str = ""
    more: Mapping[str, str] = field(default_factory=dict)
    row: int = 0


@dataclass(frozen=True, kw_only=True)
class Task:
    """One row of tasks.csv; days of work, weeks of waiting."""

    id: str
    task: str
    trade: str = ""
    low: Decimal | None = None
    likely: Decimal
    high: Decimal | None = None
    after: tuple[str, ...] = ()
    lead_weeks: Decimal | None = None
    more: Mapping[str, str] = field(default_factory=dict)
    row: int = 0


@dataclass(frozen=True, kw_only=True)
class Project:
    """A home with its rows: everything that a project folder says."""

    home: Home
    costs: tuple[CostLine, ...] = ()
    quotes: tuple[QuoteLine, ...] = ()
    tasks: tuple[Task, ...] = ()


# --- what travels between layers --------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Edit:
    """One change of a project: the value at `path` goes from `old` to `new`.

    `path` is the keys joined by dots ("layouts.a.pieces.sofa.at"); `None`
    means that the entry is not there. Values are as the file writes them.
    """

    path: str
    old: object
    new: object


@dataclass(frozen=True, kw_only=True, eq=False)
class Finding:
    """One thing that a plan, a light or a scheme says about itself."""

    what: str  # a plain-word subject: "Main route, hall to balcony"
    measured: float | None
    required: float | None
    within: float = 0.0  # ± of the measured value
    unit: str = "m"
    verdict: Verdict
    severity: Severity
    rule: str  # reference id
    why: str  # the formula or comparison with its numbers
    mend: str = ""  # what to do about it
    about: tuple[str, ...] = ()  # ids of the things it is about
    at: Point | None = None  # where to put its number
    area: tuple[Point, ...] = ()  # outline of what it is about
    line: tuple[Point, ...] = ()  # the measured distance


def digest(*things: object) -> str:
    """A key that is the same for equal values, in any process.

    Parameters
    ----------
    *things : object
        Model values, and plain values of them.

    Returns
    -------
    str
        Forty hexadecimal digits.

    Examples
    --------
    >>> digest(Known()) == digest(Known(source="plan"))
    True
    """

    def plain(value: object) -> object:
        if dataclasses.is_dataclass(value) and not isinstance(value, type):
            return {f.name: getattr(value, f.name) for f in dataclasses.fields(value)}
        if isinstance(value, Mapping):
            return dict(value)
        return str(value)

    text = json.dumps(things, default=plain, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()[:40]
