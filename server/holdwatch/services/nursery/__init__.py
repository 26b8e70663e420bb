"""Young in their nursery: what was written of a batch, its duties, and what phones are told of it."""

from .watching import watch_nurseries

__all__ = ["watch_nurseries"]
