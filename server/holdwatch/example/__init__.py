"""A household of our own invention, to look at and to try things on."""

from .loading import Settled, load_example

__all__ = ["Settled", "load_example"]
