"""What a record's fields were before: every value they had, who wrote it, and what replaced it. Only ever read."""

from .reading import PAGE_WRITINGS, FieldHistory, History, NotFound, RecordHistory, brood_history, record_history
from .told import Earlier, Told

__all__ = [
    "PAGE_WRITINGS",
    "Earlier",
    "FieldHistory",
    "History",
    "NotFound",
    "RecordHistory",
    "Told",
    "brood_history",
    "record_history",
]
