"""Light the full way: lamps and windows, shadows, and what the room sends back.

The rooms and what stands in them are cut into patches (`designkit.scene`). Each
lamp lights them with the shadows of pieces, then all light goes back and forth until
it is absorbed. Every lamp is kept apart at full power, so that a dimmer costs a
sum; form factors are kept by geometry, so that a finish costs an iteration and a
lamp that moves costs its own shadows only.

Said with every result: pieces count by their bounding parts; luminaires take no
light and cast no shadow; all finishes are matt.
"""

from __future__ import annotations

import dataclasses
import math
from collections import OrderedDict
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import shapely

from designkit.errors import InputError, LookupFailed, nearest
from designkit.lighting.distribution import Photometry
from designkit.lighting.emitters import (
    Direct,
    direct_at_points,
    lamp_direct,
    window_direct,
    windows,
)
from designkit.lighting.lamps import LitLamp, lit_lamps
from designkit.lighting.shell import shells
from designkit.model import Home, Layout
from designkit.palette.finishes import resolve
from designkit.palette.glazing import back_of, glazing_of
from designkit.plan.place import Placed, place_home
from designkit.reference import value
from designkit.scene.bounding import labels_of
from designkit.scene.factors import Factors, about, cosine_rays, form_factors
from designkit.scene.hits import meet
from designkit.scene.patches import Patches, patches_of
from designkit.scene.rays import Target
from designkit.scene.solids import Shell, Solid, shell, solids
from designkit.scene.transport import (
    Transport,
    energy_residual,
    repainted,
    spread_light,
    transport,
)

__all__ = [
    "METHOD",
    "Exchange",
    "PatchLight",
    "by_day",
    "exchange",
    "illuminance_at",
    "in_the_evening",
    "moved",
    "swapped",
    "with_finishes",
]

Array = npt.NDArray[np.float64]

METHOD = (
    "Light by exchange between patches: inverse square and cosine with the shadows of pieces, "
    "then all that the surfaces send back and forth.",
    "Pieces count by their bounding parts; legs, stems and open rings are left out; luminaires "
    "take no light and cast no shadow; every finish is matt.",
)
DAY = (
    "By day: an overcast sky over open ground, no sun; glass passes the same share of the "
    "sky at every angle; drawn cloth shines evenly with what passes through it.",
)


@dataclass(frozen=True, kw_only=True, eq=False)
class Exchange:
    """A layout ready to be lit: patches, and the light of each lamp at full power."""

    home: Home
    layout: Layout
    patches: Patches
    labels: tuple[Target, ...]
    bodies: tuple[Solid, ...]  # without the luminaires
    reflectance: Array  # of labels [1]
    transport: Transport
    factors: Factors
    lamps: tuple[LitLamp, ...]  # those with light
    direct: Array  # (lamps, p) [lx]
    light: Array  # (lamps, p), with all that is sent back and forth [lx]
    residual: Array  # (lamps,), of the direct flux before it was scaled [1]
    placed: Mapping[str, Placed]
    photometry: Mapping[str, Photometry] | None
    notes: tuple[str, ...]

    @property
    def energy(self) -> float:
        """How far the light that is absorbed is from the light of the lamps. [1]"""
        if not self.lamps:
            return 0.0
        return float(energy_residual(self.transport, direct=self.direct, light=self.light).max())


@dataclass(frozen=True, kw_only=True, eq=False)
class PatchLight:
    """The light of one state: lamps as dimmed, or a day."""

    when: str  # "evening" or "day"
    lux: Array  # (p,) [lx]
    glow: Array  # (p,), light that cloth before a window gives off itself [lm/m²]
    shares: Array  # (lamps,) of full power
    luminance: Array  # (p,), by the patch's own mean finish [cd/m²]
    notes: tuple[str, ...]
    tinted: tuple[tuple[str, Array], ...] = ()  # kind of glass, (p,) light through it [lx]


# --- what is kept -----------------------------------------------------------------


@dataclass
class _Kept:
    """Patches, factors and the first transport of one geometry."""

    key: tuple[object, ...]
    patches: Patches
    factors: Factors
    transport: Transport | None = None
    direct: OrderedDict[tuple[object, ...], Direct] = dataclasses.field(default_factory=OrderedDict)
    light: OrderedDict[tuple[object, ...], Array] = dataclasses.field(default_factory=OrderedDict)


_KEPT: OrderedDict[int, _Kept] = OrderedDict()
_MOST_KEPT = 3  # a geometry holds about 60 MB
_MOST_LAMPS = 64


def _shape(home: Home) -> tuple[object, ...]:
    """Rooms and openings without their finishes."""
    return (
        tuple((id, r.outline, r.height) for id, r in home.rooms.items()),
        tuple(
            (
                (id, o.room, o.wall, o.kind, o.to, o.leaves),
                (o.offset, o.width, o.head, o.sill, o.thickness),
            )
            for id, o in home.openings.items()
        ),
    )


def _geometry(
    home: Home, bodies: Sequence[Solid], rooms: Shell, size: float, most: int, rays: int
) -> _Kept:
    key: tuple[object, ...] = (
        rooms.rooms,
        _shape(home),
        tuple((b.kind, b.base, b.top, b.transmits, b.room) for b in bodies),
        tuple(shapely.to_wkb(np.array([b.footprint for b in bodies], dtype=object)).tolist()),
        (size, most, rays),
        tuple(
            value(id, home.rules)
            for id in (
                "palette.frame.width",
                "palette.against",
                "plan.clear.rug",
                "scene.patch.stick",
            )
        ),
    )
    mark = hash(key)
    kept = _KEPT.get(mark)
    if kept is not None and kept.key == key:
        _KEPT.move_to_end(mark)
        return kept
    patches = patches_of(home, bodies, rooms=rooms, size=size, most=most)
    kept = _Kept(key=key, patches=patches, factors=form_factors(patches, rays=rays))
    _KEPT[mark] = kept
    while len(_KEPT) > _MOST_KEPT:
        _KEPT.popitem(last=False)
    return kept


def _file_key(photometry: Photometry | None) -> int:
    if photometry is None:
        return 0
    arrays = (photometry.vertical, photometry.horizontal, photometry.intensity)
    return hash((photometry.symmetry, *(a.tobytes() for a in arrays)))


def _lamp_key(lamp: LitLamp, loss: float) -> tuple[object, ...]:
    """Where a lamp is and what it gives."""
    return (
        loss,
        *(
            (
                s.at,
                s.lumens,
                s.pattern,
                s.up_share,
                s.exponent,
                s.aim,
                s.rotation,
                _file_key(s.photometry),
            )
            for s in lamp.sources
        ),
    )


def _lamp_light(kept: _Kept, lamp: LitLamp, loss: float) -> Direct:
    """Direct light of a lamp, kept by where it is and what it gives."""
    key = _lamp_key(lamp, loss)
    if key not in kept.direct:
        sources = [dataclasses.replace(s, lumens=s.lumens * loss) for s in lamp.sources]
        kept.direct[key] = lamp_direct(kept.patches, sources=sources)
        while len(kept.direct) > _MOST_LAMPS:
            kept.direct.popitem(last=False)
    return kept.direct[key]


def _all_light(
    kept: _Kept, through: Transport, lamps: Sequence[LitLamp], direct: Array, loss: float
) -> Array:
    """Light of each lamp with all that is sent back and forth; only new lamps are worked out."""
    paint = hash(through.reflectance.tobytes())
    keys = [(paint, through.resolvent is None, *_lamp_key(lamp, loss)) for lamp in lamps]
    fresh = [n for n, key in enumerate(keys) if key not in kept.light]
    if fresh:
        found = spread_light(through, direct=direct[fresh])
        kept.light.update((keys[n], row) for n, row in zip(fresh, found))
    light = np.array([kept.light[key] for key in keys]).reshape(direct.shape)
    while len(kept.light) > _MOST_LAMPS:
        kept.light.popitem(last=False)
    return light


# --- reflectances -----------------------------------------------------------------


def _reflectances(home: Home, labels: Sequence[Target]) -> tuple[Array, tuple[str, ...]]:
    """Reflectance of each label, and what had to be assumed."""
    most = value("light.reflectance.most", home.rules)
    of_finish: dict[str, float] = {}
    found, assumed = np.zeros(len(labels)), {}
    for n, label in enumerate(labels):
        if label.kind == "beyond":
            continue
        if label.kind == "glass":
            found[n] = _glass_back(home, label)
            continue
        if not label.finish:
            part = label.kind if label.kind in ("floor", "ceiling") else "wall"
            found[n] = value(f"light.reflectance.{part}", home.rules)
            assumed[label.item] = found[n]
            continue
        if label.finish not in of_finish:
            if label.finish not in home.finishes:
                raise LookupFailed(
                    f"finish of {label.item}",
                    given=label.finish,
                    allowed=", ".join(home.finishes) or "none is there yet",
                    mend=f"nearest: {nearest(label.finish, home.finishes) or 'none'}",
                )
            finish = resolve(home.finishes[label.finish], id=label.finish, overrides=home.rules)
            of_finish[label.finish] = min(finish.lrv / 100, most)
        found[n] = of_finish[label.finish]
    notes = tuple(f"{item}: no finish, reflectance {r:.2f} taken" for item, r in assumed.items())
    return found, notes


def _glass_back(home: Home, label: Target) -> float:
    """What bare glass gives back: that of its kind, or of clear glass where none is said."""
    opening = home.openings.get(label.owner)
    if opening is None:
        return value("light.reflectance.glass", home.rules)
    return back_of(opening, overrides=home.rules)


def _patch_reflectance(patches: Patches, of_label: Array) -> Array:
    return np.minimum(patches.mixed(of_label), 0.999)


# --- set-up -----------------------------------------------------------------------


def exchange(
    home: Home,
    layout: Layout,
    *,
    rooms: Collection[str] | None = None,
    placed: Mapping[str, Placed] | None = None,
    photometry: Mapping[str, Photometry] | None = None,
    size: float | None = None,
    most: int | None = None,
    rays: int | None = None,
    operator: bool = False,
) -> Exchange:
    """Make a layout ready to be lit.

    Parameters
    ----------
    home : Home
        The home.
    layout : Layout
        One arrangement with its lamps and drapery.
    rooms : collection of str, optional
        Only these rooms; all where missing.
    placed : mapping of str to Placed, optional
        The pieces where they stand, if they have been placed already.
    photometry : mapping of str to Photometry, optional
        Files by the name that the fixtures give.
    size : float, optional
        Largest side of a patch. [m]
    most : int, optional
        Most patches.
    rays : int, optional
        Rays a patch for form factors.
    operator : bool, optional
        Work out the inverse as well, for trying many lamps or places.

    Returns
    -------
    Exchange
        With the light of each lamp at full power. Form factors are kept: the
        same rooms and pieces with other finishes, lamps or dimmers are quick.

    Raises
    ------
    InputError
        A value cannot be, or a lamp has no place.
    LookupFailed
        A thing is named that does not exist.
    """
    size = value("scene.patch.size", home.rules) if size is None else size
    most = int(value("scene.patch.most", home.rules)) if most is None else most
    rays = int(value("scene.factor.rays", home.rules)) if rays is None else rays
    if placed is None:
        placed = place_home(home, layout)
    inside = shell(home, rooms=rooms)
    every = solids(home, layout, rooms=rooms, placed=placed)
    bodies = tuple(b for b in every if b.kind != "lamp")
    kept = _geometry(home, bodies, inside, size, most, rays)
    labels = labels_of(home, bodies, inside)
    of_label, assumed = _reflectances(home, labels)
    rho = _patch_reflectance(kept.patches, of_label)
    if kept.transport is None or (operator and kept.transport.resolvent is None):
        kept.transport = transport(kept.factors, reflectance=rho, operator=operator)
    through = repainted(kept.transport, reflectance=rho)
    lit = lit_lamps(
        home,
        layout,
        shells=shells(home, layout),
        placed=dict(placed),
        photometry=photometry,
    )
    lamps = tuple(lamp for lamp in lit.values() if lamp.sources and lamp.room in inside.rooms)
    loss = value("light.loss", home.rules)
    made = [_lamp_light(kept, lamp, loss) for lamp in lamps]
    direct = np.array([d.lux for d in made]).reshape(len(lamps), len(rho))
    dark = [
        f"{lamp.id}: shut in, gives no light" for lamp, d in zip(lamps, made) if d.residual == 1
    ]
    unknown = [
        f"{lamp.id}: lumens not known, gives no light"
        for lamp in lit.values()
        if lamp.lumens is None
    ]
    return Exchange(
        home=home,
        layout=layout,
        patches=kept.patches,
        labels=labels,
        bodies=bodies,
        reflectance=of_label,
        transport=through,
        factors=kept.factors,
        lamps=lamps,
        direct=direct,
        light=_all_light(kept, through, lamps, direct, loss),
        residual=np.array([d.residual for d in made]),
        placed=placed,
        photometry=photometry,
        notes=(*METHOD, *kept.patches.notes, *assumed, *dark, *unknown),
    )


def with_finishes(before: Exchange, home: Home) -> Exchange:
    """The same layout with other finishes.

    Parameters
    ----------
    before : Exchange
        From `exchange`.
    home : Home
        The same rooms, pieces and lamps; only finishes differ.

    Returns
    -------
    Exchange
        With the same form factors and direct light.

    Raises
    ------
    InputError
        More than finishes differ.
    LookupFailed
        A finish does not exist.
    """
    bodies = before.bodies
    if home.pieces is not before.home.pieces or home.rooms is not before.home.rooms:
        every = solids(home, before.layout, rooms=before.patches.rooms.rooms)
        bodies = tuple(b for b in every if b.kind != "lamp")
    labels = labels_of(home, bodies, before.patches.rooms)
    same = _shape(home) == _shape(before.home) and len(labels) == len(before.labels)
    same = same and all(
        (a.kind, a.owner, a.part) == (b.kind, b.owner, b.part)
        for a, b in zip(labels, before.labels)
    )
    same = same and all(
        (a.base, a.top, a.footprint.bounds) == (b.base, b.top, b.footprint.bounds)
        for a, b in zip(bodies, before.bodies)
    )
    if not same:
        raise InputError(
            "home",
            given="other rooms, openings or pieces",
            allowed="the same with other finishes",
            mend="use exchange",
        )
    return _with_labels(dataclasses.replace(before, home=home, bodies=bodies), labels)


def _with_labels(before: Exchange, labels: tuple[Target, ...]) -> Exchange:
    of_label, assumed = _reflectances(before.home, labels)
    through = repainted(before.transport, reflectance=_patch_reflectance(before.patches, of_label))
    light = before.direct
    if len(before.lamps):
        light = spread_light(through, direct=before.direct, near=before.light)
    plain = tuple(n for n in before.notes if "no finish, reflectance" not in n)
    return dataclasses.replace(
        before,
        labels=labels,
        reflectance=of_label,
        transport=through,
        light=light,
        notes=(*plain, *assumed),
    )


def swapped(before: Exchange, *, swap: Callable[[Target], str]) -> Exchange:
    """The same layout with other finishes on some things, without another home.

    Parameters
    ----------
    before : Exchange
        From `exchange`.
    swap : callable
        Gives the finish of a thing; its own where nothing changes.

    Returns
    -------
    Exchange
        With the same form factors and direct light.

    Raises
    ------
    LookupFailed
        A finish does not exist.
    """
    return _with_labels(
        before, tuple(dataclasses.replace(t, finish=swap(t)) for t in before.labels)
    )


def _lamp_number(of: Exchange, id: str) -> int:
    ids = [lamp.id for lamp in of.lamps]
    if id not in ids:
        raise LookupFailed(
            "lamp",
            given=id,
            allowed=", ".join(ids) or "none gives light",
            mend=f"nearest: {nearest(id, ids) or 'none'}",
        )
    return ids.index(id)


def moved(before: Exchange, *, lamp: str, by: tuple[float, float, float]) -> Exchange:
    """The same layout while one lamp is moved.

    Parameters
    ----------
    before : Exchange
        From `exchange`, with `operator=True` where a lamp is dragged.
    lamp : str
        Lamp id.
    by : tuple of float
        How far it goes from where it is: x, y, up. [m]

    Returns
    -------
    Exchange
        The layout in it is that from before; on release `exchange` takes the
        new one.

    Raises
    ------
    LookupFailed
        No such lamp gives light.
    InputError
        The step is not finite, or leads out of the rooms.
    """
    n = _lamp_number(before, lamp)
    if not all(map(math.isfinite, by)):
        raise InputError("step", given=by, allowed="three finite lengths")
    old = before.lamps[n]
    sources = tuple(
        dataclasses.replace(s, at=(s.at[0] + by[0], s.at[1] + by[1], s.at[2] + by[2]))
        for s in old.sources
    )
    rooms = before.patches.rooms
    for s in sources:
        room = rooms.room_at((s.at[0], s.at[1]))
        if not room or not 0 <= s.at[2] <= rooms.heights[room]:
            raise InputError(
                f"lamps.{lamp}",
                given=f"({s.at[0]:.2f}, {s.at[1]:.2f}), {s.at[2]:.2f} m high",
                allowed="a place inside the rooms",
            )
    loss = value("light.loss", before.home.rules)
    found = lamp_direct(
        before.patches,
        sources=[dataclasses.replace(s, lumens=s.lumens * loss) for s in sources],
    )
    direct, light = before.direct.copy(), before.light.copy()
    residual = before.residual.copy()
    direct[n], residual[n] = found.lux, found.residual
    light[n] = spread_light(before.transport, direct=found.lux, near=before.light[n])[0]
    lamps = list(before.lamps)
    lamps[n] = dataclasses.replace(old, sources=sources)
    return dataclasses.replace(
        before, lamps=tuple(lamps), direct=direct, light=light, residual=residual
    )


# --- states -----------------------------------------------------------------------


def _shares(of: Exchange, dim: float | Mapping[str, float]) -> tuple[Array, tuple[str, ...]]:
    """Share of full power of each lamp; a lamp that cannot be dimmed says so."""
    if not of.lamps:
        return np.zeros(0), ()
    if isinstance(dim, float | int) and dim == 1:
        return np.array([lamp.dim for lamp in of.lamps]), ()
    lit = lit_lamps(
        of.home,
        of.layout,
        shells=shells(of.home, of.layout),
        placed=dict(of.placed),
        dim=dim,
        photometry=of.photometry,
    )
    notes = tuple(
        f"{lamp.id}: {note}" for lamp in of.lamps for note in lit[lamp.id].notes if "dim" in note
    )
    return np.array([lit[lamp.id].dim for lamp in of.lamps]), notes


def _state(
    of: Exchange, when: str, lux: Array, glow: Array, shares: Array, notes: tuple[str, ...]
) -> PatchLight:
    luminance = (lux * of.transport.reflectance + glow) / math.pi
    return PatchLight(
        when=when,
        lux=lux,
        glow=glow,
        shares=shares,
        luminance=luminance,
        notes=(*of.notes, *notes),
    )


def in_the_evening(of: Exchange, *, dim: float | Mapping[str, float] = 1.0) -> PatchLight:
    """The light after dark.

    Parameters
    ----------
    of : Exchange
        From `exchange`.
    dim : float or mapping of str to float, optional
        Share of full light, for all or by circuit; times each lamp's own. [1]

    Returns
    -------
    PatchLight
        Illuminance and luminance of every patch.

    Raises
    ------
    InputError
        A share is not 0 to 1.
    LookupFailed
        There is no such circuit.
    """
    shares, notes = _shares(of, dim)
    lux = shares @ of.light if len(shares) else np.zeros(len(of.patches.area))
    return _state(of, "evening", lux, np.zeros(len(lux)), shares, notes)


def by_day(
    of: Exchange,
    *,
    sky: float | None = None,
    ground: float | None = None,
    dim: float | Mapping[str, float] = 0.0,
) -> PatchLight:
    """The light of an overcast day.

    Parameters
    ----------
    of : Exchange
        From `exchange`.
    sky : float, optional
        Light outdoors on level ground. [lx]
    ground : float, optional
        Reflectance of the ground. [1]
    dim : float or mapping of str to float, optional
        Lamps that are on by day; none where not given. [1]

    Returns
    -------
    PatchLight
        Illuminance and luminance of every patch.

    Raises
    ------
    InputError
        A value is out of its range.
    LookupFailed
        There is no such circuit.
    """
    horizontal = value("light.seen.sky", of.home.rules) if sky is None else sky
    earth = value("light.seen.ground", of.home.rules) if ground is None else ground
    rules = of.home.rules
    parts, notes = windows(
        of.patches,
        labels=of.labels,
        finishes=of.home.finishes,
        openings=of.home.openings,
        overrides=rules,
    )
    lux, glow = np.zeros(len(of.patches.area)), np.zeros(len(of.patches.area))
    tinted = []
    # Light through each kind of tinted glass is kept apart: it has a colour.
    for glass in dict.fromkeys(("", *(part.glass for part in parts))):
        through = [part for part in parts if part.glass == glass]
        if not through:
            continue
        found, shine = window_direct(of.patches, parts=through, horizontal=horizontal, ground=earth)
        own = spread_light(of.transport, direct=found.lux)[0]
        lux, glow = lux + own, glow + shine
        if glass:
            tinted.append((glass, own))
    shares, said = _shares(of, dim)
    if len(shares):
        lux = lux + shares @ of.light
    state = _state(of, "day", lux, glow, shares, (*DAY, *notes, *_glass_notes(of.home), *said))
    return dataclasses.replace(state, tinted=tuple(tinted))


def _glass_notes(home: Home) -> tuple[str, ...]:
    """Tinted glass of which nobody knows the colour that it gives the light."""
    named = {o.glass for o in home.openings.values() if o.glass}
    return tuple(
        f"{glazing_of(id).name}: its light is dimmed, of what colour is not known"
        for id in sorted(named)
        if glazing_of(id).tinted and glazing_of(id).white is None
    )


def illuminance_at(
    of: Exchange,
    *,
    points: npt.ArrayLike,
    normal: npt.ArrayLike = (0.0, 0.0, 1.0),
    dim: float | Mapping[str, float] = 1.0,
    rays: int = 1024,
) -> tuple[Array, Array]:
    """Light at points in the room, as on a page or a table, after dark.

    Parameters
    ----------
    of : Exchange
        From `exchange`.
    points : array-like (n, 3)
        Where it is measured, in the open. [m]
    normal : array-like (3,) or (n, 3), optional
        Unit normals; straight up where not given.
    dim : float or mapping of str to float, optional
        Share of full light, for all or by circuit. [1]
    rays : int, optional
        Rays that gather what surfaces send to each point.

    Returns
    -------
    tuple of array (n,)
        Direct light, and what is sent back by the room. [lx]

    Raises
    ------
    InputError
        A point is not finite, outside the rooms or inside a piece.
    """
    at = np.asarray(points, dtype=np.float64)
    if at.ndim != 2 or at.shape[1] != 3 or not np.isfinite(at).all():
        raise InputError("points", given=str(at.shape), allowed="finite triples, (n, 3)")
    normals = np.broadcast_to(np.asarray(normal, dtype=np.float64), at.shape)
    size = np.linalg.norm(normals, axis=1, keepdims=True)
    if not np.isfinite(size).all() or (size < 1e-9).any():
        raise InputError("normal", given="no direction", allowed="unit vectors")
    normals = normals / size
    patches = of.patches
    out = ~np.array([bool(patches.rooms.room_at((p[0], p[1]))) for p in at.tolist()])
    out |= patches.boxes.inside(at).any(axis=0)
    if out.any():
        bad = at[int(np.argmax(out))]
        raise InputError(
            "points",
            given=f"({bad[0]:.2f}, {bad[1]:.2f}, {bad[2]:.2f}) m",
            allowed="points in the open, inside the rooms",
            mend="move it out of the piece or wall",
        )
    shares, _ = _shares(of, dim)
    loss = value("light.loss", of.home.rules)
    direct = np.zeros(len(at))
    for share, lamp in zip(shares, of.lamps):
        if share:
            lit = [dataclasses.replace(s, lumens=s.lumens * loss * share) for s in lamp.sources]
            direct += direct_at_points(patches, sources=lit, points=at, normal=normals)
    local = cosine_rays(rays)
    one, two = about(normals)
    way = (
        local[None, :, :1] * one[:, None]
        + local[None, :, 1:2] * two[:, None]
        + local[None, :, 2:] * normals[:, None]
    )
    met = meet(patches, at[:, None, :], way)
    state = in_the_evening(of, dim=dim)
    sent = np.append(state.lux * of.transport.reflectance, np.nan)[met.patch].reshape(len(at), rays)
    return direct, np.nan_to_num(np.nanmean(sent, axis=1), nan=0.0)
