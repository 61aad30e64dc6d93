"""Two finishes under daylight and lamps, as far as their spectra are known."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from designkit.analyses.keep import Kept
from designkit.analyses.pick import home_of, layout_of
from designkit.errors import LookupFailed
from designkit.model import Home, Layout, Project
from designkit.palette.finishes import FinishValue, Limits, find, resolve_all
from designkit.palette.glass import BehindGlass, behind_glass
from designkit.palette.glazing import glazing_of
from designkit.palette.lamps_on_finishes import (
    LampShift,
    Parting,
    lamp_like,
    parting,
    shift,
    unknown_under,
)
from designkit.palette.spectra import LAMPS, THROUGH, Spectrum, read_spectrum, spectrum_of
from designkit.scene.surfaces import surfaces

__all__ = [
    "CHART",
    "SHOWN",
    "UnderLamps",
    "layout_lamps",
    "shift_under",
    "spectra_of",
    "tinted_daylight",
    "tinted_windows",
    "under_lamps",
]

SHOWN = ("D65", "A", "LED-B1", "LED-BH1", "LED-V1", "LED-B3", "FL11")

# Patches of the 24-patch test chart of ISO 17321-1, whose spectra are known.
CHART: Mapping[str, str] = {
    "chart: white": "white 9.5 (.05 D)",
    "chart: light grey": "neutral 8 (.23 D)",
    "chart: mid grey": "neutral 5 (.70 D)",
    "chart: black": "black 2 (1.5 D)",
    "chart: brown": "dark skin",
    "chart: foliage green": "foliage",
    "chart: orange": "orange",
    "chart: yellow": "yellow",
    "chart: blue": "blue",
    "chart: red": "red",
}


@dataclass(frozen=True, kw_only=True, eq=False)
class UnderLamps:
    """Two finishes under each lamp."""

    one: str  # names
    two: str
    lamps: tuple[str, ...]
    shifts: tuple[tuple[LampShift, ...], tuple[LampShift, ...]]
    pairs: tuple[Parting | None, ...]  # None: a spectrum is missing
    like: Mapping[str, str]  # lamp -> fixtures of the layout that it stands for
    hexes: tuple[str, str]  # as known in daylight, where there is no spectrum
    glass: tuple[BehindGlass | None, BehindGlass | None]  # None: a chart patch


_FILES: Kept[Spectrum] = Kept(24)


def spectra_of(project: Project | Home, *, folder: Path | None = None) -> dict[str, Spectrum]:
    """Spectra that the finishes of a home name.

    Parameters
    ----------
    project : Project or Home
        The home.
    folder : Path, optional
        The project folder; the files lie in its samples.

    Returns
    -------
    dict of str to Spectrum
        By finish; those without a file are not among them.

    Raises
    ------
    FileFormatError
        A file is missing or is no spectrum.
    InputError
        Its wavelengths or reflectances cannot be, or it lies outside samples.
    """
    from designkit.project.reading import inside

    found = {}
    for id, finish in home_of(project).finishes.items():
        if finish.spectrum and folder is not None:
            path = inside(folder, finish.spectrum, under="samples")
            stamp = path.stat().st_mtime_ns if path.is_file() else 0

            def read(path: Path = path, name: str = finish.name) -> Spectrum:
                made = read_spectrum(path)
                return spectrum_of(made.wavelengths, made.reflectance, name=name)

            found[id] = _FILES.get((path, stamp), read)
    return found


def _chart(id: str) -> Spectrum:
    import colour

    patch = colour.SDS_COLOURCHECKERS["ISO 17321-1"][CHART[id]]
    return spectrum_of(patch.wavelengths, patch.values, name=id)


def layout_lamps(project: Project | Home, *, layout: str | Layout = "") -> dict[str, str]:
    """The CIE lamps that stand for the fixtures of a layout.

    Parameters
    ----------
    project : Project or Home
        The home.
    layout : str or Layout
        A layout's id or a layout itself; "" is the home's current one.

    Returns
    -------
    dict of str to str
        Lamp to fixtures in words; fixtures without a colour temperature are not
        among them.

    Raises
    ------
    LookupFailed
        There is no such layout.
    """
    home = home_of(project)
    found: dict[str, dict[str, None]] = {}
    for lamp in layout_of(home, layout).lamps.values():
        fixture = home.fixtures.get(lamp.fixture)
        if fixture is not None and fixture.kelvin:
            words = f"{fixture.name}, {fixture.kelvin:,.0f} K"
            found.setdefault(lamp_like(fixture.kelvin, cri=fixture.cri), {})[words] = None
    return {lamp: "; ".join(words) for lamp, words in found.items()}


def tinted_windows(home: Home) -> dict[str, tuple[str, ...]]:
    """Glass that is tinted in the mass, and the windows that have it.

    Parameters
    ----------
    home : Home
        Its openings.

    Returns
    -------
    dict of str to tuple of str
        Kind of glass to names of windows.

    Raises
    ------
    LookupFailed
        A window names a glass that there is not.
    """
    found: dict[str, tuple[str, ...]] = {}
    for id, opening in home.openings.items():
        if opening.glass and glazing_of(opening.glass).tinted:
            name = opening.name or id.replace("_", " ")
            found[opening.glass] = (*found.get(opening.glass, ()), name)
    return found


def _dark_glass(lamp: str) -> str:
    """The name of the glass where this is daylight behind glass without a spectrum."""
    glass = lamp.removeprefix(THROUGH)
    if glass == lamp or glazing_of(glass).white is not None:
        return ""
    return glazing_of(glass).name


def shift_under(
    spectrum: Spectrum | None,
    *,
    name: str,
    lamp: str,
    overrides: Mapping[str, float] | None = None,
) -> LampShift:
    """How far a finish shifts, or that it is not known.

    Parameters
    ----------
    spectrum : Spectrum or None
        Of the finish, where it is known.
    name : str
        Of the finish.
    lamp : str
        A key of `designkit.palette.spectra.LAMPS`, or daylight behind glass.
    overrides : mapping of str to float, optional
        The project's own values (`Home.rules`).

    Returns
    -------
    LampShift
        "Not known" where the finish or the glass has no spectrum.

    Raises
    ------
    LookupFailed
        There is no such lamp or glass.
    """
    glass = _dark_glass(lamp)
    if spectrum is None or glass:
        return unknown_under(name, lamp=lamp, glass=glass if spectrum is not None else "")
    return shift(spectrum, lamp=lamp, overrides=overrides)


def tinted_daylight(
    project: Project | Home, *, layout: str | Layout = "", folder: Path | None = None
) -> dict[str, tuple[LampShift, ...]]:
    """What tinted windows do by day to the finishes of their own rooms.

    Parameters
    ----------
    project : Project or Home
        The home.
    layout : str or Layout
        A layout's id or a layout itself; "" is the home's current one.
    folder : Path, optional
        The project folder, for the files of spectra.

    Returns
    -------
    dict of str to tuple of LampShift
        Finish to its shift behind each kind of glass, fully adapted (CAT16), or "not
        known"; empty where no window is tinted.

    Raises
    ------
    LookupFailed
        There is no such layout, finish or glass.
    FileFormatError, InputError
        A file of a spectrum cannot be used.
    """
    home = home_of(project)
    rooms: dict[str, dict[str, None]] = {}
    for opening in home.openings.values():
        if opening.glass and glazing_of(opening.glass).tinted:
            rooms.setdefault(opening.room, {})[opening.glass] = None
    if not rooms:
        return {}
    spectra = spectra_of(home, folder=folder)
    glass: dict[str, dict[str, None]] = {}
    for surface in surfaces(home, layout_of(home, layout), rooms=None):
        if surface.finish in home.finishes and surface.room in rooms:
            glass.setdefault(surface.finish, {}).update(rooms[surface.room])
    return {
        id: tuple(
            shift_under(
                spectra.get(id),
                name=home.finishes[id].name,
                lamp=THROUGH + kind,
                overrides=home.rules,
            )
            for kind in kinds
        )
        for id, kinds in glass.items()
    }


def under_lamps(
    project: Project | Home,
    *,
    one: str,
    two: str,
    lamps: Sequence[str] = SHOWN,
    layout: str | Layout = "",
    folder: Path | None = None,
    more: Mapping[str, Spectrum] | None = None,
    glass: str = "clear-6",
) -> UnderLamps:
    """Two finishes in daylight and under lamps.

    Parameters
    ----------
    project : Project or Home
        The home.
    one, two : str
        Ids of finishes, or keys of `CHART`.
    lamps : sequence of str, optional
        Keys of `designkit.palette.spectra.LAMPS`; those that stand for the layout's
        fixtures, and daylight behind its tinted glass, are added.
    layout : str or Layout
        A layout's id or a layout itself; "" is the home's current one.
    folder : Path, optional
        The project folder, for the files of spectra.
    more : mapping of str to Spectrum, optional
        Spectra by finish that are not in the project.
    glass : str, optional
        A key of `designkit.palette.glass.GLASSES`.

    Returns
    -------
    UnderLamps
        "Not known" where a finish has no spectrum.

    Raises
    ------
    LookupFailed
        There is no such finish, lamp, layout or glass.
    FileFormatError, InputError
        A file of a spectrum cannot be used.
    """
    home = home_of(project)
    values = resolve_all(home.finishes, limits=Limits.of(home.rules), overrides=home.rules)
    known = {**spectra_of(home, folder=folder), **(more or {})}
    panes_of = tinted_windows(home)
    like = layout_lamps(home, layout=layout) | {
        THROUGH + glass: ", ".join(names) for glass, names in panes_of.items()
    }
    every = tuple(dict.fromkeys((*lamps, *like)))
    for lamp in every:
        if lamp not in LAMPS and lamp not in like:
            raise LookupFailed("lamp", given=lamp, allowed=", ".join(LAMPS))
    names, hexes = [], []
    panes: list[BehindGlass | None] = []
    spectra: list[Spectrum | None] = []
    for id in (one, two):
        if id in CHART:
            spectra.append(_chart(id))
            names.append(id)
            hexes.append("")
            panes.append(None)
            continue
        finish: FinishValue = find(values, id)
        spectra.append(known.get(id))
        names.append(finish.name)
        hexes.append(finish.hex)
        panes.append(behind_glass(finish, glass=glass))
    a, b = spectra
    shifts = [
        tuple(shift_under(s, name=name, lamp=lamp, overrides=home.rules) for lamp in every)
        for s, name in zip(spectra, names, strict=True)
    ]
    return UnderLamps(
        one=names[0],
        two=names[1],
        lamps=every,
        shifts=(shifts[0], shifts[1]),
        pairs=tuple(
            None
            if a is None or b is None or _dark_glass(lamp)
            else parting(a, b, lamp=lamp, overrides=home.rules)
            for lamp in every
        ),
        like=like,
        hexes=(hexes[0], hexes[1]),
        glass=(panes[0], panes[1]),
    )
