"""A household of our own invention, to look at and to try things on."""

from .loading import load_example

__all__ = ["load_example"]
