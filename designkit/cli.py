"""The command line: one list of commands, each imported when it is called.

A further command is one more `Command` in `COMMANDS`: a function that adds its
arguments, and the module and function that run it. The function takes the
parsed arguments and returns the exit code.
"""

from __future__ import annotations

import argparse
import importlib
import os
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

__all__ = ["COMMANDS", "Command", "main"]


@dataclass(frozen=True, kw_only=True)
class Command:
    """One command.

    Parameters
    ----------
    name : str
        As it is typed.
    help : str
        One line about it.
    run : str
        "module:function" that does it.
    arguments : callable
        Adds its arguments to a parser.
    """

    name: str
    help: str
    run: str
    arguments: Callable[[argparse.ArgumentParser], object]


def _new(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", help="folder to make")
    parser.add_argument("--demo", default="", metavar="NAME", help="start from a demo project")


def _check(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", help="project folder")


def _schema(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "key", nargs="?", default="", help="only this key, as rooms or pieces.<piece>.size"
    )


def _rules(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("words", nargs="*", help="only rows that hold all these words")


def _figures(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", help="project folder")
    parser.add_argument("--out", default="", help="folder for the files; else issued/figures")
    parser.add_argument("--layout", default="", help="the layout shown; else the current one")
    parser.add_argument("--only", action="append", metavar="NAME", help="only this figure")
    parser.add_argument(
        "--format", action="append", dest="formats", metavar="KIND", help="png, svg or pdf"
    )
    parser.add_argument("--dpi", type=float, default=150.0, help="of the PNG pictures")
    parser.add_argument("--date", default="", help="printed on the sheets, as 2026-11-25")


def _lab(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", nargs="?", default="", help="project folder that is shown first")
    parser.add_argument("--no-browser", action="store_true", help="only say the address")
    parser.add_argument("--port", type=int, default=0, help="of the server; else a free one")


def _show(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("study", help="name of the study, as light")
    parser.add_argument("project", nargs="?", default=".", help="project folder; else this one")
    parser.add_argument("--no-browser", action="store_true", help="only say the address")
    parser.add_argument("--port", type=int, default=0, help="of the server; else a free one")


def _fits(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("size", help="width × depth × height, as '220 × 95 × 80 cm'")
    parser.add_argument("--as", dest="kind", required=True, metavar="KIND", help="kind, as sofa")
    parser.add_argument("--project", default=".", metavar="FOLDER", help="project folder")
    parser.add_argument("--layout", default="", metavar="ID", help="another than the current one")
    parser.add_argument("--price", default="", metavar="N", help="price of one, without its sign")
    parser.add_argument("--line", default="", metavar="ID", help="cost line that pays for it")
    parser.add_argument("--keep", default="", metavar="NAME", help="keep it as a candidate")
    parser.add_argument("--held-until", default="", metavar="DATE", help="as 2026-09-01")
    parser.add_argument("--seller", default="", metavar="ROLE", help="who holds it: Supplier 2")
    parser.add_argument("--photo", default="", metavar="FILE", help="its photograph")


def _documents(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", help="project folder")
    parser.add_argument(
        "--for",
        dest="audience",
        required=True,
        metavar="WHO",
        help="client, trade or studio: who reads them",
    )
    parser.add_argument("--out", default="", help="folder for the files; else issued/documents")
    parser.add_argument("--layout", default="", help="the layout shown; else the current one")
    parser.add_argument("--only", action="append", metavar="NAME", help="only this document")
    parser.add_argument(
        "--format", action="append", dest="formats", metavar="KIND", help="csv, xlsx or pdf"
    )
    parser.add_argument("--date", default="", help="printed on the sheets, as 2026-11-25")


COMMANDS: tuple[Command, ...] = (
    Command(
        name="new",
        help="make a project folder",
        run="designkit.project.commands:new",
        arguments=_new,
    ),
    Command(
        name="check",
        help="say everything that has to be mended in a project",
        run="designkit.project.commands:check",
        arguments=_check,
    ),
    Command(
        name="figures",
        help="write all figures of a project as PNG, SVG and PDF",
        run="designkit.publish.commands:figures",
        arguments=_figures,
    ),
    Command(
        name="documents",
        help="write schedules, orders and lists for one reader as CSV, XLSX and PDF",
        run="designkit.publish.document_files:documents",
        arguments=_documents,
    ),
    Command(
        name="lab",
        help="open the start page and the studies in JupyterLab",
        run="designkit.studies.lab:lab",
        arguments=_lab,
    ),
    Command(
        name="show",
        help="serve one study of a project as a page without code, on this machine only",
        run="designkit.studies.show:show",
        arguments=_show,
    ),
    Command(
        name="schema",
        help="list what the files of a project may hold",
        run="designkit.project.commands:schema",
        arguments=_schema,
    ),
    Command(
        name="rules",
        help="list the values that designkit judges by, with their sources",
        run="designkit.project.commands:rules",
        arguments=_rules,
    ),
    Command(
        name="fits",
        help="say whether a piece fits the layout, the way up and its cost line",
        run="designkit.analyses.commands:fits",
        arguments=_fits,
    ),
)


def parser() -> argparse.ArgumentParser:
    """The parser with all commands.

    Returns
    -------
    ArgumentParser
        Its namespace holds the chosen `Command`.
    """
    top = argparse.ArgumentParser(
        prog="designkit",
        description="Design studies for furnishing, lighting and dressing a home. "
        "Without a command the start page opens in the browser.",
    )
    top.add_argument("--version", action="store_true", help="say the version")
    commands = top.add_subparsers(title="commands", metavar="COMMAND")
    for command in COMMANDS:
        inner = commands.add_parser(command.name, help=command.help, description=command.help)
        command.arguments(inner)
        inner.set_defaults(command=command)
    return top


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line.

    Parameters
    ----------
    arguments : sequence of str, optional
        The words after `designkit`; without them those of the process.

    Returns
    -------
    int
        0, or 1 where a check found something, or 2 where it cannot be done.
    """
    # Small matrices: more than one thread of a linear algebra library is slower.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    top = parser()
    given: Any = top.parse_args(arguments)
    if given.version:
        import designkit

        print(designkit.__version__)
        return 0
    if not hasattr(given, "command"):
        if not (sys.stdin.isatty() and sys.stdout.isatty()):  # a script gets the list, no server
            top.print_help()
            return 0
        given = top.parse_args(["lab"])
    from designkit.errors import DesignkitError

    module, _, function = given.command.run.partition(":")
    try:
        code = int(getattr(importlib.import_module(module), function)(given))
        sys.stdout.flush()
        return code
    except DesignkitError as error:
        print(error, file=sys.stderr)
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
    except BrokenPipeError:
        # the reader of a pipe went away; nothing more to say, also not at exit
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as error:
        said = DesignkitError(
            str(error.filename or "the system"),
            given=error.strerror or str(error),
            allowed="files and folders that can be read and written",
            mend="check the name, permissions and space on the disk",
        )
        print(said, file=sys.stderr)
    return 2


if __name__ == "__main__":
    sys.exit(main())
