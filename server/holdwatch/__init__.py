"""Holdwatch: from looks at a holding male to the night to catch him."""

__version__ = "0.1.0"
