"""Agreeing: a device's changes are judged and merged, and it learns what is new to it."""

from .agree import Agreement, Push, agree
from .change import Verdict

__all__ = ["Agreement", "Push", "Verdict", "agree"]
