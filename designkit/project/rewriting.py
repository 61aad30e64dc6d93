"""Change the text of a project.toml and keep everything that a person wrote.

The differences between what the text says and what it shall say become small
operations. A value is changed inside its own statement, which tomlkit takes
apart and puts together; whole entries are added and taken out by lines, as
tomlkit moves and loses comments when tables come and go. The result is read
back and compared before anyone writes it to a disk.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any, Literal

from designkit.errors import FileFormatError
from designkit.project.lines import Span, index, split_lines
from designkit.project.upgrade import RENAMED

__all__ = ["rename_keys", "rewrite", "toml_value"]

Key = str | int
Keys = tuple[Key, ...]
Step = tuple[Literal["set", "add", "remove"], Keys, Any]


def toml_value(value: Any) -> Any:
    """A value as TOML holds it: lists, tables, and decimals as exact numbers.

    Parameters
    ----------
    value : object
        A plain value.

    Returns
    -------
    object
        The same without tuples, mappings and decimals.

    Examples
    --------
    >>> toml_value((Decimal("12.50"), Decimal("3")))
    [12.5, 3]
    """
    if isinstance(value, Decimal):
        if value == value.to_integral_value():
            return int(value)
        return float(value) if Decimal(repr(float(value))) == value else str(value)
    if isinstance(value, Mapping):
        return {str(key): toml_value(one) for key, one in value.items() if one is not None}
    if isinstance(value, (list, tuple)):
        return [toml_value(one) for one in value]
    return value


def _same(old: Any, new: Any) -> bool:
    """Equal, and written the same way (1 is not 1.0 and not true)."""
    if isinstance(old, list) and isinstance(new, list):
        return len(old) == len(new) and all(map(_same, old, new))
    if isinstance(old, dict) and isinstance(new, dict):
        return old.keys() == new.keys() and all(_same(old[key], new[key]) for key in old)
    return type(old) is type(new) and bool(old == new)


def _filled(value: Any) -> Any:
    """The same without empty tables, which say nothing."""
    if isinstance(value, dict):
        inner = {key: _filled(one) for key, one in value.items()}
        return {key: one for key, one in inner.items() if one != {}}
    return [_filled(one) for one in value] if isinstance(value, list) else value


def _entries(value: Mapping[str, Any]) -> bool:
    """Whether a table holds named entries and nothing else."""
    return bool(value) and all(isinstance(one, dict) for one in value.values())


def _differences(old: Any, new: Any, keys: Keys = ()) -> Iterator[Step]:
    if isinstance(old, dict) and isinstance(new, dict):
        for key in old:
            if key not in new and old[key] != {}:
                yield "remove", (*keys, key), None
        for key, value in new.items():
            if key in old:
                yield from _differences(old[key], value, (*keys, key))
            elif value == {}:
                continue  # a table that holds nothing need not be there
            elif not keys and isinstance(value, dict) and _entries(value):
                for id, one in value.items():  # each with a header of its own
                    yield "add", (key, id), one
            else:
                yield "add", (*keys, key), value
    elif isinstance(old, list) and isinstance(new, list):
        for number, (one, two) in enumerate(zip(old, new, strict=False)):
            yield from _differences(one, two, (*keys, number))
        for number in range(len(old) - 1, len(new) - 1, -1):
            yield "remove", (*keys, number), None
        for number in range(len(old), len(new)):
            yield "add", (*keys, number), new[number]
    elif not _same(old, new):
        yield "set", keys, new


def rewrite(text: str, new: Mapping[str, Any]) -> str:
    """Make a TOML text say `new`, with its comments and order.

    Parameters
    ----------
    text : str
        A valid TOML text.
    new : mapping
        What it shall say.

    Returns
    -------
    str
        The text, changed where it has to be.

    Raises
    ------
    FileFormatError
        The text is written in a way that cannot be changed in place.

    Examples
    --------
    >>> print(rewrite("a = 1 # one\\n[b.c]\\nd = 2 # two\\n", {"a": 1, "b": {"c": {"d": 3}}}))
    a = 1 # one
    [b.c]
    d = 3 # two
    <BLANKLINE>
    """
    wanted = toml_value(new)
    if text and not text.endswith("\n"):
        text += "\n"
    steps = list(_differences(tomllib.loads(text), wanted))
    for verb, keys, value in steps:
        lines = split_lines(text)
        spans = index(text)
        if verb == "set" and not _inside(lines, spans, keys, verb, value):
            _remove(lines, spans, keys)
            text = "".join(lines)
            lines, spans = split_lines(text), index(text)
            verb = "add"
        if verb == "add":
            _add(lines, spans, keys, value)
        elif verb == "remove":
            _remove(lines, spans, keys)
        text = "".join(lines)
    try:
        good = _same(_filled(tomllib.loads(text)), _filled(wanted))
    except tomllib.TOMLDecodeError:
        good = False
    if not good:
        changed = ", ".join(".".join(map(str, keys)) for _, keys, _ in steps[:5])
        raise FileFormatError(
            "project.toml",
            given=f"a form that cannot be changed in place at {changed}",
            allowed="tables with headers, one key a line",
            mend="write this entry as a table with a header of its own, then save again",
        )
    return text


def _text(value: Any) -> str:
    """A value in TOML, on one line."""
    import tomlkit

    if isinstance(value, dict):
        inner = ", ".join(f"{_key(key)} = {_text(one)}" for key, one in value.items())
        return f"{{ {inner} }}" if inner else "{}"
    if isinstance(value, list):
        return f"[{', '.join(map(_text, value))}]"
    return str(tomlkit.item(value).as_string())


def _item(value: Any) -> Any:
    """A tomlkit item; tables inside values stay on their line."""
    import tomlkit

    return tomlkit.value(_text(value))


def _key(key: Key) -> str:
    text = str(key)
    if re.fullmatch(r"[A-Za-z0-9_-]+", text):
        return text
    return _text(text)


def _statement(spans: list[Span], keys: Keys) -> Span | None:
    """The statement whose value is at, or holds, `keys`."""
    holding = [s for s in spans if not s.header and s.path == keys[: len(s.path)]]
    return max(holding, key=lambda s: len(s.path), default=None)


def _inside(lines: list[str], spans: list[Span], keys: Keys, verb: str, value: Any = None) -> bool:
    """Change a value inside the statement that holds it."""
    import tomlkit

    span = _statement(spans, keys)
    if span is None or (verb != "set" and span.path == keys):
        return False
    document = tomlkit.parse("".join(lines[span.start : span.end]))
    holder: Any = document
    *way, last = keys[len(span.table) :]
    for key in way:
        holder = holder[key]
    if verb == "remove":
        del holder[last]
    elif verb == "add" and isinstance(last, int):
        holder.append(_item(value))
    elif verb == "add":
        holder[last] = _item(value)
    else:
        old = holder[last]
        fresh = _item(value)
        # what follows a value on its line belongs to the line, not to the value
        if hasattr(old, "trivia") and hasattr(fresh, "trivia"):
            fresh.trivia.indent = old.trivia.indent
            fresh.trivia.comment_ws = old.trivia.comment_ws
            fresh.trivia.comment = old.trivia.comment
            fresh.trivia.trail = old.trivia.trail
        holder[last] = fresh
    lines[span.start : span.end] = split_lines(tomlkit.dumps(document))
    return True


def _add(lines: list[str], spans: list[Span], keys: Keys, value: Any) -> None:
    parent, last = keys[:-1], keys[-1]
    if _inside(lines, spans, keys, "add", value):
        return
    header = next((s for s in spans if s.header and s.path == parent), None)
    below = [s for s in spans if s.path[: len(parent)] == parent and s.path != parent]
    siblings = [s for s in below if s.header and len(s.path) >= len(keys)]
    own = [s for s in spans if not s.header and s.table == parent]
    if isinstance(last, int):
        _insert(lines, below[-1].end if below else len(lines), _block(keys, value, many=True))
        return
    in_line = any(re.search(r"=\s*\{", lines[s.start]) for s in own)
    tables_here = bool(siblings) and not in_line
    top = len(keys) == 2 and header is None  # [pieces.sofa]
    if isinstance(value, dict) and (tables_here or top or not parent):
        after = siblings[-1].path[: len(keys)] if siblings else ()
        family = [s for s in spans if after and s.path[: len(after)] == after]
        _insert(lines, family[-1].end if family else len(lines), _block(keys, value))
        return
    line = f"{_key(last)} = {_text(value)}\n"
    if own:
        indent = re.match(r"\s*", lines[own[-1].start])
        lines.insert(own[-1].end, (indent[0] if indent else "") + line)
    elif header is not None:
        lines.insert(header.end, line)
    elif not parent:
        first = next((s.start for s in spans if s.header), len(lines))
        while first and lines[first - 1].lstrip().startswith("#"):
            first -= 1
        lines.insert(first, line + ("\n" if first < len(lines) else ""))
    else:
        block = [f"[{'.'.join(map(_key, parent))}]\n", line]
        holder = parent[:-1]
        near = [s for s in spans if holder and s.path[: len(holder)] == holder]
        if below:
            place = _first_line(lines, below[0].start)
            lines[place:place] = [*block, "\n"]
        else:
            _insert(lines, near[-1].end if near else len(lines), block)


def _block(keys: Keys, value: Any, *, many: bool = False) -> list[str]:
    """The lines of a new entry with its header."""
    names = ".".join(_key(key) for key in keys if isinstance(key, str))
    found = [f"[[{names}]]\n" if many else f"[{names}]\n"]
    if isinstance(value, dict) and _entries(value) and not many and len(keys) > 2:
        return found + [f"{_key(id)} = {_text(entry)}\n" for id, entry in value.items()]
    nested = []
    for key, one in value.items():
        if isinstance(one, dict) and _entries(one):
            nested.append((key, one))
        else:
            found.append(f"{_key(key)} = {_text(one)}\n")
    for key, one in nested:
        found += ["\n", f"[{names}.{_key(key)}]\n"]
        found += [f"{_key(id)} = {_text(entry)}\n" for id, entry in one.items()]
    return found


def _insert(lines: list[str], place: int, block: list[str]) -> None:
    """Put a block of lines behind what ends at `place`, blank lines around it."""
    before = ["\n"] if place and lines[place - 1].strip() else []
    after = ["\n"] if place < len(lines) and lines[place].strip() else []
    lines[place:place] = [*before, *block, *after]


_RULE = re.compile(r"#\s*[-=#*─━]{2,}|#.*[-=#*─━]{3,}\s*$")


def _first_line(lines: list[str], header: int) -> int:
    """First line of the comment that stands directly over a header.

    A line drawn in a comment heads a group of tables, so it does not count.
    """
    place = header
    while place and lines[place - 1].lstrip().startswith("#"):
        if _RULE.search(lines[place - 1]):
            break
        place -= 1
    return place


def _remove(lines: list[str], spans: list[Span], keys: Keys) -> None:
    if _inside(lines, spans, keys, "remove"):
        return
    doomed = [s for s in spans if s.path[: len(keys)] == keys]
    parts: list[tuple[int, int]] = []
    for span in doomed:
        start = _first_line(lines, span.start) if span.header else span.start
        end = span.end
        last = parts[-1] if parts else None
        if last is not None and not any(
            s.start >= last[1] and s.end <= start for s in spans if s not in doomed
        ):
            parts[-1] = (last[0], end)  # blank lines and comments between go too
        else:
            parts.append((start, end))
    for start, end in reversed(parts):
        table = any(s.header and start <= s.start < end for s in doomed)
        if table:
            while end < len(lines) and lines[end].lstrip().startswith("#"):
                follows = end + 1
                while follows < len(lines) and lines[follows].lstrip().startswith("#"):
                    follows += 1
                if follows < len(lines) and lines[follows].strip():
                    break  # it stands over the next entry
                end = follows
            while (
                end < len(lines)
                and not lines[end].strip()
                and (start == 0 or not lines[start - 1].strip())
            ):
                end += 1
        del lines[start:end]


def rename_keys(text: str, *, schema: int) -> str:
    """Bring the keys of an older text to the present names, line by line.

    Parameters
    ----------
    text : str
        The file.
    schema : int
        The schema it was written for.

    Returns
    -------
    str
        The text with headers and keys renamed; tables written on one line are
        left to `rewrite`.

    Examples
    --------
    >>> rename_keys("[furniture.sofa]\\n", schema=0)
    '[pieces.sofa]\\n'
    """
    for step in sorted(RENAMED):
        if step < schema:
            continue
        for path, new in RENAMED[step]:
            lines = split_lines(text)
            for span in index(text):
                depth = len(path) - 1
                fits = len(span.path) > depth and all(
                    one in ("*", key) for one, key in zip(path, span.path, strict=False)
                )
                if not fits or (not span.header and len(span.table) > depth):
                    continue
                nth = depth if span.header else depth - len(span.table)
                word = re.escape(path[-1])
                start = r"^(\s*\[*\s*" if span.header else r"^(\s*"
                lines[span.start] = re.sub(
                    rf"{start}(?:[^.\s=\]]+\s*\.\s*){{{nth}}}){word}\b",
                    rf"\g<1>{new}",
                    lines[span.start],
                    count=1,
                )
            text = "".join(lines)
    return text
