"""Changing the text of a project.toml and keeping what a person wrote in it."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from project_texts import HOME

from designkit.errors import FileFormatError
from designkit.project.lines import index, line_of
from designkit.project.rewriting import rename_keys, rewrite


def filled(value: Any) -> Any:
    """The content without empty tables: "[rooms]" with no room says nothing."""
    if isinstance(value, dict):
        inner = {key: filled(one) for key, one in value.items()}
        return {key: one for key, one in inner.items() if one != {}}
    return [filled(one) for one in value] if isinstance(value, list) else value


def changed(
    change: Callable[[dict[str, Any]], None], text: str = HOME
) -> tuple[set[str], set[str]]:
    """Lines that went and lines that came."""
    raw = tomllib.loads(text)
    change(raw)
    new = rewrite(text, raw)
    assert filled(tomllib.loads(new)) == filled(raw)
    old_lines, new_lines = text.splitlines(), new.splitlines()
    return set(old_lines) - set(new_lines), set(new_lines) - set(old_lines)


def test_nothing_changes_where_nothing_is_changed() -> None:
    assert rewrite(HOME, tomllib.loads(HOME)) == HOME


def test_a_value_changes_in_place_and_keeps_its_comment() -> None:
    def change(raw: dict[str, Any]) -> None:
        raw["brief"]["budget"] = 26000
        raw["finishes"]["white"]["lrv"] = 80
        raw["layouts"]["a"]["pieces"]["sofa"]["at"] = ["3 m", "12'-6 1/2\""]
        raw["rooms"]["living"]["outline"][3] = [0, "4.2 m"]

    gone, come = changed(change)
    assert come == {
        "budget = 26000 # with tax",
        "lrv = 80 # from the tin",
        'sofa = { at = ["3 m", "12\'-6 1/2\\""], rotation = 180 } # facing the window',
        '    [0, "4.2 m"], # the corner by the window',
    }
    assert len(gone) == 4


def test_a_key_is_added_where_its_table_is() -> None:
    def change(raw: dict[str, Any]) -> None:
        raw["place"] = "by the park"
        raw["pieces"]["table"]["note"] = "oiled"
        raw["layouts"]["a"]["pieces"]["chair"] = {"at": [1, 1], "rotation": 90}
        raw["layouts"]["a"]["note"] = "first"

    gone, come = changed(change)
    assert not gone
    assert come == {
        'place = "by the park"',
        'note = "oiled"',
        "chair = { at = [1, 1], rotation = 90 }",
        'note = "first"',
    }


def test_an_entry_is_added_as_a_table_behind_its_kin() -> None:
    raw = tomllib.loads(HOME)
    raw["pieces"]["chair"] = {"name": "Chair", "kind": "dining chair", "size": [0.5, 0.5, 0.8]}
    new = rewrite(HOME, raw)
    wanted = '\n[pieces.chair]\nname = "Chair"\nkind = "dining chair"\nsize = [0.5, 0.5, 0.8]\n\n'
    assert wanted in new
    assert new.replace(wanted, "\n") == HOME
    assert new.index("[pieces.table]") < new.index("[pieces.chair]") < new.index("[fixtures")


def test_a_layout_with_its_pieces_is_added() -> None:
    raw = tomllib.loads(HOME)
    raw["layouts"]["b"] = {"name": "B", "pieces": {"sofa": {"at": [1, 2]}}}
    new = rewrite(HOME, raw)
    assert '[layouts.b]\nname = "B"\n\n[layouts.b.pieces]\nsofa = { at = [1, 2] }\n' in new
    assert new.index("[layouts.a.drapes]") < new.index("[layouts.b]") < new.index("[scenarios")


def test_sections_that_were_not_there_are_added() -> None:
    def change(raw: dict[str, Any]) -> None:
        raw["money"] = {"currency": "CHF"}
        raw["targets"] = {"table": {"place": "table", "lux": 200}}

    gone, come = changed(change)
    assert not gone
    assert come == {
        "[money]",
        'currency = "CHF"',
        "[targets.table]",
        'place = "table"',
        "lux = 200",
    }


def test_an_entry_goes_with_its_own_comment_and_no_other() -> None:
    def change(raw: dict[str, Any]) -> None:
        del raw["pieces"]["sofa"]

    gone, come = changed(change)
    assert not come
    assert "# The sofa was measured in the shop." in gone
    assert "[pieces.sofa]" in gone
    assert "# The table stays." not in gone
    raw = tomllib.loads(HOME)
    del raw["pieces"]["sofa"]
    assert "patterned = true\n\n# The table stays.\n[pieces.table]\n" in rewrite(HOME, raw)


def test_a_drawn_line_heads_a_group_and_stays() -> None:
    gone, _ = changed(lambda raw: raw["rooms"].pop("living"))
    assert not any("---- rooms" in line for line in gone)


def test_a_line_goes_and_leaves_the_comments_beside_it() -> None:
    gone, come = changed(lambda raw: raw["layouts"]["a"]["pieces"].pop("table"))
    assert (gone, come) == ({"table = { at = [4, 3] }"}, set())


def test_a_table_with_its_sub_tables_goes() -> None:
    gone, come = changed(lambda raw: raw.pop("layouts"))
    assert not come
    assert {line for line in gone if line.startswith("[")} == {
        "[layouts.a]",
        "[layouts.a.pieces]",
        "[layouts.a.lamps]",
        "[layouts.a.drapes]",
    }


def test_lists_of_tables_grow_and_shrink() -> None:
    text = (
        HOME
        + """
[scenarios.more]
name = "More"

[[scenarios.more.changes]] # first
line = "sofa_new"

[[scenarios.more.changes]] # second
line = "sofa_move"
"""
    )
    raw = tomllib.loads(text)
    raw["scenarios"]["more"]["changes"].append({"line": "sofa_new", "drop": True})
    new = rewrite(text, raw)
    assert new == text + '\n[[scenarios.more.changes]]\nline = "sofa_new"\ndrop = true\n'
    raw["scenarios"]["more"]["changes"] = raw["scenarios"]["more"]["changes"][:1]
    first = text[: text.index("\n[[scenarios.more.changes]] # second")]
    assert rewrite(new, raw).rstrip() == first.rstrip()


def test_lists_in_a_line_grow_and_shrink() -> None:
    gone, come = changed(lambda raw: raw["brief"]["keeps"].append("sofa"))
    assert (gone, come) == ({'keeps = ["table"]'}, {'keeps = ["table", "sofa"]'})
    gone, come = changed(lambda raw: raw["finishes"]["stripe"]["colours"].pop())
    assert come == {'colours = [{ share = 0.6, hex = "#202020" }]'}


def test_odd_spellings_are_kept_or_refused_but_never_broken() -> None:
    text = (
        "# top\nschema=1\nname = 'it''s'\n".replace("''", "")
        + 'pieces.sofa.name = "S" # dotted\npieces.sofa.size = [1,2,3]\n'
        + '["rooms"."living room"]\nname = """\nlong # no comment\n[not.a.table]\n""" # end\n'
        + "[brief]\n  budget = 1 # indented\n"
    )
    raw = tomllib.loads(text)
    raw["pieces"]["sofa"]["name"] = "T"
    raw["rooms"]["living room"]["height"] = 2.6
    raw["rooms"]["living room"]["name"] = "short"
    raw["brief"]["seats"] = 4
    new = rewrite(text, raw)
    assert tomllib.loads(new) == raw
    for kept in ("# top", "# dotted", "# end", "# indented", "pieces.sofa.size = [1,2,3]"):
        assert kept in new
    assert "  budget = 1 # indented\n  seats = 4\n" in new


def test_a_form_that_cannot_be_changed_is_refused_by_name(monkeypatch: pytest.MonkeyPatch) -> None:
    from designkit.project import rewriting

    monkeypatch.setattr(rewriting, "_inside", lambda *args, **more: True)  # changes nothing
    raw = tomllib.loads(HOME)
    raw["name"] = "x"
    with pytest.raises(FileFormatError, match="cannot be changed in place at name"):
        rewrite(HOME, raw)


PATHS = [
    ("name",),
    ("brief", "budget"),
    ("brief", "keeps"),
    ("rooms", "living", "outline", 1),
    ("rooms", "living", "known"),
    ("openings", "entry"),
    ("openings", "window", "sill"),
    ("finishes", "stripe", "colours", 0, "share"),
    ("finishes", "oak"),
    ("pieces", "sofa"),
    ("pieces", "sofa", "known", "within"),
    ("pieces", "table", "size"),
    ("layouts", "a", "pieces", "sofa"),
    ("layouts", "a", "pieces", "sofa", "rotation"),
    ("layouts", "a", "pieces"),
    ("layouts", "a", "lamps", "over_table", "base"),
    ("layouts", "b"),
    ("scenarios", "less", "changes"),
    ("scenarios", "less", "changes", 0, "text"),
    ("scopes", "painting", "lines", "walls", "text"),
    ("money",),
    ("targets", "sofa"),
    ("circuits",),
]
VALUES = st.one_of(
    st.integers(-99, 99),
    st.floats(-9, 9, allow_nan=False),
    st.text(max_size=8),
    st.booleans(),
    st.lists(st.integers(0, 9), max_size=3),
    st.dictionaries(st.sampled_from(["name", "at", "on it"]), st.integers(0, 9), max_size=2),
    st.fixed_dictionaries({"a": st.fixed_dictionaries({"name": st.text(max_size=4)})}),
    st.none(),
)


@given(st.lists(st.tuples(st.sampled_from(PATHS), VALUES), max_size=6))
@example([(("name",), "\x85")])
@example([(("name",), "\u2028x"), (("brief", "budget"), None)])
@example([(("rooms", "living", "outline", 1), "\x85")])
def test_any_changes_give_a_text_that_says_just_that(changes: list[tuple[Any, Any]]) -> None:
    raw = tomllib.loads(HOME)
    for path, value in changes:
        inner: Any = raw
        for key in path[:-1]:
            inner = (
                inner.get(key)
                if isinstance(inner, dict)
                else (
                    inner[key]
                    if isinstance(inner, list) and isinstance(key, int) and key < len(inner)
                    else None
                )
            )
        last = path[-1]
        if isinstance(inner, dict) and isinstance(last, str):
            if value is None:
                inner.pop(last, None)
            else:
                inner[last] = copy.deepcopy(value)
        elif isinstance(inner, list) and isinstance(last, int) and last < len(inner):
            if value is None:
                del inner[last]
            else:
                inner[last] = copy.deepcopy(value)
    new = rewrite(HOME, raw)
    assert filled(tomllib.loads(new)) == filled(raw)
    assert rewrite(new, raw) == new
    back = rewrite(new, tomllib.loads(HOME))
    assert filled(tomllib.loads(back)) == filled(tomllib.loads(HOME))


def test_lines_are_found_through_strings_and_brackets() -> None:
    text = 'a = """\n[x]\n"""\nb = [ # [\n "]",\n]\n[c]\nd.e = 1\n[[f]]\ng = 1\n[[f]]\ng = 2\n'
    spans = index(text)
    found = {span.path: span.start + 1 for span in spans}
    assert found == {
        ("a",): 1,
        ("b",): 4,
        ("c",): 7,
        ("c", "d", "e"): 8,
        ("f", 0): 9,
        ("f", 0, "g"): 10,
        ("f", 1): 11,
        ("f", 1, "g"): 12,
    }
    assert line_of(spans, ("b", 0)) == 4
    assert line_of(spans, ("z",)) is None


def test_keys_of_an_older_file_are_renamed_in_their_lines() -> None:
    old = (
        "schema = 0\n# chairs and tables\n[furniture.sofa] # the sofa\nname = 'S'\n"
        "[rooms.a]\nceiling_height = 2.6 # measured\nname = 'ceiling_height'\n"
        "[openings]\nd.leads_to = 'outside' # out\n"
    )
    assert rename_keys(old, schema=0) == (
        "schema = 0\n# chairs and tables\n[pieces.sofa] # the sofa\nname = 'S'\n"
        "[rooms.a]\nheight = 2.6 # measured\nname = 'ceiling_height'\n"
        "[openings]\nd.to = 'outside' # out\n"
    )
