"""Make data/layout_optima.npz: small table problems with the optimum of a general solver.

Run by hand: `python tests/reference/layout_optima_make.py`. The tables are those
of sample rooms with few places a piece; the optimum is found by
`scipy.optimize.milp` (HiGHS), which the search does not call: one binary a
place, one variable a pair of places, exactly one place a piece. Ways are not
part of these problems; tests of them are elsewhere.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import lil_matrix

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "unit"))

from layouts_sample import synthetic  # noqa: E402

from designkit.plan.layouts.asked import Job  # noqa: E402
from designkit.plan.layouts.ground import ground_of  # noqa: E402
from designkit.plan.layouts.proposing import poses_for  # noqa: E402
from designkit.plan.layouts.tables import NEVER, tables_of  # noqa: E402
from designkit.plan.layouts.things import things_of  # noqa: E402

ROOMS = (
    "plain", "two doors", "ell", "tee", "skewed", "trapeze", "hexagon", "bay", "column",
    "two columns", "chimney breast", "corridor", "bedroom", "guest and work", "study", "turned",
)  # fmt: skip
FEW = 14  # places a piece
MOST = 5  # pieces


def optimum(own: list[np.ndarray], pair: dict[tuple[int, int], np.ndarray]) -> int | None:
    """The best sum, by mixed-integer programming; None where nothing can be."""
    at = np.cumsum([0, *map(len, own)])
    n = int(at[-1])
    cells = [
        (i, j, p, q)
        for (i, j), table in pair.items()
        for p in range(table.shape[0])
        for q in range(table.shape[1])
        if table[p, q] > NEVER // 2
    ]
    cost = np.zeros(n + len(cells))
    for i, worth in enumerate(own):
        cost[at[i] : at[i + 1]] = worth
    for k, (i, j, p, q) in enumerate(cells):
        cost[n + k] = pair[i, j][p, q]
    rows: list[tuple[dict[int, float], float, float]] = []
    for i in range(len(own)):
        rows.append(({int(at[i] + p): 1.0 for p in range(len(own[i]))}, 1.0, 1.0))
    # The pair variables of one place and one other piece add up to that place.
    for i, j in pair:
        for side, other, flip in ((i, j, False), (j, i, True)):
            for p in range(len(own[side])):
                row = {int(at[side] + p): -1.0}
                for k, cell in enumerate(cells):
                    if cell[:2] == (i, j) and cell[3 if flip else 2] == p:
                        row[n + k] = 1.0
                rows.append((row, 0.0, 0.0))
            del other
    matrix = lil_matrix((len(rows), n + len(cells)))
    for r, (row, _, _) in enumerate(rows):
        for c, v in row.items():
            matrix[r, c] = v
    answer = milp(
        -cost / 1e6,
        constraints=LinearConstraint(
            matrix.tocsr(), [row[1] for row in rows], [row[2] for row in rows]
        ),
        integrality=np.concatenate([np.ones(n), np.zeros(len(cells))]),
        bounds=Bounds(0, 1),
        options={"mip_rel_gap": 0.0},
    )
    if answer.status != 0:
        return None
    places = [int(np.argmax(answer.x[at[i] : at[i + 1]])) for i in range(len(own))]
    total = sum(int(own[i][p]) for i, p in enumerate(places))
    return total + sum(int(t[places[i], places[j]]) for (i, j), t in pair.items())


def main() -> None:
    """Write the file."""
    rooms = synthetic()
    out: dict[str, np.ndarray] = {}
    for name in ROOMS:
        home, space, pieces = rooms[name]
        job = Job(home, pieces[:MOST], space, (), (), ())
        ground = ground_of(home, space=space, free=list(job.pieces))
        things = things_of(home, pieces=job.pieces, locked={}, rules=ground.rules)
        poses, _ = poses_for(things, ground)
        # Every so many of the full set, so that the whole room is there.
        few = [p.take(np.unique(np.linspace(0, len(p) - 1, FEW).astype(int))) for p in poses]
        tables = tables_of(things, few, ground)
        best = optimum(list(tables.own), dict(tables.pair))
        print(name, [len(o) for o in tables.own], best)
        key = name.replace(" ", "_")
        out[f"{key}/best"] = np.array([NEVER if best is None else best])
        for i, worth in enumerate(tables.own):
            out[f"{key}/own/{i}"] = worth
        for (i, j), table in tables.pair.items():
            out[f"{key}/pair/{i}/{j}"] = table
    np.savez_compressed(HERE / "data" / "layout_optima.npz", **out)


if __name__ == "__main__":
    main()
