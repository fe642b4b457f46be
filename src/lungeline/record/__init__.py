"""The record: entries that stay, the chain that holds them together, and what they add up to.

Plain Python; only `record.store` knows a database.
"""

from lungeline.record.chain import GENESIS, Head, head_of, is_sealed, sealed
from lungeline.record.clocks import ClockNote
from lungeline.record.entering import entered
from lungeline.record.entry import Draft, Entry, entry_from_line
from lungeline.record.fold import Item, fold, told_order
from lungeline.record.heads import add_head, read_heads
from lungeline.record.key import Key, key_path, load_key, make_key
from lungeline.record.kinds import KINDS, Kind, checked_body, kind_of
from lungeline.record.memory import CaseInMemory
from lungeline.record.state import CaseState, Latest, grown_state, present_state
from lungeline.record.verify import Verdict, verify

__all__ = [
    "GENESIS",
    "KINDS",
    "CaseInMemory",
    "CaseState",
    "ClockNote",
    "Draft",
    "Entry",
    "Head",
    "Item",
    "Key",
    "Kind",
    "Latest",
    "Verdict",
    "add_head",
    "checked_body",
    "entered",
    "entry_from_line",
    "fold",
    "grown_state",
    "head_of",
    "is_sealed",
    "key_path",
    "kind_of",
    "load_key",
    "make_key",
    "present_state",
    "read_heads",
    "sealed",
    "told_order",
    "verify",
]
