"""Orders and documents: the life of a line, papers for each audience, files.

Pure functions on a project. What a client must not read is never in a client's
paper, rather than hidden later.
"""

from __future__ import annotations

from designkit.documents.files import ReadSheet, read_xlsx, to_csv, to_xlsx
from designkit.documents.handover import Book, handover_book
from designkit.documents.life import Due, LifeState, due, next_states, state_of, step
from designkit.documents.old_pieces import condition_sheet, conditions_of
from designkit.documents.papers import (
    PurchaseOrder,
    Snag,
    approval_sheet,
    cost_sheet,
    purchase_order,
    purchase_orders,
    receiving_sheet,
    snag_list,
    snags_of,
)
from designkit.documents.paying import cash, pay_days
from designkit.documents.steps import life_sheet, steps_of
from designkit.takeoff.tables import Table, finish_schedule, furniture_schedule

__all__ = [
    "Book",
    "Due",
    "LifeState",
    "PurchaseOrder",
    "ReadSheet",
    "Snag",
    "Table",
    "approval_sheet",
    "cash",
    "condition_sheet",
    "conditions_of",
    "cost_sheet",
    "due",
    "finish_schedule",
    "furniture_schedule",
    "handover_book",
    "life_sheet",
    "next_states",
    "pay_days",
    "purchase_order",
    "purchase_orders",
    "read_xlsx",
    "receiving_sheet",
    "snag_list",
    "snags_of",
    "state_of",
    "step",
    "steps_of",
    "to_csv",
    "to_xlsx",
]
