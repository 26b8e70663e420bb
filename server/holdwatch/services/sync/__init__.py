"""Agreeing: a device's changes are judged and merged, and it learns what is new to it."""

from .agree import Agreement, Push, agree

__all__ = ["Agreement", "Push", "agree"]
