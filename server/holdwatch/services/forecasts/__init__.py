"""Forecasts: gathered from the records, issued, kept, and turned into duties."""

from .ageing import ask_for_aged
from .issuing import issue_asked

__all__ = ["ask_for_aged", "issue_asked"]
