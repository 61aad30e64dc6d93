"""What can be wrong in a project folder, and how it is told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from designkit.errors import FileFormatError

__all__ = ["Notes", "Problem", "ProjectErrors"]


@dataclass(frozen=True, kw_only=True)
class Problem:
    """One thing in a file that has to be mended, or (as a remark) looked at.

    Parameters
    ----------
    path : str
        The keys joined by dots, or the column of a row.
    given : str
        What the file says, as short text; "" where nothing is there.
    allowed : str
        What may be there.
    mend : str
        What to do about it.
    file : str
        Name of the file in the project folder.
    line : int, optional
        Line of the file, where it is known.
    """

    path: str
    given: str = ""
    allowed: str
    mend: str = ""
    file: str = "project.toml"
    line: int | None = None

    def __str__(self) -> str:
        where = self.file if self.line is None else f"{self.file} line {self.line}"
        head = f"{self.path} = {self.given}" if self.given else self.path
        text = f"{where}: {head}; allowed: {self.allowed}"
        return f"{text}; to mend: {self.mend}" if self.mend else text


class ProjectErrors(FileFormatError):  # it carries many
    """Everything that is wrong in a project folder, at once.

    Parameters
    ----------
    problems : sequence of Problem
        All that was found.
    waiting : int
        Checks that could not be made before these are mended.

    Examples
    --------
    >>> one = Problem(path="rooms.hall.height", given="'high'", allowed="a length", line=3)
    >>> print(ProjectErrors([one], waiting=2))
    1 problem in the project:
    project.toml line 3: rooms.hall.height = 'high'; allowed: a length
    2 checks wait for this
    """

    def __init__(self, problems: Sequence[Problem], *, waiting: int = 0) -> None:
        self.problems = tuple(problems)
        self.waiting = waiting
        count = len(self.problems)
        lines = [f"{count} problem{'s' if count != 1 else ''} in the project:"]
        lines += [str(problem) for problem in self.problems]
        if waiting:
            this = "this" if count == 1 else "these"
            wait = "1 check waits" if waiting == 1 else f"{waiting} checks wait"
            lines.append(f"{wait} for {this}")
        super().__init__("\n".join(lines))
        first = self.problems[0] if self.problems else None
        self.given = first.given if first else None
        self.allowed = first.allowed if first else ""
        self.mend = first.mend if first else ""

    def __reduce__(self) -> tuple[object, ...]:
        return _rebuild, (self.problems, self.waiting)


def _rebuild(problems: tuple[Problem, ...], waiting: int) -> ProjectErrors:
    return ProjectErrors(problems, waiting=waiting)


class Notes:
    """Collects problems and remarks by path, and counts the checks that wait."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []
        self.remarks: list[Problem] = []
        self.waiting = 0

    def bad(
        self,
        path: str,
        given: object,
        allowed: str,
        mend: str,
        *,
        file: str = "project.toml",
        line: int | None = None,
    ) -> None:
        """Note something that has to be mended.

        Parameters
        ----------
        path : str
            The entry, as "rooms.living.outline".
        given : object
            What stands there.
        allowed : str
            What may stand there.
        mend : str
            How to mend it.
        file : str, optional
            Of the project.
        line : int, optional
            In the file, from 1.
        """
        self.problems.append(
            Problem(path=path, given=str(given), allowed=allowed, mend=mend, file=file, line=line)
        )

    def remark(
        self,
        path: str,
        given: object,
        allowed: str,
        mend: str = "",
        *,
        file: str = "project.toml",
        line: int | None = None,
    ) -> None:
        """Note something to look at that does not stop the work.

        Parameters
        ----------
        path : str
            The entry, as "rooms.living.outline".
        given : object
            What stands there.
        allowed : str
            What is usual there.
        mend : str, optional
            How to mend it.
        file : str, optional
            Of the project.
        line : int, optional
            In the file, from 1.
        """
        self.remarks.append(
            Problem(path=path, given=str(given), allowed=allowed, mend=mend, file=file, line=line)
        )
