"""Forecasts: gathered from the records, issued, kept, turned into duties, and asked about."""

from .ageing import ask_for_aged
from .issuing import issue_asked
from .looking_back import NotFound, depends_on, developed, question

__all__ = ["NotFound", "ask_for_aged", "depends_on", "developed", "issue_asked", "question"]
