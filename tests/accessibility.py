"""Accessibility of an open study, by axe-core: an independent checker that runs in the page.

All its rules are on, those that it calls best practice too, and only our own
page is looked at, not the JupyterLab around it.
"""

from __future__ import annotations

from typing import Any

__all__ = ["accessibility_faults"]


def accessibility_faults(page: Any, *, within: str = ".dk-page") -> list[str]:
    """What axe-core finds, or cannot decide, in the page of a study.

    Parameters
    ----------
    page : Page
        Of Chromium, with a study.
    within : str
        The part that is looked at.

    Returns
    -------
    list of str
        The rule, what it says and the element; empty where all is well.
    """
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page, context=within, options={}).response
    assert len(found["passes"]) > 10, "axe-core has not looked at the page"
    return [
        f"{rule['id']}: {rule['help']}: {node['html'][:120]}"
        for kind in ("violations", "incomplete")
        for rule in found[kind]
        for node in rule["nodes"]
    ]
