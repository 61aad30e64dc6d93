"""The sheets of the scheme: share of black, finishes, and what is said of two of them.

The light of the room, and the views, are worked out once for all of these.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from designkit.analyses.of_lamps import spectra_of, tinted_daylight, under_lamps
from designkit.analyses.of_meetings import Meetings, beside, pair_to_lay, scheme_meetings
from designkit.analyses.of_scheme import (
    LitScheme,
    Scheme,
    lit_schemes,
    scheme,
    scheme_picture,
    scheme_viewpoints,
)
from designkit.analyses.swaps import RANKED, ThreeShares, ThreeWaySwap, swaps_three_ways
from designkit.balance import band_of
from designkit.figures.balance import balance_figure
from designkit.figures.drawing import Drawing
from designkit.figures.finishes import finishes_sheets
from designkit.figures.massing import finishes_view, lit_view
from designkit.figures.meetings import meetings_answer, meetings_figure
from designkit.figures.samples import samples_answer, samples_figure
from designkit.figures.sheet import TitleBlock
from designkit.figures.swaps import swap_rows, swaps_figure
from designkit.figures.under_lamps import daylight_words, lamps_figure
from designkit.model import Home, Project

__all__ = ["SchemeSet"]

Block = Callable[[str], TitleBlock]
_RAYS = 10_000  # within 0.2 point


@dataclass(eq=False)
class SchemeSet:
    """Makes the sheets of one layout's scheme.

    Parameters
    ----------
    project : Project
        With finishes.
    layout : str
        Id of the layout.
    folder : Path, optional
        The project folder, for photometric files and spectra.
    small, large : str
        Papers, keys of `designkit.figures.sheet.PAPERS`.
    """

    project: Project
    layout: str
    folder: Path | None
    small: str
    large: str

    @property
    def home(self) -> Home:
        """The home of the project."""
        return self.project.home

    @cached_property
    def views(self) -> tuple[str, ...]:
        """Where one looks from: the way in, the seat whose view is asked for, the table."""
        points = list(scheme_viewpoints(self.home, layout=self.layout))
        asked = [w.start for w in self.home.brief.wishes.values() if w.kind == "view"]
        views = [
            *[p for p in points if "front" in p or "hall" in p][:1],
            *[p for p in points if p in asked or p.rsplit("_", 1)[0] in asked][:1],
            *[p for p in points if "table" in p][:1],
        ]
        return tuple(dict.fromkeys(views))

    @cached_property
    def seat(self) -> str:
        """The seat that one looks from once it is lit; "" without lamps."""
        plan = self.home.layouts[self.layout]
        return next((v for v in self.views if v in plan.pieces), "") if plan.lamps else ""

    @cached_property
    def area(self) -> Scheme:
        """The shares by area."""
        return scheme(self.home, layout=self.layout)

    @cached_property
    def lit(self) -> list[LitScheme]:
        """From the seat by day and in the evening."""
        if not self.seat:
            return []
        return lit_schemes(
            self.home,
            viewpoints=[self.seat],
            layout=self.layout,
            folder=self.folder,
            rays=_RAYS,
        )

    @cached_property
    def met(self) -> Meetings:
        """Which finishes meet, as seen from these places."""
        return scheme_meetings(self.home, layout=self.layout, viewpoints=self.views)

    @cached_property
    def found(self) -> tuple[ThreeShares, tuple[ThreeWaySwap, ...]] | None:
        """Other finishes as the seat is lit by day; None where it is not lit."""
        if not self.lit:
            return None
        return swaps_three_ways(
            self.home,
            self.home.layouts[self.layout],
            lit=self.lit[0].lit,
            keep=self.home.brief.keeps,
            rays=_RAYS,
        )

    @cached_property
    def spectra(self) -> tuple[str, ...]:
        """Finishes with a spectrum that can be read."""
        return tuple(spectra_of(self.home, folder=self.folder))

    def has(self, name: str) -> bool:
        """Whether there is something to say on a sheet.

        Parameters
        ----------
        name : str
            Of a sheet of the set.

        Returns
        -------
        bool
            False where no other finish would move a share, nothing meets, or no
            finish has a spectrum.
        """
        if name == "other-finishes":
            return self.found is not None and bool(self.found[1])
        if name in ("what-meets-what", "two-samples"):
            return any(e.meeting.finish_a != e.meeting.finish_b for e in self.met.edges)
        if name == "under-lamps":
            return bool(self.spectra)
        return True

    def sheets(self, name: str, *, block: Block) -> Sequence[Drawing]:
        """The drawings of one sheet of the set.

        Parameters
        ----------
        name : str
            "share-of-black", "finishes", "other-finishes", "what-meets-what",
            "two-samples" or "under-lamps".
        block : callable
            ``block(title) -> TitleBlock``.

        Returns
        -------
        sequence of Drawing
            More than one where it runs over; none where `has` says so.
        """
        makers: dict[str, Callable[[Block], Sequence[Drawing]]] = {
            "share-of-black": self._black,
            "finishes": self._finishes,
            "other-finishes": self._swaps,
            "what-meets-what": self._meetings,
            "two-samples": self._samples,
            "under-lamps": self._lamps,
        }
        return makers[name](block)

    def _black(self, block: Block) -> Sequence[Drawing]:
        """Share of black by area, by view and as lit."""
        ways = [self.area]
        pictures: list[Drawing | None] = [None]
        for view in self.views:
            ways.append(scheme(self.home, layout=self.layout, viewpoint=view, rays=_RAYS))
            seen = scheme_picture(
                self.home, layout=self.layout, viewpoint=view, columns=480, rows=300
            )
            pictures.append(finishes_view(seen, finishes=self.area.finishes))
        pictures += [lit_view(way.lit.picture(columns=360, rows=225)) for way in self.lit]
        return [
            balance_figure(
                [*ways, *self.lit],
                home=self.home,
                block=block("Share of black"),
                paper=self.large if self.lit else self.small,
                pictures=pictures if len(pictures) > 1 else (),
            )
        ]

    def _finishes(self, block: Block) -> Sequence[Drawing]:
        """Each finish that is used, six on a sheet, with room for its cutting."""
        used = sorted(self.area.weights, key=lambda w: -w.weight)
        known = self.area.finishes
        return finishes_sheets(
            {w.finish: known[w.finish] for w in used if w.finish in known},
            edges=[e for e in self.met.edges if e.meeting.how == "touch"],
            daylight={
                id: daylight_words(shifts)
                for id, shifts in tinted_daylight(
                    self.home, layout=self.layout, folder=self.folder
                ).items()
            },
            block=block("Finishes"),
            paper=self.large,
        )

    def _swaps(self, block: Block) -> Sequence[Drawing]:
        """Other finishes, ranked three ways, as the seat is lit by day."""
        if self.found is None:
            return []
        now, found = self.found
        view = band_of("view", overrides=self.home.rules)
        return [
            swaps_figure(
                (now.area, now.view, now.lit),
                swap_rows(self.home, found),
                bands=(self.area.band, view[0] if view else None, None),
                under=self.lit[0].viewpoint.name,
                note=RANKED,
                block=block("Other finishes"),
                paper=self.small,
            )
        ]

    def _meetings(self, block: Block) -> Sequence[Drawing]:
        """What meets what, and how far apart the two are."""
        met = self.met
        return [
            meetings_figure(
                met.edges,
                finishes=met.finishes,
                quarrel=met.quarrel,
                limits=met.limits,
                answer=meetings_answer(met.edges, finishes=met.finishes, quarrel=met.quarrel),
                block=block("What meets what"),
                paper=self.large,
            )
        ]

    def _samples(self, block: Block) -> Sequence[Drawing]:
        """The two finishes that most want to be laid side by side."""
        pair = pair_to_lay(self.met)
        if pair is None:
            return []
        two = beside(self.home, one=pair.one, two=pair.two)
        said = samples_answer(two.edge, finishes=(two.one, two.two), quarrel=two.quarrel)
        return [
            samples_figure(
                two.one,
                two.two,
                edge=two.edge,
                undertones=two.undertones,
                quarrel=two.quarrel,
                limits=self.met.limits,
                answer=f"{said} Of all that meets these are laid first: {pair.why}.",
                block=block("Sample against sample"),
                paper=self.small,
            )
        ]

    def _lamps(self, block: Block) -> Sequence[Drawing]:
        """Two finishes with a spectrum under lamps, or one beside what it meets."""
        if not self.spectra:
            return []
        one, *rest = self.spectra
        beside_it = [
            f
            for e in self.met.edges
            for f in (e.meeting.finish_a, e.meeting.finish_b)
            if one in (e.meeting.finish_a, e.meeting.finish_b) and f != one
        ]
        two = next((f for f in beside_it if f in rest), (*rest, *beside_it, one)[0])
        under = under_lamps(self.home, one=one, two=two, layout=self.layout, folder=self.folder)
        return [lamps_figure(under, block=block("Under lamps"), paper=self.small)]
