"""Lengths of patterned wallcovering cut from rolls.

A strip that has to match its neighbours must start at a given place in the
pattern, its phase. On a roll the next strip therefore starts at the first
place with its phase after the last cut. All strips of a straight match have
one phase, those of a half-drop two by turns (values D19).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from designkit.errors import InputError
from designkit.takeoff.lines import positive, whole

__all__ = ["Cut", "Cutting", "Match", "Strip", "cut_rolls", "pitch", "strips_per_roll"]

Match = Literal["free", "straight", "half-drop"]
_HAIR = 1e-9
_MOST_STEPS = 4000  # of the search that fills one roll: a few milliseconds


@dataclass(frozen=True, kw_only=True)
class Strip:
    """A length to be cut, trim included, with its place in the pattern. [m]"""

    id: str
    length: float
    phase: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Cut:
    """A strip where it is cut: from `start` to `end` of its roll. [m]"""

    strip: Strip
    start: float
    end: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Cutting:
    """All strips on rolls, and the least number of rolls there can be."""

    rolls: tuple[tuple[Cut, ...], ...]
    bound: int

    @property
    def count(self) -> int:
        """Rolls used."""
        return len(self.rolls)

    @property
    def proven(self) -> bool:
        """No cutting can do with fewer rolls."""
        return self.count == self.bound


def _match(match: str) -> None:
    if match not in get_args(Match):
        raise InputError(
            "match", given=match, allowed=", ".join(get_args(Match)), mend="use one of these"
        )


def pitch(
    length: float, *, repeat: float = 0.0, match: Match = "straight", mixed: bool = False
) -> float:
    r"""From the start of one strip on a roll to the start of the next.

    With :math:`H = (n + f) R`, :math:`0 \le f < 1`: strips of one phase take
    :math:`R \lceil H / R \rceil`; alternate strips of a half-drop take
    :math:`(n + ½) R` where :math:`0 \le f \le ½`, else :math:`(n + 1½) R`.

    Parameters
    ----------
    length : float
        Strip with its trim. [m]
    repeat : float, optional
        Pattern repeat; 0: none. [m]
    match : {"free", "straight", "half-drop"}, optional
        How neighbours meet.
    mixed : bool, optional
        For a half-drop: True: alternate strips from one roll; False: the better
        of that and of two rolls, odd strips from one and even from the other.

    Returns
    -------
    float
        Cloth or paper that one strip takes. [m]

    Raises
    ------
    InputError
        Unknown match, or a length that is not above zero.

    Examples
    --------
    >>> pitch(100, repeat=25, match="half-drop")
    100
    >>> pitch(100, repeat=25, match="half-drop", mixed=True)
    112.5
    """
    _match(match)
    positive("strip", length)
    positive("repeat", repeat, zero=True)
    if match == "free" or repeat == 0:
        return length
    straight = whole(length / repeat) * repeat
    if match == "straight":
        return straight
    turned = (whole(length / repeat - 0.5) + 0.5) * repeat
    return turned if mixed else min(straight, turned)


def _half_turned(length: float, *, repeat: float) -> float:
    """From a strip to the next that begins half a repeat apart.

    Also where neighbours match straight: two pieces under windows of different
    heights may lie half a repeat apart.
    """
    if repeat == 0:
        return length
    return pitch(length, repeat=repeat, match="half-drop", mixed=True)


def _sequence_length(odd: int, even: int, *, length: float, repeat: float, match: Match) -> float:
    """Shortest stretch of a roll that gives this many strips of each phase."""
    total = odd + even
    if total == 0:
        return 0.0
    same = pitch(length, repeat=repeat, match="straight" if match != "free" else "free")
    if odd == 0 or even == 0:
        return (total - 1) * same + length
    turned = _half_turned(length, repeat=repeat)
    low = 1
    high = 2 * min(odd, even) - (1 if odd == even else 0)
    changes = high if turned < same else low
    # A roll whose printed start is free begins on whichever phase suits.
    return changes * turned + (total - 1 - changes) * same + length


def strips_per_roll(
    length: float, *, roll_length: float, repeat: float = 0.0, match: Match = "straight"
) -> int:
    """Most strips of one height that a roll gives.

    Parameters
    ----------
    length : float
        Strip with its trim. [m]
    roll_length : float
        Length of the roll. [m]
    repeat : float, optional
        Pattern repeat. [m]
    match : {"free", "straight", "half-drop"}, optional
        How neighbours meet.

    Returns
    -------
    int
        0 where the strip is longer than the roll.

    Raises
    ------
    InputError
        Unknown match, or a length that is not above zero.

    Examples
    --------
    >>> strips_per_roll(2.6, roll_length=10.05)
    3
    """
    _match(match)
    positive("roll length", roll_length)
    positive("strip", length)
    if length > roll_length + _HAIR:
        return 0
    step = pitch(length, repeat=repeat, match=match)
    return math.floor((roll_length - length) / step + _HAIR) + 1


def _fewest_full(odd: int, even: int, fits: frozenset[tuple[int, int]]) -> list[tuple[int, int]]:
    """Loads (strips of each phase) of the fewest rolls for equal strips, exactly."""
    # Only the largest loads matter: a roll may always carry less.
    loads = sorted(
        load
        for load in fits
        if load != (0, 0)
        and (load[0] + 1, load[1]) not in fits
        and (load[0], load[1] + 1) not in fits
    )
    fewest: dict[tuple[int, int], tuple[int, tuple[int, int]]] = {(0, 0): (0, (0, 0))}
    for a in range(odd + 1):
        for b in range(even + 1):
            if (a, b) == (0, 0):
                continue
            fewest[a, b] = min(
                (1 + fewest[a - min(a, x), b - min(b, y)][0], (min(a, x), min(b, y)))
                for x, y in loads
                if min(a, x) + min(b, y) > 0
            )
    chosen = []
    a, b = odd, even
    while (a, b) != (0, 0):
        load = fewest[a, b][1]
        chosen.append(load)
        a, b = a - load[0], b - load[1]
    return chosen


def _tallest(
    strips: Sequence[Strip], roll_length: float, repeat: float, match: Match
) -> tuple[list[list[Strip]], list[Strip]]:
    """The longest strips, in the order they are cut from the fewest rolls, and the rest."""
    length = max(s.length for s in strips)
    tall = [s for s in strips if s.length > length - _HAIR]
    rest = [s for s in strips if s.length <= length - _HAIR]
    phases = sorted({round(s.phase, 9) for s in tall})
    by_phase = [[s for s in tall if round(s.phase, 9) == p] for p in phases]
    if len(by_phase) == 1:
        by_phase.append([])
    odd, even = by_phase[0], by_phase[1]
    most = strips_per_roll(length, roll_length=roll_length, repeat=0.0, match="free")
    fits = frozenset(
        (a, b)
        for a in range(min(len(odd), most) + 1)
        for b in range(min(len(even), most) + 1)
        if _sequence_length(a, b, length=length, repeat=repeat, match=match) <= roll_length + _HAIR
    )
    turned = _half_turned(length, repeat=repeat)
    same = pitch(length, repeat=repeat, match="straight" if repeat else "free")
    rolls = []
    for a, b in _fewest_full(len(odd), len(even), fits):
        first, odd = odd[:a], odd[a:]
        second, even = even[:b], even[b:]
        if a < b:
            first, second = second, first
        if turned < same:
            pairs = [s for pair in zip(first, second) for s in pair]
            rolls.append(pairs + first[len(second) :])
        else:
            rolls.append(first + second)
    return rolls, rest


@dataclass
class _Roll:
    cuts: list[Cut]
    origin: float  # where the pattern's phase 0 lies

    def place(self, strip: Strip, repeat: float) -> float:
        """First start that suits the strip after the last cut."""
        end = self.cuts[-1].end
        if repeat == 0:
            return end
        target = self.origin + strip.phase
        return target + max(0, whole((end - target) / repeat)) * repeat

    def add(self, strip: Strip, start: float) -> None:
        self.cuts.append(Cut(strip=strip, start=start, end=start + strip.length))


def _open(strip: Strip, head: float) -> _Roll:
    """A new roll whose head is trimmed back to what the first strip needs."""
    cut = Cut(strip=strip, start=head, end=head + strip.length)
    return _Roll(cuts=[cut], origin=head - strip.phase)


def _fill(
    order: Sequence[Strip],
    *,
    begun: list[_Roll],
    roll_length: float,
    repeat: float,
    head_loss: float,
    closest: bool,
) -> list[_Roll]:
    """Strips in order: each on the first roll that holds it, or on the one with the least gap."""
    rolls = begun
    for strip in order:
        best: tuple[float, int, float] | None = None
        for index, roll in enumerate(rolls):
            start = roll.place(strip, repeat)
            if start + strip.length > roll_length + _HAIR:
                continue
            gap = start - roll.cuts[-1].end if closest else 0.0
            if best is None or gap < best[0] - _HAIR:
                best = (gap, index, start)
        if best is None:
            rolls.append(_open(strip, head_loss if rolls else 0.0))
        else:
            rolls[best[1]].add(strip, best[2])
    return rolls


def cut_rolls(
    strips: Sequence[Strip],
    *,
    roll_length: float,
    repeat: float = 0.0,
    match: Match = "straight",
    head_loss: float = 0.0,
) -> Cutting:
    """Cut strips from as few rolls as the orders tried can do.

    Parameters
    ----------
    strips : sequence of Strip
        What is needed, trim included.
    roll_length : float
        Length of one roll. [m]
    repeat : float, optional
        Pattern repeat; 0: none. [m]
    match : {"free", "straight", "half-drop"}, optional
        How neighbours meet.
    head_loss : float, optional
        Lost at the head of every roll but the first, because it starts in
        mid-pattern: at worst one repeat. [m]

    Returns
    -------
    Cutting
        Rolls in the order they are opened, with a bound that no cutting beats.

    Raises
    ------
    InputError
        A strip is longer than a roll, or a length is not above zero.

    Examples
    --------
    >>> cut_rolls([Strip(id=str(i), length=2.6) for i in range(10)], roll_length=10.05).count
    4
    """
    _match(match)
    positive("roll length", roll_length)
    positive("repeat", repeat, zero=True)
    positive("loss at the head of a roll", head_loss, zero=True)
    for strip in strips:
        positive(f"strip {strip.id}", strip.length)
        if strip.length + head_loss > roll_length + _HAIR:
            raise InputError(
                f"strip {strip.id}",
                given=f"{strip.length:.3f} m",
                allowed=f"at most what a roll gives, {roll_length - head_loss:.3f} m",
                mend="take a longer roll: a strip has no join",
            )
    if not strips:
        return Cutting(rolls=(), bound=0)
    period = 0.0 if match == "free" else repeat
    return _best_cutting(tuple(strips), roll_length, period, match, head_loss)


def _fullest(
    left: dict[tuple[float, float], list[Strip]], roll_length: float, repeat: float, head: float
) -> _Roll:
    """One roll, filled as full as a bounded search of all chains of strips finds."""
    best: tuple[float, list[tuple[float, float]]] = (-1.0, [])
    count = {kind: len(strips) for kind, strips in left.items()}
    steps = 0

    def search(end: float, origin: float, used: float, chain: list[tuple[float, float]]) -> None:
        nonlocal best, steps
        if used > best[0] + _HAIR:
            best = (used, list(chain))
        room = sum(length * n for (length, _), n in count.items() if length <= roll_length - end)
        if steps > _MOST_STEPS or used + min(roll_length - end, room) <= best[0] + _HAIR:
            return
        for kind in count:
            length, phase = kind
            if not count[kind]:
                continue
            steps += 1
            start, zero = end, origin
            if not chain:
                zero = head - phase
            elif repeat:
                target = origin + phase
                start = target + max(0, whole((end - target) / repeat)) * repeat
            if start + length > roll_length + _HAIR:
                continue
            count[kind] -= 1
            chain.append(kind)
            search(start + length, zero, used + length, chain)
            chain.pop()
            count[kind] += 1

    search(head, 0.0, 0.0, [])
    roll: _Roll | None = None
    for kind in best[1]:
        strip = left[kind].pop(0)
        if roll is None:
            roll = _open(strip, head)
        else:
            roll.add(strip, roll.place(strip, repeat))
    assert roll is not None  # the longest strip fits on a roll: checked before
    return roll


def _one_by_one(
    strips: Sequence[Strip], *, roll_length: float, repeat: float, head_loss: float
) -> list[_Roll]:
    """Rolls filled one after the other, each as full as can be."""
    left: dict[tuple[float, float], list[Strip]] = {}
    for strip in strips:
        left.setdefault((strip.length, strip.phase), []).append(strip)
    rolls: list[_Roll] = []
    while any(left.values()):
        left = {kind: group for kind, group in left.items() if group}
        rolls.append(_fullest(left, roll_length, repeat, head_loss if rolls else 0.0))
    return rolls


def _best_cutting(
    strips: tuple[Strip, ...], roll_length: float, repeat: float, match: Match, head_loss: float
) -> Cutting:
    by_length = sorted(strips, key=lambda s: -round(s.length, 9))  # stable: order of hanging
    by_phase = sorted(strips, key=lambda s: (-round(s.length, 9), round(s.phase, 9)))
    tall = [s for s in strips if s.length > by_length[0].length - _HAIR]
    phases = sorted({round(s.phase, 9) for s in tall})
    # Only phases half a repeat apart are alike in both ways round.
    regular = len(phases) == 1 or (
        len(phases) == 2 and abs(phases[1] - phases[0] - repeat / 2) < 1e-6
    )
    bound = max(
        math.ceil(sum(s.length for s in strips) / roll_length - _HAIR),
        math.ceil(len(tall) / math.floor(roll_length / tall[0].length + _HAIR)),
    )
    tries: list[list[_Roll]] = []
    if regular:
        loads, _ = _tallest(strips, roll_length, repeat, match)
        bound = max(bound, len(loads))
        loads, rest = _tallest(strips, roll_length - head_loss, repeat, match)
        rolls: list[_Roll] = []
        for load in loads:
            roll = _open(load[0], head_loss if rolls else 0.0)
            for strip in load[1:]:
                roll.add(strip, roll.place(strip, repeat))
            rolls.append(roll)
        rest.sort(key=lambda s: -round(s.length, 9))
        tries.append(
            _fill(
                rest,
                begun=rolls,
                roll_length=roll_length,
                repeat=repeat,
                head_loss=head_loss,
                closest=True,
            )
        )
    for order in (by_phase, by_length):
        for closest in (True, False):
            tries.append(
                _fill(
                    order,
                    begun=[],
                    roll_length=roll_length,
                    repeat=repeat,
                    head_loss=head_loss,
                    closest=closest,
                )
            )
    if min(map(len, tries)) > bound:
        tries.append(
            _one_by_one(by_length, roll_length=roll_length, repeat=repeat, head_loss=head_loss)
        )
    best = min(tries, key=len)  # the first of the fewest
    return Cutting(rolls=tuple(tuple(roll.cuts) for roll in best), bound=bound)
